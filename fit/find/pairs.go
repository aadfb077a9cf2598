package find

import (
	"context"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/find/slippage"
	"pintle/fit/mesh"
)

// Pair is two parts that are near one another, with what could join them.
type Pair struct {
	A, B       int     // indexes of parts, A < B
	Gap        float64 // least distance, model units
	Axes       []Axis  // best first; InParent counts A's circles, InChild B's
	Confidence float64 // that the first axis is a joint's if the two are joined at all; 0 without axes
}

// Pairs returns every pair of parts that are closer than Near, in the order of
// their indexes, each by itself: what the other pairs show, which Joints weighs,
// does not count. It fails as Joints does.
func Pairs(ctx context.Context, parts []mesh.Part, o Options) ([]Pair, error) {
	if len(parts) > maxParts {
		return nil, fmt.Errorf("comparing parts: the model has %d parts, the limit is %d", len(parts), maxParts)
	}
	if !(o.Near > 0) {
		o.Near = defaultNear
	}
	w, err := survey(ctx, parts, o)
	if err != nil {
		return nil, fmt.Errorf("comparing parts: %w", err)
	}
	limit := o.Near * w.diagonal
	var near []link
	for a := range w.parts {
		for b := a + 1; b < len(w.parts); b++ {
			if p, q := w.parts[a], w.parts[b]; p.diagonal > 0 && q.diagonal > 0 && mesh.BoxGap(p.mesh, q.mesh) <= limit {
				near = append(near, link{a: a, b: b, gap: math.Inf(1), size: min(p.diagonal, q.diagonal)})
			}
		}
	}
	out := make([]Pair, len(near))
	err = each(ctx, len(near), func(i int) { out[i] = w.plainly(&near[i], limit) }, func(done int) {
		o.progress(0.6+0.4*float64(done)/float64(len(near)), "Comparing parts: pair %d of %d", done, len(near))
	})
	if err != nil {
		return nil, fmt.Errorf("comparing parts: %w", err)
	}
	return slices.DeleteFunc(out, func(p Pair) bool { return math.IsInf(p.Gap, 1) }), nil
}

// plainly looks at a pair by itself.
func (w *work) plainly(l *link, limit float64) Pair {
	p := Pair{A: l.a, B: l.b, Gap: math.Inf(1)}
	a, b := w.parts[l.a].mesh, w.parts[l.b].mesh
	g, ok := mesh.Distance(a.BVH(), b.BVH(), mesh.Identity(), limit)
	if !ok {
		return p
	}
	l.gap, p.Gap = g.Distance, g.Distance
	if l.gap > farReach*l.size {
		return p
	}
	l.mates = append(against(a, b, l.gap+plainGap*l.size, true), against(b, a, l.gap+plainGap*l.size, false)...)
	w.axes(l)
	for _, h := range l.axes {
		h.Score = l.plainScore(h)
		p.Axes = append(p.Axes, h.Axis)
	}
	if x, ok := l.guide(p.Axes); ok {
		p.Axes = append(p.Axes, x)
	}
	slices.SortStableFunc(p.Axes, func(x, y Axis) int { return compare(y.Score, x.Score) })
	if len(p.Axes) > 0 {
		p.Confidence = plainConfidence(p.Axes, l.size)
	}
	return p
}

const (
	plainGap   = 5e-3 // of the smaller part's diagonal, beyond the least gap
	plainSpots = 1500
)

// against returns triangles of a that lie against b, closer than within. Every
// triangle counts alike, so that the many small ones of round faces tell more
// than the few of flat ones, which slip whatever turns.
func against(a, b *mesh.Mesh, within float64, first bool) []mate {
	box := b.Bounds()
	var near []int
	for t := range a.Triangles() {
		if inBox(box, centre(a, t), within) {
			near = append(near, t)
		}
	}
	step := max(1, len(near)/plainSpots)
	var out []mate
	for i := 0; i < len(near); i += step {
		at, n := centre(a, near[i]), a.AreaNormal(near[i])
		area := r3.Norm(n)
		if !(area > 0) {
			continue
		}
		tri, _, d := b.BVH().Closest(at)
		if o := b.AreaNormal(tri); d <= within && r3.Dot(n, o) <= -mateLean*area*r3.Norm(o) {
			out = append(out, mate{at: at, normal: r3.Scale(1/area, n), area: area / 2 * float64(step), first: first})
		}
	}
	return out
}

// plainScore is 0 to 1.5: by the circles of both sides, what the mating faces
// keep, and the gap. An axis that one side alone shows should go through the
// middle of the mating faces.
func (l *link) plainScore(h hypothesis) float64 {
	s := 0.5*h.feats[fMost] + h.feats[fBoth]
	if k := h.Evidence.Slips; math.IsNaN(k) {
		s *= 0.7
	} else {
		s *= 0.25 + 0.75*k*k
		if h.feats[fBoth] == 0 {
			s *= l.central(h.Axis)
		}
	}
	return s * h.feats[fGap]
}

// central is 1 for an axis through the middle of the mating faces and a half for
// one as far from it as they are on average.
func (l *link) central(x Axis) float64 {
	var c r3.Vec
	area, spread := 0.0, 0.0
	for _, m := range l.mates {
		c, area = r3.Add(c, r3.Scale(m.area, m.at)), area+m.area
	}
	c = r3.Scale(1/area, c)
	for _, m := range l.mates {
		spread += m.area / area * r3.Norm2(r3.Sub(m.at, c))
	}
	d := fromLine(c, x.Origin, x.Axis)
	return spread / (spread + d*d + 1e-12*l.size*l.size)
}

// plainConfidence rests on the score and its lead over the next other axis.
func plainConfidence(axes []Axis, size float64) float64 {
	s, lead := axes[0].Score, 1.0
	for _, x := range axes[1:] {
		if lineAngle(x.Axis, axes[0].Axis) >= oneAxisAngle || fromLine(x.Origin, axes[0].Origin, axes[0].Axis) >= oneAxisOffset*size {
			lead = 1 - x.Score/s
			break
		}
	}
	return min(max(s/(s+0.03)*(0.4+0.6*math.Sqrt(max(lead, 0))), 0), 1)
}

const (
	guideFlat  = 1e-3 // share of the mating area that faces along the slide
	guideWay   = 0.02 // least share that faces in every direction across it
	guideRound = 0.35 // most that the normals of one side add up to: the guide goes round
	guideScore = 0.2
	leastGuide = 0.02 // of the smaller part's diagonal squared, mating area
)

// guide is the direction in which the parts slide along one another where all
// mating faces stand along it and go round it. Only parts without a common axis
// of revolution need it.
func (l *link) guide(axes []Axis) (Axis, bool) {
	for _, x := range axes {
		if x.Evidence.InParent > 0 && x.Evidence.InChild > 0 && x.Score > guideScore/4 {
			return Axis{}, false
		}
	}
	n, ok := spreadOf(l.mates)
	if !ok || len(l.mates) < leastMates || n.area < leastGuide*l.size*l.size {
		return Axis{}, false
	}
	if n.values[0] > guideFlat*n.area || n.values[1] < guideWay*n.area || r3.Norm(n.first) > guideRound*n.area/2 {
		return Axis{}, false
	}
	h := hypothesis{Axis: Axis{Kind: Prismatic, Axis: n.least, Origin: n.middle, Score: guideScore}}
	l.slips(&h, slippage.Along(h.Axis.Axis))
	return h.Axis, true
}
