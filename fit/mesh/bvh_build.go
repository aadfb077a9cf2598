package mesh

import (
	"math"
	"math/bits"
	"runtime"
	"sync"

	"gonum.org/v1/gonum/spatial/r3"
)

// MaxDepth bounds the depth of a BVH: a stack of that many entries is enough to
// walk it.
const MaxDepth = 96

const (
	leafSize = 4       // triangles in a leaf
	forkSize = 1 << 14 // triangles that are worth a goroutine of their own
)

// span is a box whose coordinates can be indexed.
type span struct{ lo, hi [3]float64 }

func emptySpan() span {
	inf := math.Inf(1)
	return span{[3]float64{inf, inf, inf}, [3]float64{-inf, -inf, -inf}}
}

// include grows s to hold o. Branches beat min and max here: a box soon stops growing.
func (s *span) include(o *span) {
	for i := range 3 {
		if o.lo[i] < s.lo[i] {
			s.lo[i] = o.lo[i]
		}
		if o.hi[i] > s.hi[i] {
			s.hi[i] = o.hi[i]
		}
	}
}

func (s *span) includePoint(p r3.Vec) {
	for i, x := range [3]float64{p.X, p.Y, p.Z} {
		if x < s.lo[i] {
			s.lo[i] = x
		}
		if x > s.hi[i] {
			s.hi[i] = x
		}
	}
}

func (s *span) box() r3.Box {
	return r3.Box{
		Min: r3.Vec{X: s.lo[0], Y: s.lo[1], Z: s.lo[2]},
		Max: r3.Vec{X: s.hi[0], Y: s.hi[1], Z: s.hi[2]},
	}
}

// halfArea returns half the surface area of a box that is not empty.
func (s *span) halfArea() float64 {
	x, y, z := s.hi[0]-s.lo[0], s.hi[1]-s.lo[1], s.hi[2]-s.lo[2]
	return x*y + y*z + z*x
}

// newBVH sorts the triangles along a space-filling curve and halves the curve
// (C. Lauterbach et al., Fast BVH Construction on GPUs, 2009); the coarse cells
// at the top are put together by the surface area heuristic (J. Pantaleoni and
// D. Luebke, HLBVH, 2010).
func newBVH(m *Mesh) *BVH {
	n := len(m.triangles)
	h := &BVH{mesh: m, Order: make([]int32, n)}
	h.rays = sync.OnceValue(func() *rayTree { return newRayTree(h) })
	if n == 0 {
		return h
	}
	codes, cells := mortonCodes(m)
	b := bvhBuilder{mesh: m, codes: codes, order: h.Order, fork: make(chan struct{}, max(0, runtime.GOMAXPROCS(0)-1))}
	nodes, _ := b.build(make([]BVHNode, 0, n), bvhPart{cells: cells, n: n})
	h.Nodes = append(make([]BVHNode, 0, len(nodes)), nodes...)
	return h
}

// bvhBuilder builds subtrees, some of them in goroutines of their own. Which
// ones depends on the machine; the result does not.
type bvhBuilder struct {
	mesh  *Mesh
	codes []coded
	order []int32
	fork  chan struct{} // one entry per goroutine at work
}

// bvhPart is what becomes one subtree: several cells, or n codes from start on.
// Its triangles fill the order from first on.
type bvhPart struct {
	cells           []cell
	start, n, first int
	depth           int // among cells
}

// build appends the part's subtree and returns its box.
func (b *bvhBuilder) build(nodes []BVHNode, p bvhPart) ([]BVHNode, span) {
	at := len(nodes)
	nodes = append(nodes, BVHNode{})
	if len(p.cells) == 1 {
		p = bvhPart{start: int(p.cells[0].start), n: p.n, first: p.first}
	}
	left, right, ok := b.divide(p)
	if !ok {
		box := b.leaf(&p)
		nodes[at] = BVHNode{Box: box.box(), First: int32(p.first), Count: int32(p.n)}
		return nodes, box
	}
	if right.n >= forkSize {
		select {
		case b.fork <- struct{}{}:
			return b.buildApart(nodes, at, left, right)
		default:
		}
	}
	nodes, box := b.build(nodes, left)
	second := int32(len(nodes))
	nodes, other := b.build(nodes, right)
	box.include(&other)
	nodes[at] = BVHNode{Box: box.box(), Right: second}
	return nodes, box
}

// buildApart builds the second child in a goroutine and appends it after the first.
func (b *bvhBuilder) buildApart(nodes []BVHNode, at int, left, right bvhPart) ([]BVHNode, span) {
	var apart []BVHNode
	var other span
	done := make(chan struct{})
	go func() {
		apart, other = b.build(make([]BVHNode, 0, right.n), right)
		<-b.fork
		close(done)
	}()
	nodes, box := b.build(nodes, left)
	<-done
	second := int32(len(nodes))
	for _, n := range apart {
		if n.Count == 0 {
			n.Right += second
		}
		nodes = append(nodes, n)
	}
	box.include(&other)
	nodes[at] = BVHNode{Box: box.box(), Right: second}
	return nodes, box
}

// leaf puts the part's triangles in order and returns their box.
func (b *bvhBuilder) leaf(p *bvhPart) span {
	box := emptySpan()
	for i, c := range b.codes[p.start : p.start+p.n] {
		b.order[p.first+i] = c.tri
		for _, v := range &b.mesh.triangles[c.tri] {
			box.includePoint(b.mesh.vertices[v])
		}
	}
	return box
}

// divide cuts a part in two; ok is false for a leaf.
func (b *bvhBuilder) divide(p bvhPart) (left, right bvhPart, ok bool) {
	if len(p.cells) > 1 {
		left, right = divideCells(p)
		return left, right, true
	}
	if p.n <= leafSize {
		return left, right, false
	}
	k := b.middle(p.start, p.start+p.n) - p.start
	return bvhPart{start: p.start, n: k, first: p.first}, bvhPart{start: p.start + k, n: p.n - k, first: p.first + k}, true
}

// middle returns where the highest bit in which the codes i to j-1 differ turns
// to 1; of equal codes it is the half.
func (b *bvhBuilder) middle(i, j int) int {
	differ := b.codes[i].code ^ b.codes[j-1].code
	if differ == 0 {
		return (i + j) / 2
	}
	bit := uint64(1) << (bits.Len64(differ) - 1)
	for lo, hi := i, j-1; ; { // code lo has a 0 there, code hi a 1
		if hi-lo == 1 {
			return hi
		}
		if mid := (lo + hi) / 2; b.codes[mid].code&bit == 0 {
			lo = mid
		} else {
			hi = mid
		}
	}
}
