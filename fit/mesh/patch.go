package mesh

import "slices"

// SmoothPatches labels every triangle with its smooth patch: triangles belong
// together where a path leads over edges bent by at most angle (radians).
// Labels run from 0 to n-1 in the order of their first triangles.
func (t *Topology) SmoothPatches(angle float64) (label []int32, n int) {
	feature := t.FeatureEdges(angle)
	return t.flood(func(e int32) bool { return !feature[e] })
}

// flood labels the components of triangles joined over edges that pass.
func (t *Topology) flood(pass func(e int32) bool) (label []int32, n int) {
	label = make([]int32, len(t.TriEdges))
	for i := range label {
		label[i] = -1
	}
	var queue []int32
	for i := range label {
		if label[i] >= 0 {
			continue
		}
		label[i] = int32(n)
		queue = append(queue[:0], int32(i))
		for len(queue) > 0 {
			tri := queue[len(queue)-1]
			queue = queue[:len(queue)-1]
			for _, e := range t.TriEdges[tri] {
				if !pass(e) {
					continue
				}
				for _, u := range t.EdgeFaces(int(e)) {
					if label[u] < 0 {
						label[u] = int32(n)
						queue = append(queue, u)
					}
				}
			}
		}
		n++
	}
	return label, n
}

// PatchFrom returns the smooth patch round triangle tri in rising order: what
// can be reached over edges bent by at most angle (radians). It looks only at
// the patch and its surroundings. It is nil if there is no such triangle.
func (t *Topology) PatchFrom(tri int, angle float64) []int32 {
	return t.grow(tri, func(_, e int32) bool { return !t.isFeature(int(e), angle) })
}

// PatchWithin is PatchFrom that stops as well where the surface has turned by
// more than spread (radians) from triangle tri, however gently: a flat face or
// a stretch of a blend.
func (t *Topology) PatchWithin(tri int, angle, spread float64) []int32 {
	if tri < 0 || tri >= len(t.TriEdges) {
		return nil
	}
	n := t.steadyNormal(int32(tri))
	return t.grow(tri, func(to, e int32) bool {
		return !t.isFeature(int(e), angle) && angleBetween(n, t.steadyNormal(to)) <= spread
	})
}

// grow collects the triangles reached from tri over edges for which join says
// yes, in rising order.
func (t *Topology) grow(tri int, join func(to, e int32) bool) []int32 {
	if tri < 0 || tri >= len(t.TriEdges) {
		return nil
	}
	seen := make([]bool, len(t.TriEdges))
	seen[tri] = true
	patch := []int32{int32(tri)}
	for i := 0; i < len(patch); i++ {
		for _, e := range t.TriEdges[patch[i]] {
			for _, to := range t.EdgeFaces(int(e)) {
				if !seen[to] && join(to, e) {
					seen[to] = true
					patch = append(patch, to)
				}
			}
		}
	}
	slices.Sort(patch)
	return patch
}
