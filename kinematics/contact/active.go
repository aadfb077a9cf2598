package contact

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

// activeFeatures returns for every triangle which of its corners, edges and
// its face can newly come into contact by turning. Faces of turned patches
// cannot, nor can edges inside them or along their rings. What bounds them
// otherwise belongs to the triangles beyond, or, where the mesh is open, to
// the turned triangle itself.
func activeFeatures(s *side, c *cylindrical, tolerance float64) []uint8 {
	top := s.mesh.Topology()
	edge := activeEdges(s, c, top, tolerance)
	corner := make([]bool, len(s.points))
	for e, v := range top.EdgeVerts {
		if edge[e] {
			corner[v[0]], corner[v[1]] = true, true
		}
	}
	active := make([]uint8, len(s.tris))
	for t, v := range s.tris {
		own := s.turned[t] < 0
		var a uint8
		for k := range 3 {
			e := top.TriEdges[t][k]
			if !edge[e] || !own && !allTurned(s, top.EdgeFaces(int(e))) {
				continue
			}
			a |= edgeBit << k
			if !own {
				a |= cornerBit<<k | cornerBit<<((k+1)%3)
			}
		}
		if own {
			for k := range 3 {
				if corner[v[k]] {
					a |= cornerBit << k
				}
			}
			if s.normal[t] != (r3.Vec{}) {
				a |= faceBit
			}
		}
		active[t] = a
	}
	return active
}

func allTurned(s *side, tris []int32) bool {
	for _, t := range tris {
		if s.turned[t] < 0 {
			return false
		}
	}
	return true
}

// activeEdges tells for every edge whether it can newly come into contact.
func activeEdges(s *side, c *cylindrical, top *mesh.Topology, tolerance float64) []bool {
	edge := make([]bool, len(top.EdgeVerts))
	for e := range edge {
		tris := top.EdgeFaces(e)
		edge[e] = true
		for _, t := range tris {
			if s.turned[t] >= 0 && s.ring(t, top.EdgeVerts[e], tolerance) {
				edge[e] = false
			}
		}
		if len(tris) > 1 && allTurned(s, tris) {
			edge[e] = false
		}
	}
	if s.motion.hinge() {
		s.closeRims(c, top, edge, tolerance)
	}
	return edge
}

// ring reports whether an edge of the turned triangle t runs the way that the
// motion carries it: round the axis, along the facet's own ring direction with
// no step across it, or along a slider. A flat facet has no ring direction of
// its own, and nothing straight runs along a screw.
func (s *side) ring(t int32, v [2]int32, tolerance float64) bool {
	d := r3.Sub(s.points[v[1]], s.points[v[0]])
	if s.motion.slides() {
		return radius(d) <= 2*tolerance
	}
	f := &s.facets[s.facetOf[t]]
	if !s.motion.hinge() || f.half > widestHalfStep || f.flat(tolerance) {
		return false
	}
	round := r3.Vec{X: -f.normal.Y / f.radial, Y: f.normal.X / f.radial}
	across := math.Abs(r3.Dot(d, r3.Cross(f.normal, round)))
	return across <= max(2*tolerance, 0.02*r3.Norm(d))
}

// closeRims puts out the open edges of flat sheets that make up a circle about
// the axis: equal radii, small steps, and neighbours that are the same.
func (s *side) closeRims(c *cylindrical, top *mesh.Topology, edge []bool, tolerance float64) {
	round := func(e int) bool {
		tris := top.EdgeFaces(e)
		if len(tris) != 1 || s.turned[tris[0]] < 0 || !s.facets[s.facetOf[tris[0]]].flat(tolerance) {
			return false
		}
		v := top.EdgeVerts[e]
		return math.Abs(c.radius[v[0]]-c.radius[v[1]]) <= 2*tolerance && c.radius[v[0]] > 0 &&
			math.Abs(wrapHalf(c.azimuth[v[0]]-c.azimuth[v[1]])) <= 2*widestHalfStep
	}
	var rims []int
	for e, v := range top.EdgeVerts {
		if !round(e) {
			continue
		}
		ends := 0
		for _, w := range v {
			for _, o := range top.VertexEdges(int(w)) {
				if int(o) != e && round(int(o)) {
					ends++
					break
				}
			}
		}
		if ends == 2 {
			rims = append(rims, e)
		}
	}
	for _, e := range rims {
		edge[e] = false
	}
}
