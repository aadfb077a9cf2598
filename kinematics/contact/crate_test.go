package contact

import (
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

func TestCrateDistanceIsALowerBound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, q := drawTriangle(t, "p"), drawTriangle(t, "q")
		a, b := crateOf(&p), crateOf(&q)
		m := motion{turns: rapid.Bool().Draw(t, "turns"), rate: rapid.Float64Range(-1, 1).Draw(t, "rate")}
		at := m.at(rapid.Float64Range(-7, 7).Draw(t, "value"))
		n := unitNormal(drawTriangle(t, "n"))
		bound := crateDistance(&a, &b, &at, n, at.back(n))
		u := rapid.Float64Range(0, 1)
		for range 10 {
			x, y := on(p, u.Draw(t, "u"), u.Draw(t, "v")), on(q, u.Draw(t, "u"), u.Draw(t, "v"))
			if d := r3.Norm(r3.Sub(at.apply(x), y)); d < bound {
				t.Fatalf("points at %g, bound %g", d, bound)
			}
		}
	})
}

// Unit cubes: apart along an axis, over a corner, and turned by 45 degrees.
func TestCrateDistance(t *testing.T) {
	cube := crateBetween(r3.Vec{}, r3.Vec{X: 1, Y: 1, Z: 1})
	for _, c := range []struct {
		at   place
		by   r3.Vec
		want float64
	}{
		{place{cos: 1}, r3.Vec{X: 3}, 2},
		{place{cos: 1}, r3.Vec{X: 2, Y: 3, Z: 3}, 3},
		{place{cos: 1, lift: 5}, r3.Vec{}, 4},
		{place{sin: 1}, r3.Vec{X: -3}, 1},
		{place{cos: 1}, r3.Vec{X: 0.5}, 0},
	} {
		far := cube
		far.mid = r3.Add(far.mid, c.by)
		if got := crateDistance(&cube, &far, &c.at, r3.Vec{}, r3.Vec{}); got > c.want || got < c.want-1e-11 {
			t.Errorf("%+v by %v: %.12g, want %.12g", c.at, c.by, got, c.want)
		}
	}
}

// Faces that are oblique to the axes are bounded by their slab: two parallel
// plates a tenth apart, whatever way they lie.
func TestSlabsBoundObliquePlates(t *testing.T) {
	move, _ := oblique(r3.Vec{}, r3.Vec{X: 1, Y: 2, Z: 3})
	lower, upper := box(-5, 5, -5, 5, -1, 0).subdivided(4).moved(move), box(-5, 5, -5, 5, 0.1, 1).subdivided(4).moved(move)
	s := scene(t, upper, lower, zAxis, Options{})
	x := newNearest(t.Context(), s)
	if err := x.at(0); err != nil {
		t.Fatal(err)
	}
	first := x.steps
	x.slack = 1e-6
	if err := x.at(0, x.best); err != nil {
		t.Fatal(err)
	}
	if d := x.proximity().Distance; d < 0.1-1e-6 || d > 0.1+1e-6 {
		t.Errorf("distance %g, want 0.1", d)
	}
	if again := x.steps - first; again > 40 {
		t.Errorf("%d steps from the nearest pair on: slabs do not bound", again)
	}
}
