package split

import "pintle/fit/mesh"

// shells labels every triangle with its shell: triangles belong together where
// an edge joins just the two of them. Parts that were welded where they touch
// along a vertex or an edge stay apart so.
func shells(m *mesh.Mesh) (label []int32, n int) {
	top := m.Topology()
	set := newSet(len(m.Triangles()))
	for e := range top.EdgeVerts {
		if f := top.EdgeFaces(e); len(f) == 2 {
			set.join(int(f[0]), int(f[1]))
		}
	}
	label = make([]int32, len(m.Triangles()))
	number := make([]int32, len(label))
	for t := range label {
		root := set.find(t)
		if number[root] == 0 {
			n++
			number[root] = int32(n)
		}
		label[t] = number[root] - 1
	}
	return label, n
}

// set is a union of disjoint sets; the least member leads.
type set []int32

func newSet(n int) set {
	s := make(set, n)
	for i := range s {
		s[i] = int32(i)
	}
	return s
}

func (s set) find(i int) int {
	for int(s[i]) != i {
		s[i] = s[s[i]]
		i = int(s[i])
	}
	return i
}

func (s set) join(i, k int) {
	i, k = s.find(i), s.find(k)
	s[max(i, k)] = int32(min(i, k))
}
