package contact

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// bowOf estimates how far triangle t lies inside the round that its facet was
// cut from, wherever the axis of that is; 0 for a facet without gentle bends.
func (s *side) bowOf(t int32) float32 { return s.bows()[s.facetOf[t]] }

// findBows estimates for every facet the sagitta of the round it belongs to:
// over a chord w the surface bends by the angle b from facet to facet, and the
// sagitta is (w/2) tan(b/4). The chord is the facet's extent across its
// sharpest gentle bend; bends of more than 31 degrees are edges.
func findBows(s *side) []float32 {
	type bend struct {
		at, across r3.Vec
		angle      float64
	}
	top := s.mesh.Topology()
	bends := make([]bend, len(s.facets))
	for e, v := range top.EdgeVerts {
		tris := top.EdgeFaces(e)
		if len(tris) != 2 || s.facetOf[tris[0]] == s.facetOf[tris[1]] {
			continue
		}
		n := [2]r3.Vec{s.normal[tris[0]], s.normal[tris[1]]}
		angle := math.Atan2(r3.Norm(r3.Cross(n[0], n[1])), r3.Dot(n[0], n[1]))
		if angle < samePlane || angle > 2*widestHalfStep {
			continue
		}
		p := s.points[v[0]]
		d := r3.Sub(s.points[v[1]], p)
		for i, t := range tris {
			if b := &bends[s.facetOf[t]]; angle > b.angle {
				*b = bend{p, r3.Scale(1/r3.Norm(d), r3.Cross(n[i], d)), angle}
			}
		}
	}
	bows := make([]float32, len(s.facets))
	for t, v := range s.tris {
		f := s.facetOf[t]
		b := &bends[f]
		if b.angle == 0 {
			continue
		}
		for _, i := range v {
			w := math.Abs(r3.Dot(b.across, r3.Sub(s.points[i], b.at)))
			bows[f] = max(bows[f], float32(w/2*math.Tan(b.angle/4)))
		}
	}
	return bows
}
