package contact

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"pintle/kinematics"
	"pintle/kinematics/internal/task"
)

// DefaultCurveError is the certified error of a curve relative to the diagonal
// of all bodies.
const DefaultCurveError = 1e-4

// CurveOptions guide Curve. The zero value is ready to use.
type CurveOptions struct {
	// Error is how exact the curve has to be, in model units: at every value the
	// true distance differs by no more from the straight line between the
	// samples beside it. Zero means DefaultCurveError times the diagonal.
	Error float64
	// Least asks for the smallest distance alone to be that exact: where it
	// cannot be, the curve stays coarse.
	Least bool
	// Most is the largest number of samples; zero means 20 000.
	Most int
	// Progress, if not nil, is called with the done share, 0 to 1.
	Progress func(done float64, what string)
}

// Sample is the smallest distance at a value of the motion.
type Sample struct {
	Value float64
	Proximity
}

// Curve is the clearance over a range of values, by rising value.
type Curve struct {
	Samples []Sample
	// Error is certified: at no value of the range does the true distance differ
	// by more from the straight line between the samples beside it. It is above
	// what was asked for only where Least was, or Most samples did not do.
	Error float64
	// Lowest is a certified lower bound on the distance anywhere in the range.
	Lowest float64
	// Minima are the local minima that are deeper than twice the error, ends of
	// the range included, by rising value; those inside the range are located to
	// rounding of the distance.
	Minima []Sample
}

// At returns the curve's distance at a value: that of the line between the
// samples beside it, or of the nearest end outside the range.
func (c *Curve) At(value float64) float64 {
	n := len(c.Samples)
	if n == 0 {
		return math.NaN()
	}
	if n == 1 || value <= c.Samples[0].Value {
		return c.Samples[0].Distance
	}
	i, _ := slices.BinarySearchFunc(c.Samples, value, func(s Sample, v float64) int { return cmp.Compare(s.Value, v) })
	i = min(max(i, 1), n-1)
	a, b := &c.Samples[i-1], &c.Samples[i]
	if value >= b.Value || a.Distance == b.Distance {
		return b.Distance
	}
	s := (value - a.Value) / (b.Value - a.Value)
	return (1-s)*a.Distance + s*b.Distance
}

// Curve returns the clearance over a range with a certified error. What counts
// is as for Clearance. Where nothing counts every distance is +Inf.
//
// The squared distance of two points under a motion has a bounded second
// derivative; so between two samples the squared clearance is bounded below by
// a parabola, and above by what the nearest points of either sample are apart.
// Samples are added until both bounds agree. The result does not depend on the
// number of processors. It returns an error if the range or the options make no
// sense or ctx is done.
func (s *Scene) Curve(ctx context.Context, over kinematics.Range, o CurveOptions) (*Curve, error) {
	if err := over.Check(); err != nil {
		return nil, fmt.Errorf("clearance curve: %w", err)
	}
	if math.IsInf(over.Lower, 0) || math.IsInf(over.Upper, 0) {
		return nil, fmt.Errorf("clearance curve: range %g to %g is not finite", over.Lower, over.Upper)
	}
	if o.Error == 0 {
		o.Error = DefaultCurveError * s.size
	}
	if !(o.Error > 0) || math.IsInf(o.Error, 0) {
		return nil, fmt.Errorf("clearance curve: error %g: give a positive length in model units", o.Error)
	}
	if o.Most <= 0 {
		o.Most = 20_000
	}
	d := drafter{
		scene: s, ctx: ctx, error: o.Error * s.frame.scale, least: o.Least, most: o.Most,
		rm: radiusOf(s.moving), rs: radiusOf(s.still),
	}
	c, err := d.draw(kinematics.Range{Lower: s.inner(over.Lower), Upper: s.inner(over.Upper)}, o.Progress)
	if err != nil {
		return nil, fmt.Errorf("clearance curve: %w", err)
	}
	return c, nil
}

// drafter draws one curve, all in axis-frame units.
type drafter struct {
	scene  *Scene
	ctx    context.Context
	error  float64
	least  bool
	most   int
	rm, rs float64 // reach of the moving and the still side
	bound  float64 // with least: an upper bound on the smallest distance
}

// chunks is how many parts a range is drawn in, whatever the number of
// processors.
const chunks = 32

// tie is how far above the smallest distance one may lie that stands for it,
// so that of very many pairs equally far apart not all are looked at.
const tie = 4 * angleEps

func (d *drafter) draw(over kinematics.Range, progress func(float64, string)) (*Curve, error) {
	d.scene.prepare()
	ends, err := d.frame(over)
	if err != nil {
		return nil, err
	}
	if math.IsInf(ends[0].top, 1) || len(ends) == 1 {
		return d.plain(ends), nil
	}
	d.bound = math.Inf(1)
	for _, e := range ends {
		d.bound = min(d.bound, e.top)
	}
	parts := make([]part, len(ends)-1)
	err = task.InTwo(len(parts), func(i int) error {
		parts[i] = part{d: d, near: d.seeker(), bound: d.bound}
		return parts[i].draw(ends[i], ends[i+1])
	}, func(done int) { report(progress, float64(done)/float64(len(parts)), "clearance") })
	if err != nil {
		return nil, err
	}
	spots := []*spot{ends[0]}
	c := &Curve{Lowest: math.Inf(1)}
	for i := range parts {
		spots = append(spots, parts[i].spots...)
		c.Error = max(c.Error, parts[i].error/d.scene.frame.scale)
		c.Lowest = min(c.Lowest, parts[i].lowest/d.scene.frame.scale)
	}
	for _, p := range spots {
		c.Samples = append(c.Samples, d.sample(p))
	}
	if err := d.findMinima(c, spots); err != nil {
		return nil, err
	}
	return c, nil
}

// seeker returns a search for smallest distances that is exact enough.
func (d *drafter) seeker() *nearest {
	x := newNearest(d.ctx, d.scene)
	x.slack = max(d.error/6, tie)
	return x
}

// frame finds the distances at the ends of all parts of a range.
func (d *drafter) frame(over kinematics.Range) ([]*spot, error) {
	if over.Span() <= 0 {
		p, err := d.measure(d.seeker(), over.Lower, 0)
		return []*spot{p}, err
	}
	spots := make([]*spot, chunks+1)
	err := task.InTwo(2, func(half int) error {
		x := d.seeker()
		lo, hi := half*(chunks/2+1), min((half+1)*(chunks/2+1), len(spots))
		var seeds []distant
		for i := lo; i < hi; i++ {
			s := float64(i) / chunks
			p, err := d.measure(x, over.Lower*(1-s)+over.Upper*s, 0, seeds...)
			if err != nil {
				return err
			}
			spots[i] = p
			if x.found {
				seeds = []distant{x.best}
			}
		}
		return nil
	}, nil)
	return spots, err
}

// measure finds the distance at a value, known to be no less than floor.
func (d *drafter) measure(x *nearest, value, floor float64, seeds ...distant) (*spot, error) {
	x.floor = floor
	if err := x.at(value, seeds...); err != nil {
		return nil, err
	}
	p := &spot{value: value, top: x.best.distance, pair: x.best, p: x.place.undo(x.p), q: x.q}
	p.low = min(p.top, max(floor, p.top-x.slack-angleEps, 0))
	return p, nil
}

// plain returns the curve where nothing counts, or of a single value.
func (d *drafter) plain(spots []*spot) *Curve {
	c := &Curve{Lowest: math.Inf(1)}
	for _, p := range spots {
		c.Samples = append(c.Samples, d.sample(p))
		c.Lowest = min(c.Lowest, p.low/d.scene.frame.scale)
	}
	if n := len(spots); n > 1 {
		c.Samples = []Sample{c.Samples[0], c.Samples[n-1]}
		return c
	}
	c.Error = spots[0].top/d.scene.frame.scale - c.Lowest
	if math.IsInf(c.Lowest, 1) {
		c.Error = 0
		return c
	}
	c.Minima = []Sample{c.Samples[0]}
	return c
}

func (d *drafter) sample(p *spot) Sample {
	s := d.scene
	if math.IsInf(p.top, 1) {
		x := nearest{scene: s}
		return Sample{s.outer(p.value), x.proximity()}
	}
	at := s.motion.at(p.value)
	x := nearest{scene: s, best: p.pair, p: at.apply(p.p), q: p.q, found: true}
	x.best.distance = p.top
	return Sample{s.outer(p.value), x.proximity()}
}

// part is one part of a curve in the making.
type part struct {
	d      *drafter
	near   *nearest
	bound  float64
	spots  []*spot // but the first
	error  float64
	lowest float64
}

// draw adds spots between two until the curve is exact enough.
func (x *part) draw(a, b *spot) error {
	x.lowest = math.Inf(1)
	ahead := []*spot{b}
	for len(ahead) > 0 {
		b := ahead[len(ahead)-1]
		t := newStretch(x.d.scene.motion, a, b, x.d.rm, x.d.rs)
		m, err := x.between(&t, len(x.spots)+len(ahead))
		if err != nil {
			return err
		}
		if m != nil {
			ahead = append(ahead, m)
			continue
		}
		x.spots = append(x.spots, b)
		a, ahead = b, ahead[:len(ahead)-1]
	}
	return nil
}

// between returns a spot between the ends of a stretch, or nil where the curve
// needs none; n is how many there are.
func (x *part) between(t *stretch, n int) (*spot, error) {
	under, s := t.under()
	over, least := t.over(), t.least()
	x.bound = min(x.bound, t.b.top)
	enough := max(under, over) <= x.d.error
	if x.d.least {
		enough = least >= x.bound-x.d.error
	}
	span := t.b.value - t.a.value
	if enough || n >= x.d.most/chunks || span <= 1e-13*max(math.Abs(t.a.value), math.Abs(t.b.value), 1) {
		x.error, x.lowest = max(x.error, under, over), min(x.lowest, least)
		return nil, nil
	}
	if x.d.least || under <= x.d.error || s < 0.05 || s > 0.95 {
		s = 0.5
	}
	v := t.a.value + s*span
	if !(v > t.a.value && v < t.b.value) {
		v = t.a.value + span/2
	}
	s = (v - t.a.value) / span
	return x.d.measure(x.near, v, t.floor(s), t.a.pair, t.b.pair)
}
