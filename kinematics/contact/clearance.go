package contact

import (
	"context"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

// Proximity is where the moving bodies come nearest to the still ones.
type Proximity struct {
	Distance float64 // model units; 0 where they meet, +Inf where nothing counts
	// OnMoving and OnStill are the nearest points, model coordinates, with the
	// moving bodies turned.
	OnMoving, OnStill   r3.Vec
	Moving, Still       int // indexes of the bodies, -1 where nothing counts
	MovingTri, StillTri int
}

// Clearance returns for each angle the smallest distance between the moving
// bodies, turned by it, and the still ones, in model units. Only what can limit
// the free range counts: not the insides of surfaces turned about the axis (see
// RunningFit), nor patches that overlap, slide or fit at rest, nor surfaces
// that pass one another flush, within the tolerance and the sagitta. Where
// nothing else is left the clearance is +Inf; where bodies meet it is 0.
// Between two angles it changes by no more than the angle times Reach. It
// returns an error if an angle is not finite or ctx is done.
func (s *Scene) Clearance(ctx context.Context, angles []float64) ([]float64, error) {
	out := make([]float64, len(angles))
	half := (len(angles) + 1) / 2
	err := inTwo(2, func(i int) error {
		lo, hi := i*half, min(len(angles), (i+1)*half)
		x := newNearest(ctx, s)
		for k := lo; k < hi; k++ {
			p, err := x.at(angles[k])
			if err != nil {
				return err
			}
			out[k] = p.Distance
		}
		return nil
	}, nil)
	if err != nil {
		return nil, fmt.Errorf("clearance: %w", err)
	}
	return out, nil
}

// RunningFit returns the smallest distance at rest between a surface turned
// about the axis and the other side, mating ones left out: the gap that a pin
// has in its barrel all the way round. It is +Inf where there is no such gap.
func (s *Scene) RunningFit(ctx context.Context) (Proximity, error) {
	x := newNearest(ctx, s)
	x.fits = true
	p, err := x.at(0)
	if err != nil {
		return Proximity{}, fmt.Errorf("running fit: %w", err)
	}
	return p, nil
}

// Closest returns where the moving bodies, turned by the angle, come nearest to
// the still ones; what counts is as for Clearance.
func (s *Scene) Closest(ctx context.Context, angle float64) (Proximity, error) {
	x := newNearest(ctx, s)
	p, err := x.at(angle)
	if err != nil {
		return Proximity{}, fmt.Errorf("closest points: %w", err)
	}
	return p, nil
}

// Reach returns the largest distance of a moving point from the axis, in model
// units: no moving point travels further than this per radian.
func (s *Scene) Reach() float64 {
	r := 0.0
	for _, m := range s.moving {
		r = max(r, m.bounds[0].rHi)
	}
	return r / s.frame.scale
}

// nearest finds smallest distances at one angle after the other. The nearest
// pair of the last angle gives the first upper bound of the next.
type nearest struct {
	scene    *Scene
	ctx      context.Context
	fits     bool    // look for running fits instead of what can be hit
	turnBy   float64 // in 0..2 pi
	cos, sin float64
	stack    []distant
	best     distant // pair of triangles
	p, q     r3.Vec
	found    bool
	steps    int

	known      map[bodyPair]bool // see anyCounts
	lastPair   patchPair         // of which lastCounts was found out
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
	return &nearest{scene: s, ctx: ctx, known: make(map[bodyPair]bool), lastPair: patchPair{moving: -1}}
}

func (x *nearest) at(angle float64) (Proximity, error) {
	if math.IsNaN(angle) || math.IsInf(angle, 0) {
		return Proximity{}, fmt.Errorf("angle %v is not finite", angle)
	}
	x.turnBy = math.Mod(angle, turn)
	if x.turnBy < 0 {
		x.turnBy += turn
	}
	x.sin, x.cos = math.Sincos(angle)
	seed, seeded := x.best, x.found
	x.best, x.found = distant{distance: math.Inf(1)}, false
	if seeded {
		p, q := x.scene.moving[seed.mi].corners(seed.moving), x.scene.still[seed.si].corners(seed.still)
		for k := range p {
			p[k] = turned(p[k], x.cos, x.sin)
		}
		x.try(&p, &q, seed)
	}
	if err := x.run(); err != nil {
		return Proximity{}, err
	}
	if !x.found {
		return Proximity{Distance: math.Inf(1), Moving: -1, Still: -1, MovingTri: -1, StillTri: -1}, nil
	}
	f := &x.scene.frame
	return Proximity{
		Distance: x.best.distance / f.scale, OnMoving: f.model(x.p), OnStill: f.model(x.q),
		Moving: x.scene.moving[x.best.mi].body, Still: x.scene.still[x.best.si].body,
		MovingTri: int(x.best.moving), StillTri: int(x.best.still),
	}, nil
}

// run walks the hierarchies of all pairs of bodies, near nodes first.
func (x *nearest) run() error {
	x.stack = x.stack[:0]
	for m := range x.scene.moving {
		for k := range x.scene.still {
			if x.anyCounts(int32(m), int32(k)) {
				x.push(x.bound(int32(m), int32(k), 0, 0))
			}
		}
	}
	slices.SortStableFunc(x.stack, func(a, b distant) int {
		if a.distance > b.distance {
			return -1
		}
		return 1
	})
	for len(x.stack) > 0 && x.best.distance > 0 {
		if x.steps++; x.steps%4096 == 0 && x.ctx.Err() != nil {
			return x.ctx.Err()
		}
		d := x.stack[len(x.stack)-1]
		x.stack = x.stack[:len(x.stack)-1]
		if d.distance <= x.best.distance {
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
	if b.Count > 0 || a.Count == 0 && m.bounds[d.moving].size() >= s.bounds[d.still].size() {
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
	if d.distance > x.best.distance || !x.fits && !(m.live[d.moving] && s.live[d.still]) {
		return
	}
	p := patchPair{d.mi, d.si, m.extents().node[d.moving], s.extents().node[d.still]}
	if p.movingPatch >= 0 && p.stillPatch >= 0 && !x.counts(p) {
		return
	}
	x.stack = append(x.stack, d)
}

func (x *nearest) leaves(m, s *side, a, b *mesh.BVHNode, d distant) {
	for i := a.First; i < a.First+a.Count; i++ {
		mt := m.order[i]
		p := m.corners(mt)
		for k := range p {
			p[k] = turned(p[k], x.cos, x.sin)
		}
		box := boxOf(&p)
		for j := b.First; j < b.First+b.Count; j++ {
			st := s.order[j]
			q := s.corners(st)
			if boxDistance(box, boxOf(&q)) > x.best.distance {
				continue
			}
			fit := m.active[mt] == 0 || s.active[st] == 0
			if fit == x.fits && x.counts(patchPair{d.mi, d.si, m.patches()[mt], s.patches()[st]}) {
				x.try(&p, &q, distant{mi: d.mi, si: d.si, moving: mt, still: st})
			}
		}
	}
}

func boxOf(p *[3]r3.Vec) r3.Box {
	return r3.Box{
		Min: r3.Vec{X: min(p[0].X, p[1].X, p[2].X), Y: min(p[0].Y, p[1].Y, p[2].Y), Z: min(p[0].Z, p[1].Z, p[2].Z)},
		Max: r3.Vec{X: max(p[0].X, p[1].X, p[2].X), Y: max(p[0].Y, p[1].Y, p[2].Y), Z: max(p[0].Z, p[1].Z, p[2].Z)},
	}
}

// boxDistance returns a lower bound on the distance of the contents of two
// boxes, below it by more than rounding.
func boxDistance(a, b r3.Box) float64 {
	x := max(a.Min.X-b.Max.X, b.Min.X-a.Max.X, 0)
	y := max(a.Min.Y-b.Max.Y, b.Min.Y-a.Max.Y, 0)
	z := max(a.Min.Z-b.Max.Z, b.Min.Z-a.Max.Z, 0)
	return math.Sqrt(x*x+y*y+z*z) - angleEps
}

// counts reports whether two patches count: they neither fit, overlap or slide
// at rest, nor can they only ever pass one another flush.
func (x *nearest) counts(p patchPair) bool {
	if p == x.lastPair {
		return x.lastCounts
	}
	m, s := x.scene.moving[p.moving].extents(), x.scene.still[p.still].extents()
	deep := overlap(&m.bounds[p.movingPatch], &s.bounds[p.stillPatch])
	flush := x.scene.tolerance + float64(m.round[p.movingPatch]+s.round[p.stillPatch])
	x.lastPair = p
	x.lastCounts = (deep < -x.scene.tolerance || deep > flush) && !x.scene.at.apart[p]
	return x.lastCounts
}

// anyCounts reports whether any patches of two bodies count: without one there
// is no distance that would cut the walk short. Of very many it takes it for
// granted.
func (x *nearest) anyCounts(mi, si int32) bool {
	const most = 1 << 18
	key := bodyPair{mi, si}
	if c, ok := x.known[key]; ok {
		return c
	}
	m, s := x.scene.moving[mi].extents(), x.scene.still[si].extents()
	counts := len(m.bounds)*len(s.bounds) > most
	for i := 0; i < len(m.bounds) && !counts; i++ {
		for j := 0; j < len(s.bounds) && !counts; j++ {
			active := m.active[i] && s.active[j]
			counts = active != x.fits && x.counts(patchPair{mi, si, int32(i), int32(j)})
		}
	}
	x.known[key] = counts
	return counts
}

// try measures two triangles, the moving one turned, and keeps the nearest
// pair, of equally near ones the first by bodies and triangles.
func (x *nearest) try(p, q *[3]r3.Vec, o distant) {
	var a, b r3.Vec
	o.distance, a, b = mesh.TriangleDistance(*p, *q)
	if !x.found || o.before(&x.best) {
		x.best, x.p, x.q, x.found = o, a, b, true
	}
}

func (d *distant) before(o *distant) bool {
	a := hit{angle: d.distance, moving: d.mi, still: d.si, mTri: d.moving, sTri: d.still}
	b := hit{angle: o.distance, moving: o.mi, still: o.si, mTri: o.moving, sTri: o.still}
	return a.before(&b)
}

func (x *nearest) bound(mi, si, m, s int32) distant {
	d := sectorDistance(&x.scene.moving[mi].bounds[m], &x.scene.still[si].bounds[s], x.turnBy)
	return distant{d, mi, si, m, s}
}

// sectorDistance returns a lower bound on the distance of the contents of two
// sectors, the first turned by an angle in 0..2 pi.
func sectorDistance(a, b *sector, turnBy float64) float64 {
	dz := max(a.zLo-b.zHi, b.zLo-a.zHi, 0)
	plane2 := 0.0
	if gap := arcGap(a, b, turnBy); gap > 0 {
		c := math.Cos(gap)
		plane2 = min(spread2(a.rLo, b.rLo, b.rHi, c), spread2(b.rLo, a.rLo, a.rHi, c))
	} else {
		dr := max(a.rLo-b.rHi, b.rLo-a.rHi, 0)
		plane2 = dr * dr
	}
	return max(math.Sqrt(plane2+dz*dz)-angleEps, 0)
}

// arcGap returns the angle between the arcs of two sectors, the first turned.
func arcGap(a, b *sector, turnBy float64) float64 {
	d := b.at - a.at - turnBy // -4 pi .. 2 pi
	if d < -turn {
		d += turn
	}
	d = wrap(d)
	if d <= a.width || d+b.width >= turn {
		return 0
	}
	return max(min(d-a.width, turn-d-b.width)-angleEps, 0)
}

// spread2 returns the least squared distance of a point at radius r from the
// points at radii lo to hi on a ray that makes an angle of cosine c with it.
func spread2(r, lo, hi, c float64) float64 {
	o := min(max(r*c, lo), hi)
	return max(r*r+o*o-2*r*o*c, 0)
}
