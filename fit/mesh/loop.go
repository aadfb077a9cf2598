package mesh

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

// maxTurn is the sharpest turn, radians, that a feature loop takes where more
// than two feature edges meet: a pentagon's corner (72 degrees) still counts as
// round, a box's does not.
const maxTurn = 75 * math.Pi / 180

// Loop is a chain of edges. Edge i joins vertices i and i+1; where Closed, the
// last edge joins the last and the first vertex, and neither is repeated.
type Loop struct {
	Vertices, Edges []int32
	Closed          bool
}

// FeatureLoops chains the feature edges (see FeatureEdges) into loops; every
// feature edge is in exactly one. A loop goes on through a vertex where just
// two feature edges meet, whatever the turn. Where more meet, two boundary
// edges belong together, and other edges where each is clearly the other's
// straightest continuation with a turn of at most 75 degrees; the rest end.
// Loops are ordered by their lowest edges and run along it from its lower
// vertex; a closed loop starts there.
func (t *Topology) FeatureLoops(angle float64) []Loop { return t.Chains(t.FeatureEdges(angle)) }

// Chains chains the edges that are marked, as FeatureLoops does; feature has
// one mark for each edge.
func (t *Topology) Chains(feature []bool) []Loop {
	c := chainer{t, func(e int32) bool { return feature[e] }}
	seen := make([]bool, len(feature))
	var loops []Loop
	for e := range feature {
		if !feature[e] || seen[e] {
			continue
		}
		l := c.through(int32(e), c.partner)
		for _, x := range l.Edges {
			seen[x] = true
		}
		loops = append(loops, l)
	}
	return loops
}

// LoopThrough returns the one of FeatureLoops(angle) that has the edge, and
// false if it is no feature edge. It looks only at the loop's surroundings.
func (t *Topology) LoopThrough(edge int, angle float64) (Loop, bool) {
	c := chainer{t, func(e int32) bool { return t.isFeature(int(e), angle) }}
	if edge < 0 || edge >= len(t.EdgeVerts) || !c.isMember(int32(edge)) {
		return Loop{}, false
	}
	return c.through(int32(edge), c.partner), true
}

// chainer chains member edges.
type chainer struct {
	*Topology
	isMember func(e int32) bool
}

// far returns the end of edge e that is not v.
func (t *Topology) far(e, v int32) int32 {
	ends := t.EdgeVerts[e]
	return ends[0] + ends[1] - v
}

// through returns the chain that has edge e; next(v, e) says which edge goes on
// from e at v, or -1, and is its own inverse.
func (t *Topology) through(e int32, next func(v, e int32) int32) Loop {
	ends := t.EdgeVerts[e]
	l := Loop{Vertices: []int32{ends[0]}, Edges: []int32{e}}
	for v, at := ends[1], e; ; {
		l.Vertices = append(l.Vertices, v)
		if at = next(v, at); at < 0 || at == e {
			l.Closed = at == e
			break
		}
		l.Edges = append(l.Edges, at)
		v = t.far(at, v)
	}
	if !l.Closed {
		t.prepend(&l, next)
	}
	n := len(l.Vertices)
	// A chain that ends in the vertex where it began is closed as well.
	if l.Vertices[0] == l.Vertices[n-1] && n > 3 {
		l.Closed = true
	}
	if l.Closed {
		l.Vertices = l.Vertices[:n-1]
	}
	l.settle(t)
	return l
}

// prepend follows an open chain back from its first vertex.
func (t *Topology) prepend(l *Loop, next func(v, e int32) int32) {
	var vertices, edges []int32
	for v, at := l.Vertices[0], l.Edges[0]; ; {
		if at = next(v, at); at < 0 {
			break
		}
		v = t.far(at, v)
		vertices, edges = append(vertices, v), append(edges, at)
	}
	slices.Reverse(vertices)
	slices.Reverse(edges)
	l.Vertices, l.Edges = append(vertices, l.Vertices...), append(edges, l.Edges...)
}

// settle makes the loop the same whichever edge it was found from.
func (l *Loop) settle(t *Topology) {
	low := 0
	for i, e := range l.Edges {
		if e < l.Edges[low] {
			low = i
		}
	}
	if l.Vertices[low] != t.EdgeVerts[l.Edges[low]][0] {
		slices.Reverse(l.Vertices)
		slices.Reverse(l.Edges)
		low = len(l.Edges) - 1 - low
		if l.Closed { // edge i must join vertices i and i+1 again
			l.Vertices = rotate(l.Vertices, len(l.Vertices)-1)
			// After the reversal edge i joined vertices i-1 and i.
		}
	}
	if l.Closed {
		l.Vertices, l.Edges = rotate(l.Vertices, low), rotate(l.Edges, low)
	}
}

func rotate(s []int32, k int) []int32 {
	return append(append(make([]int32, 0, len(s)), s[k:]...), s[:k]...)
}

// partner returns the member edge that continues e through v, or -1.
func (c chainer) partner(v, e int32) int32 {
	other, boundary, n, boundaries := int32(-1), int32(-1), 0, 0
	for _, x := range c.VertexEdges(int(v)) {
		if x == e || !c.isMember(x) {
			continue
		}
		other = x
		n++
		if c.isBoundary(x) {
			boundary = x
			boundaries++
		}
	}
	switch {
	case n <= 1:
		return other
	case c.isBoundary(e) && boundaries == 1:
		return boundary
	}
	// Where one boundary passes, it goes on by itself.
	passes := !c.isBoundary(e) && boundaries == 2
	var others []int32
	for _, x := range c.VertexEdges(int(v)) {
		if x != e && c.isMember(x) && !(passes && c.isBoundary(x)) {
			others = append(others, x)
		}
	}
	return c.straightest(v, e, others)
}

func (t *Topology) isBoundary(e int32) bool { return t.edgeStart[e+1]-t.edgeStart[e] == 1 }

// straightest returns the edge with which e is mutually and clearly the
// straightest pair at v, or -1.
func (c chainer) straightest(v, e int32, others []int32) int32 {
	best, ok := c.bestTurn(v, e, others)
	if !ok {
		return -1
	}
	rest := append(slices.DeleteFunc(slices.Clone(others), func(x int32) bool { return x == best }), e)
	if back, ok := c.bestTurn(v, best, rest); !ok || back != e {
		return -1
	}
	return best
}

// bestTurn returns the edge into which e turns least at v; ok is false if that
// is too sharp a turn or another edge does as well.
func (c chainer) bestTurn(v, e int32, others []int32) (best int32, ok bool) {
	least, second := math.Inf(1), math.Inf(1)
	p := c.mesh.vertices[v]
	in := r3.Sub(p, c.mesh.vertices[c.far(e, v)])
	for _, x := range others {
		out := r3.Sub(c.mesh.vertices[c.far(x, v)], p)
		turn := angleBetween(in, out)
		if turn < least {
			best, least, second = x, turn, least
		} else {
			second = min(second, turn)
		}
	}
	const clear = 1e-3 // radians
	return best, least <= maxTurn && second-least > clear
}

// angleBetween returns the angle between two directions, 0 to pi.
func angleBetween(a, b r3.Vec) float64 {
	return math.Atan2(r3.Norm(r3.Cross(a, b)), r3.Dot(a, b))
}
