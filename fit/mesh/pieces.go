package mesh

import "slices"

// Pieces returns one mesh for every list of triangles, as Sub does for one, in
// time that grows with the triangles alone. The lists must rise.
func Pieces(m *Mesh, tris [][]int32) []*Mesh {
	x := newExtractor(m)
	out := make([]*Mesh, len(tris))
	for i, t := range tris {
		if !slices.IsSorted(t) {
			panic("mesh: the triangles of a piece do not rise")
		}
		out[i] = x.extract(t)
	}
	return out
}
