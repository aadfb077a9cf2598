package contact

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"reflect"
	"runtime"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/kinematics"
)

func curve(t testing.TB, s *Scene, from, to float64, o CurveOptions) *Curve {
	t.Helper()
	c, err := s.Curve(t.Context(), kinematics.Range{Lower: from, Upper: to}, o)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// A corner at radius r under a wide face y = d is d - r sin t away from it: the
// minimum lies at a right angle, the maximum at minus one.
func TestCurveOfACorner(t *testing.T) {
	spike := tetra(r3.Vec{X: 20}, r3.Vec{X: 1, Y: -0.4, Z: -2}, r3.Vec{X: 1, Y: -0.1, Z: -2}, r3.Vec{X: 1, Y: -0.2, Z: 3})
	wall := box(-40, 40, 25, 30, -30, 30)
	move, axis := oblique(r3.Vec{X: 12, Y: -7, Z: 30}, r3.Vec{X: 1, Y: 2, Z: 3})
	s := scene(t, spike.moved(move), wall.moved(move), axis, Options{})
	for _, e := range []float64{1, 0.01, 1e-4, 1e-6} {
		c := curve(t, s, 0.3, 3, CurveOptions{Error: e})
		if c.Error > e {
			t.Errorf("error %g certified, %g asked for", c.Error, e)
		}
		for v := 0.3; v < 3; v += 0.0123 {
			if d, want := c.At(v), 25-20*math.Sin(v); math.Abs(d-want) > c.Error+1e-11 {
				t.Errorf("at %g: %.12g, want %.12g within %g", v, d, want, c.Error)
			}
		}
		if len(c.Minima) != 1 || math.Abs(c.Minima[0].Distance-5) > 1e-11 || math.Abs(c.Minima[0].Value-math.Pi/2) > 1e-5 {
			t.Fatalf("minima %+v, want 5 at a right angle", c.Minima)
		}
		if on := move(r3.Vec{Y: 20}); r3.Norm(r3.Sub(c.Minima[0].OnMoving, on)) > 1e-3 {
			t.Errorf("minimum on %v, want %v", c.Minima[0].OnMoving, on)
		}
		if c.Lowest > 5 || c.Lowest < 5-e {
			t.Errorf("lower bound %.12g, want 5 within %g", c.Lowest, e)
		}
	}
}

// Two corners, two walls: the curve changes from one pair to another where it
// has a kink, and has a minimum at either.
func TestCurveOverAKink(t *testing.T) {
	spike := func(y float64) solid {
		return tetra(r3.Vec{X: 20, Y: y}, r3.Vec{X: 1, Y: -0.4, Z: -2}, r3.Vec{X: 1, Y: -0.1, Z: -2}, r3.Vec{X: 1, Y: -0.2, Z: 3})
	}
	s := scene(t, spike(0), joined(box(-40, 40, 25, 30, -30, 30), box(21, 30, -40, 40, -30, 30)), zAxis, Options{})
	want := func(v float64) float64 { return min(25-20*math.Sin(v), 21-20*math.Cos(v)) }
	c := curve(t, s, -1, 2.5, CurveOptions{Error: 1e-3})
	for v := -1.0; v < 2.5; v += 0.00717 {
		if math.Abs(c.At(v)-want(v)) > c.Error+1e-11 {
			t.Errorf("at %g: %.12g, want %.12g", v, c.At(v), want(v))
		}
	}
	if len(c.Minima) != 2 || math.Abs(c.Minima[0].Distance-1) > 1e-11 || math.Abs(c.Minima[1].Distance-5) > 1e-11 {
		t.Errorf("minima %+v, want 1 and 5", c.Minima)
	}
	least := curve(t, s, -1, 2.5, CurveOptions{Error: 1e-6, Least: true})
	if len(least.Samples) >= len(c.Samples) || math.Abs(least.Lowest-1) > 1e-6 {
		t.Errorf("least alone: %d samples of %d, bound %.12g, want 1", len(least.Samples), len(c.Samples), least.Lowest)
	}
}

// The error that a curve certifies holds wherever the distance is measured.
func TestCurveIsCertified(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		moving, still, axis := drawScene(rt, t)
		s := build(rt, t, moving, still, axis)
		from := rapid.Float64Range(-4, 4).Draw(rt, "from")
		over := kinematics.Range{Lower: from, Upper: from + rapid.Float64Range(0, 2).Draw(rt, "span")}
		o := CurveOptions{Error: s.size * math.Pow(10, rapid.Float64Range(-4, -1).Draw(rt, "error")), Least: rapid.Bool().Draw(rt, "least")}
		c := curve(t, s, over.Lower, over.Upper, o)
		if !o.Least && c.Error > o.Error {
			rt.Fatalf("error %g certified, %g asked for", c.Error, o.Error)
		}
		least := math.Inf(1)
		for _, x := range c.Samples {
			least = min(least, x.Distance)
		}
		if !(c.Lowest <= least) || least-c.Lowest > max(c.Error, o.Error)*(1+1e-9) || o.Least && least-c.Lowest > o.Error*(1+1e-9) {
			rt.Fatalf("bound %g under a smallest distance of %g, error %g", c.Lowest, least, c.Error)
		}
		for range 12 {
			v := over.Lower + rapid.Float64Range(0, 1).Draw(rt, "at")*over.Span()
			d := clearance(t, s, v)[0]
			if math.Abs(d-c.At(v)) > c.Error+1e-11*s.size {
				rt.Fatalf("at %g: distance %.12g, curve %.12g, error %g", v, d, c.At(v), c.Error)
			}
			if d < c.Lowest-1e-11*s.size {
				rt.Fatalf("at %g: distance %.12g below the bound %.12g", v, d, c.Lowest)
			}
		}
	})
}

// Every minimum is where all pairs of triangles, measured densely, have one.
func TestMinimaAgainstStepping(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 9))
	seen := 0
	for range 30 {
		moving, still, axis := rubbleScene(r, 6, 3)
		if !apart(t, moving, still) {
			continue
		}
		s := scene(t, moving, still, axis, Options{Tolerance: -1})
		c := curve(t, s, -1, 1, CurveOptions{})
		for _, m := range c.Minima {
			if math.Abs(m.Value) == 1 || m.Distance == 0 {
				continue
			}
			seen++
			if want := distanceAt(t, moving, still, axis, m.Value); math.Abs(m.Distance-want) > 1e-10 {
				t.Errorf("minimum %.12g at %g, want %.12g", m.Distance, m.Value, want)
			}
			for _, step := range []float64{-1e-2, -1e-4, 1e-4, 1e-2} {
				if v := m.Value + step; math.Abs(v) < 1 && step*step < 1e-6 && distanceAt(t, moving, still, axis, v) < m.Distance-1e-12 {
					t.Errorf("distance at %g is below the minimum at %g", v, m.Value)
				}
			}
		}
		lowest := math.Inf(1)
		for v := -1.0; v <= 1; v += 0.04 {
			lowest = min(lowest, distanceAt(t, moving, still, axis, v))
		}
		least := math.Inf(1)
		for _, m := range c.Minima {
			least = min(least, m.Distance)
		}
		if least > lowest+2*c.Error {
			t.Errorf("least of the minima %g, stepping finds %g", least, lowest)
		}
	}
	if seen < 5 {
		t.Errorf("%d minima seen: too few to tell", seen)
	}
}

func TestCurveWhereNothingCounts(t *testing.T) {
	s := scene(t, tube(4.1, 6, -5, 5, 32, 0), pin(4, -9, 9, 32, 0), zAxis, Options{})
	c := curve(t, s, -1, 1, CurveOptions{})
	if len(c.Samples) != 2 || !math.IsInf(c.At(0.3), 1) || c.Error != 0 || len(c.Minima) != 0 || !math.IsInf(c.Lowest, 1) {
		t.Errorf("curve %+v, want +Inf all the way", c)
	}
	if one := curve(t, s, 0.5, 0.5, CurveOptions{}); len(one.Samples) != 1 || !math.IsInf(one.At(7), 1) {
		t.Errorf("curve %+v over one value", one)
	}
	if none := (&Curve{}); !math.IsNaN(none.At(0)) {
		t.Error("an empty curve has a distance")
	}
}

// A limit on the samples makes the certified error larger, not wrong.
func TestCurveOfFewSamples(t *testing.T) {
	flap, stops := flapAndStops()
	s := scene(t, flap, stops, zAxis, Options{})
	c := curve(t, s, -0.5, 0.5, CurveOptions{Error: 1e-9, Most: 200})
	if len(c.Samples) > 200+chunks || c.Error <= 1e-9 {
		t.Errorf("%d samples, error %g", len(c.Samples), c.Error)
	}
	for v := -0.5; v < 0.5; v += 0.0137 {
		if d := clearance(t, s, v)[0]; math.Abs(d-c.At(v)) > c.Error+1e-10 {
			t.Errorf("at %g: %g, curve %g, error %g", v, d, c.At(v), c.Error)
		}
	}
}

func TestBadCurves(t *testing.T) {
	flap, stops := flapAndStops()
	s := scene(t, flap, stops, zAxis, Options{})
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range []struct {
		over kinematics.Range
		o    CurveOptions
		says string
	}{
		{kinematics.Range{Lower: 1, Upper: 0}, CurveOptions{}, "range from 1 to 0"},
		{kinematics.Range{Lower: nan}, CurveOptions{}, "range from NaN"},
		{kinematics.Range{Lower: -inf, Upper: 1}, CurveOptions{}, "not finite"},
		{kinematics.Range{Upper: 1}, CurveOptions{Error: -1}, "positive length"},
		{kinematics.Range{Upper: 1}, CurveOptions{Error: nan}, "positive length"},
		{kinematics.Range{Upper: 1}, CurveOptions{Error: inf}, "positive length"},
	} {
		if _, err := s.Curve(t.Context(), c.over, c.o); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%+v %+v: error %v, want one that says %q", c.over, c.o, err, c.says)
		}
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := s.Curve(ctx, kinematics.Range{Upper: 1}, CurveOptions{}); !errors.Is(err, context.Canceled) {
		t.Errorf("error %v, want canceled", err)
	}
}

func TestSameCurveOnAnyNumberOfCores(t *testing.T) {
	moving, still := pinInBarrel(0.1, 4000)
	var first *Curve
	for _, procs := range []int{1, 2, 1, 2} {
		old := runtime.GOMAXPROCS(procs)
		c := curve(t, scene(t, moving, still, zAxis, Options{}), -0.6, 0.5, CurveOptions{})
		runtime.GOMAXPROCS(old)
		if first == nil {
			first = c
		}
		if !reflect.DeepEqual(first, c) {
			t.Errorf("%d processors: another curve", procs)
		}
	}
}
