package mesh

import "gonum.org/v1/gonum/spatial/r3"

// SignedDistance returns the distance of p from a closed, outward mesh,
// negative inside, with the nearest triangle and the point q on it. The sign is
// that of the angle-weighted normal at q (J. A. Baerentzen and H. Aanaes,
// Signed Distance Computation Using the Angle Weighted Pseudonormal, 2005),
// which is right wherever the mesh is closed and does not cross itself. For a
// mesh without triangles, or a p that is not finite, tri is -1 and d is +Inf.
func (h *BVH) SignedDistance(p r3.Vec) (d float64, q r3.Vec, tri int) {
	tri, q, d = h.Closest(p)
	if tri < 0 {
		return d, q, tri
	}
	t := h.mesh.triangle(tri)
	_, on := closestFeature(p, t)
	if r3.Dot(r3.Sub(p, q), h.mesh.pseudonormal(tri, on)) < 0 {
		d = -d
	}
	return d, q, tri
}

// triangle returns the corners of triangle t as an array.
func (m *Mesh) triangle(t int) (c [3]r3.Vec) {
	c[0], c[1], c[2] = m.Corners(t)
	return c
}

// pseudonormal returns the normal of a triangle's face, the sum of both faces'
// at an edge, or the angle-weighted sum of all faces' at a corner.
func (m *Mesh) pseudonormal(tri int, on feature) r3.Vec {
	switch on.dim {
	case 0:
		return m.vertexNormal(m.triangles[tri][on.k])
	case 1:
		t, n := m.Topology(), r3.Vec{}
		for _, u := range t.EdgeFaces(int(t.TriEdges[tri][on.k])) {
			n = r3.Add(n, m.unitNormal(int(u)))
		}
		return n
	}
	return m.AreaNormal(tri)
}

// unitNormal returns the unit normal of triangle t, zero if it has no area.
func (m *Mesh) unitNormal(t int) r3.Vec {
	n := m.AreaNormal(t)
	if l := r3.Norm(n); l > 0 {
		return r3.Scale(1/l, n)
	}
	return r3.Vec{}
}

// vertexNormal returns the sum of the unit normals at v, each weighted with its
// triangle's angle there.
func (m *Mesh) vertexNormal(v int32) r3.Vec {
	n := r3.Vec{}
	for _, u := range m.Topology().VertexTris(int(v)) {
		t := m.triangles[u]
		for k := range t {
			if t[k] == v {
				p := m.vertices[v]
				angle := angleBetween(r3.Sub(m.vertices[t[(k+1)%3]], p), r3.Sub(m.vertices[t[(k+2)%3]], p))
				n = r3.Add(n, r3.Scale(angle, m.unitNormal(int(u))))
			}
		}
	}
	return n
}
