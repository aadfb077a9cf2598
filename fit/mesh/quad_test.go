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

func edge(t fataler, m *mesh.Mesh, a, b int) int {
	t.Helper()
	e, ok := m.Topology().EdgeBetween(a, b)
	if !ok {
		t.Fatalf("no edge between %d and %d", a, b)
	}
	return e
}

// wantRing checks that the ring's edges and ends fit together.
func wantRing(t fataler, top *mesh.Topology, r mesh.Ring) {
	t.Helper()
	n := len(r.Edges)
	if n == 0 {
		return
	}
	quads := n - 1
	if r.Closed {
		quads = n
	}
	wantEqual(t, "triangles", len(r.Tris), 2*quads)
	for i, e := range r.Edges {
		a, b := r.Left[i], r.Right[i]
		wantEqual(t, "ends", top.EdgeVerts[e], [2]int32{min(a, b), max(a, b)})
		if i+1 < n {
			for _, side := range [2][]int32{r.Left, r.Right} {
				if _, ok := top.EdgeBetween(int(side[i]), int(side[i+1])); !ok {
					t.Fatalf("vertices %d and %d of a side are not joined", side[i], side[i+1])
				}
			}
		}
	}
}

// TestQuadRingAndLoop walks round and along a turned surface with its quads
// kept, and with only its triangles.
func TestQuadRingAndLoop(t *testing.T) {
	const n, rings = 12, 5
	meshes := map[string]*mesh.Mesh{
		"cylinder": meshtest.Cylinder(2, 0, 7, n, rings, true),
		"long":     meshtest.Cylinder(0.1, 0, 70, n, rings, true),
		"cone":     meshtest.Frustum(3, 1, 0, 4, n, rings, true),
		"bowl":     meshtest.Cylinder(1, 0, 1, n, rings, false, func(p r3.Vec) r3.Vec { return r3.Vec{X: p.X * (1 + p.Z*p.Z/4), Y: p.Y * (1 + p.Z*p.Z/4), Z: p.Z} }),
	}
	for name, kept := range meshes {
		for _, m := range []*mesh.Mesh{kept, meshtest.Triangulated(kept)} {
			t.Run(name, func(t *testing.T) {
				top := m.Topology()
				ring := top.QuadRing(edge(t, m, n, 2*n)) // along, second band
				wantRing(t, top, ring)
				wantEqual(t, "closed", ring.Closed, true)
				wantEqual(t, "edges round", len(ring.Edges), n)
				for i := range ring.Left {
					if ring.Left[i]/n != 1 || ring.Right[i]/n != 2 {
						t.Errorf("ends %d, %d, want rings 1 and 2", ring.Left[i], ring.Right[i])
					}
				}
				loop := top.QuadLoop(edge(t, m, 2*n+3, 2*n+4)) // round, third circle
				wantChain(t, top, loop)
				want := []int32{24, 25, 26, 27, 28, 29, 30, 31, 32, 33, 34, 35}
				if !loop.Closed || !slices.Equal(loop.Vertices, want) {
					t.Errorf("loop %v, closed %v", loop.Vertices, loop.Closed)
				}
				along := top.QuadLoop(edge(t, m, n+5, 2*n+5))
				wantChain(t, top, along)
				if along.Closed || !slices.Contains(along.Vertices, n+5) || len(along.Edges) < rings-2 {
					t.Errorf("loop along %v, closed %v", along.Vertices, along.Closed)
				}
			})
		}
	}
}

// TestQuadLoopRim checks that the loop at a cap goes round the cap's polygon,
// and along the boundary where there is no cap.
func TestQuadLoopRim(t *testing.T) {
	for _, capped := range []bool{true, false} {
		m := meshtest.Cylinder(1, 0, 2, 10, 2, capped)
		l := m.Topology().QuadLoop(edge(t, m, 3, 4))
		if !l.Closed || len(l.Edges) != 10 {
			t.Errorf("capped %v: rim of %d edges, closed %v", capped, len(l.Edges), l.Closed)
		}
	}
}

func TestQuadLoopTorus(t *testing.T) {
	for _, m := range []*mesh.Mesh{meshtest.Torus(3, 1, 24, 16), meshtest.Triangulated(meshtest.Torus(3, 1, 24, 16))} {
		top := m.Topology()
		for _, test := range []struct{ a, b, loop, ring int }{{5, 6, 24, 16}, {5, 29, 16, 24}} {
			l, r := top.QuadLoop(edge(t, m, test.a, test.b)), top.QuadRing(edge(t, m, test.a, test.b))
			wantRing(t, top, r)
			if !l.Closed || !r.Closed || len(l.Edges) != test.loop || len(r.Edges) != test.ring {
				t.Errorf("edge %d-%d: loop %d, ring %d, want %d, %d", test.a, test.b, len(l.Edges), len(r.Edges), test.loop, test.ring)
			}
		}
	}
}

func TestQuadsOfSheet(t *testing.T) {
	m := meshtest.Grid(4, 3, 4, 3)
	top := m.Topology()
	ring := top.QuadRing(edge(t, m, 0, 5)) // left border, across
	wantRing(t, top, ring)
	if ring.Closed || len(ring.Edges) != 5 {
		t.Errorf("ring of %d edges, closed %v, want 5, open", len(ring.Edges), ring.Closed)
	}
	middle := top.QuadRing(edge(t, m, 2, 7))
	if !slices.Equal(middle.Tris, ring.Tris) && !slices.Equal(middle.Tris, reversed(ring.Tris)) {
		t.Errorf("from the middle: %v, from the border: %v", middle.Tris, ring.Tris)
	}
	loop := top.QuadLoop(edge(t, m, 6, 7))
	if loop.Closed || !slices.Equal(loop.Vertices, []int32{5, 6, 7, 8, 9}) {
		t.Errorf("loop %v", loop.Vertices)
	}
	border := top.QuadLoop(edge(t, m, 0, 1))
	if !border.Closed || len(border.Edges) != 14 {
		t.Errorf("border of %d edges, closed %v", len(border.Edges), border.Closed)
	}
	for e := range top.EdgeVerts {
		if top.IsDiagonal(e) && (top.QuadLoop(e).Edges != nil || top.QuadRing(e).Edges != nil) {
			t.Errorf("diagonal %d has a loop", e)
		}
	}
}

func reversed(s []int32) []int32 {
	r := slices.Clone(s)
	slices.Reverse(r)
	return r
}

// TestQuadRingOfMobius checks a band that closes with its sides exchanged.
func TestQuadRingOfMobius(t *testing.T) {
	const n = 20
	b := mesh.NewBuilder()
	for i := range n {
		s, c := math.Sincos(2 * math.Pi * float64(i) / n)
		sh, ch := math.Sincos(math.Pi * float64(i) / n)
		for _, w := range [2]float64{-0.3, 0.3} {
			r := 2 + w*ch
			b.Vertex(r3.Vec{X: r * c, Y: r * s, Z: w * sh})
		}
	}
	for i := range int32(n - 1) {
		b.Face(2*i, 2*i+2, 2*i+3, 2*i+1)
	}
	b.Face(2*n-2, 1, 0, 2*n-1)
	m := build(t, b, mesh.Options{})
	top := m.Topology()
	ring := top.QuadRing(edge(t, m, 6, 7))
	wantRing(t, top, ring)
	if !ring.Closed || len(ring.Edges) != n {
		t.Errorf("ring of %d edges, closed %v", len(ring.Edges), ring.Closed)
	}
	loops := top.FeatureLoops(3)
	if len(loops) != 1 || !loops[0].Closed || len(loops[0].Edges) != 2*n {
		t.Errorf("boundary %v, want one loop of %d edges", loops, 2*n)
	}
	if mesh.Validate(m) == nil {
		t.Error("a band counts as a solid")
	}
}

// TestPairingFindsQuads checks that cutting quads in two loses nothing, however
// the solid lies.
func TestPairingFindsQuads(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		move, _ := drawMap(t)
		n, rings := rapid.IntRange(8, 48).Draw(t, "n"), rapid.IntRange(1, 5).Draw(t, "rings")
		length := rapid.Float64Range(0.3, 30).Draw(t, "length")
		kept := meshtest.Cylinder(1, 0, length, n, rings, false, move)
		want, got := kept.Topology().Quads(), meshtest.Triangulated(kept).Topology().Quads()
		if !slices.Equal(got, want) {
			t.Fatalf("paired %v, want %v", got, want)
		}
	})
}

// TestQuadsPairBothWays checks on any mesh that pairs are mutual and meet in an edge.
func TestQuadsPairBothWays(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawSoup(t, 30)
		top := m.Topology()
		for i, j := range top.Quads() {
			if j < 0 {
				continue
			}
			wantEqual(t, "mate of the mate", top.Quads()[j], int32(i))
			shared := 0
			for _, e := range top.TriEdges[i] {
				if slices.Contains(top.EdgeFaces(int(e)), j) {
					shared++
				}
			}
			if shared == 0 {
				t.Fatalf("triangles %d and %d are a pair without a common edge", i, j)
			}
		}
		for e := range top.EdgeVerts {
			wantRing(t, top, top.QuadRing(e))
			wantChain2(t, top, top.QuadLoop(e))
		}
	})
}

// wantChain2 is wantChain that accepts the empty loop.
func wantChain2(t fataler, top *mesh.Topology, l mesh.Loop) {
	t.Helper()
	if l.Edges != nil {
		wantChain(t, top, l)
	}
}

func BenchmarkQuads(b *testing.B) {
	bySize(b, func(b *testing.B, n int) {
		m := meshtest.Triangulated(benchTorus(n))
		for b.Loop() {
			b.StopTimer()
			top := mesh.Join(m).Topology()
			b.StartTimer()
			top.Quads()
		}
	})
}
