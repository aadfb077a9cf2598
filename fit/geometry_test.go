package fit

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

func TestDistanceTable(t *testing.T) {
	x, z := r3.Vec{X: 1}, r3.Vec{Z: 1}
	o := r3.Vec{X: 1, Y: 1, Z: 1}
	for _, c := range []struct {
		d    Datum
		p    r3.Vec // relative to o
		want float64
	}{
		{Datum{Kind: Point}, r3.Vec{X: 3, Y: 4}, 5},
		{Datum{Kind: Line, Axis: z}, r3.Vec{X: 3, Y: 4, Z: 7}, 5},
		{Datum{Kind: Plane, Axis: z}, r3.Vec{X: 3, Y: 4, Z: -7}, -7},
		{Datum{Kind: Circle, Axis: z, Radius: 2}, r3.Vec{X: 5, Z: 4}, 5},
		{Datum{Kind: Circle, Axis: z, Radius: 4}, r3.Vec{Z: 3}, 5},
		{Datum{Kind: Sphere, Radius: 2}, r3.Vec{X: 3, Y: 4}, 3},
		{Datum{Kind: Sphere, Radius: 2}, r3.Vec{}, -2},
		{Datum{Kind: Cylinder, Axis: x, Radius: 6}, r3.Vec{X: 9, Y: 3, Z: 4}, -1},
		{Datum{Kind: Cone, Axis: z, HalfAngle: math.Pi / 4}, r3.Vec{X: 2, Z: 0}, math.Sqrt2},
		{Datum{Kind: Cone, Axis: z, HalfAngle: math.Pi / 4}, r3.Vec{Z: 2}, -math.Sqrt2},
		{Datum{Kind: Cone, Axis: z, HalfAngle: math.Pi / 4}, r3.Vec{Z: -3}, 3},
		{Datum{Kind: Torus, Axis: z, Radius: 5, Radius2: 2}, r3.Vec{X: 8, Z: 4}, 3},
		{Datum{Kind: Torus, Axis: z, Radius: 5, Radius2: 2}, r3.Vec{Y: -5}, -2},
	} {
		c.d.Origin = o
		wantAbs(t, string(c.d.Kind), c.d.Distance(r3.Add(o, c.p)), c.want, 1e-15)
	}
}

func drawDatum(t *rapid.T, kind Kind) Datum {
	s := drawShape(t, kind, 0)
	return s.datum
}

// The foot point lies on the datum, at the stated distance, along the normal,
// and no point of the datum nearby is nearer.
func TestProject(t *testing.T) {
	eachKind(t, func(t *rapid.T, kind Kind) {
		d := drawDatum(t, kind)
		p := r3.Add(d.Origin, drawVec(t, 4))
		foot, dist, n := d.Project(p), d.Distance(p), d.Normal(p)
		if e := math.Abs(d.Distance(foot)); e > 1e-14*10 {
			t.Fatalf("the foot %v lies %g off", foot, e)
		}
		if e := math.Abs(r3.Norm(r3.Sub(p, foot)) - math.Abs(dist)); e > 1e-14*10 {
			t.Fatalf("distance %g, foot %g away", dist, r3.Norm(r3.Sub(p, foot)))
		}
		if math.Abs(r3.Norm(n)-1) > 1e-14 {
			t.Fatalf("normal %v", n)
		}
		if math.Abs(dist) > 1e-6 {
			if e := r3.Norm(r3.Sub(r3.Sub(p, foot), r3.Scale(dist, n))); e > 1e-13 {
				t.Fatalf("p - foot = %v is not %g times the normal %v", r3.Sub(p, foot), dist, n)
			}
		}
		near := d.Project(r3.Add(foot, r3.Scale(0.1, drawDirection(t))))
		if r3.Norm(r3.Sub(p, near)) < math.Abs(dist)-1e-13 {
			t.Fatalf("%v is nearer than the foot %v", near, foot)
		}
	})
}

// The normal is the gradient of the distance.
func TestNormalIsGradient(t *testing.T) {
	eachKind(t, func(t *rapid.T, kind Kind) {
		d := drawDatum(t, kind)
		p, _ := onDatum(d, 1, 0.7, 0.05)
		const h = 1e-6
		at := func(v r3.Vec) float64 { return d.Distance(r3.Add(p, v)) }
		g := r3.Vec{
			X: (at(r3.Vec{X: h}) - at(r3.Vec{X: -h})) / (2 * h),
			Y: (at(r3.Vec{Y: h}) - at(r3.Vec{Y: -h})) / (2 * h),
			Z: (at(r3.Vec{Z: h}) - at(r3.Vec{Z: -h})) / (2 * h),
		}
		if e := r3.Norm(r3.Sub(g, d.Normal(p))); e > 1e-8 {
			t.Fatalf("normal %v, gradient %v", d.Normal(p), g)
		}
	})
}

func TestTransformed(t *testing.T) {
	eachKind(t, func(t *rapid.T, kind Kind) {
		s := drawShape(t, kind, 1e-3)
		d := mustFit(t, kind, s.points, Options{})
		m := drawMotion(t)
		m.scale = 1
		e := d.Transformed(m.x, m.y, m.z, m.shift)
		if e.Quality != d.Quality && !math.IsNaN(d.SigmaRadius) && !math.IsNaN(d.SigmaAxis) {
			t.Fatalf("quality %v became %v", d.Quality, e.Quality)
		}
		p := drawVec(t, 3)
		tol := 1e-14 * (10 + r3.Norm(m.shift))
		if a, b := d.Distance(p), e.Distance(m.apply(p)); math.Abs(a-b) > tol {
			t.Fatalf("distance %g became %g", a, b)
		}
		if q := r3.Sub(m.apply(d.Project(p)), e.Project(m.apply(p))); r3.Norm(q) > 1e-6 && math.Abs(d.Distance(p)) < 0.2 {
			t.Fatalf("foot moved by %v", q)
		}
	})
}

// On an axis or centre every direction is as good as another: still a foot
// point at the right distance, and no NaN.
func TestSingularPoints(t *testing.T) {
	for _, kind := range allKinds {
		d := Datum{Kind: kind, Origin: r3.Vec{X: 1, Y: 2, Z: 3}, Axis: oblique, Radius: 2, Radius2: 0.5, HalfAngle: 0.5}
		if kind == Sphere || kind == Point {
			d.Axis = r3.Vec{}
		}
		for _, s := range []float64{-2, 0, 3} {
			p := r3.Add(d.Origin, r3.Scale(s, oblique))
			foot := d.Project(p)
			if e := math.Abs(r3.Norm(r3.Sub(p, foot)) - math.Abs(d.Distance(p))); !(e < 1e-14) {
				t.Errorf("%s at %g along the axis: distance %g, foot %v", kind, s, d.Distance(p), foot)
			}
			if l := r3.Norm(d.Normal(p)); !(math.Abs(l-1) < 1e-14) {
				t.Errorf("%s at %g along the axis: normal %v", kind, s, d.Normal(p))
			}
		}
	}
}
