package contact

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// helical finds the triangles of threads: surfaces that a screw carries along
// themselves though they neither face the axis nor run along it.
type helical struct {
	*side
	tolerance float64
	vertex    []int8 // per vertex: 0 not looked at, 1 lands on the mesh again, -1 does not
}

// threadMoves are the moves, in radians either way, after which a point of a
// thread lies on the thread again: further than any facet of a round is wide.
var threadMoves = [2]float64{0.6, 1.1}

// findHelical adds threads to the carried surfaces of a screw: triangles that it
// moves along their own plane, to what their arc explains, and whose corners and
// middle come to lie on the mesh again, to within the sagitta, one way or the
// other.
func (s *side) findHelical(tolerance float64) {
	h := helical{side: s, tolerance: tolerance, vertex: make([]int8, len(s.points))}
	found := make([]bool, len(s.tris))
	for t := range s.tris {
		found[t] = s.turned[t] < 0 && h.carries(int32(t))
	}
	h.label(found)
}

// sag returns how far triangle t may lie inside the round that its facet was cut
// from.
func (h *helical) sag(t int32) float64 {
	b := &h.facets[h.facetOf[t]]
	v := math.Sin(b.width / 4)
	return b.rHi * 2 * v * v
}

func (h *helical) carries(t int32) bool {
	n := h.normal[t]
	p := h.corners(t)
	mid := r3.Scale(1./3, r3.Add(p[0], r3.Add(p[1], p[2])))
	v := h.motion.velocity(mid)
	const skew = 0.02
	if h.facets[h.facetOf[t]].width > 2*widestHalfStep {
		return false
	}
	if n == (r3.Vec{}) || math.Abs(r3.Dot(n, v)) > (skew+h.facets[h.facetOf[t]].width)*r3.Norm(v) {
		return false
	}
	// A travel that is no more than the sagitta tells nothing.
	sag := h.sag(t)
	if math.Abs(h.motion.rate)*threadMoves[1] < 4*sag || !h.lands(mid, sag) {
		return false
	}
	for _, i := range h.tris[t] {
		if h.vertex[i] == 0 {
			h.vertex[i] = -1
			if h.lands(h.points[i], sag) {
				h.vertex[i] = 1
			}
		}
		if h.vertex[i] < 0 {
			return false
		}
	}
	return true
}

// lands reports whether the point x, moved on or back, lies on the mesh again.
func (h *helical) lands(x r3.Vec, sag float64) bool {
	tree := h.mesh.BVH()
	for _, sense := range [2]float64{1, -1} {
		all := true
		for _, by := range threadMoves {
			at := h.motion.at(sense * by)
			t, _, d := tree.Closest(h.frame.model(at.apply(x)))
			all = all && t >= 0 && d*h.frame.scale <= 2*max(h.tolerance, sag, h.sag(int32(t)))
		}
		if all {
			return true
		}
	}
	return false
}

// label gives every connected thread the number of its first triangle, of which
// no other carried surface makes use, and its triangles their sagitta.
func (h *helical) label(found []bool) {
	top := h.mesh.Topology()
	var queue []int32
	for i := range found {
		if !found[i] || h.turned[i] >= 0 {
			continue
		}
		id := int32(len(h.facets) + i)
		h.turned[i] = id
		queue = append(queue[:0], int32(i))
		for head := 0; head < len(queue); head++ {
			t := queue[head]
			h.sagitta[t] = float32(2 * h.sag(t))
			for _, e := range top.TriEdges[t] {
				if u := top.Opposite(int(t), int(e)); u >= 0 && found[u] && h.turned[u] < 0 {
					h.turned[u] = id
					queue = append(queue, int32(u))
				}
			}
		}
	}
}
