package find

import (
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/fit/find/slippage"
	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
)

// Two blocks lie against one another on the smaller one's face: 4 x 3 of
// either side.
func TestMatesOfBlocks(t *testing.T) {
	a := meshtest.Box(r3.Vec{X: -10, Y: -10, Z: -5}, r3.Vec{X: 10, Y: 10, Z: 0})
	b := meshtest.Box(r3.Vec{X: 1, Y: 2, Z: 0.01}, r3.Vec{X: 5, Y: 5, Z: 4})
	var area [2]float64
	for _, m := range mates(a, b, 0.02) {
		i := 0
		if m.first {
			i = 1
		}
		area[i] += m.area
		if math.Abs(math.Abs(m.normal.Z)-1) > 1e-12 {
			t.Errorf("mate %+v", m)
		}
	}
	if math.Abs(area[0]-12) > 1.5 || math.Abs(area[1]-12) > 1.5 {
		t.Errorf("areas %v, want 12", area)
	}
	far := mesh.Moved(b, mesh.Rigid{X: r3.Vec{X: 1}, Y: r3.Vec{Y: 1}, Z: r3.Vec{Z: 1}, T: r3.Vec{Z: 9}})
	if got := mates(a, far, 0.02); len(got) != 0 {
		t.Errorf("blocks far apart have %d mates", len(got))
	}
}

// No near triangle is left out, against all pairs.
func TestNearTrianglesLeavesNoneOut(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := meshtest.Torus(6, 2, 12, 7)
		b := mesh.Moved(meshtest.Sphere(3, 8, 5), anyMotionWithin(t, 9))
		within := rapid.Float64Range(0, 3).Draw(t, "within")
		got := nearTriangles(a.BVH(), b.BVH(), within)
		slices.Sort(got)
		for i := range a.Triangles() {
			p, q, r := a.Corners(i)
			for k := range b.Triangles() {
				u, v, w := b.Corners(k)
				if d, _, _ := mesh.TriangleDistance([3]r3.Vec{p, q, r}, [3]r3.Vec{u, v, w}); d < within {
					if _, ok := slices.BinarySearch(got, int32(i)); !ok {
						t.Fatalf("triangle %d is %g away and left out", i, d)
					}
					break
				}
			}
		}
		if dup := len(got) - len(slices.Compact(got)); dup != 0 {
			t.Errorf("%d triangles twice", dup)
		}
	})
}

func anyMotionWithin(t *rapid.T, far float64) mesh.Rigid {
	x := anyMotion(t)
	x.T = r3.Scale(far/30, x.T)
	return x
}

// Samples stand for the whole area, and lie on their triangles.
func TestSampleIsEven(t *testing.T) {
	m := meshtest.Box(r3.Vec{}, r3.Vec{X: 1, Y: 2, Z: 3})
	var top, total float64
	sample(m, allOf(m), 600, func(p, n r3.Vec, area float64) {
		total += area
		if n.Z > 0.5 {
			top += area
			if math.Abs(p.Z-3) > 1e-12 || p.X < 0 || p.X > 1 || p.Y < 0 || p.Y > 2 {
				t.Errorf("%v is beside the face", p)
			}
		}
	})
	if math.Abs(total-22) > 1e-9 || math.Abs(top-2) > 0.1 {
		t.Errorf("area %g with %g on top, want 22 with 2", total, top)
	}
	sample(m, nil, 10, func(r3.Vec, r3.Vec, float64) { t.Error("a sample of nothing") })
}

func allOf(m *mesh.Mesh) []int32 {
	out := make([]int32, len(m.Triangles()))
	for i := range out {
		out[i] = int32(i)
	}
	return out
}

// A pin's near surface is kept by the turn about its axis, in a round bore as
// in a square one, whose own surface is not.
func TestZoneOfPin(t *testing.T) {
	pin := meshtest.Cylinder(5, -20, 20, 48, 1, true)
	bore := meshtest.Box(r3.Vec{X: -12, Y: -12, Z: -6}, r3.Vec{X: 12, Y: 12, Z: 6})
	gap, size := 0.0, 40.0
	a, b := zone(pin, bore, gap, size), zone(bore, pin, gap, size)
	turn := slippage.About(r3.Vec{}, r3.Vec{Z: 1})
	if k := kept(a, turn); k < 0.98 {
		t.Errorf("the pin keeps %g", k)
	}
	if k := kept(a, slippage.About(r3.Vec{}, r3.Vec{X: 1})); k > 0.5 {
		t.Errorf("across, the pin keeps %g", k)
	}
	inside := 0
	for _, s := range a {
		if s.inside {
			inside++
		}
		if s.near < 0 || s.near > 1 {
			t.Errorf("nearness %g", s.near)
		}
	}
	if inside < 20 {
		t.Errorf("%d spots of the pin are inside the block", inside)
	}
	if c, r := centreOf(a, b); math.Hypot(c.X, c.Y) > 1 || r == 0 {
		t.Errorf("centre %v, radius %g", c, r)
	}
	if k := kept(nil, turn); k != 0.5 {
		t.Errorf("no surface keeps %g, want 0.5", k)
	}
	if _, r := centreOf(nil, nil); r != 0 {
		t.Errorf("radius of nothing %g", r)
	}
}
