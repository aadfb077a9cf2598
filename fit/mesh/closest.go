package mesh

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// Closest returns the triangle nearest to p, the point q on it and its distance
// d in model units; of triangles equally near the lowest. For a mesh without
// triangles, or a p that is not finite, tri is -1 and d is +Inf.
func (h *BVH) Closest(p r3.Vec) (tri int, q r3.Vec, d float64) {
	tri, d2 := -1, math.Inf(1)
	if len(h.Nodes) == 0 || !isFinite(p) {
		return tri, q, d2
	}
	var stack [MaxDepth]nearItem
	stack[0] = nearItem{0, boxDistance2(&h.Nodes[0].Box, p)}
	for n := 1; n > 0; {
		n--
		at := stack[n]
		if at.near > d2 {
			continue
		}
		node := &h.Nodes[at.node]
		if node.Count > 0 {
			for _, t := range h.Order[node.First : node.First+node.Count] {
				a, b, c := h.mesh.Corners(int(t))
				x := ClosestOnTriangle(p, a, b, c)
				if e := r3.Norm2(r3.Sub(p, x)); e < d2 || e == d2 && int(t) < tri {
					tri, q, d2 = int(t), x, e
				}
			}
			continue
		}
		first := nearItem{at.node + 1, boxDistance2(&h.Nodes[at.node+1].Box, p)}
		second := nearItem{node.Right, boxDistance2(&h.Nodes[node.Right].Box, p)}
		if first.near > second.near {
			first, second = second, first
		}
		stack[n], stack[n+1] = second, first
		n += 2
	}
	return tri, q, math.Sqrt(d2)
}

// boxDistance2 returns the squared distance of p from the box, 0 inside.
func boxDistance2(b *r3.Box, p r3.Vec) float64 {
	x := max(b.Min.X-p.X, p.X-b.Max.X, 0)
	y := max(b.Min.Y-p.Y, p.Y-b.Max.Y, 0)
	z := max(b.Min.Z-p.Z, p.Z-b.Max.Z, 0)
	return x*x + y*y + z*z
}

// ClosestOnSegment returns the point nearest to p on the segment from a to b
// and its parameter t: 0 at a, 1 at b. A segment of no length is its point a.
func ClosestOnSegment(p, a, b r3.Vec) (q r3.Vec, t float64) {
	d := r3.Sub(b, a)
	t = r3.Dot(r3.Sub(p, a), d) / r3.Norm2(d)
	switch {
	case !(t > 0): // also a segment of no length
		return a, 0
	case t >= 1:
		return b, 1
	}
	return r3.Add(a, r3.Scale(t, d)), t
}

// ClosestOnTriangle returns the point nearest to p on the triangle a, b, c,
// which may be a segment or a point.
func ClosestOnTriangle(p, a, b, c r3.Vec) r3.Vec {
	q, _ := closestFeature(p, [3]r3.Vec{a, b, c})
	return q
}

// feature is the part of a triangle that a point lies on: the face, the edge
// from corner k to the next, or the corner k.
type feature struct {
	dim int // 2 face, 1 edge, 0 corner
	k   int
}

// closestFeature returns the point nearest to p on the triangle and what it lies on.
func closestFeature(p r3.Vec, t [3]r3.Vec) (best r3.Vec, on feature) {
	if q, ok := footInside(p, t[0], t[1], t[2]); ok {
		return q, feature{dim: 2}
	}
	least := math.Inf(1)
	for k := range t {
		q, s := ClosestOnSegment(p, t[k], t[(k+1)%3])
		if d := r3.Norm2(r3.Sub(p, q)); d < least {
			best, least = q, d
			switch s {
			case 0:
				on = feature{0, k}
			case 1:
				on = feature{0, (k + 1) % 3}
			default:
				on = feature{1, k}
			}
		}
	}
	return best, on
}

// nearItem is a node to visit and its squared distance.
type nearItem struct {
	node int32
	near float64
}
