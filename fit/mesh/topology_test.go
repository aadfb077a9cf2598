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

// TestDihedralRegular checks regular solids: the angle between normals is pi
// minus the dihedral angle (H. S. M. Coxeter, Regular Polytopes, 1973, table
// I).
func TestDihedralRegular(t *testing.T) {
	cube := meshtest.Box(r3.Vec{X: -1, Y: -1, Z: -1}, r3.Vec{X: 1, Y: 1, Z: 1})
	octahedron := meshtest.Sphere(1, 4, 2)
	tests := []struct {
		name  string
		m     *mesh.Mesh
		edges int
		want  float64
	}{
		{"tetrahedron", tetrahedron(t), 6, math.Pi - math.Acos(1./3)},
		{"cube", cube, 12, math.Pi / 2},
		{"octahedron", octahedron, 12, math.Pi - math.Acos(-1./3)},
	}
	for _, test := range tests {
		top, edges := test.m.Topology(), 0
		for e := range top.EdgeVerts {
			if top.IsDiagonal(e) {
				wantNear(t, test.name+" diagonal", top.Dihedral(e), 0, 1e-15)
				continue
			}
			edges++
			wantNear(t, test.name+" angle", top.Dihedral(e), test.want, 1e-14)
		}
		wantEqual(t, test.name+" edges", edges, test.edges)
	}
}

// TestDihedralSign checks a hinge of two triangles folded up and down.
func TestDihedralSign(t *testing.T) {
	for _, angle := range []float64{-3, -1, -1e-9, 0, 1e-9, 0.5, 2, 3.1} {
		s, c := math.Sincos(angle)
		m := polygons(t, []r3.Vec{{}, {Y: 1}, {X: -1}, {X: c, Z: -s}}, []int32{0, 1, 2}, []int32{1, 0, 3})
		e, ok := m.Topology().EdgeBetween(1, 0)
		if !ok {
			t.Fatal("no edge between 0 and 1")
		}
		wantNear(t, "angle", m.Topology().Dihedral(e), angle, 1e-15)
		flipped := polygons(t, m.Vertices(), []int32{0, 1, 2}, []int32{0, 1, 3})
		wantEqual(t, "consistent", flipped.Topology().Consistent(e), false)
		wantNear(t, "angle against the second's sense", flipped.Topology().Dihedral(e), angle, 1e-15)
	}
}

func TestDihedralTorus(t *testing.T) {
	m := meshtest.Torus(3, 1, 48, 24)
	top := m.Topology()
	turn := func(angle float64) { // along the tube's circle, convex everywhere
		found := 0
		for e, v := range top.EdgeVerts {
			if v[1]-v[0] == 1 && !top.IsDiagonal(e) && int(v[0])/48 == 0 {
				wantNear(t, "outer rim", top.Dihedral(e), angle, 1e-3)
				found++
			}
		}
		wantEqual(t, "edges on the outer rim", found, 47)
	}
	turn(2 * math.Pi / 24)
	for e, v := range top.EdgeVerts {
		if v[1]-v[0] == 48 && int(v[0])/48 == 11 { // inside, towards the hole: saddle
			if d := top.Dihedral(e); d > -0.05 {
				t.Fatalf("edge %d inside the hole has angle %v, want concave", e, d)
			}
		}
	}
}

func TestTopologyNonManifold(t *testing.T) {
	m := polygons(t, []r3.Vec{{}, {Z: 1}, {X: 1}, {Y: 1}, {X: -1}},
		[]int32{0, 1, 2}, []int32{0, 1, 3}, []int32{0, 1, 4})
	top := m.Topology()
	e, _ := top.EdgeBetween(0, 1)
	if got := top.EdgeFaces(e); !slices.Equal(got, []int32{0, 1, 2}) {
		t.Errorf("faces = %v", got)
	}
	if !math.IsNaN(top.Dihedral(e)) || !math.IsNaN(top.Curvature(e)) || top.Consistent(e) {
		t.Error("an edge with three faces has an angle")
	}
	wantEqual(t, "opposite", top.Opposite(0, e), -1)
	wantEqual(t, "feature", top.FeatureEdges(4)[e], true)
	if _, ok := top.EdgeBetween(2, 3); ok {
		t.Error("vertices 2 and 3 have no edge")
	}
}

// TestEuler checks V - E + F = 2 - 2g.
func TestEuler(t *testing.T) {
	for _, test := range []struct {
		name string
		m    *mesh.Mesh
		want int
	}{
		{"box", meshtest.Box(r3.Vec{}, r3.Vec{X: 1, Y: 1, Z: 1}), 2},
		{"sphere", meshtest.Sphere(1, 20, 10), 2},
		{"torus", meshtest.Torus(3, 1, 20, 10), 0},
		{"open cylinder", meshtest.Cylinder(1, 0, 1, 12, 3, false), 0},
		{"sheet", meshtest.Grid(1, 1, 5, 7), 1},
	} {
		got := len(test.m.Vertices()) - len(test.m.Topology().EdgeVerts) + len(test.m.Triangles())
		wantEqual(t, test.name, got, test.want)
	}
}

// TestTopologyOracle compares with maps.
func TestTopologyOracle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawSoup(t, 25)
		top := m.Topology()
		edges := map[[2]int32][]int32{}
		around := map[int32][]int32{}
		for i, v := range m.Triangles() {
			for k := range v {
				a, b := v[k], v[(k+1)%3]
				key := [2]int32{min(a, b), max(a, b)}
				edges[key] = append(edges[key], int32(i))
				around[a] = append(around[a], int32(i))
				e := top.TriEdges[i][k]
				wantEqual(t, "edge of a triangle", top.EdgeVerts[e], key)
			}
		}
		wantEqual(t, "edges", len(top.EdgeVerts), len(edges))
		if !slices.IsSortedFunc(top.EdgeVerts, func(a, b [2]int32) int { return slices.Compare(a[:], b[:]) }) {
			t.Fatal("edges are not in order")
		}
		for e, v := range top.EdgeVerts {
			if !slices.Equal(top.EdgeFaces(e), edges[v]) {
				t.Fatalf("edge %v has faces %v, want %v", v, top.EdgeFaces(e), edges[v])
			}
			got, ok := top.EdgeBetween(int(v[1]), int(v[0]))
			if !ok || got != e {
				t.Fatalf("EdgeBetween(%v) = %d, want %d", v, got, e)
			}
			for _, x := range v {
				if !slices.Contains(top.VertexEdges(int(x)), int32(e)) {
					t.Fatalf("vertex %d lacks edge %d", x, e)
				}
			}
		}
		ends := 0
		for v := range m.Vertices() {
			ends += len(top.VertexEdges(v))
			if !slices.Equal(top.VertexTris(v), around[int32(v)]) {
				t.Fatalf("vertex %d has triangles %v, want %v", v, top.VertexTris(v), around[int32(v)])
			}
		}
		wantEqual(t, "edge ends", ends, 2*len(edges))
	})
}

// TestTopologyInvariance checks that angles stay under motion and scale, and
// change sign with the side that counts as outside.
func TestTopologyInvariance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		move, _ := drawMap(t)
		m, moved := meshtest.Sphere(1, 9, 6), meshtest.Sphere(1, 9, 6, move)
		inside := meshtest.Sphere(1, 9, 6, func(p r3.Vec) r3.Vec { return r3.Scale(-1, p) })
		for e := range m.Topology().EdgeVerts {
			want := m.Topology().Dihedral(e)
			wantNear(t, "moved", moved.Topology().Dihedral(e), want, 1e-8)
			wantNear(t, "mirrored", inside.Topology().Dihedral(e), -want, 1e-12)
		}
	})
}
