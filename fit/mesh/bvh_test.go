package mesh_test

import (
	"math"
	"runtime"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
)

// wantHierarchy checks the layout that other packages build on: depth-first
// order, every triangle in one leaf, boxes tight, depth bounded.
func wantHierarchy(t fataler, m *mesh.Mesh) {
	t.Helper()
	h := m.BVH()
	seen := make([]int, len(m.Triangles()))
	next, firstOf := int32(0), int32(0)
	var walk func(depth int) r3.Box
	walk = func(depth int) r3.Box {
		i := next
		next++
		n := h.Nodes[i]
		if depth >= mesh.MaxDepth {
			t.Fatalf("node %d is at depth %d", i, depth)
		}
		var box r3.Box
		if n.Count > 0 {
			wantEqual(t, "first of a leaf", n.First, firstOf)
			firstOf += n.Count
			var points []r3.Vec
			for _, tri := range h.Order[n.First : n.First+n.Count] {
				seen[tri]++
				a, b, c := m.Corners(int(tri))
				points = append(points, a, b, c)
			}
			box = around(points)
		} else {
			left := walk(depth + 1)
			wantEqual(t, "second child", n.Right, next)
			right := walk(depth + 1)
			box = around([]r3.Vec{left.Min, left.Max, right.Min, right.Max})
		}
		wantEqual(t, "box", n.Box, box)
		return box
	}
	if len(seen) > 0 {
		walk(0)
	}
	wantEqual(t, "nodes", int(next), len(h.Nodes))
	for i, n := range seen {
		if n != 1 {
			t.Fatalf("triangle %d is in %d leaves", i, n)
		}
	}
}

func around(points []r3.Vec) r3.Box {
	b := r3.Box{Min: points[0], Max: points[0]}
	for _, p := range points {
		b.Min = r3.Vec{X: min(b.Min.X, p.X), Y: min(b.Min.Y, p.Y), Z: min(b.Min.Z, p.Z)}
		b.Max = r3.Vec{X: max(b.Max.X, p.X), Y: max(b.Max.Y, p.Y), Z: max(b.Max.Z, p.Z)}
	}
	return b
}

func TestBVHLayout(t *testing.T) {
	for _, m := range []*mesh.Mesh{
		tetrahedron(t),
		meshtest.Torus(3, 1, 60, 30),
		meshtest.Grid(1, 1, 30, 20),
		mesh.Join(tetrahedron(t), tetrahedron(t), tetrahedron(t), tetrahedron(t), tetrahedron(t)),
	} {
		wantHierarchy(t, m)
	}
	rapid.Check(t, func(t *rapid.T) { wantHierarchy(t, drawSoup(t, 60)) })
}

// TestBVHDepth checks triangles whose sizes and places grow by powers: the
// surface area heuristic alone would cut them off one by one.
func TestBVHDepth(t *testing.T) {
	b := mesh.NewBuilder()
	for i := range 460 {
		x := math.Pow(1.35, float64(i))
		b.Face(b.Vertex(r3.Vec{X: x}), b.Vertex(r3.Vec{X: x, Y: x / 9}), b.Vertex(r3.Vec{X: x, Z: x / 9}))
	}
	m := build(t, b, mesh.Options{Weld: -1})
	wantHierarchy(t, m)
}

// TestBVHSameOnAnyCores builds with one and with many goroutines.
func TestBVHSameOnAnyCores(t *testing.T) {
	m := meshtest.Torus(3, 1, 400, 200)
	want := mesh.Join(m).BVH()
	wantHierarchy(t, m)
	before := runtime.GOMAXPROCS(0)
	defer runtime.GOMAXPROCS(before)
	for _, cores := range []int{1, 2, 3, 8} {
		runtime.GOMAXPROCS(cores)
		got := mesh.Join(m).BVH()
		if !slices.Equal(got.Nodes, want.Nodes) || !slices.Equal(got.Order, want.Order) {
			t.Errorf("%d cores give another hierarchy", cores)
		}
	}
}

// TestRayClosedForm shoots at solids.
func TestRayClosedForm(t *testing.T) {
	box := meshtest.Box(r3.Vec{X: 1, Y: 1, Z: 1}, r3.Vec{X: 3, Y: 4, Z: 5})
	tests := []struct {
		name        string
		origin, dir r3.Vec
		want        float64 // negative: no hit
	}{
		{"square on", r3.Vec{X: 2, Y: 2, Z: 10}, r3.Vec{Z: -1}, 5},
		{"length of dir does not matter", r3.Vec{X: 2, Y: 2, Z: 10}, r3.Vec{Z: -1e-200}, 5},
		{"nor a large one", r3.Vec{X: 2, Y: 2, Z: 10}, r3.Vec{Z: -1e300}, 5},
		{"from inside", r3.Vec{X: 2, Y: 2, Z: 2}, r3.Vec{X: 1}, 1},
		{"away", r3.Vec{X: 2, Y: 2, Z: 10}, r3.Vec{Z: 1}, -1},
		{"past", r3.Vec{X: 0.5, Y: 2, Z: 10}, r3.Vec{Z: -1}, -1},
		{"along a diagonal", r3.Vec{}, r3.Vec{X: 1, Y: 1, Z: 1}, math.Sqrt(3)},
		{"through a corner", r3.Vec{X: 5, Y: 6, Z: 7}, r3.Vec{X: -1, Y: -1, Z: -1}, math.Sqrt(12)},
		{"through an edge", r3.Vec{X: 1, Y: 0, Z: 2}, r3.Vec{Y: 1}, 1},
		{"from the surface", r3.Vec{X: 1, Y: 2, Z: 2}, r3.Vec{X: 1}, 0},
		{"all but square on", r3.Vec{X: 2, Y: 2, Z: 10}, r3.Vec{X: -1e-301, Y: 1e-310, Z: -1}, 5},
		{"all but square on, from below", r3.Vec{X: -1, Y: 2, Z: 2}, r3.Vec{X: 1, Y: math.Copysign(0, -1), Z: -7e-301}, 2},
		{"no direction", r3.Vec{}, r3.Vec{}, -1},
		{"infinite direction", r3.Vec{X: 2, Y: 2}, r3.Vec{Z: math.Inf(1)}, -1},
		{"not a number", r3.Vec{X: math.NaN()}, r3.Vec{X: 1}, -1},
	}
	for _, test := range tests {
		tri, dist, ok := box.BVH().Ray(test.origin, test.dir)
		if ok != (test.want >= 0) {
			t.Errorf("%s: hit %v", test.name, ok)
			continue
		}
		if ok {
			wantNear(t, test.name, dist, test.want, 1e-14)
		} else if tri != -1 || !math.IsInf(dist, 1) {
			t.Errorf("%s: triangle %d at %v without a hit", test.name, tri, dist)
		}
	}
}

// TestRayIsWatertight aims from inside at every vertex and at points of every
// edge of a fine sphere far from the origin; none may slip through.
func TestRayIsWatertight(t *testing.T) {
	centre := r3.Vec{X: 1e6, Y: -2e6, Z: 3e6}
	m := meshtest.Sphere(1, 61, 31, func(p r3.Vec) r3.Vec { return r3.Add(p, centre) })
	origin := r3.Add(centre, r3.Vec{X: 0.1, Y: 0.02, Z: -0.05})
	check := func(p r3.Vec) {
		if _, _, ok := m.BVH().Ray(origin, r3.Sub(p, origin)); !ok {
			t.Fatalf("the ray to %v slips through", p)
		}
	}
	for _, v := range m.Topology().EdgeVerts {
		a, b := m.Vertices()[v[0]], m.Vertices()[v[1]]
		check(a)
		for _, s := range []float64{0.5, 1. / 3, 1e-9} {
			check(r3.Add(a, r3.Scale(s, r3.Sub(b, a))))
		}
	}
}

// hitOracle solves origin + d dir = a + u (b-a) + v (c-a) by Cramer's rule.
func hitOracle(origin, dir, a, b, c r3.Vec) (d, u, v float64) {
	e, f, s := r3.Sub(b, a), r3.Sub(c, a), r3.Sub(origin, a)
	det := r3.Dot(dir, r3.Cross(f, e))
	return r3.Dot(s, r3.Cross(e, f)) / det, r3.Dot(dir, r3.Cross(f, s)) / det, r3.Dot(dir, r3.Cross(s, e)) / det
}

// TestRayOracle compares Ray and RayAll with a test of every triangle.
func TestRayOracle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawSoup(t, 40)
		origin, dir := drawVec(t, 6, "origin"), drawUnit(t, "dir")
		all := map[int]float64{}
		m.BVH().RayAll(origin, dir, func(tri int, dist float64) bool {
			all[tri] = dist
			return true
		})
		tri, dist, ok := m.BVH().Ray(origin, dir)
		nearest := math.Inf(1)
		const edge = 1e-6 // too close to an edge to tell
		for i := range m.Triangles() {
			a, b, c := m.Corners(i)
			d, u, v := hitOracle(origin, dir, a, b, c)
			least := min(u, v, 1-u-v)
			got, hit := all[i]
			n, longest := r3.Cross(r3.Sub(b, a), r3.Sub(c, a)), max(r3.Norm(r3.Sub(b, a)), r3.Norm(r3.Sub(c, a)))
			switch {
			case math.Abs(r3.Dot(dir, n)) < 1e-3*longest*longest:
				// Edge on, or a needle: the oracle itself cannot tell.
			case least > edge && d > edge && !hit:
				t.Fatalf("triangle %d at %v is missed", i, d)
			case hit && (least < -edge || d < -edge):
				t.Fatalf("triangle %d is hit at %v, u %v, v %v", i, got, u, v)
			case hit && least > edge:
				wantNear(t, "distance", got, d, 1e-6)
			}
			if hit {
				nearest = min(nearest, got)
			}
		}
		wantEqual(t, "hit", ok, len(all) > 0)
		if ok {
			wantNear(t, "nearest", dist, nearest, 1e-9*nearest+1e-14)
		}
		for i, d := range all {
			if d == dist && i < tri {
				t.Fatalf("triangle %d is as near as %d and lower", i, tri)
			}
		}
	})
}

func TestRayAllStops(t *testing.T) {
	m := meshtest.Torus(3, 1, 24, 12)
	count := 0
	m.BVH().RayAll(r3.Vec{X: -9, Y: 0.1, Z: 0.2}, r3.Vec{X: 1}, func(int, float64) bool {
		count++
		return count < 2
	})
	wantEqual(t, "visits", count, 2)
	m.BVH().RayAll(r3.Vec{}, r3.Vec{}, func(int, float64) bool {
		t.Error("a ray without direction hits")
		return false
	})
}

func TestRayAllocations(t *testing.T) {
	h := meshtest.Torus(3, 1, 24, 12).BVH()
	if n := testing.AllocsPerRun(10, func() {
		h.Ray(r3.Vec{X: -9, Y: 0.1}, r3.Vec{X: 1})
		h.Closest(r3.Vec{X: -9, Y: 0.1})
	}); n != 0 {
		t.Errorf("%v allocations per query", n)
	}
}
