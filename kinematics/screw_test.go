package kinematics

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

// Published values: K. M. Lynch, F. C. Park, Modern Robotics (Cambridge 2017),
// docstrings of the code library and example 3.26.
func TestTwistPublished(t *testing.T) {
	// ScrewToAxis: q = (3,0,0), s = (0,0,1), pitch 2.
	got := Axis{Point: v3(3, 0, 0), Dir: v3(0, 0, 1)}.Twist(2)
	nearVec(t, "angular", got.Angular, v3(0, 0, 1), 0)
	nearVec(t, "linear", got.Linear, v3(0, -3, 2), 0)
	// MatrixLog6 and MatrixExp6.
	x := rows(1, 0, 0, 0, 0, 0, -1, 0, 0, 1, 0, 3)
	log := x.Log()
	nearVec(t, "log, angular", log.Angular, v3(math.Pi/2, 0, 0), 1e-15)
	nearVec(t, "log, linear", log.Linear, v3(0, 3*math.Pi/4, 3*math.Pi/4), 1e-15)
	nearRows(t, "exp", log.Exp(), x, 1e-15)
	// Example 3.26: from Rz(30), (1, 2, 0) to Rz(60), (2, 1, 0). Published axis point
	// (3.37, 3.37); 3/2 + cot(15 deg)/2 in full.
	z := Axis{Dir: v3(0, 0, 1)}
	from, to := Rotation(z, deg(30)), Rotation(z, deg(60))
	from.T, to.T = v3(1, 2, 0), v3(2, 1, 0)
	s := ScrewOf(to.Mul(from.Inverse()))
	near(t, "angle", s.Angle, math.Pi/6, 1e-15)
	near(t, "travel", s.Travel, 0, 1e-15)
	nearVec(t, "axis point", s.Axis.Point, v3(3.36602540378444, 3.36602540378444, 0), 5e-15)
	nearVec(t, "axis", s.Axis.Dir, v3(0, 0, 1), 0)
	w := s.Axis.Twist(0)
	nearVec(t, "twist of the axis", w.Linear, v3(3.36602540378444, -3.36602540378444, 0), 5e-15)
}

// Finite screws in exact cases (Chasles' theorem: O. Bottema, B. Roth,
// Theoretical Kinematics, 1979).
func TestScrewClosedForm(t *testing.T) {
	t1, t2 := rows(0, -1, 0, 1, 1, 0, 0, 0, 0, 0, 1, 0), rows(0, 0, 1, 2, 0, -1, 0, 3, 1, 0, 0, -1)
	third := rows(0, 0, 1, 2, 1, 0, 0, 2, 0, 1, 0, -1)
	half := rows(-7./9, 4./9, 4./9, -1./3, 4./9, -1./9, 8./9, 16./3, 4./9, 8./9, -1./9, -2./3)
	planar := Rotation(Axis{Dir: v3(0, 0, 1)}, deg(35))
	planar.T = v3(2.5, -1, 0)
	quarter := rows(0, -1, 0, 4, 1, 0, 0, 2, 0, 0, 1, 0)
	for _, c := range []struct {
		name                 string
		x                    Transform
		dir                  r3.Vec
		angle, travel, pitch float64
		point                r3.Vec
	}{
		{"third of a turn", third, unit(v3(1, 1, 1)), deg(120), math.Sqrt(3), 0.826993343132688, v3(0, 1, -1)},
		{"the same from two poses", t2.Mul(t1.Inverse()), unit(v3(1, 1, 1)), deg(120), math.Sqrt(3), 0.826993343132688, v3(0, 1, -1)},
		{"half turn", half, v3(1./3, 2./3, 2./3), math.Pi, 3, 0.954929658551372, v3(-2./3, 5./3, -4./3)},
		{"quarter turn in the plane", quarter, v3(0, 0, 1), math.Pi / 2, 0, 0, v3(1, 3, 0)},
		{"35 degrees in the plane", planar, v3(0, 0, 1), deg(35), 0, 0, v3(2.83579740118161, 3.46449350295402, 0)},
		{"shift", Translation(v3(1, 2, 2)), v3(1./3, 2./3, 2./3), 0, 3, math.Inf(1), r3.Vec{}},
	} {
		s := ScrewOf(c.x)
		nearVec(t, c.name+": direction", s.Axis.Dir, c.dir, 1e-14)
		near(t, c.name+": angle", s.Angle, c.angle, 1e-14)
		near(t, c.name+": travel", s.Travel, c.travel, 1e-14)
		nearVec(t, c.name+": point", s.Axis.Point, c.point, 1e-14)
		if !math.IsInf(c.pitch, 1) {
			near(t, c.name+": pitch", s.Pitch(), c.pitch, 1e-14)
		} else if !math.IsInf(s.Pitch(), 1) {
			t.Errorf("%s: pitch = %v, want +Inf", c.name, s.Pitch())
		}
		nearRows(t, c.name+": back", s.Transform(), c.x, 1e-14)
	}
	if s := ScrewOf(Identity()); s != (Screw{}) {
		t.Errorf("screw of the identity = %v", s)
	}
}

func TestScrewProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := genAxis(10).Draw(t, "axis")
		angle := rapid.Float64Range(1e-4, math.Pi-1e-9).Draw(t, "angle")
		travel := rapid.Float64Range(-5, 5).Draw(t, "travel")
		x := Translation(r3.Scale(travel, a.Dir)).Mul(Rotation(a, angle))
		s := ScrewOf(x)
		// A point is told from R - I, so an axis is known to rounding over the angle.
		tol := 1e-13 / angle
		near(t, "angle", s.Angle, angle, 1e-12)
		near(t, "travel", s.Travel, travel, tol)
		nearVec(t, "direction", s.Axis.Dir, a.Dir, tol)
		near(t, "the axis is found", a.Distance(s.Axis.Point), 0, 20*tol)
		near(t, "point nearest to the origin", r3.Dot(s.Axis.Point, s.Axis.Dir), 0, 20*tol)
		nearRows(t, "back", s.Transform(), x, 1e-12)
		// Scale: a model in other units has the same screw in those units.
		k := rapid.Float64Range(1e-6, 1e6).Draw(t, "scale")
		y := x
		y.T = r3.Scale(k, x.T)
		near(t, "scaled travel", ScrewOf(y).Travel/k, travel, tol)
	})
}

func TestExpLogRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		size := math.Pow(10, rapid.Float64Range(-14, math.Log10(math.Pi-1e-6)).Draw(t, "log size"))
		w := Twist{Angular: r3.Scale(size, genUnit().Draw(t, "u")), Linear: genPoint(10).Draw(t, "v")}
		got := w.Exp().Log()
		nearVec(t, "angular", got.Angular, w.Angular, 3e-12)
		nearVec(t, "linear", got.Linear, w.Linear, 3e-11)
		nearRows(t, "twice half is whole", w.Scale(0.5).Exp().Mul(w.Scale(0.5).Exp()), w.Exp(), 1e-13)
	})
}

// Oracle: gonum's scaling-and-squaring exponential of the 4x4 matrix.
func TestExpAgainstMatrixExponential(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		size := math.Pow(10, rapid.Float64Range(-12, 1).Draw(t, "log size"))
		w := Twist{Angular: r3.Scale(size, genUnit().Draw(t, "u")), Linear: genPoint(10).Draw(t, "v")}
		var e mat.Dense
		e.Exp(twistMatrix(w))
		nearRows(t, "exp", w.Exp(), fromDense(&e), 2e-13)
	})
}

func TestTwistBadInput(t *testing.T) {
	nan := math.NaN()
	if x := (Twist{Angular: v3(nan, 0, 0)}).Exp(); x.Check(1) == nil {
		t.Errorf("exp of NaN = %v", x)
	}
	if x := (Twist{Angular: v3(1e-300, 0, 0), Linear: v3(1, 2, 3)}).Exp(); x != Translation(v3(1, 2, 3)) {
		t.Errorf("exp of a vanishing turn = %v", x)
	}
	if s := ScrewOf(Transform{X: v3(nan, 0, 0), Y: v3(0, 1, 0), Z: v3(0, 0, 1)}); !math.IsNaN(s.Angle) {
		t.Errorf("screw of NaN = %v", s)
	}
	if s := ScrewOf(Translation(v3(0, 1e-310, 0))); s != (Screw{}) {
		t.Errorf("screw of a vanishing shift = %v", s)
	}
}

// The series and the plain form of 1 - sin(t)/t meet where they change over.
func TestOneMinusSinc(t *testing.T) {
	for _, x := range []float64{0.2, 0.2499999, 0.25, 0.2500001, 0.3} {
		near(t, "1 - sin(t)/t", oneMinusSinc(x), 1-math.Sin(x)/x, 2e-16)
	}
	near(t, "small", oneMinusSinc(1e-8)/1e-16, 1./6, 1e-16)
}

func BenchmarkScrewOf(b *testing.B) {
	b.ReportAllocs()
	x := Rotation(about(v3(1, 2, 3), v3(1, 1, 0)), 0.3)
	for b.Loop() {
		if s := ScrewOf(x); s.Angle == 0 {
			b.Fatal("no turn")
		}
	}
}
