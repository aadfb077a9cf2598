package mesh

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// rayTree is the hierarchy as rays walk it: an inner node holds the boxes of
// both children, one cache line in all, in coordinates that run from -1 to 1
// over the mesh, rounded outwards.
type rayTree struct {
	nodes   []rayNode
	corners []corners // of the triangles in the hierarchy's order
	centre  r3.Vec
	scale   float64 // of a coordinate: one half of the longest side
	offset  float64 // of the centre from the origin of the model, in coordinates
	root    int32
}

// corners are a triangle's, with coordinates that can be indexed.
type corners [3][3]float64

// rayNode is an inner node. A child that is not negative is an inner node; ^c
// of a leaf c is its first place in the order times leafPlaces plus its number
// of triangles.
type rayNode struct {
	bounds [2][2][3]float32 // child, low or high end, axis
	child  [2]int32
}

const leafPlaces = leafSize + 1

func newRayTree(h *BVH) *rayTree {
	box := h.Nodes[0].Box
	size := r3.Sub(box.Max, box.Min)
	t := &rayTree{centre: r3.Add(box.Min, r3.Scale(0.5, size)), scale: max(size.X, size.Y, size.Z) / 2}
	if !(t.scale > 0) {
		t.scale = 1
	}
	t.offset = r3.Norm(t.centre) / t.scale
	t.corners = make([]corners, len(h.Order))
	for i, tri := range h.Order {
		for k, v := range h.mesh.triangles[tri] {
			p := h.mesh.vertices[v]
			t.corners[i][k] = [3]float64{p.X, p.Y, p.Z}
		}
	}
	place := make([]int32, len(h.Nodes)) // of inner nodes
	inner := int32(0)
	for i, n := range h.Nodes {
		if n.Count > 0 {
			place[i] = ^(n.First*leafPlaces + n.Count)
			continue
		}
		place[i] = inner
		inner++
	}
	t.root = place[0]
	t.nodes = make([]rayNode, inner)
	for i, n := range h.Nodes {
		if n.Count > 0 {
			continue
		}
		node := &t.nodes[place[i]]
		for k, c := range [2]int32{int32(i) + 1, n.Right} {
			node.child[k] = place[c]
			node.bounds[k] = t.bounds(&h.Nodes[c].Box)
		}
	}
	return t
}

func (t *rayTree) bounds(b *r3.Box) [2][3]float32 {
	lo, hi := r3.Scale(1/t.scale, r3.Sub(b.Min, t.centre)), r3.Scale(1/t.scale, r3.Sub(b.Max, t.centre))
	return [2][3]float32{{below(lo.X), below(lo.Y), below(lo.Z)}, {above(hi.X), above(hi.Y), above(hi.Z)}}
}

// below and above move a coordinate outwards by more than its rounding, so that
// flat boxes have a thickness.
func below(x float64) float32 { return float32(x - boundSlack) }
func above(x float64) float32 { return float32(x + boundSlack) }

const boundSlack = 0x1p-22

// noNode is a leaf without triangles.
const noNode = -1

// bits returns a distance in model units as one in coordinates, see ray.meets.
func (t *rayTree) bits(d float64) int64 { return int64(math.Float64bits(d / t.scale)) }
