package mesh_test

import (
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
)

// TestSeamsClose builds a solid whose bottom edge is one edge below and several
// above, with flat triangles between them in any order and any nesting: it must
// come out closed with its volume.
func TestSeamsClose(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 6).Draw(t, "middle corners")
		x := drawRigid(t, 0)
		// Tetrahedron 0, 1, 2, 3 with the edge 0-1 cut at the corners from 4 on.
		points := []r3.Vec{{}, {X: 8}, {Y: 8}, {Z: 8}}
		row := []int32{0}
		for i := range n {
			points = append(points, r3.Vec{X: 8 * float64(i+1) / float64(n+1)})
			row = append(row, int32(4+i))
		}
		row = append(row, 1)
		faces := [][]int32{{0, 2, 1}, {2, 0, 3}, {1, 2, 3}}
		for i := range len(row) - 1 {
			faces = append(faces, []int32{row[i], row[i+1], 3})
		}
		// Seams: split the row at random, again and again.
		var split func(lo, hi int)
		split = func(lo, hi int) {
			if hi-lo < 2 {
				return
			}
			mid := rapid.IntRange(lo+1, hi-1).Draw(t, "mid")
			faces = append(faces, []int32{row[lo], row[hi], row[mid]})
			split(lo, mid)
			split(mid, hi)
		}
		split(0, len(row)-1)
		faces = rapid.Permutation(faces).Draw(t, "order")
		b := mesh.NewBuilder()
		for _, p := range points {
			b.Vertex(x.Apply(p))
		}
		for _, f := range faces {
			b.Face(f...)
		}
		m, report, err := b.Build(mesh.Options{})
		if err != nil {
			t.Fatal(err)
		}
		wantValid(t, m)
		wantNear(t, "volume", m.Volume(), 512./6, 1e-11)
		wantEqual(t, "without area", report.ZeroArea, n)
		wantEqual(t, "vertices", len(m.Vertices()), len(points))
	})
}

// TestSeamsAtBorder checks that a seam with nothing behind it is dropped, and
// that two equal seams are no trouble.
func TestSeamsAtBorder(t *testing.T) {
	points := []r3.Vec{{}, {X: 2}, {X: 1}, {X: 1, Y: 1}}
	m := polygons(t, points, []int32{0, 2, 3}, []int32{2, 1, 3}, []int32{0, 1, 2}, []int32{1, 0, 2})
	wantEqual(t, "triangles", len(m.Triangles()), 2)
	wantEqual(t, "boundary", len(m.Topology().FeatureLoops(1)[0].Edges), 4)
	alone := polygons(t, points, []int32{0, 1, 2}, []int32{0, 2, 1})
	wantEqual(t, "triangles", len(alone.Triangles()), 0)
	folded := polygons(t, points, []int32{1, 0, 2}, []int32{0, 1, 3}, []int32{0, 2, 1})
	wantEqual(t, "triangles of the folded one", len(folded.Triangles()), 2)
}

// TestNeedlesAreNotSharp lays needles with normals of noise into a flat sheet
// and along a right angle.
func TestNeedlesAreNotSharp(t *testing.T) {
	const off = 1e-9
	rapid.Check(t, func(t *rapid.T) {
		x := drawRigid(t, 1)
		s, c := math.Sincos(rapid.Float64Range(-math.Pi, math.Pi).Draw(t, "noise"))
		points := []r3.Vec{{X: -1}, {X: 1}, {Y: off * c, Z: off * s}, {Y: -1}, {X: -1, Y: 1}, {X: 1, Y: 1}, {X: -1, Z: 1}, {X: 1, Z: 1}}
		for i := range points {
			points[i] = x.Apply(points[i])
		}
		flat := polygons(t, points, []int32{3, 1, 0}, []int32{0, 1, 2}, []int32{0, 2, 4}, []int32{2, 1, 5}, []int32{2, 5, 4})
		if _, n := flat.Topology().SmoothPatches(0.1); n != 1 {
			t.Fatalf("%d patches in a flat sheet", n)
		}
		if got := flat.Topology().PatchWithin(0, 0.1, 0.1); len(got) != 5 {
			t.Fatalf("patch of %d triangles", len(got))
		}
		bent := polygons(t, points, []int32{3, 1, 0}, []int32{0, 1, 2}, []int32{0, 2, 6}, []int32{2, 1, 7}, []int32{2, 7, 6})
		if _, n := bent.Topology().SmoothPatches(0.1); n != 2 {
			t.Fatalf("%d patches at a right angle", n)
		}
		for _, e := range bent.Topology().EdgeVerts {
			if i, _ := bent.Topology().EdgeBetween(int(e[0]), int(e[1])); e == [2]int32{0, 2} || e == [2]int32{1, 2} {
				wantNear(t, "angle", math.Abs(bent.Topology().Dihedral(i)), math.Pi/2, 1e-6)
			}
		}
	})
}

func TestNearestOfPolygon(t *testing.T) {
	m := meshtest.Grid(4, 4, 2, 2)
	top := m.Topology()
	for _, tri := range []int{0, 1} { // both halves of the first quad
		e, q := top.NearestEdge(tri, r3.Vec{X: 1.1, Y: 0.2, Z: 1})
		wantEqual(t, "edge", top.EdgeVerts[e], [2]int32{0, 1})
		wantEqual(t, "point", q, r3.Vec{X: 1.1})
		e, _ = top.NearestEdge(tri, r3.Vec{X: 1.1, Y: 1.01})
		if top.IsDiagonal(e) {
			t.Error("a diagonal is the nearest edge")
		}
		wantEqual(t, "vertex", m.NearestVertex(tri, r3.Vec{X: 1.4, Y: 0.9}), 1)
		wantEqual(t, "vertex", m.NearestVertex(tri, r3.Vec{X: 0.4, Y: 1.9}), 3)
	}
}

func TestMoved(t *testing.T) {
	m := meshtest.Cylinder(1, 0, 2, 12, 2, true)
	x := turning(r3.Unit(r3.Vec{X: 1, Y: 1}), 0.7, r3.Vec{X: 5, Z: -2})
	moved := mesh.Moved(m, x)
	wantSame(t, moved, meshtest.Cylinder(1, 0, 2, 12, 2, true, x.Apply))
	wantValid(t, moved)
}

// TestQuadsWithFewPolygons checks a triangulated cylinder whose caps are polygons.
func TestQuadsWithFewPolygons(t *testing.T) {
	const n = 12
	kept := meshtest.Cylinder(1, 0, 3, n, 3, true)
	b := mesh.NewBuilder()
	for _, p := range kept.Vertices() {
		b.Vertex(p)
	}
	for i := range kept.NumPolygons() {
		if f := kept.Polygon(i); len(f) == 4 {
			b.Face(f[0], f[1], f[2])
			b.Face(f[0], f[2], f[3])
		} else {
			b.Face(f...)
		}
	}
	m := build(t, b, mesh.Options{})
	ring := m.Topology().QuadRing(edge(t, m, n, 2*n))
	wantRing(t, m.Topology(), ring)
	if !ring.Closed || len(ring.Edges) != n {
		t.Errorf("ring of %d edges, closed %v", len(ring.Edges), ring.Closed)
	}
	rim := m.Topology().QuadLoop(edge(t, m, 0, 1))
	if !rim.Closed || len(rim.Edges) != n {
		t.Errorf("rim of %d edges, closed %v", len(rim.Edges), rim.Closed)
	}
	if got := m.Topology().EvenPatchFrom(n, 0.6); len(got) != 2*3*n && len(got) != n-2 {
		t.Errorf("patch of %d triangles", len(got))
	}
}

// TestEvenPatchesOfOval checks arcs of radius 10 and 2 that meet at their
// tangents in equal steps: only the width of the facets tells them apart.
func TestEvenPatchesOfOval(t *testing.T) {
	const steps = 8 // per quarter turn
	b := mesh.NewBuilder()
	arc := func(y, r float64, from, to int) {
		for k := from; k <= to; k++ {
			s, c := math.Sincos(math.Pi / 2 * float64(k) / steps)
			b.Vertex(r3.Vec{X: r * c, Y: y + r*s})
			b.Vertex(r3.Vec{X: r * c, Y: y + r*s, Z: 5})
		}
	}
	arc(0, 10, 0, steps)
	arc(8, 2, steps+1, 3*steps)
	for i := int32(0); int(i) < 6*steps; i += 2 {
		b.Face(i, i+2, i+3, i+1)
	}
	kept := build(t, b, mesh.Options{})
	for _, m := range []*mesh.Mesh{kept, meshtest.Triangulated(kept)} {
		_, smooth := m.Topology().SmoothPatches(30 * deg)
		label, even := m.Topology().EvenPatches(30 * deg)
		wantEqual(t, "smooth patches", smooth, 1)
		wantEqual(t, "even patches", even, 2)
		if first := slices.Index(label, 1); first != 2*steps {
			t.Errorf("the second arc begins at triangle %d, want %d", first, 2*steps)
		}
	}
}
