package find

import (
	"context"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

// link is a pair of near parts, a < b, with what could join them.
type link struct {
	a, b  int
	gap   float64
	axes  []hypothesis // best first
	mates []mate
}

// hypothesis is an axis with the lines that it stands on, nil where a part has
// none.
type hypothesis struct {
	a, b *line
	Axis
}

// mate is a piece of a face that lies against the other part.
type mate struct {
	at, normal r3.Vec
	area       float64
	first      bool // of the link's first part
}

// links returns the pairs of near parts in the order of their indexes.
func (w *work) links(ctx context.Context) ([]link, error) {
	var near []link
	limit := w.opt.Near * w.diagonal
	for a := range w.parts {
		for b := a + 1; b < len(w.parts); b++ {
			if w.parts[a].diagonal == 0 || w.parts[b].diagonal == 0 || boxGap(w.parts[a].mesh, w.parts[b].mesh) > limit {
				continue
			}
			near = append(near, link{a: a, b: b, gap: math.Inf(1)})
		}
	}
	err := each(ctx, len(near), func(i int) { w.judge(&near[i], limit) }, func(done int) {
		w.opt.progress(0.6+0.4*float64(done)/float64(len(near)), "Comparing parts: pair %d of %d", done, len(near))
	})
	if err != nil {
		return nil, err
	}
	claim(near)
	return slices.DeleteFunc(near, func(l link) bool { return math.IsInf(l.gap, 1) }), nil
}

// claim lowers the axes that only one part shows where that part shares the
// line with a third one: it is most likely that joint's.
func claim(links []link) {
	type holder struct {
		link  int
		score float64
	}
	held := map[*line]holder{}
	for i, l := range links {
		for _, h := range l.axes {
			if h.a == nil || h.b == nil {
				continue
			}
			for _, x := range []*line{h.a, h.b} {
				if h.Score > held[x].score {
					held[x] = holder{i, h.Score}
				}
			}
		}
	}
	for i := range links {
		axes := links[i].axes
		for k, h := range axes {
			x := h.a
			if x == nil {
				x = h.b
			}
			if x == nil {
				continue
			}
			if by, ok := held[x]; ok && (h.a == nil || h.b == nil) && by.link != i && by.score > h.Score {
				axes[k].Score *= claimed
			}
		}
		slices.SortStableFunc(axes, func(x, y hypothesis) int { return compare(y.Score, x.Score) })
	}
}

const claimed = 0.15 // of the score of an axis that belongs to another pair

func boxGap(a, b *mesh.Mesh) float64 {
	p, q := a.Bounds(), b.Bounds()
	x := max(p.Min.X-q.Max.X, q.Min.X-p.Max.X, 0)
	y := max(p.Min.Y-q.Max.Y, q.Min.Y-p.Max.Y, 0)
	z := max(p.Min.Z-q.Max.Z, q.Min.Z-p.Max.Z, 0)
	return math.Sqrt(x*x + y*y + z*z)
}

// Axes of two parts are one where they agree within these.
const (
	coaxialAngle  = 0.4 * math.Pi / 180
	coaxialOffset = 6e-3 // of the smaller part's diagonal
)

// judge measures the gap and scores every axis of either part.
func (w *work) judge(l *link, limit float64) {
	a, b := &w.parts[l.a], &w.parts[l.b]
	g, ok := mesh.Distance(a.mesh.BVH(), b.mesh.BVH(), mesh.Identity(), limit)
	if !ok {
		return
	}
	l.gap = g.Distance
	size := min(a.diagonal, b.diagonal)
	first := mates(a.mesh, b.mesh, l.gap+5e-3*size)
	for i := range first {
		first[i].first = true
	}
	l.mates = append(first, mates(b.mesh, a.mesh, l.gap+5e-3*size)...)
	used := make([]bool, len(b.lines))
	for i := range a.lines {
		la := &a.lines[i]
		match := -1
		for k := range b.lines {
			if !used[k] && coaxial(la, &b.lines[k], coaxialOffset*size) {
				match = k
				break
			}
		}
		if match < 0 {
			l.add(w.support(la, a, b, size, alone), side{}, size)
			continue
		}
		lb := &b.lines[match]
		used[match] = true
		sa, sb := w.support(la, a, b, size, shared), w.support(lb, b, a, size, shared)
		if sa.count > 0 && sb.count > 0 {
			l.add(sa, sb, size)
			continue
		}
		l.add(w.support(la, a, b, size, alone), side{}, size)
		l.add(side{}, w.support(lb, b, a, size, alone), size)
	}
	for k := range b.lines {
		if !used[k] {
			l.add(side{}, w.support(&b.lines[k], b, a, size, alone), size)
		}
	}
	slices.SortStableFunc(l.axes, func(x, y hypothesis) int { return compare(y.Score, x.Score) })
	l.addSlide(size)
	slices.SortStableFunc(l.axes, func(x, y hypothesis) int { return compare(y.Score, x.Score) })
}

func coaxial(a, b *line, offset float64) bool {
	return lineAngle(a.axis, b.axis) < coaxialAngle && fromLine(a.origin, b.origin, b.axis) < offset && fromLine(b.origin, a.origin, a.axis) < offset
}

// side is what one part says for an axis.
type side struct {
	line   *line
	size   float64 // of the part that shows it
	weight float64 // of the near rings, in model units
	radius float64 // largest near ring
	count  int
	centre r3.Vec // of the heaviest near ring
}

// How far, in radii, a ring may be from the other part to count half: farther
// where that shows the same line.
const (
	alone  = 0.15
	shared = 0.6
)

// support weighs the rings of a line that are near the other part. A large
// ring may be farther than a small one.
func (w *work) support(l *line, own, other *part, size, reach float64) side {
	s := side{line: l, size: own.diagonal}
	trust, box := l.trust(), other.mesh.Bounds()
	best := 0.0
	for i, r := range l.rings {
		if i == mostRings {
			break
		}
		near := 0.0
		for _, p := range r.points {
			if !inBox(box, p, 3*(reach*r.radius+0.01*size)) {
				continue // a tenth or less
			}
			_, _, d := other.mesh.BVH().Closest(p)
			x := d / (reach*r.radius + 0.01*size)
			near += 1 / (1 + x*x)
		}
		near /= float64(len(r.points))
		g := r.weight() * near * trust
		s.weight += g
		if near > 0.3 {
			s.count++
			s.radius = max(s.radius, r.radius)
		}
		if g > best {
			best, s.centre = g, r.centre
		}
	}
	return s
}

const farGap = 0.05 // of the smaller part's diagonal, a gap that halves a score

const mostRings = 24 // of a line that are weighed

const (
	sharp   = 2e-4 // radians, of a line that no other need be sharper than
	sharper = 4.0  // times as sharp decides
)

// add scores an axis.
func (l *link) add(a, b side, size float64) {
	lead := a
	if b.weight > a.weight {
		lead = b
	}
	// Of two parts that say about as much, the sharper one decides, and of two
	// equally sharp ones the smaller part, whose own axis it more likely is.
	if min(a.weight, b.weight) > max(a.weight, b.weight)/8 && a.count > 0 && b.count > 0 {
		switch {
		case a.line.tilt > sharper*b.line.tilt && a.line.tilt > sharp:
			lead = b
		case b.line.tilt > sharper*a.line.tilt && b.line.tilt > sharp:
			lead = a
		case b.size < a.size:
			lead = b
		default:
			lead = a
		}
	}
	if lead.count == 0 {
		return
	}
	axis, origin := lead.line.axis, lead.centre
	slips, area := slip(l.mates, origin, axis)
	// Rings beyond the third of equal size say little more.
	one := func(s side) float64 {
		if s.weight == 0 {
			return 0
		}
		w := s.weight / size
		if s.line.likes > 2 {
			w /= float64(s.line.likes)
		}
		return w / (w + 0.25)
	}
	wa, wb := one(a), one(b)
	score := 0.5*max(wa, wb) + min(wa, wb)
	if math.IsNaN(slips) {
		score *= 0.7
	} else {
		score *= 0.25 + 0.75*slips*slips
	}
	x := l.gap / (farGap * size)
	score /= 1 + x*x
	l.axes = append(l.axes, hypothesis{a.line, b.line, Axis{Kind: Revolute, Axis: axis, Origin: origin, Score: score, Evidence: Evidence{
		InParent: a.count, InChild: b.count, Radius: max(a.radius, b.radius), Gap: l.gap, Mating: area, Slips: slips,
	}}})
}

const (
	mateSamples = 1500
	leastMates  = 12
	mateLean    = 20 * math.Pi / 180 // between facing normals
	slipLean    = 0.12               // of the speed, across the face
)

// mates returns the pieces of a's faces that lie against b, closer than within.
func mates(a, b *mesh.Mesh, within float64) []mate {
	box := b.Bounds()
	var near []int
	for t := range a.Triangles() {
		if inBox(box, centre(a, t), within) {
			near = append(near, t)
		}
	}
	step := max(1, len(near)/mateSamples)
	var out []mate
	for i := 0; i < len(near); i += step {
		t := near[i]
		p, n := centre(a, t), a.AreaNormal(t)
		tri, _, d := b.BVH().Closest(p)
		if d > within || tri < 0 || angle(n, b.AreaNormal(tri)) < math.Pi-mateLean {
			continue
		}
		area := r3.Norm(n)
		if area > 0 {
			out = append(out, mate{at: p, normal: r3.Scale(1/area, n), area: area / 2 * float64(step)})
		}
	}
	return out
}

func centre(m *mesh.Mesh, t int) r3.Vec {
	a, b, c := m.Corners(t)
	return r3.Scale(1./3, r3.Add(a, r3.Add(b, c)))
}

func inBox(b r3.Box, p r3.Vec, by float64) bool {
	return p.X > b.Min.X-by && p.X < b.Max.X+by && p.Y > b.Min.Y-by && p.Y < b.Max.Y+by && p.Z > b.Min.Z-by && p.Z < b.Max.Z+by
}

// slip returns the share of the mating area that a turn about the axis leaves
// in contact, where the faces' speed lies in the face (N. Gelfand and
// L. Guibas, Shape Segmentation Using Local Slippage Analysis, 2004), and the
// area. The share is NaN where too little mates to tell.
func slip(mates []mate, o, axis r3.Vec) (share, area float64) {
	good := 0.0
	for _, m := range mates {
		v := r3.Cross(axis, r3.Sub(m.at, o))
		area += m.area
		if math.Abs(r3.Dot(v, m.normal)) <= slipLean*r3.Norm(v) {
			good += m.area
		}
	}
	if len(mates) < leastMates || area == 0 {
		return math.NaN(), area
	}
	return good / area, area
}

const (
	longSlide    = 4    // radii, of a barrel that is more likely to slide than to turn
	mostShoulder = 0.03 // of the mating area, that faces along the axis
)

// slides reports whether the mating faces make a long straight barrel about the
// axis without a shoulder, as a rod's in its guide: it turns and slides alike.
func (l *link) slides(o, axis r3.Vec) bool {
	lo, hi := math.Inf(1), math.Inf(-1)
	area, shoulder, radius := 0.0, 0.0, 0.0
	for _, m := range l.mates {
		area += m.area
		if math.Abs(r3.Dot(m.normal, axis)) > slipLean {
			shoulder += m.area
			continue
		}
		h := r3.Dot(r3.Sub(m.at, o), axis)
		lo, hi = min(lo, h), max(hi, h)
		radius += m.area * fromLine(m.at, o, axis)
	}
	return len(l.mates) >= leastMates && shoulder <= mostShoulder*area && hi-lo > longSlide*radius/area
}
