package find

import (
	"gonum.org/v1/gonum/spatial/r3"
)

// side is what one part says for an axis.
type side struct {
	line   *line
	size   float64 // of the part that shows it
	weight float64 // of the near rings, in model units
	radius float64 // largest near ring
	count  int
	centre r3.Vec  // of the heaviest near ring
	near   float64 // nearness of the nearest ring that weighs
	share  float64 // of the part's heaviest line, what this one weighs
}

// How far, in radii, a ring may be from the other part to count half: farther
// where that shows the same line.
const (
	alone  = 0.3
	shared = 0.6
)

const (
	mostRings   = 24   // of a line that are weighed
	leastNear   = 0.15 // nearness of a ring that counts
	heavyRing   = 0.3  // of the line's heaviest ring, what another must weigh to tell how near the line is
	reachFloor  = 0.01 // of the smaller part's diagonal, added to a ring's reach
	likesExcuse = 2    // lines like it that a line may have
)

// support weighs the rings of a line that are near the other part. A large
// ring may be farther than a small one, and inside the other part farther than
// outside.
func support(l *line, own, other *part, size, reach float64) side {
	s := side{line: l, size: own.diagonal, share: l.weight / own.lines[0].weight}
	trust, box, bvh := l.trust(), other.mesh.Bounds(), other.mesh.BVH()
	best := 0.0
	for i, r := range l.rings {
		if i == mostRings {
			break
		}
		near, scale := 0.0, reach*r.radius+reachFloor*size
		for _, p := range r.points {
			if !inBox(box, p, 3*scale) {
				continue // a tenth or less
			}
			t, q, d := bvh.Closest(p)
			if r3.Dot(r3.Sub(p, q), other.mesh.AreaNormal(t)) < 0 {
				d *= buried
			}
			near += 1 / (1 + d*d/(scale*scale))
		}
		near /= float64(len(r.points))
		g := r.weight() * near * trust
		if r.weight() > heavyRing*l.rings[0].weight() {
			s.near = max(s.near, near)
		}
		s.weight += g
		if near > leastNear {
			s.count++
			s.radius = max(s.radius, r.radius)
		}
		if g > best {
			best, s.centre = g, r.centre
		}
	}
	return s
}

// says is how much a side says, 0 to 1. Rings beyond the third of equal size
// say little more.
func (s side) says(size float64) float64 {
	if s.weight == 0 {
		return 0
	}
	w := s.weight / size
	if s.line.likes > likesExcuse {
		w /= float64(s.line.likes)
	}
	return w / (w + 0.25)
}

const (
	sharp   = 2e-4 // radians, of a line that no other need be sharper than
	sharper = 4.0  // times as sharp decides
)

// lead is the side whose line is the axis: the one that says more, and of two
// that say about as much the sharper one, and of two equally sharp ones that of
// the smaller part, whose own axis it more likely is.
func lead(a, b side) side {
	by := a
	if b.weight > a.weight {
		by = b
	}
	if min(a.weight, b.weight) <= max(a.weight, b.weight)/8 || a.count == 0 || b.count == 0 {
		return by
	}
	switch {
	case a.line.tilt > sharper*b.line.tilt && a.line.tilt > sharp:
		return b
	case b.line.tilt > sharper*a.line.tilt && b.line.tilt > sharp:
		return a
	case b.size < a.size:
		return b
	}
	return a
}

// add adds the axis that the sides speak for.
func (l *link) add(a, b side) {
	by := lead(a, b)
	if by.count == 0 {
		return
	}
	axis, origin := by.line.axis, by.centre
	// The centre of a single ring is known worse than the line.
	origin = r3.Add(by.line.origin, r3.Scale(r3.Dot(r3.Sub(origin, by.line.origin), axis), axis))
	wa, wb := a.says(l.size), b.says(l.size)
	h := hypothesis{a: a.line, b: b.line, Axis: Axis{Kind: Revolute, Axis: axis, Origin: origin}}
	h.Evidence = Evidence{InParent: a.count, InChild: b.count, Radius: max(a.radius, b.radius), Gap: l.gap}
	h.feats[fBoth], h.feats[fMost] = min(wa, wb), max(wa, wb)
	h.feats[fNear] = max(a.near, b.near)
	likes := 1
	for _, s := range []side{a, b} {
		if s.line != nil {
			likes = max(likes, s.line.likes)
			h.feats[fShare] = max(h.feats[fShare], s.share)
		}
	}
	h.feats[fOnly] = 1 / float64(likes)
	l.turns(&h)
	h.Score = 0.5*max(wa, wb) + min(wa, wb) + 0.3*h.feats[fTurn]
	l.axes = append(l.axes, h)
}
