package mesh

import "slices"

// grow collects the triangles reached from tri over edges for which join says
// yes, in rising order.
func (t *Topology) grow(tri int, join func(from, to, e int32) bool) []int32 {
	if tri < 0 || tri >= len(t.TriEdges) {
		return nil
	}
	seen := make([]bool, len(t.TriEdges))
	seen[tri] = true
	patch := []int32{int32(tri)}
	for i := 0; i < len(patch); i++ {
		from := patch[i]
		for _, e := range t.TriEdges[from] {
			for _, to := range t.EdgeFaces(int(e)) {
				if !seen[to] && join(from, to, e) {
					seen[to] = true
					patch = append(patch, to)
				}
			}
		}
	}
	slices.Sort(patch)
	return patch
}
