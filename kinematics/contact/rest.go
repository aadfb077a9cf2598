package contact

import (
	"cmp"
	"context"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

// RestKind says how parts meet in the pose as modelled.
type RestKind string

// The kinds of contact at rest.
const (
	Mating  RestKind = "mating"  // surfaces that the motion carries along themselves, as pin and bore
	Overlap RestKind = "overlap" // one part reaches into the other by more than the tolerance
	Touch   RestKind = "touch"   // within the tolerance
)

// Rest is a connected region in which two parts meet in the pose as modelled.
type Rest struct {
	Kind RestKind
	// Depth is how far the parts overlap, in model units: they would have to be
	// moved apart by at least this much. It is 0 for parts that touch.
	Depth               float64
	Point               r3.Vec // a place in the region, model coordinates
	Moving, Still       int    // indexes of the bodies
	MovingTri, StillTri int    // a pair of triangles that meet there
	// Blocks names the directions in which turning would drive one part into
	// the other: "lower", "upper", "both", or "" where they slide or part.
	Blocks string
	// Ignored is true where the meeting does not limit the free range.
	Ignored bool
}

// patchPair names a moving and a still patch by side and patch label.
type patchPair struct {
	moving, still           int32
	movingPatch, stillPatch int32
}

func (p patchPair) compare(o patchPair) int {
	return cmp.Or(cmp.Compare(p.moving, o.moving), cmp.Compare(p.still, o.still),
		cmp.Compare(p.movingPatch, o.movingPatch), cmp.Compare(p.stillPatch, o.stillPatch))
}

// meeting is what two patches do to one another at rest, in the axis frame.
type meeting struct {
	pair         patchPair
	kind         RestKind
	depth        float64
	mTri, sTri   int32
	lower, upper approachAt // fastest approach in either direction
	ignored      bool
	flat         bool       // both patches are perpendicular to the axis
	rim          bool       // nothing but edges of turned patches on others
	seeds        [][2]int32 // some triangle pairs that meet
	zone         zone       // of what meets
}

// approachAt is a touching pair of triangles that approach at a speed.
type approachAt struct {
	speed         float64
	point, normal r3.Vec
	mTri, sTri    int32
}

// atRest is what the scene knows about the pose as modelled.
type atRest struct {
	rest    []Rest
	stopped [2]*hit // touching stops that block the lower and the upper direction
	// skip holds the pairs of patches that do not count for the free range, and
	// apart those that do not count for the clearance either.
	skip, apart map[patchPair]bool
	// touching holds pairs that count, but only once they have been apart.
	touching map[patchPair]bool
	zones    map[bodyPair][]zone
	judged   map[bodyPair]bool // bodies with patches in skip or touching
}

const (
	// slowest is the value, in axis-frame units, within which a stop must bite:
	// a touching pair whose overlap takes longer to exceed the tolerance slides.
	// It is a degree, or 1/57 of the size.
	slowest  = turn / 360
	maxSeeds = 16
)

// judgeRest finds the triangles that meet at rest, sums them up by patches and
// decides what they mean for the free range.
func (s *Scene) judgeRest(ctx context.Context) error {
	var list []*meeting
	for m := range s.moving {
		for k := range s.still {
			f := restFinder{
				scene: s, m: s.moving[m], s: s.still[k], ctx: ctx,
				base: patchPair{moving: int32(m), still: int32(k)}, found: make(map[patchPair]*meeting),
			}
			if err := f.run(); err != nil {
				return err
			}
			list = append(list, f.sorted()...)
		}
	}
	groups := groupMeetings(list)
	s.decide(groups)
	for _, g := range groups {
		s.at.rest = append(s.at.rest, s.describe(g))
	}
	s.at.rest = append(s.at.rest, s.findInside(list)...)
	return ctx.Err()
}

// restFinder collects the meetings of one moving and one still body.
type restFinder struct {
	scene *Scene
	ctx   context.Context
	m, s  *side
	base  patchPair
	found map[patchPair]*meeting
	last  *meeting
	steps int
	sep   separators
	spots []r3.Vec
}

func (f *restFinder) sorted() []*meeting {
	list := make([]*meeting, 0, len(f.found))
	for _, x := range f.found {
		if x.kind != "" {
			list = append(list, x)
		}
	}
	slices.SortFunc(list, func(a, b *meeting) int { return a.pair.compare(b.pair) })
	return list
}

// run walks both hierarchies together over what is near at rest.
func (f *restFinder) run() error {
	type nodes struct{ m, s int32 }
	stack := []nodes{{0, 0}}
	for len(stack) > 0 {
		at := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		reach := f.scene.tolerance + float64(f.m.sag[at.m]+f.s.sag[at.s])
		if !f.scene.motion.near(&f.m.bounds[at.m], &f.s.bounds[at.s], reach) {
			continue
		}
		if f.settled(at.m, at.s) {
			continue
		}
		if f.steps++; f.steps%4096 == 0 && f.ctx.Err() != nil {
			return f.ctx.Err()
		}
		a, b := &f.m.nodes[at.m], &f.s.nodes[at.s]
		switch {
		case a.Count > 0 && b.Count > 0:
			f.leaves(a, b)
		case b.Count > 0 || a.Count == 0 && f.scene.motion.size(&f.m.bounds[at.m]) >= f.scene.motion.size(&f.s.bounds[at.s]):
			stack = append(stack, nodes{a.Right, at.s}, nodes{at.m + 1, at.s})
		default:
			stack = append(stack, nodes{at.m, b.Right}, nodes{at.m, at.s + 1})
		}
	}
	return nil
}

// settled reports whether all of two nodes belongs to two turned patches whose
// meeting is known and can get no worse here: surfaces that run beside one
// another have no end of pairs that meet.
func (f *restFinder) settled(m, s int32) bool {
	if f.m.round[m] < 0 || f.s.round[s] < 0 {
		return false
	}
	x := f.found[f.patchesOf(f.m.order[f.m.firstIn(m)], f.s.order[f.s.firstIn(s)])]
	return x != nil && (x.kind == Mating || x.kind == Overlap || x.kind == Touch && x.flat) &&
		overlap(&f.m.bounds[m], &f.s.bounds[s]) <= f.scene.tolerance+float64(f.m.sag[m]+f.s.sag[s])
}

// firstIn returns the position of the first triangle in node i.
func (s *side) firstIn(i int32) int32 {
	for s.nodes[i].Count == 0 {
		i++
	}
	return s.nodes[i].First
}

func (f *restFinder) leaves(a, b *mesh.BVHNode) {
	for i := a.First; i < a.First+a.Count; i++ {
		for j := b.First; j < b.First+b.Count; j++ {
			mt, st := f.m.order[i], f.s.order[j]
			reach := f.scene.tolerance + float64(f.m.sagitta[mt]+f.s.sagitta[st])
			if f.scene.motion.near(&f.m.box[i], &f.s.box[j], reach) {
				f.pair(mt, st)
			}
		}
	}
}

func (f *restFinder) patchesOf(mt, st int32) patchPair {
	p := f.base
	p.movingPatch, p.stillPatch = f.m.patches()[mt], f.s.patches()[st]
	return p
}

// at returns the meeting of the patches of two triangles.
func (f *restFinder) at(mt, st int32) *meeting {
	p := f.patchesOf(mt, st)
	if f.last != nil && f.last.pair == p {
		return f.last
	}
	x := f.found[p]
	if x == nil {
		x = &meeting{pair: p, mTri: -1, zone: emptyZone()}
		f.found[p] = x
	}
	f.last = x
	return x
}

// record notes that two triangles meet. The deepest, then the lowest pair
// stands for the meeting; what is graver makes forget what was noted before.
func (f *restFinder) record(kind RestKind, depth float64, mt, st int32) *meeting {
	x := f.at(mt, st)
	rank := func(k RestKind) int { return slices.Index([]RestKind{"", Touch, Mating, Overlap}, k) }
	if rank(kind) > rank(x.kind) {
		x.kind, x.seeds, x.zone = kind, x.seeds[:0], emptyZone()
	}
	x.rim = false
	order := cmp.Or(cmp.Compare(depth, x.depth), cmp.Compare(x.mTri, mt), cmp.Compare(x.sTri, st))
	if x.mTri < 0 || order > 0 {
		x.depth, x.mTri, x.sTri = depth, mt, st
	}
	if kind != x.kind {
		return x
	}
	if len(x.seeds) < maxSeeds {
		x.seeds = append(x.seeds, [2]int32{mt, st})
	}
	if kind == Overlap {
		p, q := f.m.corners(mt), f.s.corners(st)
		x.zone.cross(f.scene.motion, &p, &q, f.m.normal[mt], f.s.normal[st])
	}
	return x
}

// recordRim notes that an edge of a turned patch lies on another one, which is
// worth saying only where nothing else does.
func (f *restFinder) recordRim(mt, st int32) {
	if x := f.at(mt, st); x.kind == "" {
		x.kind, x.rim, x.mTri, x.sTri = Touch, true, mt, st
	}
}
