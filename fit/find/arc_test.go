package find

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

func clean(size float64) *looker { return &looker{size: size} }

// A stadium's outline is two half circles; with corners it is none.
func TestArcsOfASlot(t *testing.T) {
	var p []r3.Vec
	for i := range 9 {
		s, c := math.Sincos(math.Pi * (float64(i)/8 - 0.5))
		p = append(p, r3.Vec{X: 10 + 3*c, Y: 3 * s})
	}
	for i := range 9 {
		s, c := math.Sincos(math.Pi * (float64(i)/8 + 0.5))
		p = append(p, r3.Vec{X: -10 + 3*c, Y: 3 * s})
	}
	found, round := clean(30).appendRings(nil, p, true)
	if round || len(found) != 2 {
		t.Fatalf("round %v, %d arcs, want 2", round, len(found))
	}
	for _, r := range found {
		if math.Abs(r.arc-math.Pi) > 0.02 || math.Abs(r.radius-3) > 1e-9 || math.Abs(math.Abs(r.centre.X)-10) > 1e-9 {
			t.Errorf("arc %g about %v with radius %g", r.arc, r.centre, r.radius)
		}
	}
}

// Vertices left of a circle in any uneven way still show it.
func TestUnevenCircle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, axis, r := drawCircle(t)
		all := roundPoints(c, axis, r, 2*math.Pi, 0, 48, nil)
		var p []r3.Vec
		for i := rapid.IntRange(0, 7).Draw(t, "first"); i < 48; i += rapid.IntRange(3, 11).Draw(t, "step") {
			p = append(p, all[i])
		}
		found, round := clean(50*r).appendRings(nil, p, true)
		if !round || len(found) != 1 {
			t.Fatalf("%d vertices: round %v, %d rings", len(p), round, len(found))
		}
		if f := found[0]; r3.Norm(r3.Sub(f.centre, c)) > 1e-9*r || lineAngle(f.axis, axis) > 1e-9 || f.arc < 2*math.Pi-1e-9 {
			t.Errorf("%+v, want %v %v", f, c, axis)
		}
	})
}

// The corners of rectangles, trapezia and boxes with cut corners lie on a circle
// or nearly so without being one; a screw thread turns but does not close.
func TestNoCircle(t *testing.T) {
	var helix, rounded []r3.Vec
	for i := range 60 {
		s, c := math.Sincos(float64(i) / 5)
		helix = append(helix, r3.Vec{X: 5 * c, Y: 5 * s, Z: 0.2 * float64(i)})
	}
	for i, a := range []r3.Vec{{X: 9, Y: 4}, {X: -9, Y: 4}, {X: -9, Y: -4}, {X: 9, Y: -4}} {
		for k := range 4 {
			s, c := math.Sincos(math.Pi / 2 * (float64(i) + float64(k)/3))
			rounded = append(rounded, r3.Add(a, r3.Vec{X: 0.5 * c, Y: 0.5 * s}))
		}
	}
	for name, p := range map[string][]r3.Vec{
		"rectangle": {{X: 2, Y: 1}, {X: -2, Y: 1}, {X: -2, Y: -1}, {X: 2, Y: -1}},
		"square":    {{X: 1, Y: 1}, {X: -1, Y: 1}, {X: -1, Y: -1}, {X: 1, Y: -1}},
		"trapezium": {{X: 2, Y: 1}, {X: -2, Y: 1}, {X: -1, Y: -1}, {X: 1, Y: -1}},
		"cut box":   {{X: 9, Y: 2}, {X: 8, Y: 4}, {X: -8, Y: 4}, {X: -9, Y: 2}, {X: -9, Y: -2}, {X: -8, Y: -4}, {X: 8, Y: -4}, {X: 9, Y: -2}},
		"helix":     helix, "rounded": rounded, "triangle": {{X: 1}, {Y: 1}, {Z: 1}}, "two": {{X: 1}, {Y: 1}}, "none": nil,
	} {
		found, _ := clean(30).appendRings(nil, p, true)
		for _, r := range found {
			if r.arc > math.Pi && r.form > 0.2 {
				t.Errorf("%s: a circle of radius %g, arc %g, form %g", name, r.radius, r.arc, r.form)
			}
		}
	}
}

// The symmetric hexagon with corners on an ellipse of ratio 2 is refused, that
// of a circle is not.
func TestFewVertices(t *testing.T) {
	for _, flat := range []float64{1, 0.5} {
		var p []r3.Vec
		for i := range 6 {
			s, c := math.Sincos(math.Pi / 3 * float64(i))
			p = append(p, r3.Vec{X: c, Y: flat * s})
		}
		if _, round := clean(5).appendRings(nil, p, true); round != (flat == 1) {
			t.Errorf("ratio %g: round %v", flat, round)
		}
	}
}

func BenchmarkArcs(b *testing.B) {
	b.ReportAllocs()
	var p []r3.Vec
	for i := range 400 {
		s, c := math.Sincos(float64(i) / 40)
		p = append(p, r3.Vec{X: 5*c + float64(i)/50, Y: 5 * s})
	}
	k := clean(30)
	for b.Loop() {
		k.appendRings(nil, p, false)
	}
}

// A long outline is looked at in part first; its arcs come out whole.
func TestArcsOfALongOutline(t *testing.T) {
	var p []r3.Vec
	for _, side := range []float64{1, -1} {
		for i := range 1501 {
			s, c := math.Sincos(math.Pi * (float64(i)/1500 - 0.5))
			p = append(p, r3.Vec{X: side * (10 + 3*c), Y: side * 3 * s})
		}
		for i := 1; i < 400; i++ {
			p = append(p, r3.Vec{X: side * (10 - float64(i)/20), Y: side * 3})
		}
	}
	found, _ := clean(30).appendRings(nil, p, true)
	if len(found) != 2 {
		t.Fatalf("%d arcs", len(found))
	}
	for _, r := range found {
		if math.Abs(r.arc-math.Pi) > 0.01 || math.Abs(r.radius-3) > 1e-9 {
			t.Errorf("arc %g of radius %g", r.arc, r.radius)
		}
	}
}
