package contact

import (
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

// group is a connected set of meetings of one kind between two bodies.
type group []*meeting

// groupMeetings joins meetings of the same bodies and kind that share a patch.
func groupMeetings(list []*meeting) []group {
	type key struct {
		moving, still int32
		kind          RestKind
		isStill       bool
		patch         int32
	}
	parent := make([]int, len(list))
	for i := range parent {
		parent[i] = i
	}
	find := func(i int) int {
		for parent[i] != i {
			parent[i] = parent[parent[i]]
			i = parent[i]
		}
		return i
	}
	first := make(map[key]int)
	for i, x := range list {
		p := x.pair
		for _, k := range [2]key{{p.moving, p.still, x.kind, false, p.movingPatch}, {p.moving, p.still, x.kind, true, p.stillPatch}} {
			j, ok := first[k]
			if !ok {
				first[k] = i
				continue
			}
			a, b := find(i), find(j)
			parent[max(a, b)] = min(a, b)
		}
	}
	number := make(map[int]int)
	var groups []group
	for i, x := range list {
		root := find(i)
		n, ok := number[root]
		if !ok {
			n = len(groups)
			number[root] = n
			groups = append(groups, nil)
		}
		groups[n] = append(groups[n], x)
	}
	return dropRims(groups)
}

// dropRims leaves out groups that are nothing but rims of what other groups of
// the same bodies are about.
func dropRims(groups []group) []group {
	more := make(map[bodyPair]bool)
	rims := func(g group) bool {
		return !slices.ContainsFunc(g, func(x *meeting) bool { return !x.rim })
	}
	for _, g := range groups {
		if !rims(g) {
			more[g.bodies()] = true
		}
	}
	return slices.DeleteFunc(groups, func(g group) bool { return rims(g) && more[g.bodies()] })
}

func (g group) bodies() bodyPair { return bodyPair{g[0].pair.moving, g[0].pair.still} }

// deepen turns groups that only touch into overlaps where middles of their
// triangles lie inside the other body: solids of which one continues the
// other's sides overlap without their surfaces ever crossing. Bodies whose
// surfaces do cross are known to overlap.
func (s *Scene) deepen(groups []group) {
	known := make(map[bodyPair]bool)
	for _, g := range groups {
		known[g.bodies()] = known[g.bodies()] || g[0].kind == Overlap
	}
	for _, g := range groups {
		if g[0].kind != Touch || known[g.bodies()] {
			continue
		}
		m, k := s.moving[g[0].pair.moving], s.still[g[0].pair.still]
		depth := 0.0
		for _, x := range g {
			for _, p := range x.seeds {
				depth = max(depth, s.middleDepth(m, p[0], k, p[1]), s.middleDepth(k, p[1], m, p[0]))
			}
		}
		for _, x := range g {
			if depth > 0 {
				x.kind, x.depth = Overlap, max(x.depth, depth)
			}
		}
	}
}

// middleDepth returns how deep the middle of triangle t of a lies inside b,
// which triangle u of touches it; 0 if not deeper than may be the rounds'
// tessellation.
func (s *Scene) middleDepth(a *side, t int32, b *side, u int32) float64 {
	if !b.closed {
		return 0
	}
	c := a.corners(t)
	p := b.frame.model(r3.Scale(1./3, r3.Add(c[0], r3.Add(c[1], c[2]))))
	_, _, d := b.mesh.BVH().Closest(p)
	round := a.sagitta[t] + a.slack[t] + a.bowOf(t) + b.sagitta[u] + b.slack[u] + b.bowOf(u)
	if d *= s.frame.scale; d <= 2*s.tolerance+float64(round) || !b.holds(p) {
		return 0
	}
	return d
}

// blocks returns which directions a group of touching patches blocks.
func (g group) blocks() (lower, upper bool) {
	for _, x := range g {
		if x.kind == Touch {
			lower = lower || x.lower.speed > 0
			upper = upper || x.upper.speed > 0
		}
	}
	return lower, upper
}

// decide tells stops from fits. A group that is driven together in one
// direction only is a stop, unless other stops bar the other direction too:
// then the parts fit as modelled, as a square pin in its socket, and a fit
// must not make the free range zero.
func (s *Scene) decide(groups []group) {
	s.at.skip = make(map[patchPair]bool)
	s.at.apart = make(map[patchPair]bool)
	s.at.touching = make(map[patchPair]bool)
	s.at.judged = make(map[bodyPair]bool)
	s.deepen(groups)
	s.findZones(groups)
	var stopsLower, stopsUpper bool
	for _, g := range groups {
		if lower, upper := g.blocks(); lower != upper {
			stopsLower, stopsUpper = stopsLower || lower, stopsUpper || upper
		}
	}
	fit := stopsLower && stopsUpper
	for _, g := range groups {
		lower, upper := g.blocks()
		stop := lower != upper && !fit
		if (lower || upper) && !stop {
			s.leaveOut(g)
		}
		for _, x := range g {
			x.ignored = !stop
			s.at.judged[bodyPair{x.pair.moving, x.pair.still}] = true
			switch {
			case x.kind == Overlap:
				s.at.skip[x.pair], s.at.apart[x.pair] = true, true
			case x.kind == Mating || x.slides():
				s.at.apart[x.pair] = true
			}
			if x.kind == Touch && !s.at.skip[x.pair] {
				s.at.touching[x.pair] = true
			}
			if stop {
				s.stop(x)
			}
		}
	}
}

// findZones notes where bodies overlap and makes what touches there, or no
// further off than the depth of the overlap, slide: its rim is no stop.
func (s *Scene) findZones(groups []group) {
	s.at.zones = make(map[bodyPair][]zone)
	for _, g := range groups {
		if g[0].kind != Overlap {
			continue
		}
		z, depth := emptyZone(), 0.0
		for _, x := range g {
			z.join(x.zone)
			depth = max(depth, x.depth)
		}
		if z.rLo <= z.rHi {
			if !s.motion.hinge() {
				// What comes out at an end may be anything inside.
				depth = max(depth, s.overlapDepth(g)*s.frame.scale)
			}
			z.rim = max(depth, s.tolerance)
			s.at.zones[g.bodies()] = append(s.at.zones[g.bodies()], z)
		}
	}
	for _, g := range groups {
		for _, z := range s.at.zones[g.bodies()] {
			for _, x := range g {
				for _, a := range [2]*approachAt{&x.lower, &x.upper} {
					if a.speed > 0 && z.holds(s.motion, a.point) {
						a.speed = 0
					}
				}
			}
		}
	}
}

// leaveOut takes a fit out of account as a whole: every moving patch that
// presses on it with every still one.
func (s *Scene) leaveOut(g group) {
	for _, x := range g {
		for _, o := range g {
			if !x.slides() && !o.slides() {
				p := x.pair
				p.stillPatch = o.pair.stillPatch
				s.at.skip[p], s.at.apart[p] = true, true
			}
		}
	}
}

// slides reports whether neither direction drives the patches together.
func (x *meeting) slides() bool { return x.lower.speed == 0 && x.upper.speed == 0 }

// stop keeps the fastest approach of the touching stops in each direction.
func (s *Scene) stop(x *meeting) {
	for i, a := range [2]approachAt{x.lower, x.upper} {
		if a.speed == 0 {
			continue
		}
		h := &hit{
			point: a.point, normal: a.normal, angle: -a.speed, // fastest first
			moving: x.pair.moving, still: x.pair.still, mTri: a.mTri, sTri: a.sTri,
		}
		if s.at.stopped[i] == nil || h.before(s.at.stopped[i]) {
			s.at.stopped[i] = h
		}
	}
}

// describe sums a group up for the caller.
func (s *Scene) describe(g group) Rest {
	x := g[0]
	for _, o := range g[1:] {
		if o.depth > x.depth {
			x = o
		}
	}
	m, k := s.moving[x.pair.moving], s.still[x.pair.still]
	_, p, q := mesh.TriangleDistance(m.corners(x.mTri), k.corners(x.sTri))
	r := Rest{
		Kind: x.kind, Depth: x.depth / s.frame.scale, Point: s.frame.model(r3.Scale(0.5, r3.Add(p, q))),
		Moving: m.body, Still: k.body, MovingTri: int(x.mTri), StillTri: int(x.sTri), Ignored: x.ignored,
	}
	if x.kind == Overlap {
		r.Depth = max(r.Depth, s.overlapDepth(g))
	}
	switch lower, upper := g.blocks(); {
	case lower && upper:
		r.Blocks = "both"
	case lower:
		r.Blocks = "lower"
	case upper:
		r.Blocks = "upper"
	}
	return r
}
