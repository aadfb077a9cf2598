package fit

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

func wantRel(t testing.TB, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol*math.Abs(want)) {
		t.Errorf("%s = %.16g, want %.16g (relative error %.2g > %.2g)", what, got, want, math.Abs(got-want)/math.Abs(want), tol)
	}
}

func wantAbs(t testing.TB, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.16g, want %.16g (error %.2g > %.2g)", what, got, want, math.Abs(got-want), tol)
	}
}

// onDatum returns the point of a datum at the angle phi about its axis, moved
// by e along the surface normal there, and that normal. s is the height of a
// cylinder point, the slant distance of a cone point, the tube angle of a
// torus, the latitude of a sphere, the coordinate of a line point and the
// radius of a plane point.
func onDatum(d Datum, phi, s, e float64) (p, normal r3.Vec) {
	axis := d.Axis
	if axis == (r3.Vec{}) {
		axis = r3.Vec{Z: 1}
	}
	f := poseAlong(axis, r3.Vec{})
	sin, cos := math.Sincos(phi)
	radial := r3.Add(r3.Scale(cos, f.n), r3.Scale(sin, f.t))
	at := func(rho, h float64) r3.Vec { return r3.Add(r3.Scale(rho, radial), r3.Scale(h, axis)) }
	switch d.Kind {
	case Line:
		normal, p = radial, at(0, s)
	case Plane:
		normal, p = axis, at(s, 0)
	case Circle:
		normal, p = radial, at(d.Radius, 0)
	case Cylinder:
		normal, p = radial, at(d.Radius, s)
	case Sphere:
		normal = at(math.Cos(s), math.Sin(s))
		p = r3.Scale(d.Radius, normal)
	case Cone:
		normal = at(math.Cos(d.HalfAngle), -math.Sin(d.HalfAngle))
		p = r3.Scale(s, at(math.Sin(d.HalfAngle), math.Cos(d.HalfAngle)))
	case Torus:
		normal = at(math.Cos(s), math.Sin(s))
		p = r3.Add(at(d.Radius, 0), r3.Scale(d.Radius2, normal))
	}
	return r3.Add(d.Origin, r3.Add(p, r3.Scale(e, normal))), normal
}

// sameGeometry reports differences between two datums beyond tol, an angle for
// the axis and a length for the rest.
func sameGeometry(t testing.TB, got, want Datum, tol float64) {
	t.Helper()
	if got.Kind != want.Kind {
		t.Fatalf("kind %s, want %s", got.Kind, want.Kind)
	}
	size := want.Radius + want.Radius2
	if size == 0 {
		size = 1
	}
	offset := r3.Norm(r3.Sub(got.Origin, want.Origin))
	switch want.Kind {
	case Line, Cylinder, Plane: // any point of it will do
		offset = want.across(got.Origin)
	}
	if !(offset <= tol*size) {
		t.Errorf("%s origin %v, want %v: off by %.3g", got.Kind, got.Origin, want.Origin, offset)
	}
	if want.Axis != (r3.Vec{}) {
		if e := lineAngle(got.Axis, want.Axis); !(e <= tol) {
			t.Errorf("%s axis %v, want %v: off by %.3g rad", got.Kind, got.Axis, want.Axis, e)
		}
	}
	wantAbs(t, string(got.Kind)+" radius", got.Radius, want.Radius, tol*size)
	wantAbs(t, string(got.Kind)+" tube radius", got.Radius2, want.Radius2, tol*size)
	wantAbs(t, string(got.Kind)+" half angle", got.HalfAngle, want.HalfAngle, tol)
}
