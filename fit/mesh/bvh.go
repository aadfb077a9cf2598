package mesh

import "gonum.org/v1/gonum/spatial/r3"

// BVHNode is one box of the hierarchy. Nodes lie in depth-first order: the
// first child of inner node i is i+1, its second child is Right, and every
// child stands behind its parent, so a backward loop visits children first.
type BVHNode struct {
	Box   r3.Box
	Right int32 // inner node: index of the second child
	First int32 // leaf: offset into BVH.Order
	Count int32 // leaf: number of triangles; 0 for an inner node
}

// BVH is a binary bounding-volume hierarchy over a mesh's triangles. One
// hierarchy serves picking, distance and contact: a query that needs other
// bounds (cylindrical, say) refits them over the same nodes.
type BVH struct {
	Nodes []BVHNode
	Order []int32 // triangle indexes, grouped by leaf
	mesh  *Mesh
	rays  func() *rayTree
}
