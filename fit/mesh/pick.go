package mesh

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// NearestEdge returns the edge of triangle tri's polygon that is nearest to p,
// never one inside the polygon, and the point q on it. It panics if there is no
// such triangle.
func (t *Topology) NearestEdge(tri int, p r3.Vec) (edge int, q r3.Vec) {
	least := math.Inf(1)
	poly := t.mesh.triPoly
	first, end := tri, tri+1
	for first > 0 && poly[first-1] == poly[tri] {
		first--
	}
	for end < len(poly) && poly[end] == poly[tri] {
		end++
	}
	for _, edges := range t.TriEdges[first:end] {
		for _, e := range edges {
			if t.IsDiagonal(int(e)) {
				continue
			}
			v := t.EdgeVerts[e]
			x, _ := ClosestOnSegment(p, t.mesh.vertices[v[0]], t.mesh.vertices[v[1]])
			if d := distance2(p, x); d < least {
				edge, q, least = int(e), x, d
			}
		}
	}
	return edge, q
}

// NearestVertex returns the corner of triangle tri's polygon that is nearest to
// p. It panics if there is no such triangle.
func (m *Mesh) NearestVertex(tri int, p r3.Vec) int {
	best, least := -1, math.Inf(1)
	for _, v := range m.Polygon(m.PolygonOf(tri)) {
		if d := distance2(p, m.vertices[v]); d < least {
			best, least = int(v), d
		}
	}
	return best
}
