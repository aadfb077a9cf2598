package contact

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/fit/mesh"
)

func unitNormal(p [3]r3.Vec) r3.Vec {
	n := r3.Cross(r3.Sub(p[1], p[0]), r3.Sub(p[2], p[0]))
	if l := r3.Norm(n); l > 1e-9 {
		return r3.Scale(1/l, n)
	}
	return r3.Vec{}
}

func separatorsOf(p, q [3]r3.Vec, touch float64) *separators {
	x := &separators{p: &p, q: &q, np: unitNormal(p), nq: unitNormal(q), touch: touch}
	x.search(math.Inf(1))
	return x
}

func triangle(x ...float64) [3]r3.Vec {
	return [3]r3.Vec{{X: x[0], Y: x[1], Z: x[2]}, {X: x[3], Y: x[4], Z: x[5]}, {X: x[6], Y: x[7], Z: x[8]}}
}

func TestSeparatorsInClosedForm(t *testing.T) {
	floor := triangle(-1, -1, 0, 1, -1, 0, 0, 2, 0) // normal +z
	for _, c := range []struct {
		name string
		p    [3]r3.Vec
		gap  float64
	}{
		{"above", triangle(0, 0, 0.3, 0.1, 0, 0.5, 0, 0.1, 0.5), 0.3},
		{"through", triangle(0, 0, -0.2, 0.1, 0, 0.5, 0, 0.1, 0.5), -0.2},
		{"lying on it", triangle(0, 0, 0, 0.1, 0, 0, 0, 0.1, 0), 0},
		{"in its plane, beside", triangle(3, -1, 0, 4, -1, 0, 4, 0, 0), 2},
		{"edge over edge", triangle(0, -1.5, 0.4, 0, -0.5, 0.4, 0, -1, 2), 0.4},
	} {
		if x := separatorsOf(c.p, floor, 0); math.Abs(x.widest.gap-c.gap) > 1e-12 {
			t.Errorf("%s: gap %.15g, want %.15g", c.name, x.widest.gap, c.gap)
		}
	}
}

// What separates triangles by a gap leaves them at least that far apart, and
// triangles that are apart are separated.
func TestSeparatorsAgainstDistance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, q := drawTriangle(t, "p"), drawTriangle(t, "q")
		if unitNormal(p) == (r3.Vec{}) || unitNormal(q) == (r3.Vec{}) {
			t.Skip("no triangle")
		}
		d, _, _ := mesh.TriangleDistance(p, q)
		gap := separatorsOf(p, q, 0).widest.gap
		if gap > d+1e-12 {
			t.Fatalf("gap %g, distance %g", gap, d)
		}
		// No direction is further than 60 degrees from one that is tested.
		if d > 1e-9 && gap < d/4 {
			t.Fatalf("gap %g, distance %g", gap, d)
		}
	})
}

// Shifting a triangle by its overlap along the direction found parts the two.
func TestOverlapPartsThem(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, q := drawTriangle(t, "p"), drawTriangle(t, "q")
		if unitNormal(p) == (r3.Vec{}) || unitNormal(q) == (r3.Vec{}) {
			t.Skip("no triangle")
		}
		w := separatorsOf(p, q, 0).widest
		for i := range p {
			p[i] = r3.Add(p[i], r3.Scale(1e-9-w.gap, w.dir))
		}
		if after := separatorsOf(p, q, 0).widest.gap; after < 0 {
			t.Fatalf("still overlap by %g after a shift by %g", -after, -w.gap)
		}
	})
}

func TestBlocked(t *testing.T) {
	// A still floor y = 0 under x 1..2, seen from above.
	still := triangle(1, 0, -1, 1, 0, 1, 2, 0, 0)
	for _, c := range []struct {
		name         string
		p            [3]r3.Vec
		lower, upper bool
	}{
		{"face lying on it", triangle(1, 0, -1, 2, 0, 0, 1, 0, 1), true, false},
		{"wide face lying on it", triangle(-9, 0, -9, 9, 0, 0, -9, 0, 9), true, false},
		{"corner standing on it", triangle(1.3, 0, 0, 1.3, 1, 0.2, 1.5, 1.3, 0), true, false},
		{"corner against its back", triangle(1.3, 0, 0, 1.3, -1, 0.2, 1.5, -1.3, 0), false, true},
		{"wall standing on it", triangle(1.2, 0, -0.1, 1.2, 0, 0.1, 1.2, 1, 0), true, false},
		{"wall along its edge", triangle(1, 0, -0.5, 1, 0, 0.5, 1, 1, 0), false, false}, // it may still pass by
		{"beside it in its plane", triangle(2, 0, 0, 3, 0, 1, 3, 0, -1), false, false},
	} {
		x := separatorsOf(c.p, still, 1e-6)
		spots := touchPoints(x.p, x.q, x.np, x.nq, 1e-6, nil)
		lower, upper := x.blocked(motion{turns: true}, spots, 1e-4)
		if (lower.speed > 0) != c.lower || (upper.speed > 0) != c.upper {
			t.Errorf("%s: blocks lower %v, upper %v, want %v, %v (%d spots)", c.name, lower.speed > 0, upper.speed > 0, c.lower, c.upper, len(spots))
		}
	}
}
