package contact

import (
	"cmp"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// pair judges two triangles that are near one another at rest.
func (f *restFinder) pair(mt, st int32) {
	if f.m.turned[mt] >= 0 && f.s.turned[st] >= 0 {
		f.turnedPair(mt, st)
		return
	}
	p, q := f.m.corners(mt), f.s.corners(st)
	tolerance := f.scene.tolerance
	x := &f.sep
	x.p, x.q, x.np, x.nq = &p, &q, f.m.normal[mt], f.s.normal[st]
	x.touch = tolerance + float64(f.m.sagitta[mt]+f.s.sagitta[st]+f.m.slack[mt]+f.s.slack[st])
	if x.search(tolerance); x.widest.gap > tolerance {
		return
	}
	depth := -x.widest.gap
	if depth > x.touch {
		// Coarsely tessellated rounds overlap by their own sagittas.
		x.touch += float64(f.m.bowOf(mt) + f.s.bowOf(st))
		if depth > x.touch {
			f.record(Overlap, depth, mt, st)
			return
		}
		x.search(tolerance)
	}
	f.spots = touchPoints(&p, &q, x.np, x.nq, x.touch, f.spots[:0])
	if len(f.spots) == 0 {
		return
	}
	// The inside of a turned surface stops nothing.
	inside := f.m.active[mt] == 0 || f.s.active[st] == 0
	if inside && !f.scene.motion.hinge() {
		f.recordRim(mt, st)
		return
	}
	meet := f.record(Touch, 0, mt, st)
	if meet.kind == Touch {
		for _, p := range f.spots {
			meet.zone.add(f.scene.motion, p)
		}
	}
	if inside {
		return
	}
	lower, upper := x.blocked(f.scene.motion, f.spots, tolerance/slowest)
	meet.lower.faster(lower, mt, st)
	meet.upper.faster(upper, mt, st)
}

// faster keeps the faster of two approaches, of equal ones the lower pair.
func (a *approachAt) faster(o approachAt, mt, st int32) {
	o.mTri, o.sTri = mt, st
	if o.speed > 0 && (a.speed == 0 ||
		cmp.Or(cmp.Compare(o.speed, a.speed), cmp.Compare(a.mTri, mt), cmp.Compare(a.sTri, st)) > 0) {
		*a = o
	}
}

// turnedPair judges two triangles on surfaces that the motion carries along
// themselves: by their profiles, which it does not change. Profiles that cross mean
// parts that overlap; flat faces slide on one another.
func (f *restFinder) turnedPair(mt, st int32) {
	tolerance := f.scene.tolerance
	u, v := &f.m.facets[f.m.facetOf[mt]], &f.s.facets[f.s.facetOf[st]]
	if u.flat(tolerance) && v.flat(tolerance) {
		if f.at(mt, st).kind == "" && f.touchFlat(mt, st, tolerance) {
			f.record(Touch, 0, mt, st).flat = true
		}
		return
	}
	allowed := tolerance + float64(f.m.sagitta[mt]+f.s.sagitta[st])
	if !f.scene.motion.hinge() && !f.scene.motion.slides() && (math.Abs(u.normal.Z) > parallel || math.Abs(v.normal.Z) > parallel) {
		f.threadPair(mt, st, allowed)
		return
	}
	if f.scene.motion.slides() && !f.touchFlat(mt, st, allowed) {
		return
	}
	p, q := f.m.profile(mt, u.flat(tolerance)), f.s.profile(st, v.flat(tolerance))
	depth := profileOverlap(p, q)
	switch {
	case depth < -allowed:
	case depth > allowed:
		f.record(Overlap, depth, mt, st)
	case u.flat(tolerance) || v.flat(tolerance) || alongside(p, q) <= 2*tolerance || f.endOn(mt, st):
		f.recordRim(mt, st)
	default:
		f.record(Mating, max(depth, 0), mt, st)
	}
}

// threadPair judges two triangles of which one belongs to a thread: its profile
// is not that of a surface of revolution.
func (f *restFinder) threadPair(mt, st int32, allowed float64) {
	if !f.touchFlat(mt, st, allowed) {
		return
	}
	if depth := -f.sep.widest.gap; depth > allowed {
		f.record(Overlap, depth, mt, st)
	} else {
		f.record(Mating, max(depth, 0), mt, st)
	}
}

// endOn reports whether two triangles parallel to a slider have no length of it
// in common.
func (f *restFinder) endOn(mt, st int32) bool {
	if !f.scene.motion.slides() {
		return false
	}
	p, q := f.m.corners(mt), f.s.corners(st)
	a, b := crateOf(&p), crateOf(&q)
	return a.half.Z+b.half.Z-math.Abs(a.mid.Z-b.mid.Z) <= 2*f.scene.tolerance
}

// touchFlat reports whether two triangles are within reach, a length in the
// axis frame, as they stand.
func (f *restFinder) touchFlat(mt, st int32, reach float64) bool {
	p, q := f.m.corners(mt), f.s.corners(st)
	x := &f.sep
	x.p, x.q, x.np, x.nq, x.touch = &p, &q, f.m.normal[mt], f.s.normal[st], reach
	x.search(reach)
	return x.widest.gap <= reach
}

// point2 is a point of a profile: distance from the axis and height; for a
// slider x and y.
type point2 struct{ r, z float64 }

// shadow returns the corners of a triangle as seen along the axis.
func shadow(p *[3]r3.Vec) [3]point2 {
	return [3]point2{{p[0].X, p[0].Y}, {p[1].X, p[1].Y}, {p[2].X, p[2].Y}}
}

// profile returns the corners of a turned triangle in the half plane of
// profiles, moved out onto the round; for a slider, as seen along the axis. A
// flat one is a segment, which may reach
// further in than its corners, but not for the chords of a rim.
func (s *side) profile(t int32, flat bool) [3]point2 {
	p := s.corners(t)
	if s.motion.slides() {
		return shadow(&p)
	}
	var c [3]point2
	for k := range p {
		c[k] = point2{radius(p[k]) + float64(s.dip[s.tris[t][k]]), p[k].Z}
	}
	if !flat {
		return c
	}
	lo, hi := min(c[0].r, c[1].r, c[2].r), max(c[0].r, c[1].r, c[2].r)
	for k := range p {
		o := p[(k+1)%3]
		step := math.Atan2(math.Abs(p[k].X*o.Y-p[k].Y*o.X), p[k].X*o.X+p[k].Y*o.Y)
		if step > 2*widestHalfStep {
			lo = min(lo, axisDistance(p[k], o))
		}
	}
	if holdsAxis(&p) {
		lo = 0
	}
	return [3]point2{{lo, c[0].z}, {hi, c[0].z}, {hi, c[0].z}}
}

// alongside returns over what length two profiles run beside one another along
// the longest edge of either, whichever is less.
func alongside(a, b [3]point2) float64 {
	length := math.Inf(1)
	for _, t := range [2]*[3]point2{&a, &b} {
		longest, dr, dz := 0.0, 0.0, 0.0
		for k := range 3 {
			r, z := t[(k+1)%3].r-t[k].r, t[(k+1)%3].z-t[k].z
			if l := math.Sqrt(r*r + z*z); l > longest {
				longest, dr, dz = l, r/l, z/l
			}
		}
		lo, hi := spans(&a, &b, dr, dz)
		length = min(length, min(hi[0], hi[1])-max(lo[0], lo[1]))
	}
	return length
}

// profileOverlap returns by how much two profiles overlap: the least shift
// that parts them, negative where they are apart. Profiles may be segments.
func profileOverlap(a, b [3]point2) float64 {
	depth := math.Inf(1)
	for _, t := range [2]*[3]point2{&a, &b} {
		for k := range 3 {
			dr, dz := t[(k+1)%3].r-t[k].r, t[(k+1)%3].z-t[k].z
			l := math.Sqrt(dr*dr + dz*dz)
			if l < 4*lengthEps {
				continue
			}
			depth = min(depth, overlapAlong(&a, &b, -dz/l, dr/l), overlapAlong(&a, &b, dr/l, dz/l))
		}
	}
	return depth
}

// overlapAlong returns the shift along a direction that parts two profiles.
func overlapAlong(a, b *[3]point2, nr, nz float64) float64 {
	lo, hi := spans(a, b, nr, nz)
	return min(hi[0]-lo[1], hi[1]-lo[0])
}

// spans returns the intervals that two profiles cover along a direction.
func spans(a, b *[3]point2, nr, nz float64) (lo, hi [2]float64) {
	for i, t := range [2]*[3]point2{a, b} {
		x, y, z := nr*t[0].r+nz*t[0].z, nr*t[1].r+nz*t[1].z, nr*t[2].r+nz*t[2].z
		lo[i], hi[i] = min(x, y, z), max(x, y, z)
	}
	return lo, hi
}
