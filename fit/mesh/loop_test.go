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

// wantChain checks that the loop's edges join its vertices in order.
func wantChain(t fataler, top *mesh.Topology, l mesh.Loop) {
	t.Helper()
	n := len(l.Vertices)
	want := n - 1
	if l.Closed {
		want = n
	}
	wantEqual(t, "edges", len(l.Edges), want)
	for i, e := range l.Edges {
		a, b := l.Vertices[i], l.Vertices[(i+1)%n]
		wantEqual(t, "ends", top.EdgeVerts[e], [2]int32{min(a, b), max(a, b)})
	}
}

func loopSizes(loops []mesh.Loop) (sizes []int, closed int) {
	for _, l := range loops {
		sizes = append(sizes, len(l.Edges))
		if l.Closed {
			closed++
		}
	}
	slices.Sort(sizes)
	return sizes, closed
}

func TestFeatureLoops(t *testing.T) {
	box := meshtest.Box(r3.Vec{}, r3.Vec{X: 1, Y: 2, Z: 3})
	tests := []struct {
		name   string
		m      *mesh.Mesh
		angle  float64
		sizes  []int
		closed int
	}{
		{"cylinder rims", meshtest.Cylinder(1, 0, 2, 32, 3, true), 30 * deg, []int{32, 32}, 2},
		{"open cylinder", meshtest.Cylinder(1, 0, 2, 32, 3, false), 30 * deg, []int{32, 32}, 2},
		{"hexagonal prism", meshtest.Cylinder(1, 0, 2, 6, 1, true), 30 * deg, []int{1, 1, 1, 1, 1, 1, 6, 6}, 2},
		{"box", box, 30 * deg, []int{1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1}, 0},
		{"box, all smooth", box, 91 * deg, nil, 0},
		{"sheet", meshtest.Grid(3, 2, 3, 2), 30 * deg, []int{10}, 1},
		{"cone", meshtest.Cone(1, 0, 1, 24, 2, true), 30 * deg, []int{24}, 1},
		{"torus", meshtest.Torus(3, 1, 32, 16), 30 * deg, nil, 0},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			top := test.m.Topology()
			loops := top.FeatureLoops(test.angle)
			sizes, closed := loopSizes(loops)
			if !slices.Equal(sizes, test.sizes) || closed != test.closed {
				t.Errorf("loops of %v edges, %d closed; want %v, %d", sizes, closed, test.sizes, test.closed)
			}
			for _, l := range loops {
				wantChain(t, top, l)
			}
		})
	}
}

// TestLoopRunsRoundRim checks the vertices of a rim in order.
func TestLoopRunsRoundRim(t *testing.T) {
	m := meshtest.Cylinder(1, 0, 2, 8, 1, true)
	e, _ := m.Topology().EdgeBetween(11, 12)
	l, ok := m.Topology().LoopThrough(e, 0.9)
	if !ok || !l.Closed {
		t.Fatalf("loop %v, ok %v", l, ok)
	}
	if want := []int32{8, 9, 10, 11, 12, 13, 14, 15}; !slices.Equal(l.Vertices, want) {
		t.Errorf("vertices = %v, want %v", l.Vertices, want)
	}
}

// TestLoopThroughJunctions checks a low pyramid's open rim that the four
// creases meet: the rim goes on, two opposite creases over the top are one
// line.
func TestLoopThroughJunctions(t *testing.T) {
	points := []r3.Vec{{Z: 1}}
	var faces [][]int32
	const n = 16
	for i := range n {
		along := float64(i%4)/2 - 1 // -1 to 1 along one of four sides
		p := [4]r3.Vec{{X: along, Y: -1}, {X: 1, Y: along}, {X: -along, Y: 1}, {X: -1, Y: -along}}[i/4]
		points = append(points, p)
		faces = append(faces, []int32{0, int32(i + 1), int32((i+1)%n + 1)})
	}
	m := polygons(t, points, faces...)
	top := m.Topology()
	sizes, closed := loopSizes(top.FeatureLoops(20 * deg))
	if want := []int{2, 2, n}; !slices.Equal(sizes, want) || closed != 1 {
		t.Errorf("loops of %v edges, %d closed, want %v, 1", sizes, closed, want)
	}
}

// TestLoopEndsAtFork checks that a symmetrical fork of three ends all chains.
func TestLoopEndsAtFork(t *testing.T) {
	at := func(deg120 int) r3.Vec {
		s, c := math.Sincos(2 * math.Pi / 3 * float64(deg120))
		return r3.Vec{X: c, Y: s, Z: -1}
	}
	m := polygons(t, []r3.Vec{{}, at(0), at(1), at(2)}, []int32{0, 1, 2}, []int32{0, 2, 3}, []int32{0, 3, 1}, []int32{1, 3, 2})
	sizes, _ := loopSizes(m.Topology().FeatureLoops(30 * deg))
	if want := []int{1, 1, 1, 1, 1, 1}; !slices.Equal(sizes, want) {
		t.Errorf("loops of %v edges, want %v", sizes, want)
	}
}

func TestLoopThroughBadEdges(t *testing.T) {
	top := meshtest.Cylinder(1, 0, 2, 32, 1, true).Topology()
	axial, _ := top.EdgeBetween(0, 32)
	for _, e := range []int{-1, axial, len(top.EdgeVerts)} {
		if l, ok := top.LoopThrough(e, 0.5); ok || l.Edges != nil {
			t.Errorf("edge %d has loop %v", e, l)
		}
		if e != axial && (top.QuadLoop(e).Edges != nil || top.QuadRing(e).Edges != nil) {
			t.Errorf("edge %d has a quad loop", e)
		}
	}
}

// TestFeatureLoopsPartition checks on any mesh that every feature edge is in
// one loop, and that LoopThrough finds the same one from each of its edges.
func TestFeatureLoopsPartition(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawSoup(t, 30)
		angle := rapid.Float64Range(0, 3).Draw(t, "angle")
		top := m.Topology()
		feature := top.FeatureEdges(angle)
		seen := make([]int, len(feature))
		for _, l := range top.FeatureLoops(angle) {
			wantChain(t, top, l)
			for _, e := range l.Edges {
				seen[e]++
				got, ok := top.LoopThrough(int(e), angle)
				if !ok || got.Closed != l.Closed || !slices.Equal(got.Edges, l.Edges) || !slices.Equal(got.Vertices, l.Vertices) {
					t.Fatalf("from edge %d: %v, want %v", e, got, l)
				}
			}
		}
		for e, is := range feature {
			want := 0
			if is {
				want = 1
			}
			wantEqual(t, "loops of an edge", seen[e], want)
		}
	})
}

func TestOutline(t *testing.T) {
	m := meshtest.Cylinder(2, 0, 3, 24, 2, true)
	top := m.Topology()
	side := top.PatchFrom(30, 30*deg)
	wantEqual(t, "side", len(side), 24*2*2)
	loops := top.Outline(side)
	sizes, closed := loopSizes(loops)
	if want := []int{24, 24}; !slices.Equal(sizes, want) || closed != 2 {
		t.Fatalf("outline of %v edges, %d closed", sizes, closed)
	}
	for _, l := range loops {
		wantChain(t, top, l)
		// The side lies left: the bottom rim runs with the sense of rotation, the top against it.
		p, q := m.Vertices()[l.Vertices[0]], m.Vertices()[l.Vertices[1]]
		if turn := r3.Cross(p, q).Z; (turn > 0) != (p.Z == 0) {
			t.Errorf("the rim at z = %v turns by %v", p.Z, turn)
		}
	}
	if got := top.Outline(nil); got != nil {
		t.Errorf("outline of nothing = %v", got)
	}
	all := make([]int32, len(m.Triangles()))
	for i := range all {
		all[i] = int32(i)
	}
	if got := top.Outline(all); got != nil {
		t.Errorf("outline of a closed mesh = %v", got)
	}
}

// TestOutlineTouching checks two squares of a sheet that touch in a corner.
func TestOutlineTouching(t *testing.T) {
	m := meshtest.Grid(2, 2, 2, 2)
	loops := m.Topology().Outline([]int32{0, 1, 6, 7})
	sizes, _ := loopSizes(loops)
	if want := []int{4, 4}; !slices.Equal(sizes, want) {
		t.Errorf("outline of %v edges, want %v", sizes, want)
	}
}

// TestOutlineOracle checks that the outline is the set of edges without exactly
// two triangles of the set, once per triangle, in closed loops, whatever the
// mesh.
func TestOutlineOracle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawSoup(t, 20)
		top := m.Topology()
		var tris []int32
		count := make([]int, len(top.EdgeVerts))
		for i := range m.Triangles() {
			if rapid.Bool().Draw(t, "in") {
				tris = append(tris, int32(i))
				for _, e := range top.TriEdges[i] {
					count[e]++
				}
			}
		}
		visits := make([]int, len(count))
		for _, l := range top.Outline(tris) {
			if !l.Closed {
				t.Fatal("open outline")
			}
			wantChain(t, top, l)
			for _, e := range l.Edges {
				visits[e]++
			}
		}
		for e, n := range count {
			if n == 2 {
				n = 0
			}
			wantEqual(t, "visits", visits[e], n)
		}
	})
}
