package contact

import (
	"context"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
	"pintle/kinematics/internal/task"
)

// nearest finds smallest distances at one value of the motion after the other.
// Pairs of triangles that were nearest elsewhere give the first upper bound.
type nearest struct {
	scene *Scene
	ctx   context.Context
	fits  bool // look for running fits instead of what can be hit
	// slack is by how much the distance found may be above the smallest one.
	slack float64
	// floor is a known lower bound on the distance: nothing nearer is sought.
	floor   float64
	place   place
	n, back r3.Vec // from the still to the moving point of best; as turned back
	stack   []distant
	best    distant // pair of triangles
	p, q    r3.Vec  // its nearest points where the motion puts them
	found   bool
	steps   int

	lastPair   patchPair // of which lastCounts was found out
	lastCounts bool
}

// distant is a pair of nodes, or of triangles, with its distance or a lower
// bound on it, in the axis frame.
type distant struct {
	distance      float64
	mi, si        int32
	moving, still int32
}

func newNearest(ctx context.Context, s *Scene) *nearest {
	return &nearest{scene: s, ctx: ctx, lastPair: patchPair{moving: -1}}
}

// at finds the smallest distance at a value in axis-frame units, starting from
// what the seeds are apart there. It returns an error if ctx is done.
func (x *nearest) at(value float64, seeds ...distant) error {
	x.place = x.scene.motion.at(value)
	x.best, x.found = distant{distance: math.Inf(1)}, false
	x.n, x.back = r3.Vec{}, r3.Vec{}
	for _, d := range seeds {
		p, q := x.scene.moving[d.mi].placed(d.moving, &x.place), x.scene.still[d.si].corners(d.still)
		x.try(&p, &q, d)
	}
	return x.run()
}

// placed returns the corners of triangle t where the motion puts them.
func (s *side) placed(t int32, at *place) [3]r3.Vec {
	p := s.corners(t)
	return [3]r3.Vec{at.apply(p[0]), at.apply(p[1]), at.apply(p[2])}
}

// proximity returns the result in model terms.
func (x *nearest) proximity() Proximity {
	if !x.found {
		return Proximity{Distance: math.Inf(1), Moving: -1, Still: -1, MovingTri: -1, StillTri: -1}
	}
	f := &x.scene.frame
	return Proximity{
		Distance: x.best.distance / f.scale, OnMoving: f.model(x.p), OnStill: f.model(x.q),
		Moving: x.scene.moving[x.best.mi].body, Still: x.scene.still[x.best.si].body,
		MovingTri: int(x.best.moving), StillTri: int(x.best.still),
	}
}

// run walks the hierarchies of all pairs of bodies, near nodes first.
func (x *nearest) run() error {
	x.stack = x.stack[:0]
	for _, b := range x.scene.counting(x.fits) {
		x.push(x.bound(b.moving, b.still, 0, 0))
	}
	slices.SortStableFunc(x.stack, func(a, b distant) int {
		if a.distance > b.distance {
			return -1
		}
		return 1
	})
	for len(x.stack) > 0 && x.best.distance > x.floor {
		if x.steps++; x.steps%4096 == 0 && x.ctx.Err() != nil {
			return x.ctx.Err()
		}
		d := x.stack[len(x.stack)-1]
		x.stack = x.stack[:len(x.stack)-1]
		if d.distance <= x.best.distance-x.slack {
			x.open(d)
		}
	}
	return x.ctx.Err()
}

// open splits the larger node of a pair, or measures two leaves.
func (x *nearest) open(d distant) {
	m, s := x.scene.moving[d.mi], x.scene.still[d.si]
	a, b := &m.nodes[d.moving], &s.nodes[d.still]
	if a.Count > 0 && b.Count > 0 {
		x.leaves(m, s, a, b, d)
		return
	}
	var near, far distant
	if b.Count > 0 || a.Count == 0 && m.crates()[d.moving].size() >= s.crates()[d.still].size() {
		near, far = x.bound(d.mi, d.si, d.moving+1, d.still), x.bound(d.mi, d.si, a.Right, d.still)
	} else {
		near, far = x.bound(d.mi, d.si, d.moving, d.still+1), x.bound(d.mi, d.si, d.moving, b.Right)
	}
	if near.distance > far.distance {
		near, far = far, near
	}
	x.push(far)
	x.push(near)
}

// push queues a pair of nodes, unless nothing in it can count or be nearer.
func (x *nearest) push(d distant) {
	m, s := x.scene.moving[d.mi], x.scene.still[d.si]
	if d.distance > x.best.distance-x.slack || !x.fits && !(m.live[d.moving] && s.live[d.still]) {
		return
	}
	p := patchPair{d.mi, d.si, m.extents().node[d.moving], s.extents().node[d.still]}
	if p.movingPatch >= 0 && p.stillPatch >= 0 && !x.counts(p) {
		return
	}
	x.stack = append(x.stack, d)
}

func (x *nearest) bound(mi, si, m, s int32) distant {
	d := crateDistance(&x.scene.moving[mi].crates()[m], &x.scene.still[si].crates()[s], &x.place, x.n, x.back)
	return distant{max(d, 0), mi, si, m, s}
}

func (x *nearest) leaves(m, s *side, a, b *mesh.BVHNode, d distant) {
	for i := a.First; i < a.First+a.Count; i++ {
		mt := m.order[i]
		p := m.placed(mt, &x.place)
		box := crateOf(&p)
		for j := b.First; j < b.First+b.Count; j++ {
			st := s.order[j]
			q := s.corners(st)
			other := crateOf(&q)
			limit := x.best.distance - x.slack
			if standsOff(&p, &q, x.n)-angleEps > limit || crateGap(&box, &other)-angleEps > limit {
				continue
			}
			fit := m.active[mt] == 0 || s.active[st] == 0
			if fit == x.fits && x.counts(patchPair{d.mi, d.si, m.patches()[mt], s.patches()[st]}) {
				x.try(&p, &q, distant{mi: d.mi, si: d.si, moving: mt, still: st})
			}
		}
	}
}

// crateGap returns the distance of two boxes as they stand.
func crateGap(a, b *crate) float64 {
	x := max(math.Abs(a.mid.X-b.mid.X)-a.half.X-b.half.X, 0)
	y := max(math.Abs(a.mid.Y-b.mid.Y)-a.half.Y-b.half.Y, 0)
	z := max(math.Abs(a.mid.Z-b.mid.Z)-a.half.Z-b.half.Z, 0)
	return math.Sqrt(x*x + y*y + z*z)
}

// try measures two triangles, the moving one in place, and keeps the nearest
// pair, of equally near ones the first by bodies and triangles.
func (x *nearest) try(p, q *[3]r3.Vec, o distant) {
	var a, b r3.Vec
	o.distance, a, b = mesh.TriangleDistance(*p, *q)
	if x.found && !o.before(&x.best) {
		return
	}
	x.best, x.p, x.q, x.found = o, a, b, true
	if o.distance > 0 {
		x.n = r3.Scale(1/o.distance, r3.Sub(a, b))
		// Rounding must not make it longer than a unit.
		x.n = r3.Scale(1-4*lengthEps, r3.Unit(x.n))
		x.back = x.place.back(x.n)
	}
}

func (d *distant) before(o *distant) bool {
	a := hit{angle: d.distance, moving: d.mi, still: d.si, mTri: d.moving, sTri: d.still}
	b := hit{angle: o.distance, moving: o.mi, still: o.si, mTri: o.moving, sTri: o.still}
	return a.before(&b)
}

// counts reports whether two patches count: they neither fit, overlap or slide
// at rest, nor can they only ever pass one another flush.
func (x *nearest) counts(p patchPair) bool {
	if p == x.lastPair {
		return x.lastCounts
	}
	m, s := x.scene.moving[p.moving].extents(), x.scene.still[p.still].extents()
	deep := x.scene.motion.overlap(&m.bounds[p.movingPatch], &s.bounds[p.stillPatch])
	flush := x.scene.tolerance + float64(m.round[p.movingPatch]+s.round[p.stillPatch])
	x.lastPair = p
	x.lastCounts = (deep < -x.scene.tolerance || deep > flush) && !x.scene.at.apart[p]
	return x.lastCounts
}

// prepare works out what searches for distances need, two sides at a time.
func (s *Scene) prepare() {
	sides := append(slices.Clone(s.moving), s.still...)
	_ = task.InTwo(len(sides), func(i int) error {
		sides[i].crates()
		sides[i].extents()
		return nil
	}, nil)
}

// counting returns the pairs of bodies of which anything counts for a running
// fit, or for the clearance.
func (s *Scene) counting(fits bool) []bodyPair {
	if fits {
		return s.fitting()
	}
	return s.clearing()
}

// findCounting works out what counting returns.
func (s *Scene) findCounting(fits bool) []bodyPair {
	x := nearest{scene: s, fits: fits, lastPair: patchPair{moving: -1}}
	var list []bodyPair
	for m := range s.moving {
		for k := range s.still {
			if x.anyCounts(int32(m), int32(k)) {
				list = append(list, bodyPair{int32(m), int32(k)})
			}
		}
	}
	return list
}

// anyCounts reports whether any patches of two bodies count: without one there
// is no distance that would cut the walk short. Of very many it takes it for
// granted.
func (x *nearest) anyCounts(mi, si int32) bool {
	const most = 1 << 18
	m, s := x.scene.moving[mi].extents(), x.scene.still[si].extents()
	counts := len(m.bounds)*len(s.bounds) > most
	for i := 0; i < len(m.bounds) && !counts; i++ {
		for j := 0; j < len(s.bounds) && !counts; j++ {
			active := m.active[i] && s.active[j]
			counts = active != x.fits && x.counts(patchPair{mi, si, int32(i), int32(j)})
		}
	}
	return counts
}
