package mesh

import (
	"cmp"
	"slices"
	"sync"
)

// Topology is the adjacency of a mesh: which vertices, edges and triangles
// meet. Edges are numbered by their lower, then by their higher vertex. An edge
// may have any number of triangles. All slices are shared: callers must not
// modify them.
type Topology struct {
	// EdgeVerts holds the two vertices of each edge, the lower one first.
	EdgeVerts [][2]int32
	// TriEdges holds the edges of each triangle; edge k joins corners k and k+1.
	TriEdges [][3]int32

	mesh      *Mesh
	diagonal  float64
	edgeStart []int32 // offsets into edgeTris
	edgeTris  []int32
	vertStart []int32 // offsets into vertTris
	vertTris  []int32
	veStart   []int32 // offsets into vertEdges
	vertEdges []int32

	bends func() []float64 // of each edge
	quads func() *quadFaces
}

func newTopology(m *Mesh) *Topology {
	t := &Topology{mesh: m, diagonal: m.Diagonal()}
	t.joinEdges()
	n := len(m.vertices)
	t.vertStart, t.vertTris = groupBy(n, len(m.triangles), func(i int) [3]int32 { return m.triangles[i] })
	t.veStart, t.vertEdges = groupBy(n, len(t.EdgeVerts), func(i int) [2]int32 { return t.EdgeVerts[i] })
	t.bends = sync.OnceValue(t.measureBends)
	t.quads = sync.OnceValue(func() *quadFaces { return newQuadFaces(t) })
	return t
}

// groupBy lists for each of n keys the items that have it, in their order.
func groupBy[K [1]int32 | [2]int32 | [3]int32](n, items int, keys func(i int) K) (start, list []int32) {
	start = make([]int32, n+2)
	for i := range items {
		k := keys(i)
		for j := range len(k) {
			start[k[j]+2]++
		}
	}
	for i := 2; i < len(start); i++ {
		start[i] += start[i-1]
	}
	list = make([]int32, start[n+1])
	for i := range items {
		k := keys(i)
		for j := range len(k) {
			list[start[k[j]+1]] = int32(i)
			start[k[j]+1]++
		}
	}
	return start[:n+1], list
}

// joinEdges numbers the edges: half-edges are grouped by their lower vertex
// with a counting sort, then each small group is sorted by the higher one.
func (t *Topology) joinEdges() {
	tris := t.mesh.triangles
	start := make([]int32, len(t.mesh.vertices)+2)
	for _, v := range tris {
		start[min(v[0], v[1])+2]++
		start[min(v[1], v[2])+2]++
		start[min(v[2], v[0])+2]++
	}
	for i := 2; i < len(start); i++ {
		start[i] += start[i-1]
	}
	type half struct{ high, at int32 } // at is 3 x triangle + corner
	halves := make([]half, 3*len(tris))
	for i, v := range tris {
		for k := range 3 {
			a, b := v[k], v[(k+1)%3]
			s := &start[min(a, b)+1]
			halves[*s] = half{max(a, b), int32(3*i + k)}
			*s++
		}
	}
	edges := 0
	for v := range len(t.mesh.vertices) {
		group := halves[start[v]:start[v+1]]
		slices.SortFunc(group, func(a, b half) int {
			return cmp.Or(cmp.Compare(a.high, b.high), cmp.Compare(a.at, b.at))
		})
		for i := range group {
			if i == 0 || group[i].high != group[i-1].high {
				edges++
			}
		}
	}
	t.EdgeVerts = make([][2]int32, 0, edges)
	t.TriEdges = make([][3]int32, len(tris))
	t.edgeStart = make([]int32, 0, edges+1)
	t.edgeTris = make([]int32, 3*len(tris))
	for v := range len(t.mesh.vertices) {
		for i := start[v]; i < start[v+1]; i++ {
			h := halves[i]
			if i == start[v] || h.high != halves[i-1].high {
				t.EdgeVerts = append(t.EdgeVerts, [2]int32{int32(v), h.high})
				t.edgeStart = append(t.edgeStart, i)
			}
			t.TriEdges[h.at/3][h.at%3] = int32(len(t.EdgeVerts) - 1)
			t.edgeTris[i] = h.at / 3
		}
	}
	t.edgeStart = append(t.edgeStart, int32(len(halves)))
}

// EdgeFaces returns the triangles at edge e in rising order.
func (t *Topology) EdgeFaces(e int) []int32 { return t.edgeTris[t.edgeStart[e]:t.edgeStart[e+1]] }

// VertexTris returns the triangles at vertex v in rising order.
func (t *Topology) VertexTris(v int) []int32 { return t.vertTris[t.vertStart[v]:t.vertStart[v+1]] }

// VertexEdges returns the edges at vertex v in rising order.
func (t *Topology) VertexEdges(v int) []int32 { return t.vertEdges[t.veStart[v]:t.veStart[v+1]] }

// EdgeBetween returns the edge that joins the vertices a and b.
func (t *Topology) EdgeBetween(a, b int) (e int, ok bool) {
	want := [2]int32{int32(min(a, b)), int32(max(a, b))}
	for _, e := range t.VertexEdges(a) {
		if t.EdgeVerts[e] == want {
			return int(e), true
		}
	}
	return 0, false
}

// Opposite returns the triangle across edge e from triangle tri, or -1 where
// the edge has not exactly two triangles.
func (t *Topology) Opposite(tri, e int) int {
	f := t.EdgeFaces(e)
	if len(f) != 2 {
		return -1
	}
	return int(f[0] + f[1] - int32(tri))
}

// runsAlong reports whether triangle tri runs along edge e from its lower to
// its higher vertex.
func (t *Topology) runsAlong(tri int32, e int) bool {
	for k, x := range t.TriEdges[tri] {
		if int(x) == e {
			return t.mesh.triangles[tri][k] == t.EdgeVerts[e][0]
		}
	}
	return false
}

// Consistent reports whether edge e has two triangles that agree about which
// side is outside, that is, run along it in opposite directions.
func (t *Topology) Consistent(e int) bool {
	f := t.EdgeFaces(e)
	return len(f) == 2 && t.runsAlong(f[0], e) != t.runsAlong(f[1], e)
}

// IsDiagonal reports whether edge e lies inside a polygon of the mesh.
func (t *Topology) IsDiagonal(e int) bool {
	f := t.EdgeFaces(e)
	return len(f) == 2 && t.mesh.triPoly[f[0]] == t.mesh.triPoly[f[1]]
}
