package find

import (
	"context"
	"math"
	"slices"

	"pintle/fit/mesh"
)

// link is a pair of near parts, a < b, with what could join them.
type link struct {
	a, b   int
	gap    float64 // least distance of the parts
	size   float64 // the smaller part's diagonal
	za, zb []spot  // the near surface of either part
	mates  []mate  // the faces of both that lie against one another
	axes   []hypothesis
	twins  []twin
}

// hypothesis is an axis with the lines that it stands on, nil where a part has
// none.
type hypothesis struct {
	a, b  *line
	feats features
	p     float64 // probability, after rank
	Axis
}

// links returns the pairs of near parts in the order of their indexes, with
// their hypotheses.
func (w *work) links(ctx context.Context) ([]link, error) {
	var near []link
	for a := range w.parts {
		for b := a + 1; b < len(w.parts); b++ {
			if w.parts[a].diagonal > 0 && w.parts[b].diagonal > 0 && mesh.BoxGap(w.parts[a].mesh, w.parts[b].mesh) <= w.reach(a, b) {
				near = append(near, link{a: a, b: b, gap: math.Inf(1), size: min(w.parts[a].diagonal, w.parts[b].diagonal)})
			}
		}
	}
	err := each(ctx, len(near), func(i int) { w.judge(ctx, &near[i]) }, func(done int) {
		w.opt.progress(0.6+0.4*float64(done)/float64(len(near)), "Comparing parts: pair %d of %d", done, len(near))
	})
	if err != nil {
		return nil, err
	}
	near = slices.DeleteFunc(near, func(l link) bool { return math.IsInf(l.gap, 1) })
	shapes := w.shapes()
	f := w.families(shapes)
	w.twins(near, shapes, &f)
	for i := range near {
		near[i].addTwins()
	}
	w.seats(near, shapes, &f)
	for i := range near {
		near[i].unlike(&f)
	}
	return near, nil
}

// reach is the largest gap over which two parts may be joined.
func (w *work) reach(a, b int) float64 {
	return max(w.opt.Near*w.diagonal, farReach*min(w.parts[a].diagonal, w.parts[b].diagonal))
}

const farReach = 0.12 // of the smaller part's diagonal

// Axes of two parts are one where they agree within these.
const (
	coaxialAngle  = 0.4 * math.Pi / 180
	coaxialOffset = 6e-3 // of the smaller part's diagonal
)

// judge measures the gap, looks at the surfaces that are near and collects the
// axes of either part.
func (w *work) judge(ctx context.Context, l *link) {
	a, b := &w.parts[l.a], &w.parts[l.b]
	g, ok := mesh.Distance(a.mesh.BVH(), b.mesh.BVH(), mesh.Identity(), w.reach(l.a, l.b))
	if !ok {
		return
	}
	l.gap = g.Distance
	l.za, l.zb = zone(a.mesh, b.mesh, l.gap, l.size), zone(b.mesh, a.mesh, l.gap, l.size)
	l.mates = mates(a.mesh, b.mesh, l.gap+mateGap*l.size)
	if ctx.Err() != nil {
		return
	}
	w.axes(l)
	l.addSlide()
	l.settle()
}

// axes adds the lines of either part, those of both as one.
func (w *work) axes(l *link) {
	a, b := &w.parts[l.a], &w.parts[l.b]
	used := make([]bool, len(b.lines))
	for i := range a.lines {
		la := &a.lines[i]
		match := slices.IndexFunc(b.lines, func(lb line) bool { return coaxial(la, &lb, coaxialOffset*l.size) })
		if match < 0 || used[match] {
			l.add(support(la, a, b, l.size, alone), side{})
			continue
		}
		lb := &b.lines[match]
		used[match] = true
		sa, sb := support(la, a, b, l.size, shared), support(lb, b, a, l.size, shared)
		if sa.count > 0 && sb.count > 0 {
			l.add(sa, sb)
			continue
		}
		l.add(support(la, a, b, l.size, alone), side{})
		l.add(side{}, support(lb, b, a, l.size, alone))
	}
	for k := range b.lines {
		if !used[k] {
			l.add(side{}, support(&b.lines[k], b, a, l.size, alone))
		}
	}
}

func coaxial(a, b *line, offset float64) bool {
	turn := coaxialAngle + min(sameSigmas*math.Hypot(a.tilt, b.tilt), mostLineAngle)
	if lineAngle(a.axis, b.axis) >= turn {
		return false
	}
	offset += min(sameSigmas*math.Hypot(a.shift, b.shift), offset)
	return fromLine(a.origin, b.origin, b.axis) < offset && fromLine(b.origin, a.origin, a.axis) < offset
}

// settle sorts the hypotheses, joins those that are one axis to the user and
// drops the hopeless.
func (l *link) settle() {
	slices.SortStableFunc(l.axes, func(x, y hypothesis) int { return compare(y.Score, x.Score) })
	var out []hypothesis
	for _, h := range l.axes {
		if len(out) < mostAxes && !slices.ContainsFunc(out, func(o hypothesis) bool { return o.same(h, l.size) }) {
			out = append(out, h)
		}
	}
	l.axes = out
}

const mostAxes = 12 // hypotheses of a pair

// Axes closer than these are one to the user.
const (
	oneAxisAngle  = 0.007 // radians
	oneAxisOffset = 4e-3  // of the smaller part's diagonal
)

// same reports whether two hypotheses are the same motion to the user.
func (h hypothesis) same(o hypothesis, size float64) bool {
	if h.Kind != o.Kind || lineAngle(h.Axis.Axis, o.Axis.Axis) >= oneAxisAngle {
		return false
	}
	return h.Kind == Prismatic || fromLine(h.Origin, o.Origin, o.Axis.Axis) < oneAxisOffset*size
}
