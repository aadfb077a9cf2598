package kinematics

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

// Exact cases in closed form, recomputed to 30 digits.
func TestCommonNormalClosedForm(t *testing.T) {
	for _, c := range []struct {
		p1, d1, p2, d2    r3.Vec
		foot1, foot2, dir r3.Vec
		a, alpha          float64
	}{
		{
			v3(0, 0, 0), v3(0, 0, 1), v3(3, 4, 5), v3(0, 1, 1),
			v3(0, 0, 1), v3(3, 0, 1), v3(1, 0, 0), 3, -45,
		},
		{
			v3(1, 1, 0), v3(1, 2, 2), v3(4, 0, 2), v3(2, -2, 1),
			v3(1.55555555555556, 2.11111111111111, 1.11111111111111), v3(1.77777777777778, 2.22222222222222, 0.888888888888889),
			v3(2./3, 1./3, -2./3), 1. / 3, 90,
		},
		{
			v3(0, 0, 0), v3(1, 0, 0), v3(2, 3, 4), v3(0, 1, 0),
			v3(2, 0, 0), v3(2, 0, 4), v3(0, 0, 1), 4, 90,
		},
		{
			v3(1, 2, 3), v3(2, 1, -1), v3(0, -1, 5), v3(1, 1, 1),
			v3(-1.42857142857143, 0.785714285714286, 4.21428571428571), v3(-0.142857142857143, -1.14285714285714, 4.85714285714286),
			v3(0.534522483824849, -0.801783725737273, 0.267261241912424), 2.40535117721182, 61.8744942979443,
		},
	} {
		n := CommonNormal(about(c.p1, c.d1), about(c.p2, c.d2), 0)
		nearVec(t, "foot on 1", n.FootA, c.foot1, 1e-14)
		nearVec(t, "foot on 2", n.FootB, c.foot2, 1e-14)
		nearVec(t, "direction", n.Dir, c.dir, 1e-14)
		near(t, "distance", n.Distance, c.a, 1e-14)
		near(t, "twist (deg)", Degrees(n.Twist), c.alpha, 1e-12)
		if n.Parallel || n.Meeting {
			t.Errorf("skew axes called parallel %v, meeting %v", n.Parallel, n.Meeting)
		}
	}
}

func TestCommonNormalSpecialCases(t *testing.T) {
	z := Axis{Dir: v3(0, 0, 1)}
	// Parallel, either way round: the foot stays at the first axis' point.
	for _, sign := range []float64{1, -1} {
		n := CommonNormal(z, about(v3(3, 4, 7), v3(0, 0, sign)), 0)
		if !n.Parallel || n.Meeting {
			t.Errorf("parallel %v, meeting %v", n.Parallel, n.Meeting)
		}
		nearVec(t, "foot on 1", n.FootA, r3.Vec{}, 0)
		nearVec(t, "foot on 2", n.FootB, v3(3, 4, 0), 1e-15)
		nearVec(t, "direction", n.Dir, v3(0.6, 0.8, 0), 1e-15)
		near(t, "distance", n.Distance, 5, 1e-15)
		near(t, "twist", math.Abs(n.Twist), math.Acos(sign), 1e-15)
	}
	// Meeting: the direction is the cross product.
	n := CommonNormal(z, about(v3(0, 5, 3), v3(0, 1, 0)), 0)
	if n.Parallel || !n.Meeting || n.Distance != 0 {
		t.Errorf("meeting axes: %+v", n)
	}
	nearVec(t, "where they meet", n.FootA, v3(0, 0, 3), 1e-15)
	nearVec(t, "direction", n.Dir, v3(-1, 0, 0), 1e-15)
	near(t, "twist", n.Twist, math.Pi/2, 1e-15)
	// One line twice.
	n = CommonNormal(z, about(v3(0, 0, 9), v3(0, 0, 2)), 0)
	if !n.Parallel || !n.Meeting || n.Distance != 0 || n.Dir != Perpendicular(z.Dir) {
		t.Errorf("coincident axes: %+v", n)
	}
	// The user's threshold makes parallel what rounding would not.
	tilted := about(v3(1, 0, 0), v3(0, math.Sin(1e-4), math.Cos(1e-4)))
	if CommonNormal(z, tilted, 0).Parallel || !CommonNormal(z, tilted, 2e-4).Parallel {
		t.Error("the threshold for parallel axes is not obeyed")
	}
}

func TestCommonNormalProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := genAxis(10).Draw(t, "a"), genAxis(10).Draw(t, "b")
		if s := r3.Norm(r3.Cross(a.Dir, b.Dir)); s < 0.01 {
			t.Skip("nearly parallel")
		}
		n := CommonNormal(a, b, 0)
		const tol = 1e-9
		near(t, "foot on a", a.Distance(n.FootA), 0, tol)
		near(t, "foot on b", b.Distance(n.FootB), 0, tol)
		nearVec(t, "the normal joins the feet", r3.Add(n.FootA, r3.Scale(n.Distance, n.Dir)), n.FootB, tol)
		near(t, "right angle to a", r3.Dot(n.Dir, a.Dir), 0, 1e-12)
		near(t, "right angle to b", r3.Dot(n.Dir, b.Dir), 0, 1e-12)
		// World motion and scale.
		w := genMotion(10).Draw(t, "world")
		k := rapid.Float64Range(1e-3, 1e3).Draw(t, "scale")
		scaled := func(x Axis) Axis { return w.Axis(Axis{Point: r3.Scale(k, x.Point), Dir: x.Dir}) }
		m := CommonNormal(scaled(a), scaled(b), 0)
		near(t, "distance moved", m.Distance/k, n.Distance, 1e-9/k+1e-9)
		if n.Distance > 1e-9 { // nearer, rounding chooses the direction
			near(t, "twist moved", m.Twist, n.Twist, 1e-9)
		}
		// Seen from the other axis.
		r := CommonNormal(b, a, 0)
		nearVec(t, "foot from b", r.FootB, n.FootA, tol)
		near(t, "distance from b", r.Distance, n.Distance, tol)
		if n.Distance > 1e-9 {
			near(t, "twist from b", r.Twist, n.Twist, 1e-9)
		}
	})
}

// Oracle: no pair of points of the lines is nearer than the feet.
func TestCommonNormalIsShortest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := genAxis(10).Draw(t, "a"), genAxis(10).Draw(t, "b")
		s := rapid.Float64Range(-20, 20)
		d := r3.Norm(r3.Sub(a.At(s.Draw(t, "s")), b.At(s.Draw(t, "u"))))
		if n := CommonNormal(a, b, 0); d < n.Distance-1e-9 {
			t.Errorf("points at distance %.17g, common normal %.17g", d, n.Distance)
		}
	})
}

func TestAxisErrorAndCorrection(t *testing.T) {
	joint := Frame{Origin: v3(0, 0, 5), Hinge: v3(0, 0, 1), Reach: v3(1, 0, 0)}
	s, c := math.Sincos(deg(1.5))
	datum := Axis{Point: v3(0.8, 0, 0), Dir: v3(0, -s, -c)}
	e := AxisErrorOf(joint.Axis(), datum)
	near(t, "angle (deg)", Degrees(e.Angle), 1.5, 1e-13)
	near(t, "offset", e.Offset, 0.8, 1e-15)
	got := CorrectionOf(joint, datum).Apply(joint)
	nearVec(t, "hinge keeps its sense", got.Hinge, v3(0, s, c), 1e-15)
	nearVec(t, "tilt", CorrectionOf(joint, datum).Tilt, v3(-deg(1.5), 0, 0), 1e-15)
	near(t, "move", r3.Norm(CorrectionOf(joint, datum).Move), math.Hypot(0.8, 5*s), 1e-14)
	almost := joint.Axis()
	almost.Dir.X = 1e-310 // a remainder too small to have a direction
	if got := CorrectionOf(joint, almost).Apply(joint); got != joint {
		t.Errorf("corrected to %v, want %v", got, joint)
	}
	if c := CorrectionOf(joint, joint.Axis()); c != (Correction{}) {
		t.Errorf("correction of a true joint = %v", c)
	}
}

func TestCorrectionProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := genFrame(10).Draw(t, "joint")
		datum := genAxis(10).Draw(t, "datum")
		c := CorrectionOf(f, datum)
		got := c.Apply(f)
		if err := got.Check(); err != nil {
			t.Errorf("corrected frame: %v", err)
		}
		e := AxisErrorOf(got.Axis(), datum)
		near(t, "angle left", e.Angle, 0, 1e-14)
		near(t, "offset left", e.Offset, 0, 1e-13)
		near(t, "the least tilt", r3.Norm(c.Tilt), AxisErrorOf(f.Axis(), datum).Angle, 1e-14)
		near(t, "the least move", r3.Norm(c.Move), datum.Distance(f.Origin), 1e-13)
		near(t, "tilt square to the hinge", r3.Dot(c.Tilt, f.Hinge), 0, 1e-14)
		if math.Abs(r3.Dot(f.Hinge, datum.Dir)) < 1e-9 {
			return // either sense is as near, and rounding chooses
		}
		w := genMotion(10).Draw(t, "world")
		nearFrame(t, "world motion", CorrectionOf(w.Frame(f), w.Axis(datum)).Apply(w.Frame(f)), w.Frame(got), 1e-12)
	})
}

func BenchmarkCommonNormal(b *testing.B) {
	b.ReportAllocs()
	x, y := about(v3(1, 2, 3), v3(2, 1, -1)), about(v3(0, -1, 5), v3(1, 1, 1))
	for b.Loop() {
		if n := CommonNormal(x, y, 0); n.Parallel {
			b.Fatal("parallel")
		}
	}
}
