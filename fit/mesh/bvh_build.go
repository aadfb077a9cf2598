package mesh

import (
	"math"
	"runtime"

	"gonum.org/v1/gonum/spatial/r3"
)

// MaxDepth bounds the depth of a BVH: a stack of that many entries is enough
// to walk it.
const MaxDepth = 96

const (
	leafSize    = 4       // triangles in a leaf at most
	splitBins   = 16      // candidate cuts per axis, plus one
	sahDepth    = 64      // below this the halves are equal, so the depth is bounded
	forkSize    = 1 << 15 // triangles that are worth a goroutine of their own
	walkCost    = 1.0     // cost of visiting a node ...
	triangeCost = 1.0     // ... relative to testing a triangle
)

// primitive is a triangle's box with its index; the builder moves these
// together rather than look boxes up, which would miss the cache.
type primitive struct {
	box r3.Box
	tri int32
}

func (p *primitive) centre2(axis int) float64 {
	return component(p.box.Min, axis) + component(p.box.Max, axis)
}

func newBVH(m *Mesh) *BVH {
	prims := make([]primitive, len(m.triangles))
	for i := range prims {
		a, b, c := m.Corners(i)
		box := r3.Box{Min: a, Max: a}
		prims[i] = primitive{extend(extend(box, b), c), int32(i)}
	}
	h := &BVH{mesh: m, Order: make([]int32, len(prims))}
	if len(prims) > 0 {
		b := bvhBuilder{order: h.Order, fork: make(chan struct{}, max(0, runtime.GOMAXPROCS(0)-1))}
		h.Nodes = b.build(make([]BVHNode, 0, len(prims)), prims, 0, 0)
		h.Nodes = append([]BVHNode(nil), h.Nodes...)
	}
	return h
}

// bvhBuilder builds subtrees, some of them in goroutines of their own. Which
// ones depends on the machine; the result does not.
type bvhBuilder struct {
	order []int32
	fork  chan struct{} // free goroutines
}

// build appends the subtree over prims, whose triangles fill order from first on.
func (b *bvhBuilder) build(nodes []BVHNode, prims []primitive, first, depth int) []BVHNode {
	box, centres := emptyBox(), emptyBox()
	for i := range prims {
		p := &prims[i]
		box = union(box, p.box)
		centres = extend(centres, r3.Add(p.box.Min, p.box.Max))
	}
	at := len(nodes)
	nodes = append(nodes, BVHNode{Box: box})
	cut := b.partition(prims, box, centres, depth)
	if cut == 0 {
		nodes[at].First, nodes[at].Count = int32(first), int32(len(prims))
		for i := range prims {
			b.order[first+i] = prims[i].tri
		}
		return nodes
	}
	if len(prims) >= forkSize {
		select {
		case b.fork <- struct{}{}:
			return b.buildApart(nodes, at, prims, cut, first, depth)
		default:
		}
	}
	nodes = b.build(nodes, prims[:cut], first, depth+1)
	nodes[at].Right = int32(len(nodes))
	return b.build(nodes, prims[cut:], first+cut, depth+1)
}

// buildApart builds the second child in a goroutine and appends it after the first.
func (b *bvhBuilder) buildApart(nodes []BVHNode, at int, prims []primitive, cut, first, depth int) []BVHNode {
	done := make(chan []BVHNode)
	go func() {
		right := b.build(make([]BVHNode, 0, len(prims)-cut), prims[cut:], first+cut, depth+1)
		<-b.fork
		done <- right
	}()
	nodes = b.build(nodes, prims[:cut], first, depth+1)
	right := <-done
	offset := int32(len(nodes))
	nodes[at].Right = offset
	for _, n := range right {
		if n.Count == 0 {
			n.Right += offset
		}
		nodes = append(nodes, n)
	}
	return nodes
}

// partition sorts prims into two parts at the cut of least expected cost
// (surface area heuristic over bins of equal width) and returns the size of
// the first, or 0 for a leaf.
func (b *bvhBuilder) partition(prims []primitive, box, centres r3.Box, depth int) int {
	n := len(prims)
	if n == 1 {
		return 0
	}
	best := split{cost: math.Inf(1)}
	if depth < sahDepth {
		best = bestSplit(prims, centres)
	}
	leafCost := triangeCost * float64(n)
	if area := halfArea(box); area > 0 {
		best.cost = walkCost + triangeCost*best.cost/area
	}
	if n <= leafSize && !(best.cost < leafCost) {
		return 0
	}
	if best.bins == 0 {
		return n / 2
	}
	return splitAt(prims, best, centres)
}

// split is a cut between two bins along an axis; bins is the number on the first side.
type split struct {
	cost       float64
	axis, bins int
}

type bin struct {
	box   r3.Box
	count int
}

// binOf returns the bin of a doubled centre.
func binOf(c, lo, scale float64) int { return min(int((c-lo)*scale), splitBins-1) }

func binScale(lo, hi float64) float64 { return splitBins / (hi - lo) }

func bestSplit(prims []primitive, centres r3.Box) split {
	var bins [3][splitBins]bin
	var lo, scale [3]float64
	var usable [3]bool
	for axis := range 3 {
		l, h := component(centres.Min, axis), component(centres.Max, axis)
		lo[axis], scale[axis] = l, binScale(l, h)
		usable[axis] = h > l && !math.IsInf(scale[axis], 0)
		for i := range splitBins {
			bins[axis][i].box = emptyBox()
		}
	}
	for i := range prims {
		p := &prims[i]
		for axis := range 3 {
			if usable[axis] {
				s := &bins[axis][binOf(p.centre2(axis), lo[axis], scale[axis])]
				s.box = union(s.box, p.box)
				s.count++
			}
		}
	}
	best := split{cost: math.Inf(1)}
	for axis := range 3 {
		if usable[axis] {
			sweepBins(&bins[axis], axis, &best)
		}
	}
	return best
}

// sweepBins looks for the cheapest cut along one axis.
func sweepBins(bins *[splitBins]bin, axis int, best *split) {
	var right [splitBins]float64
	box, count := emptyBox(), 0
	for i := splitBins - 1; i > 0; i-- {
		box, count = union(box, bins[i].box), count+bins[i].count
		right[i] = math.Inf(1)
		if count > 0 {
			right[i] = halfArea(box) * float64(count)
		}
	}
	box, count = emptyBox(), 0
	for i := 1; i < splitBins; i++ {
		box, count = union(box, bins[i-1].box), count+bins[i-1].count
		if count == 0 {
			continue
		}
		if cost := halfArea(box)*float64(count) + right[i]; cost < best.cost {
			*best = split{cost, axis, i}
		}
	}
}

// halfArea returns half the surface area of a box that is not empty.
func halfArea(b r3.Box) float64 {
	d := r3.Sub(b.Max, b.Min)
	return d.X*d.Y + d.Y*d.Z + d.Z*d.X
}

// splitAt moves the primitives of the first bins to the front.
func splitAt(prims []primitive, s split, centres r3.Box) int {
	lo := component(centres.Min, s.axis)
	scale := binScale(lo, component(centres.Max, s.axis))
	i, j := 0, len(prims)
	for i < j {
		if binOf(prims[i].centre2(s.axis), lo, scale) < s.bins {
			i++
		} else {
			j--
			prims[i], prims[j] = prims[j], prims[i]
		}
	}
	return i
}
