package fit

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

var fittedKinds = []Kind{Line, Plane, Circle, Sphere, Cylinder, Cone, Torus}

// drawnShape is a datum in a random pose with points on it.
type drawnShape struct {
	datum   Datum
	points  []r3.Vec
	normals []r3.Vec
}

func drawDirection(t *rapid.T) r3.Vec {
	z := rapid.Float64Range(-1, 1).Draw(t, "z")
	phi := rapid.Float64Range(0, 2*math.Pi).Draw(t, "azimuth")
	sin, cos := math.Sincos(phi)
	r := math.Sqrt(1 - z*z)
	return r3.Vec{X: r * cos, Y: r * sin, Z: z}
}

func drawVec(t *rapid.T, size float64) r3.Vec {
	c := rapid.Float64Range(-size, size)
	return r3.Vec{X: c.Draw(t, "x"), Y: c.Draw(t, "y"), Z: c.Draw(t, "z")}
}

// drawShape draws a shape of about unit size that covers an arc of at least 45
// degrees, with points off it by at most noise. Points fall on a jittered
// lattice, so that no drawn set is degenerate by accident.
func drawShape(t *rapid.T, kind Kind, noise float64) drawnShape {
	s := drawnShape{datum: Datum{Kind: kind, Origin: drawVec(t, 3), Axis: drawDirection(t)}}
	lo, hi := -1.0, 1.0
	switch kind {
	case Line:
		lo, hi = -2, 2
	case Plane:
		lo, hi = 0.2, 2
	case Circle:
		s.datum.Radius = rapid.Float64Range(0.5, 2).Draw(t, "radius")
	case Cylinder:
		s.datum.Radius = rapid.Float64Range(0.5, 2).Draw(t, "radius")
		hi = lo + rapid.Float64Range(0.3, 6).Draw(t, "length")
	case Sphere:
		s.datum.Radius = rapid.Float64Range(0.5, 2).Draw(t, "radius")
		s.datum.Axis = r3.Vec{}
	case Cone:
		s.datum.HalfAngle = rapid.Float64Range(0.2, 1.2).Draw(t, "half angle")
		lo, hi = 0.5, 2
	case Torus:
		s.datum.Radius = rapid.Float64Range(1, 2).Draw(t, "radius")
		s.datum.Radius2 = rapid.Float64Range(0.2, 0.8).Draw(t, "tube") * s.datum.Radius
		lo, hi = 0, 2*math.Pi
	}
	arc := rapid.Float64Range(math.Pi/4, 2*math.Pi).Draw(t, "arc")
	across := rapid.IntRange(6, 12).Draw(t, "across")
	along := rapid.IntRange(4, 7).Draw(t, "along")
	jitter := rapid.Float64Range(-0.3, 0.3)
	off := rapid.Float64Range(-noise, noise)
	for i := range across {
		for j := range along {
			u := (float64(i) + 0.5 + jitter.Draw(t, "u")) / float64(across)
			v := (float64(j) + 0.5 + jitter.Draw(t, "v")) / float64(along)
			p, n := onDatum(s.datum, arc*u, lo+(hi-lo)*v, off.Draw(t, "e"))
			s.points, s.normals = append(s.points, p), append(s.normals, n)
		}
	}
	return s
}

func eachKind(t *testing.T, check func(t *rapid.T, kind Kind)) {
	for _, kind := range fittedKinds {
		t.Run(string(kind), func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) { check(t, kind) })
		})
	}
}

func mustFit(t *rapid.T, kind Kind, p []r3.Vec, o Options) Datum {
	d, err := Fit(kind, p, o)
	if err != nil {
		t.Fatalf("%s: %v", kind, err)
	}
	return d
}

// magnified returns what coordinates rounded by eps, for points of about unit
// size, may change in the datum: measured by shaking them a million times
// harder than rounding does, with a margin for the luck of that shake.
func magnified(t *rapid.T, d Datum, p []r3.Vec, eps float64) float64 {
	const shake = 1e-9
	r := splitMix(1)
	q := make([]r3.Vec, len(p))
	for i := range p {
		e := func() float64 { return shake * (float64(r.intn(2001))/1000 - 1) }
		q[i] = r3.Add(p[i], r3.Vec{X: e(), Y: e(), Z: e()})
	}
	o := Options{}
	if d.Kind != Line && d.Kind != Plane {
		o.Start = &d
	}
	s := mustFit(t, d.Kind, q, o)
	change := max(lineAngle(s.Axis, d.Axis), r3.Norm(r3.Sub(s.Origin, d.Origin)), math.Abs(s.Radius-d.Radius),
		math.Abs(s.Radius2-d.Radius2), math.Abs(s.HalfAngle-d.HalfAngle))
	return eps * (100 + 1000*change/shake)
}

// differs describes the first way in which two datums differ by more than tol,
// relative to the size of the points; empty if none.
func differs(got, want Datum, size, tol float64) string {
	switch {
	case lineAngle(got.Axis, want.Axis) > tol:
		return fmt.Sprintf("axis %v, want %v, off by %.3g > %.3g", got.Axis, want.Axis, lineAngle(got.Axis, want.Axis), tol)
	case r3.Norm(r3.Sub(got.Origin, want.Origin)) > tol*size:
		return fmt.Sprintf("origin %v, want %v, off by %.3g > %.3g", got.Origin, want.Origin, r3.Norm(r3.Sub(got.Origin, want.Origin)), tol*size)
	case math.Abs(got.Radius-want.Radius) > tol*size, math.Abs(got.Radius2-want.Radius2) > tol*size:
		return fmt.Sprintf("radii %.17g %.17g, want %.17g %.17g within %.3g", got.Radius, got.Radius2, want.Radius, want.Radius2, tol*size)
	case math.Abs(got.HalfAngle-want.HalfAngle) > tol:
		return fmt.Sprintf("half angle %.17g, want %.17g within %.3g", got.HalfAngle, want.HalfAngle, tol)
	case math.Abs(got.RMS-want.RMS) > tol*size, math.Abs(got.FormError-want.FormError) > tol*size:
		return fmt.Sprintf("RMS %.17g, form %.17g, want %.17g, %.17g", got.RMS, got.FormError, want.RMS, want.FormError)
	case math.Abs(got.Arc-want.Arc) > 1e-6:
		return fmt.Sprintf("arc %.17g, want %.17g", got.Arc, want.Arc)
	}
	for _, s := range [][2]float64{{got.SigmaAxis, want.SigmaAxis}, {got.SigmaOrigin / size, want.SigmaOrigin / size}, {got.SigmaRadius / size, want.SigmaRadius / size}} {
		if !(math.Abs(s[0]-s[1]) <= tol+1e-6*math.Abs(s[1])) && !(math.IsNaN(s[0]) && math.IsNaN(s[1])) {
			return fmt.Sprintf("sigma %.17g, want %.17g", s[0], s[1])
		}
	}
	return ""
}

func TestRecovery(t *testing.T) {
	eachKind(t, func(t *rapid.T, kind Kind) {
		s := drawShape(t, kind, 0)
		d := mustFit(t, kind, s.points, Options{})
		want := s.datum
		switch kind { // the point of it that the fit reports
		case Line, Cylinder, Plane:
			want.Origin = want.Project(d.Origin)
			if kind == Cylinder {
				want.Origin = r3.Add(s.datum.Origin, r3.Scale(r3.Dot(r3.Sub(d.Origin, s.datum.Origin), want.Axis), want.Axis))
			}
		}
		want.Quality = d.Quality
		if diff := differs(d, want, 1, 1e-10); diff != "" {
			t.Fatal(diff)
		}
		if d.RMS > 1e-13 || d.FormError > 1e-12 {
			t.Fatalf("RMS %g, form error %g of exact points", d.RMS, d.FormError)
		}
	})
}

// moved is a similarity p -> scale (turn p + shift).
type moved struct {
	x, y, z, shift r3.Vec
	scale          float64
}

func (m moved) apply(p r3.Vec) r3.Vec {
	q := r3.Add(r3.Scale(p.X, m.x), r3.Add(r3.Scale(p.Y, m.y), r3.Scale(p.Z, m.z)))
	return r3.Scale(m.scale, r3.Add(q, m.shift))
}

func (m moved) datum(d Datum) Datum {
	d = d.Transformed(m.x, m.y, m.z, m.shift)
	d.Origin = r3.Scale(m.scale, d.Origin)
	for _, v := range []*float64{&d.Radius, &d.Radius2, &d.RMS, &d.FormError, &d.Sagitta, &d.SigmaOrigin, &d.SigmaRadius} {
		*v *= m.scale
	}
	return d
}

func drawMotion(t *rapid.T) moved {
	z := drawDirection(t)
	f := poseAlong(z, drawVec(t, 1))
	m := moved{x: f.n, y: f.t, z: z}
	m.shift = r3.Scale(rapid.SampledFrom([]float64{0, 10, 1000}).Draw(t, "far"), drawVec(t, 1))
	m.scale = rapid.SampledFrom([]float64{1, 1000, 0.001, 25.4, 1 / 25.4}).Draw(t, "scale")
	return m
}

func TestMotionAndScaleInvariance(t *testing.T) {
	eachKind(t, func(t *rapid.T, kind Kind) {
		s := drawShape(t, kind, 1e-3)
		m := drawMotion(t)
		there := make([]r3.Vec, len(s.points))
		for i, p := range s.points {
			there[i] = m.apply(p)
		}
		here := mustFit(t, kind, s.points, Options{})
		want, d := m.datum(here), mustFit(t, kind, there, Options{})
		// What is left is the rounding of the moved coordinates.
		tol := magnified(t, here, s.points, 2e-16*(5+r3.Norm(m.shift)))
		if diff := differs(d, want, m.scale, tol); diff != "" {
			t.Fatal(diff)
		}
	})
}

func TestPermutationInvariance(t *testing.T) {
	eachKind(t, func(t *rapid.T, kind Kind) {
		s := drawShape(t, kind, 1e-3)
		d := mustFit(t, kind, s.points, Options{})
		e := mustFit(t, kind, rapid.Permutation(s.points).Draw(t, "order"), Options{})
		if diff := differs(e, d, 1, max(1e-12, magnified(t, d, s.points, 3e-15))); diff != "" {
			t.Fatal(diff)
		}
		if r3.Dot(d.Axis, e.Axis) < 0 {
			t.Fatalf("axis %v turned round to %v", d.Axis, e.Axis)
		}
	})
}

func TestSameInputSameBits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		kind := rapid.SampledFrom(fittedKinds).Draw(t, "kind")
		s := drawShape(t, kind, 1e-2)
		o := Options{Robust: rapid.Bool().Draw(t, "robust")}
		a, err1 := Fit(kind, s.points, o)
		b, err2 := Fit(kind, s.points, o)
		if fmt.Sprint(a, err1) != fmt.Sprint(b, err2) {
			t.Fatalf("%v %v\n%v %v", a, err1, b, err2)
		}
	})
}

// The minimum does not depend on normals or on where the iteration starts.
func TestNormalsAndStartDoNotMatter(t *testing.T) {
	eachKind(t, func(t *rapid.T, kind Kind) {
		s := drawShape(t, kind, 1e-3)
		d := mustFit(t, kind, s.points, Options{})
		if diff := differs(mustFit(t, kind, s.points, Options{Normals: s.normals}), d, 1, magnified(t, d, s.points, 3e-15)); diff != "" {
			t.Fatal("with normals: ", diff)
		}
		if diff := differs(mustFit(t, kind, s.points, Options{Start: &s.datum}), d, 1, magnified(t, d, s.points, 3e-15)); diff != "" {
			t.Fatal("from the truth: ", diff)
		}
	})
}

// At 10 km from the origin a millimetre model's coordinates are rounded to
// 2e-9 mm; nothing else may be lost.
func TestTenKilometresAway(t *testing.T) {
	eachKind(t, func(t *rapid.T, kind Kind) {
		s := drawShape(t, kind, 1e-3)
		const mm = 10 // shapes of 10 mm
		far := r3.Vec{X: 1e7, Y: -1e7, Z: 1e7}
		near, away := make([]r3.Vec, len(s.points)), make([]r3.Vec, len(s.points))
		for i, p := range s.points {
			away[i] = r3.Add(r3.Scale(mm, p), far)
			near[i] = r3.Sub(away[i], far) // the rounded points, exactly
		}
		small := mustFit(t, kind, s.points, Options{})
		d, e := mustFit(t, kind, near, Options{}), mustFit(t, kind, away, Options{})
		e.Origin = r3.Sub(e.Origin, far)
		if diff := differs(e, d, mm, magnified(t, small, s.points, 1e-10)); diff != "" {
			t.Fatal(diff)
		}
	})
}

// The axis directions, radii and residuals at 10 km must agree to the last
// bits, because the base is subtracted exactly.
func TestOffsetCostsNothing(t *testing.T) {
	eachKind(t, func(t *rapid.T, kind Kind) {
		s := drawShape(t, kind, 1e-3)
		shift := r3.Vec{X: 1 << 20, Y: -(1 << 21), Z: 1 << 20}
		near, away := make([]r3.Vec, len(s.points)), make([]r3.Vec, len(s.points))
		for i, p := range s.points {
			away[i] = r3.Add(p, shift)
			near[i] = r3.Sub(away[i], shift)
		}
		d, e := mustFit(t, kind, near, Options{}), mustFit(t, kind, away, Options{})
		e.Origin = d.Origin // limited by the rounding of the answer itself
		if diff := differs(e, d, 1, magnified(t, d, s.points, 3e-15)); diff != "" {
			t.Fatal(diff)
		}
	})
}
