package kinematics

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

// A point on a circle of radius rho: chord 2 rho sin(t/2), arc rho t (closed form).
func TestDriftClosedForm(t *testing.T) {
	axis := Axis{Point: v3(0, 0, 5), Dir: v3(0, 0, 1)}
	p := v3(0.8, 0, 0)
	for _, c := range []struct {
		name   string
		over   Range
		want   Drift
		wobble float64 // of a direction that leans 1.5 degrees
	}{
		{"quarter turn", Range{0, math.Pi / 2}, Drift{0.8, 0.4 * math.Pi, 0.8 * math.Sqrt2, 0.8 * math.Sqrt2, 0.8 * math.Sqrt2, math.Pi / 2}, 2 * math.Asin(math.Sin(deg(1.5))*math.Sin(math.Pi/4))},
		{"both ways", Range{-math.Pi / 2, math.Pi / 3}, Drift{0.8, 0.8 * 5 * math.Pi / 6, 1.6 * math.Sin(deg(75)), 1.6 * math.Sin(deg(75)), 0.8 * math.Sqrt2, -math.Pi / 2}, 2 * math.Asin(math.Sin(deg(1.5))*math.Sin(math.Pi/4))},
		{"past half a turn", Range{0, 1.5 * math.Pi}, Drift{0.8, 1.2 * math.Pi, 0.8 * math.Sqrt2, 1.6, 1.6, math.Pi}, deg(3)},
		{"whole turn", Range{-math.Pi, math.Pi}, Drift{0.8, 1.6 * math.Pi, 0, 1.6, 1.6, -math.Pi}, deg(3)},
		{"away from the modelled pose", Range{deg(30), deg(60)}, Drift{0.8, 0.8 * math.Pi / 6, 1.6 * math.Sin(deg(15)), 1.6 * math.Sin(deg(15)), 0.8, deg(60)}, 2 * math.Asin(math.Sin(deg(1.5))*0.5)},
		{"one pose", Range{0, 0}, Drift{Radius: 0.8}, 0},
	} {
		got := DriftOf(p, axis, c.over)
		for _, v := range []struct {
			what      string
			got, want float64
		}{
			{"radius", got.Radius, c.want.Radius},
			{"arc", got.Arc, c.want.Arc},
			{"chord", got.Chord, c.want.Chord},
			{"spread", got.Spread, c.want.Spread},
			{"max", got.Max, c.want.Max},
			{"at", got.At, c.want.At},
			{"wobble", Wobble(v3(0, math.Sin(deg(1.5)), math.Cos(deg(1.5))), axis, c.over), c.wobble},
		} {
			near(t, c.name+": "+v.what, v.got, v.want, 1e-15)
		}
	}
	if w := Wobble(v3(0, 0, -3), axis, Range{-1, 1}); w != 0 {
		t.Errorf("a direction along the hinge wobbles by %v", w)
	}
}

// Oracle: the point itself, moved to many values of the range.
func TestDriftAgainstMotion(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		axis, p, d := genAxis(5).Draw(t, "axis"), genPoint(5).Draw(t, "p"), genUnit().Draw(t, "d")
		a, b := rapid.Float64Range(-7, 7).Draw(t, "a"), rapid.Float64Range(-7, 7).Draw(t, "b")
		over := Range{min(a, b), max(a, b)}
		got, wobble := DriftOf(p, axis, over), Wobble(d, axis, over)
		at := func(v float64) r3.Vec { return Rotation(axis, v).Apply(p) }
		const tol = 1e-12
		near(t, "chord", got.Chord, r3.Norm(r3.Sub(at(over.Lower), at(over.Upper))), tol)
		near(t, "max at its value", got.Max, r3.Norm(r3.Sub(at(got.At), p)), tol)
		if !over.Contains(got.At) {
			t.Errorf("max is at %v, out of %v", got.At, over)
		}
		const n = 200
		var first r3.Vec
		length, largest, leaned := 0.0, 0.0, 0.0
		for i := range n + 1 {
			v := over.Lower + over.Span()*float64(i)/n
			q := at(v)
			if i > 0 {
				length += r3.Norm(r3.Sub(q, first))
			}
			first = q
			if m := r3.Norm(r3.Sub(q, p)); m > got.Max+tol {
				t.Errorf("at %v the point is %v away, more than the largest %v", v, m, got.Max)
			} else {
				largest = max(largest, m)
			}
			leaned = max(leaned, Angle(Rotation(axis, v).Turn(d), d))
		}
		step := over.Span() / n
		near(t, "arc", length, got.Arc, got.Arc*step*step+tol)
		near(t, "max", largest, got.Max, got.Radius*step*step+tol)
		near(t, "wobble", leaned, wobble, 1.1*step+1e-9)
		if leaned > wobble+1e-9 {
			t.Errorf("the direction leans %v, more than %v", leaned, wobble)
		}
	})
}

func TestDriftBadInput(t *testing.T) {
	axis := Axis{Dir: v3(0, 0, 1)}
	for _, over := range []Range{{math.NaN(), 0}, {0, math.Inf(1)}, {math.Inf(-1), math.Inf(1)}} {
		d := DriftOf(v3(1, 0, 0), axis, over)
		for _, v := range []float64{d.Arc, d.Chord, d.Spread, d.Max, d.At, Wobble(v3(1, 0, 1), axis, over)} {
			if !math.IsNaN(v) {
				t.Errorf("range %v: %+v", over, d)
			}
		}
		if d.Radius != 1 {
			t.Errorf("radius %v, want 1", d.Radius)
		}
	}
}

func BenchmarkDriftOf(b *testing.B) {
	b.ReportAllocs()
	axis := about(v3(1, 2, 3), v3(1, 2, 2))
	for b.Loop() {
		if d := DriftOf(v3(4, 4, 4), axis, Range{-1, 2}); d.Max == 0 {
			b.Fatal(d)
		}
	}
}
