package mesh

// seams are triangles without area whose middle corner lies on the opposite
// edge: what some tessellators put between one long edge and several short
// ones. Dropping them would open the surface there. So the face across the long
// edge gets the middle corner as one of its own, and the seam is gone.
type seams struct {
	isSeam []bool               // by face
	middle map[[2]int32][]int32 // by directed edge of the face across: face, middle corner
	used   []bool               // by face
}

// findSeams looks through all faces; it returns nil if there is none.
func (w *builderRun) findSeams() *seams {
	var s *seams
	cut := &cutter{vertices: w.vertices, rounding: w.rounding}
	var corners []int32
	var tris [][3]int32
	for i := range w.start {
		f := w.face(i)
		if len(f) != 3 || !w.isUsed(f) {
			continue
		}
		corners = appendWelded(corners[:0], f, w.weldTo)
		if len(corners) != 3 {
			continue
		}
		if tris = cut.appendSound(tris[:0], corners[0], corners[1], corners[2]); len(tris) > 0 {
			continue
		}
		if s == nil {
			s = &seams{make([]bool, len(w.start)), map[[2]int32][]int32{}, make([]bool, len(w.start))}
		}
		k := cut.longestSide(corners)
		a, b, c := corners[k], corners[(k+1)%3], corners[(k+2)%3]
		s.isSeam[i] = true
		if key := [2]int32{b, a}; s.middle[key] == nil {
			s.middle[key] = []int32{int32(i), c}
		}
	}
	return s
}

// longestSide returns the corner at which a triangle's longest side begins.
func (c *cutter) longestSide(f []int32) int {
	longest := 0
	length := func(k int) float64 { return distance2(c.vertices[f[k]], c.vertices[f[(k+1)%3]]) }
	for k := 1; k < 3; k++ {
		if length(k) > length(longest) {
			longest = k
		}
	}
	return longest
}

// close appends the corners of face f, which is no seam itself, with those of
// seams along its edges between. dst must not be f.
func (s *seams) close(dst, f []int32) []int32 {
	for k, u := range f {
		dst = append(dst, u)
		dst = s.between(dst, f, u, f[(k+1)%len(f)])
	}
	return dst
}

// between appends the corners that seams put between u and v.
func (s *seams) between(dst, f []int32, u, v int32) []int32 {
	m := s.middle[[2]int32{u, v}]
	if m == nil || s.used[m[0]] {
		return dst
	}
	for _, x := range f {
		if x == m[1] {
			return dst
		}
	}
	s.used[m[0]] = true
	dst = s.between(dst, f, u, m[1])
	dst = append(dst, m[1])
	return s.between(dst, f, m[1], v)
}
