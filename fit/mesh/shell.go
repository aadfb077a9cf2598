package mesh

import (
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

// Shells labels every triangle with its shell: triangles belong together where
// they are linked through shared vertices. Labels run from 0 to n-1 in the
// order of their first triangles.
func (t *Topology) Shells() (label []int32, n int) {
	parent := make([]int32, len(t.mesh.vertices))
	for i := range parent {
		parent[i] = int32(i)
	}
	find := func(v int32) int32 {
		for parent[v] != v {
			parent[v] = parent[parent[v]]
			v = parent[v]
		}
		return v
	}
	for _, v := range t.mesh.triangles {
		a, b, c := find(v[0]), find(v[1]), find(v[2])
		least := min(a, b, c)
		parent[a], parent[b], parent[c] = least, least, least
	}
	label = make([]int32, len(t.mesh.triangles))
	number := make([]int32, len(parent)) // shell + 1 of a root
	for i, v := range t.mesh.triangles {
		root := find(v[0])
		if number[root] == 0 {
			n++
			number[root] = int32(n)
		}
		label[i] = number[root] - 1
	}
	return label, n
}

// Split returns one mesh per shell (see Topology.Shells), in the order of their
// first triangles, polygons kept. A mesh of one shell is returned as it is.
func Split(m *Mesh) []*Mesh {
	label, n := m.Topology().Shells()
	if n == 1 {
		return []*Mesh{m}
	}
	start, list := groupBy(n, len(label), func(i int) [1]int32 { return [1]int32{label[i]} })
	x := newExtractor(m)
	parts := make([]*Mesh, n)
	for i := range parts {
		parts[i] = x.extract(list[start[i]:start[i+1]])
	}
	return parts
}

// Sub returns the mesh of the given triangles in rising order, each once.
// Polygons stay whole where all their triangles are given; other triangles
// become polygons of their own. It panics on a triangle that is not there.
func Sub(m *Mesh, tris []int32) *Mesh {
	tris = slices.Clone(tris)
	slices.Sort(tris)
	return newExtractor(m).extract(slices.Compact(tris))
}

// extractor copies triangles out of a mesh; many calls share one index of vertices.
type extractor struct {
	mesh  *Mesh
	index []int32 // new vertex + 1, valid where the mesh in the making has it
	old   []int32 // old vertices of the mesh in the making
}

func newExtractor(m *Mesh) *extractor {
	return &extractor{mesh: m, index: make([]int32, len(m.vertices))}
}

// extract returns the mesh of the triangles, which must be in rising order.
func (x *extractor) extract(tris []int32) *Mesh {
	m := x.mesh
	triangles := make([][3]int32, len(tris))
	triPoly := make([]int32, len(tris))
	polyStart, polyVerts := []int32{0}, []int32(nil)
	for i := 0; i < len(tris); {
		n := x.wholePolygon(tris[i:])
		if n > 0 {
			polyVerts = append(polyVerts, m.Polygon(int(m.triPoly[tris[i]]))...)
		} else {
			n = 1
			polyVerts = append(polyVerts, m.triangles[tris[i]][:]...)
		}
		for k := range n {
			triangles[i+k] = m.triangles[tris[i+k]]
			triPoly[i+k] = int32(len(polyStart) - 1)
		}
		polyStart = append(polyStart, int32(len(polyVerts)))
		i += n
	}
	x.renumber(polyVerts)
	for i, t := range triangles {
		triangles[i] = [3]int32{x.index[t[0]] - 1, x.index[t[1]] - 1, x.index[t[2]] - 1}
	}
	vertices := make([]r3.Vec, len(x.old))
	for i, v := range x.old {
		vertices[i] = m.vertices[v]
		x.index[v] = 0
	}
	return newMesh(vertices, triangles, triPoly, polyStart, polyVerts)
}

// wholePolygon returns how many triangles the polygon of the first has if they
// all come next, else 0.
func (x *extractor) wholePolygon(tris []int32) int {
	p := x.mesh.triPoly
	t := int(tris[0])
	if t > 0 && p[t-1] == p[t] {
		return 0
	}
	n := 1
	for t+n < len(p) && p[t+n] == p[t] {
		if n >= len(tris) || int(tris[n]) != t+n {
			return 0
		}
		n++
	}
	return n
}

// renumber replaces vertices by new indexes that keep the old order.
func (x *extractor) renumber(polyVerts []int32) {
	x.old = x.old[:0]
	for _, v := range polyVerts {
		if x.index[v] == 0 {
			x.index[v] = 1
			x.old = append(x.old, v)
		}
	}
	slices.Sort(x.old)
	for i, v := range x.old {
		x.index[v] = int32(i) + 1
	}
	for i, v := range polyVerts {
		polyVerts[i] = x.index[v] - 1
	}
}

// Join returns one mesh with the triangles of all meshes in turn, polygons
// kept. Vertices are not welded.
func Join(meshes ...*Mesh) *Mesh {
	var nv, nt, np, nc int
	for _, m := range meshes {
		nv, nt = nv+len(m.vertices), nt+len(m.triangles)
		np, nc = np+m.NumPolygons(), nc+len(m.polyVerts)
	}
	vertices := make([]r3.Vec, 0, nv)
	triangles, triPoly := make([][3]int32, 0, nt), make([]int32, 0, nt)
	polyStart, polyVerts := append(make([]int32, 0, np+1), 0), make([]int32, 0, nc)
	for _, m := range meshes {
		v, p, c := int32(len(vertices)), int32(len(polyStart)-1), int32(len(polyVerts))
		vertices = append(vertices, m.vertices...)
		for i, t := range m.triangles {
			triangles = append(triangles, [3]int32{t[0] + v, t[1] + v, t[2] + v})
			triPoly = append(triPoly, m.triPoly[i]+p)
		}
		for _, s := range m.polyStart[1:] {
			polyStart = append(polyStart, s+c)
		}
		for _, x := range m.polyVerts {
			polyVerts = append(polyVerts, x+v)
		}
	}
	return newMesh(vertices, triangles, triPoly, polyStart, polyVerts)
}

// Moved returns the mesh with every vertex moved by x, polygons kept.
func Moved(m *Mesh, x Rigid) *Mesh {
	vertices := make([]r3.Vec, len(m.vertices))
	for i, p := range m.vertices {
		vertices[i] = x.Apply(p)
	}
	return newMesh(vertices, m.triangles, m.triPoly, m.polyStart, m.polyVerts)
}
