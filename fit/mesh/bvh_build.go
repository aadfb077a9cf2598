package mesh

import (
	"math"
	"runtime"

	"gonum.org/v1/gonum/spatial/r3"
)

// MaxDepth bounds the depth of a BVH: a stack of that many entries is enough to
// walk it.
const MaxDepth = 96

const (
	leafSize     = 4       // triangles in a leaf at most
	maxBins      = 16      // a node is cut between two of so many bins
	allAxesBelow = 1 << 6  // larger nodes are cut across their longest axis
	sahDepth     = 64      // below this the halves are equal, so the depth is bounded
	forkSize     = 1 << 14 // triangles that are worth a goroutine of their own
	walkCost     = 1.0     // cost of visiting a node relative to testing a triangle
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

func (s *span) includePoint(p [3]float64) {
	for i := range 3 {
		if p[i] < s.lo[i] {
			s.lo[i] = p[i]
		}
		if p[i] > s.hi[i] {
			s.hi[i] = p[i]
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

// primitive is a triangle's box with its index; the builder moves these
// together rather than look boxes up, which would miss the cache.
type primitive struct {
	span
	tri int32
}

// centre2 returns twice the centre of the box.
func (p *primitive) centre2() [3]float64 {
	return [3]float64{p.lo[0] + p.hi[0], p.lo[1] + p.hi[1], p.lo[2] + p.hi[2]}
}

func newBVH(m *Mesh) *BVH {
	h := &BVH{mesh: m, Order: make([]int32, len(m.triangles))}
	if len(m.triangles) == 0 {
		return h
	}
	prims := make([]primitive, len(m.triangles))
	all := bvhPart{prims: prims, box: emptySpan(), centres: emptySpan()}
	for i := range prims {
		p := &prims[i]
		p.span, p.tri = emptySpan(), int32(i)
		for _, v := range m.triangles[i] {
			q := m.vertices[v]
			p.includePoint([3]float64{q.X, q.Y, q.Z})
		}
		all.box.include(&p.span)
		all.centres.includePoint(p.centre2())
	}
	b := bvhBuilder{order: h.Order, fork: make(chan struct{}, max(0, runtime.GOMAXPROCS(0)-1))}
	nodes := b.build(make([]BVHNode, 0, len(prims)+len(prims)/4+1), &all)
	h.Nodes = append(make([]BVHNode, 0, len(nodes)), nodes...)
	return h
}

// bvhPart is what becomes one subtree: its triangles fill the order from first on.
type bvhPart struct {
	prims        []primitive
	box, centres span // round the triangles and round their doubled centres
	first, depth int
}

// bvhBuilder builds subtrees, some of them in goroutines of their own. Which
// ones depends on the machine; the result does not.
type bvhBuilder struct {
	order []int32
	fork  chan struct{} // one entry per goroutine at work
	// Scratch of tryAxis: the bins, and what is in this bin and behind.
	bins, behind [maxBins]bin
}

// build appends the part's subtree.
func (b *bvhBuilder) build(nodes []BVHNode, p *bvhPart) []BVHNode {
	at := len(nodes)
	nodes = append(nodes, BVHNode{Box: p.box.box()})
	var left, right bvhPart
	if !b.divide(p, &left, &right) {
		nodes[at].First, nodes[at].Count = int32(p.first), int32(len(p.prims))
		for i := range p.prims {
			b.order[p.first+i] = p.prims[i].tri
		}
		return nodes
	}
	if len(right.prims) >= forkSize {
		select {
		case b.fork <- struct{}{}:
			return b.buildApart(nodes, at, left, right)
		default:
		}
	}
	nodes = b.build(nodes, &left)
	nodes[at].Right = int32(len(nodes))
	return b.build(nodes, &right)
}

// buildApart builds the second child in a goroutine and appends it after the first.
func (b *bvhBuilder) buildApart(nodes []BVHNode, at int, left, right bvhPart) []BVHNode {
	done := make(chan []BVHNode)
	go func() {
		own := bvhBuilder{order: b.order, fork: b.fork}
		n := own.build(make([]BVHNode, 0, len(right.prims)+len(right.prims)/4+1), &right)
		<-b.fork
		done <- n
	}()
	nodes = b.build(nodes, &left)
	offset := int32(len(nodes))
	nodes[at].Right = offset
	for _, n := range <-done {
		if n.Count == 0 {
			n.Right += offset
		}
		nodes = append(nodes, n)
	}
	return nodes
}

// divide cuts the part where the expected cost is least by the surface area
// heuristic over bins of equal width (I. Wald, On fast Construction of
// SAH-based Bounding Volume Hierarchies, 2007). ok is false for a leaf.
func (b *bvhBuilder) divide(p, left, right *bvhPart) bool {
	n := len(p.prims)
	if n == 1 {
		return false
	}
	cut := split{cost: math.Inf(1)}
	if p.depth < sahDepth {
		b.bestSplit(p, &cut)
	}
	if area := p.box.halfArea(); n <= leafSize && !(walkCost*area+cut.cost < float64(n)*area) {
		return false
	}
	if cut.bin == 0 {
		p.halve(left, right)
		return true
	}
	left.box, right.box = cut.left, cut.right
	k := p.partition(&cut, &left.centres, &right.centres)
	p.share(k, left, right)
	return true
}

// share gives the first k triangles to left and the others to right.
func (p *bvhPart) share(k int, left, right *bvhPart) {
	left.prims, left.first, left.depth = p.prims[:k], p.first, p.depth+1
	right.prims, right.first, right.depth = p.prims[k:], p.first+k, p.depth+1
}

// halve cuts in the middle of the order where no plane tells centres apart.
func (p *bvhPart) halve(left, right *bvhPart) {
	p.share(len(p.prims)/2, left, right)
	for _, c := range [2]*bvhPart{left, right} {
		c.box, c.centres = emptySpan(), emptySpan()
		for i := range c.prims {
			c.box.include(&c.prims[i].span)
			c.centres.includePoint(c.prims[i].centre2())
		}
	}
}

// axisBins are bins of equal width along an axis.
type axisBins struct {
	axis, n   int
	lo, scale float64
}

func (a *axisBins) binOf(c float64) int { return min(int((c-a.lo)*a.scale), a.n-1) }

// split is a cut before a bin; its cost is the sum over both sides of half area
// times count.
type split struct {
	axisBins
	bin         int
	cost        float64
	left, right span
}

type bin struct {
	span
	count int
}

// bestSplit finds the cheapest cut; its bin is 0 if there is none.
func (b *bvhBuilder) bestSplit(p *bvhPart, best *split) {
	longest := 0
	var width [3]float64
	for axis := range 3 {
		width[axis] = p.centres.hi[axis] - p.centres.lo[axis]
		if width[axis] > width[longest] {
			longest = axis
		}
	}
	for axis := range 3 {
		if len(p.prims) >= allAxesBelow && axis != longest {
			continue
		}
		a := axisBins{axis: axis, n: min(maxBins, 4+len(p.prims)/4), lo: p.centres.lo[axis]}
		a.scale = float64(a.n) / width[axis]
		if width[axis] > 0 && !math.IsInf(a.scale, 0) {
			b.tryAxis(p, &a, best)
		}
	}
}

// tryAxis puts the cheapest cut between the axis's bins into best if it is better.
func (b *bvhBuilder) tryAxis(p *bvhPart, a *axisBins, best *split) {
	bins, behind := b.bins[:a.n], b.behind[:a.n]
	for i := range bins {
		bins[i] = bin{span: emptySpan()}
	}
	for i := range p.prims {
		q := &p.prims[i]
		into := &bins[a.binOf(q.lo[a.axis]+q.hi[a.axis])]
		into.include(&q.span)
		into.count++
	}
	all := bin{span: emptySpan()}
	for i := a.n - 1; i > 0; i-- {
		all.include(&bins[i].span)
		all.count += bins[i].count
		behind[i] = all
	}
	all = bin{span: emptySpan()}
	for i := 1; i < a.n; i++ {
		all.include(&bins[i-1].span)
		all.count += bins[i-1].count
		if all.count == 0 || behind[i].count == 0 {
			continue
		}
		cost := all.halfArea()*float64(all.count) + behind[i].halfArea()*float64(behind[i].count)
		if cost < best.cost {
			best.axisBins, best.bin, best.cost = *a, i, cost
			best.left, best.right = all.span, behind[i].span
		}
	}
}

// partition moves the triangles before the cut to the front, returns their
// number and finds the bounds of the centres on both sides.
func (p *bvhPart) partition(s *split, left, right *span) int {
	*left, *right = emptySpan(), emptySpan()
	i, j := 0, len(p.prims)
	for i < j {
		c := p.prims[i].centre2()
		if s.binOf(c[s.axis]) < s.bin {
			left.includePoint(c)
			i++
			continue
		}
		right.includePoint(c)
		j--
		p.prims[i], p.prims[j] = p.prims[j], p.prims[i]
	}
	return i
}
