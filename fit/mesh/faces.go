package mesh

import (
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

// cancelStride is how many corners are handled between two looks at the context.
const cancelStride = 1 << 15

// cutFaces welds the faces' corners, drops faces that are no surface and cuts
// the rest into triangles.
func (w *builderRun) cutFaces() error {
	nFaces, nCorners := len(w.start), len(w.corners)
	w.triangles = make([][3]int32, 0, max(0, nCorners-2*nFaces))
	w.triPoly = make([]int32, 0, max(0, nCorners-2*nFaces))
	w.polyStart = append(make([]int32, 0, nFaces+1), 0)
	w.polyVerts = make([]int32, 0, nCorners)
	table := make([]int32, tableSize(nFaces))
	cut := &cutter{vertices: w.vertices, rounding: w.rounding}
	w.seams = w.findSeams()
	corners := 0
	for i := range nFaces {
		f := w.face(i)
		if corners += len(f); corners > cancelStride {
			corners = 0
			if err := w.tell(0.4+0.3*float64(i)/float64(nFaces), "cutting faces"); err != nil {
				return err
			}
		}
		if !w.isUsed(f) {
			continue
		}
		w.addFace(i, table, cut)
	}
	return nil
}

// addFace appends face i to the mesh unless it is degenerate or repeated.
func (w *builderRun) addFace(i int, table []int32, cut *cutter) {
	first := len(w.polyVerts)
	w.polyVerts = appendWelded(w.polyVerts, w.face(i), w.weldTo)
	if w.seams != nil && !w.seams.isSeam[i] {
		w.scratch = append(w.scratch[:0], w.polyVerts[first:]...)
		w.polyVerts = w.seams.close(w.polyVerts[:first], w.scratch)
	}
	f := w.polyVerts[first:]
	if len(f) < 3 {
		w.polyVerts = w.polyVerts[:first]
		w.report.ZeroArea++
		return
	}
	slot, known := w.findFace(f, table)
	if known {
		w.polyVerts = w.polyVerts[:first]
		w.report.Duplicate++
		return
	}
	before := len(w.triangles)
	var crossing bool
	w.triangles, crossing = cut.appendTriangles(w.triangles, f)
	if len(w.triangles) == before {
		w.polyVerts = w.polyVerts[:first]
		w.report.ZeroArea++
		return
	}
	if crossing {
		w.report.Crossing++
	}
	poly := int32(len(w.polyStart) - 1)
	for range len(w.triangles) - before {
		w.triPoly = append(w.triPoly, poly)
	}
	w.polyStart = append(w.polyStart, int32(len(w.polyVerts)))
	table[slot] = poly + 1
}

// appendWelded appends the representatives of f's corners without repeating one
// that follows itself round the face.
func appendWelded(dst, f, weldTo []int32) []int32 {
	first := len(dst)
	for _, v := range f {
		if r := weldTo[v]; len(dst) == first || dst[len(dst)-1] != r {
			dst = append(dst, r)
		}
	}
	for len(dst) > first+1 && dst[len(dst)-1] == dst[first] {
		dst = dst[:len(dst)-1]
	}
	return dst
}

// findFace looks for an earlier face with the same vertices in either
// direction: a sheet that was given twice, once per side, is kept once. It
// returns the slot where the face is or belongs.
func (w *builderRun) findFace(f []int32, table []int32) (slot uint64, known bool) {
	sum, xor := uint64(0), uint64(0)
	for _, v := range f {
		m := mix(uint64(v), 1, 2)
		sum += m
		xor ^= m
	}
	mask := uint64(len(table) - 1)
	slot = mix(sum, xor, uint64(len(f))) & mask
	for ; table[slot] != 0; slot = (slot + 1) & mask {
		p := table[slot] - 1
		if sameRound(w.polyVerts[w.polyStart[p]:w.polyStart[p+1]], f) {
			return slot, true
		}
	}
	return slot, false
}

// sameRound reports whether a and b are the same cycle, in either direction.
func sameRound(a, b []int32) bool {
	n := len(a)
	if n != len(b) {
		return false
	}
	k := slices.Index(b, a[0])
	if k < 0 {
		return false
	}
	forward, backward := true, true
	for i := range n {
		forward = forward && a[i] == b[(k+i)%n]
		backward = backward && a[i] == b[(k+n-i)%n]
	}
	return forward || backward
}

// areaNormal returns the normal of the triangle with twice its area as length.
func areaNormal(a, b, c r3.Vec) r3.Vec { return r3.Cross(r3.Sub(b, a), r3.Sub(c, a)) }
