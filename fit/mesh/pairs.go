package mesh

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// Gap is a nearest pair of triangles of two meshes with the points between
// which the distance is; both points are in the first mesh's frame.
type Gap struct {
	Distance   float64
	TriA, TriB int
	PA, PB     r3.Vec
}

// Distance returns the nearest pair of triangles of a and of b moved by xAB
// (points of b into a's frame). Only distances below limit count: ok is false
// if there is none, which is cheap to find out where limit is small. Where the
// meshes meet the distance is 0 and the pair is one of those that meet. Closed
// meshes one inside the other do not meet.
func Distance(a, b *BVH, xAB Rigid, limit float64) (Gap, bool) {
	g, ok := Gap{Distance: limit, TriA: -1, TriB: -1}, false
	w := newPairWalk(a, b, xAB)
	w.walk(limit, func(ta, tb int32) (float64, bool) {
		a, b := w.corners(ta, tb)
		if isBeyond(&a, &b, g.Distance) {
			return g.Distance, true
		}
		d, pa, pb := TriangleDistance(a, b)
		if d < g.Distance {
			g, ok = Gap{d, int(ta), int(tb), pa, pb}, true
		}
		return g.Distance, g.Distance > 0
	})
	return g, ok
}

// Pairs calls visit for every pair of triangles, ta of a and tb of b, whose
// distance is at most within, until visit returns false. The order is the same
// every time.
func Pairs(a, b *BVH, within float64, visit func(ta, tb int) bool) {
	PairsAt(a, b, Identity(), within, visit)
}

// PairsAt is Pairs with b moved by xAB (points of b into a's frame).
func PairsAt(a, b *BVH, xAB Rigid, within float64, visit func(ta, tb int) bool) {
	w := newPairWalk(a, b, xAB)
	beyond := within + w.pad
	w.walk(beyond, func(ta, tb int32) (float64, bool) {
		a, b := w.corners(ta, tb)
		if isBeyond(&a, &b, beyond) {
			return beyond, true
		}
		if d, _, _ := TriangleDistance(a, b); d <= within {
			return beyond, visit(int(ta), int(tb))
		}
		return beyond, true
	})
}

// pairWalk walks two hierarchies at once.
type pairWalk struct {
	a, b  *BVH
	xAB   Rigid
	still bool    // xAB is the identity
	pad   float64 // what rounding may make of box distances
}

func newPairWalk(a, b *BVH, xAB Rigid) *pairWalk {
	w := &pairWalk{a: a, b: b, xAB: xAB, still: xAB == Identity()}
	for _, p := range [5]r3.Vec{a.mesh.bounds.Min, a.mesh.bounds.Max, b.mesh.bounds.Min, b.mesh.bounds.Max, xAB.T} {
		w.pad = max(w.pad, math.Abs(p.X), math.Abs(p.Y), math.Abs(p.Z))
	}
	w.pad *= 0x1p-46
	return w
}

// corners returns both triangles in a's frame.
func (w *pairWalk) corners(ta, tb int32) (a, b [3]r3.Vec) {
	a, b = w.a.mesh.triangle(int(ta)), w.b.mesh.triangle(int(tb))
	if !w.still {
		for i := range b {
			b[i] = w.xAB.Apply(b[i])
		}
	}
	return a, b
}

// boxB returns a box in a's frame round the moved box of node j of b.
func (w *pairWalk) boxB(j int32) r3.Box {
	box := w.b.Nodes[j].Box
	if w.still {
		return box
	}
	return w.xAB.moveBox(box)
}

// moveBox returns a box round the moved box.
func (x Rigid) moveBox(b r3.Box) r3.Box {
	c := x.Apply(r3.Scale(0.5, r3.Add(b.Min, b.Max)))
	h := r3.Scale(0.5, r3.Sub(b.Max, b.Min))
	e := r3.Vec{
		X: h.X*math.Abs(x.X.X) + h.Y*math.Abs(x.Y.X) + h.Z*math.Abs(x.Z.X),
		Y: h.X*math.Abs(x.X.Y) + h.Y*math.Abs(x.Y.Y) + h.Z*math.Abs(x.Z.Y),
		Z: h.X*math.Abs(x.X.Z) + h.Y*math.Abs(x.Y.Z) + h.Z*math.Abs(x.Z.Z),
	}
	return r3.Box{Min: r3.Sub(c, e), Max: r3.Add(c, e)}
}

// BoxGap returns the distance of the boxes of two meshes in model units, 0 where
// they overlap: the meshes are at least so far apart.
func BoxGap(a, b *Mesh) float64 {
	p, q := a.Bounds(), b.Bounds()
	return math.Sqrt(boxGap2(&p, &q))
}

// boxGap2 returns the squared distance of two boxes, 0 where they overlap.
func boxGap2(a, b *r3.Box) float64 {
	x := max(a.Min.X-b.Max.X, b.Min.X-a.Max.X, 0)
	y := max(a.Min.Y-b.Max.Y, b.Min.Y-a.Max.Y, 0)
	z := max(a.Min.Z-b.Max.Z, b.Min.Z-a.Max.Z, 0)
	return x*x + y*y + z*z
}

type pairItem struct {
	i, j  int32
	near2 float64
	boxB  r3.Box // of j in a's frame
}

// walk visits pairs of triangles whose boxes are nearer than limit, nearer
// pairs of boxes first; visit returns the new limit and whether to go on.
func (w *pairWalk) walk(limit float64, visit func(ta, tb int32) (float64, bool)) {
	if len(w.a.Nodes) == 0 || len(w.b.Nodes) == 0 || !(limit > 0) {
		return
	}
	item := func(i, j int32, boxB r3.Box) pairItem {
		return pairItem{i, j, boxGap2(&w.a.Nodes[i].Box, &boxB), boxB}
	}
	stack := append(make([]pairItem, 0, 2*MaxDepth), item(0, 0, w.boxB(0)))
	for len(stack) > 0 {
		at := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		if !(math.Sqrt(at.near2) < limit+w.pad) {
			continue
		}
		na, nb := &w.a.Nodes[at.i], &w.b.Nodes[at.j]
		if na.Count > 0 && nb.Count > 0 {
			for _, ta := range w.a.Order[na.First : na.First+na.Count] {
				for _, tb := range w.b.Order[nb.First : nb.First+nb.Count] {
					var more bool
					if limit, more = visit(ta, tb); !more {
						return
					}
				}
			}
			continue
		}
		var first, second pairItem
		if nb.Count > 0 || na.Count == 0 && halfArea(na.Box) >= halfArea(nb.Box) {
			first = item(at.i+1, at.j, at.boxB)
			second = item(na.Right, at.j, at.boxB)
		} else {
			first = item(at.i, at.j+1, w.boxB(at.j+1))
			second = item(at.i, nb.Right, w.boxB(nb.Right))
		}
		if first.near2 > second.near2 {
			first, second = second, first
		}
		stack = append(stack, second, first)
	}
}
