package mesh

import "math"

// isFeature reports whether edge e is a boundary, has three or more triangles,
// or is bent by more than angle. Edges inside a polygon never are.
func (t *Topology) isFeature(e int, angle float64) bool {
	if t.IsDiagonal(e) {
		return false
	}
	return !(math.Abs(t.Dihedral(e)) <= angle)
}

// FeatureEdges says for each edge whether it bounds a smooth patch: an open or
// non-manifold edge, or one bent by more than angle (radians) either way. Edges
// inside a polygon never do.
func (t *Topology) FeatureEdges(angle float64) []bool {
	feature := make([]bool, len(t.EdgeVerts))
	for e := range feature {
		feature[e] = t.isFeature(e, angle)
	}
	return feature
}
