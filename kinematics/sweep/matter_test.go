package sweep

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
)

func mustMatter(t interface{ Fatalf(string, ...any) }, bodies ...*mesh.Mesh) *matter {
	m, err := newMatter(bodies)
	if err != nil {
		t.Fatalf("newMatter: %v", err)
	}
	return m
}

// Winding numbers by rays agree with those by solid angles, for shells that
// overlap, cross themselves and are turned inside out, also where points stand
// straight below edges and corners.
func TestInsideAgainstSolidAngles(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		back := func(p r3.Vec) r3.Vec { return r3.Vec{X: -p.X, Y: p.Y, Z: p.Z} }
		bodies := []*mesh.Mesh{
			tangled(t), meshtest.Box(r3.Vec{X: -0.5, Y: -0.5}, r3.Vec{X: 0.5, Y: 0.5, Z: 1}),
			meshtest.Box(r3.Vec{X: -1, Y: -1, Z: -1}, r3.Vec{Y: 1}, back),
		}
		m := mustMatter(t, bodies...)
		for range 20 {
			p := drawVec(t, "p", 2)
			if rapid.Bool().Draw(t, "round") {
				p = r3.Vec{X: math.Round(2*p.X) / 2, Y: math.Round(2*p.Y) / 2, Z: p.Z}
			}
			if _, _, d := m.bvh.Closest(p); d < 1e-6 {
				continue
			}
			want := 0.0
			for _, b := range bodies {
				x := turns(b, p)
				if b.Volume() < 0 {
					x = -x
				}
				want += x
			}
			if got := m.inside(p); got != (math.Abs(want) > 0.5) {
				t.Fatalf("%v lies inside: %v, its winding number is %v", p, got, want)
			}
		}
	})
}

// What the samples say of a distance holds.
func TestSamplesBoundTheDistance(t *testing.T) {
	m := mustMatter(t, meshtest.Torus(2, 0.5, 40, 20), meshtest.Box(r3.Vec{X: 1, Y: -0.4, Z: -0.4}, r3.Vec{X: 4, Y: 0.4, Z: 0.4}))
	s, err := newSampled(t.Context(), m, 0.1, 0)
	if err != nil {
		t.Fatal(err)
	}
	rapid.Check(t, func(t *rapid.T) {
		p := drawVec(t, "p", 6)
		d := m.signed(p, 0)
		if lo, hi := s.bound(p); d < lo-1e-12 || d > hi+1e-12 {
			t.Fatalf("at %v the distance is %v, bounded by %v and %v", p, d, lo, hi)
		}
		if e := s.exact(p); math.Abs(e-d) > 1e-12 {
			t.Fatalf("at %v the distance is %v, exact says %v", p, d, e)
		}
		if v := s.smooth(p); math.Abs(d) < 0.2 && math.Abs(v-d) > 0.1 {
			t.Fatalf("at %v the distance is %v, smooth says %v", p, d, v)
		}
	})
}
