package contact

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

const (
	// smoothBend is the cosine of the sharpest bend inside a patch.
	smoothBend = 0.85
	// patchCone is the cosine of the largest deviation of a normal from that of
	// the triangle a patch started from.
	patchCone = 0.82
	// straight is the sine of the largest angle between a normal and the plane
	// of the normals of a singly curved patch.
	straight = 0.05
)

// growPatches labels every triangle with its patch: the unit in which contacts
// at rest are judged and, where need be, left out of account. A turned patch
// is one patch. Other triangles are grouped where the surface bends gently and
// stays within a cone of 35 degrees of where the patch began, or is singly
// curved, as the wall of a bolt is. So a whole organic part is never one patch.
func growPatches(s *side) []int32 {
	g := grower{side: s, top: s.mesh.Topology(), label: make([]int32, len(s.tris)), seen: make([]int32, len(s.tris))}
	for t := range g.label {
		g.label[t] = -1
	}
	next := int32(0)
	byTurned := make(map[int32]int32)
	for t := range g.label {
		if p := s.turned[t]; p >= 0 {
			id, ok := byTurned[p]
			if !ok {
				id = next
				byTurned[p] = id
				next++
			}
			g.label[t] = id
		}
	}
	for t := range g.label {
		if g.label[t] < 0 {
			for _, u := range g.patch(int32(t)) {
				g.label[u] = next
			}
			next++
		}
	}
	return g.label
}

type grower struct {
	*side
	top   *mesh.Topology
	label []int32
	seen  []int32 // number of the last growth that saw the triangle
	round int32
	queue []int32
	other []int32
}

// patch returns the larger of the two patches that can start at triangle t.
func (g *grower) patch(t int32) []int32 {
	seed := g.normal[t]
	g.queue = g.grow(t, g.queue, func(n r3.Vec) bool { return r3.Dot(n, seed) >= patchCone })
	for _, u := range g.queue {
		// The first bend tells the direction along which the patch is straight.
		d := r3.Cross(seed, g.normal[u])
		if length := r3.Norm(d); length > straight {
			d = r3.Scale(1/length, d)
			g.other = g.grow(t, g.other, func(n r3.Vec) bool { return math.Abs(r3.Dot(n, d)) <= straight })
			if len(g.other) > len(g.queue) {
				return g.other
			}
			break
		}
	}
	return g.queue
}

// grow collects what can be reached from t over gentle bends through triangles
// that are not labelled yet and whose normals are accepted.
func (g *grower) grow(t int32, queue []int32, accept func(n r3.Vec) bool) []int32 {
	g.round++
	g.seen[t] = g.round
	queue = append(queue[:0], t)
	for head := 0; head < len(queue); head++ {
		at := queue[head]
		for _, e := range g.top.TriEdges[at] {
			u := g.top.Opposite(int(at), int(e))
			if u < 0 || g.label[u] >= 0 || g.seen[u] == g.round {
				continue
			}
			n := g.normal[u]
			if n != (r3.Vec{}) && (!accept(n) || r3.Dot(n, g.normal[at]) < smoothBend && g.normal[at] != (r3.Vec{})) {
				continue
			}
			g.seen[u] = g.round
			queue = append(queue, int32(u))
		}
	}
	return queue
}

// extents tells where patches reach.
type extents struct {
	bounds []sector  // per patch; distances and heights only
	round  []float32 // per patch: the largest sagitta and slack in it
	active []bool    // per patch: some of its features may newly collide
	node   []int32   // per node of the hierarchy: the patch all of it is in, or -1
}

func findExtents(s *side) *extents {
	label := s.patches()
	n := int32(0)
	for _, l := range label {
		n = max(n, l+1)
	}
	x := &extents{bounds: make([]sector, n), round: make([]float32, n), active: make([]bool, n), node: make([]int32, len(s.nodes))}
	inf := math.Inf(1)
	for i := range x.bounds {
		x.bounds[i] = sector{rLo: inf, rHi: -inf, zLo: inf, zHi: -inf}
	}
	for i, t := range s.order {
		b, o := &x.bounds[label[t]], &s.box[i]
		b.rLo, b.rHi = min(b.rLo, o.rLo), max(b.rHi, o.rHi)
		b.zLo, b.zHi = min(b.zLo, o.zLo), max(b.zHi, o.zHi)
		x.active[label[t]] = x.active[label[t]] || s.active[t] != 0
		x.round[label[t]] = max(x.round[label[t]], s.sagitta[t]+s.slack[t])
	}
	for i := len(s.nodes) - 1; i >= 0; i-- {
		d := &s.nodes[i]
		if d.Count == 0 {
			x.node[i] = common(x.node[i+1], x.node[d.Right])
			continue
		}
		x.node[i] = label[s.order[d.First]]
		for k := d.First; k < d.First+d.Count; k++ {
			x.node[i] = common(x.node[i], label[s.order[k]])
		}
	}
	return x
}
