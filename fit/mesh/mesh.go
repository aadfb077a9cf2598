// Package mesh holds index-based triangle meshes with the polygons they came
// from, their adjacency, feature loops, patches and one bounding-volume
// hierarchy. Coordinates are float64 in model units and model axes. A Mesh is
// immutable once built, so every query is safe from any number of goroutines.
package mesh

import (
	"sync"

	"gonum.org/v1/gonum/spatial/r3"
)

// Mesh is an indexed triangle mesh that remembers the polygons its triangles
// were cut from. Make one with a Builder.
type Mesh struct {
	vertices  []r3.Vec
	triangles [][3]int32
	triPoly   []int32 // polygon of each triangle
	polyStart []int32 // len NumPolygons+1, offsets into polyVerts
	polyVerts []int32
	bounds    r3.Box

	topology func() *Topology
	bvh      func() *BVH
}

func newMesh(vertices []r3.Vec, triangles [][3]int32, triPoly, polyStart, polyVerts []int32) *Mesh {
	m := &Mesh{
		vertices: vertices, triangles: triangles,
		triPoly: triPoly, polyStart: polyStart, polyVerts: polyVerts,
		bounds: boundsOf(vertices),
	}
	m.topology = sync.OnceValue(func() *Topology { return newTopology(m) })
	m.bvh = sync.OnceValue(func() *BVH { return newBVH(m) })
	return m
}

// Vertices returns the vertex positions in model units. The slice is shared:
// callers must not modify it.
func (m *Mesh) Vertices() []r3.Vec { return m.vertices }

// Triangles returns vertex indexes, counter-clockwise seen from outside. The
// slice is shared: callers must not modify it.
func (m *Mesh) Triangles() [][3]int32 { return m.triangles }

// NumPolygons is the number of polygons the triangles were cut from; it equals
// the number of triangles for a triangle soup.
func (m *Mesh) NumPolygons() int { return len(m.polyStart) - 1 }

// Polygon returns the vertex indexes of polygon i in its original order. The
// slice is shared: callers must not modify it.
func (m *Mesh) Polygon(i int) []int32 { return m.polyVerts[m.polyStart[i]:m.polyStart[i+1]] }

// PolygonOf returns the polygon that triangle t was cut from.
func (m *Mesh) PolygonOf(t int) int { return int(m.triPoly[t]) }

// Bounds returns the axis-aligned bounding box; it is empty for no vertices.
func (m *Mesh) Bounds() r3.Box { return m.bounds }

// Diagonal returns the length of the bounding box's diagonal in model units.
func (m *Mesh) Diagonal() float64 { return r3.Norm(r3.Sub(m.bounds.Max, m.bounds.Min)) }

// Corners returns the three corner positions of triangle t.
func (m *Mesh) Corners(t int) (a, b, c r3.Vec) {
	v := m.triangles[t]
	return m.vertices[v[0]], m.vertices[v[1]], m.vertices[v[2]]
}

// AreaNormal returns the normal of triangle t with a length of twice its area.
func (m *Mesh) AreaNormal(t int) r3.Vec {
	a, b, c := m.Corners(t)
	return r3.Cross(r3.Sub(b, a), r3.Sub(c, a))
}

// Topology returns the adjacency, built at the first call and then shared.
func (m *Mesh) Topology() *Topology { return m.topology() }

// BVH returns the bounding-volume hierarchy over the triangles, built at the
// first call and then shared.
func (m *Mesh) BVH() *BVH { return m.bvh() }
