package contact

import (
	"context"
	"math"

	"pintle/kinematics"
)

// fallsTo returns the first value, counted in direction dir and up to reach, at
// which the clearance falls to d, a length in model units: 0 where it is never
// above d before reach; not ok if it stays above. Up to there the clearance is
// certified not to be below d, but for where it is as modelled.
func (s *Scene) fallsTo(ctx context.Context, d, dir, reach float64) (value float64, ok bool, err error) {
	reach = min(s.inner(reach), s.farthest(d))
	if reach <= 0 {
		return 0, true, nil
	}
	over := kinematics.Range{Upper: s.outer(reach)}
	if dir < 0 {
		over = over.Reversed()
	}
	c, err := s.Curve(ctx, over, CurveOptions{Error: max(d/16, 1e-9*s.size)})
	if err != nil {
		return 0, false, err
	}
	samples := c.Samples
	from := math.NaN()
	for i := range samples {
		x := &samples[i]
		if dir < 0 {
			x = &samples[len(samples)-1-i]
		}
		if x.Distance >= d {
			from = dir * s.inner(x.Value)
			break
		}
	}
	if math.IsNaN(from) {
		return 0, true, nil
	}
	f := faller{
		drafter: drafter{scene: s, ctx: ctx, rm: radiusOf(s.moving), rs: radiusOf(s.still)},
		level:   d * s.frame.scale, dir: dir, fine: 1e-10 * max(1, reach),
	}
	f.near = newNearest(ctx, s)
	f.near.slack = tie
	value, ok, err = f.first(from, reach)
	return s.outer(value), ok, err
}

// farthest returns a value, in axis-frame units, beyond which nothing new comes
// nearer than d: a full turn, or a travel by which everything has passed.
func (s *Scene) farthest(d float64) float64 {
	if s.motion.hinge() {
		return fullTurn
	}
	return min((4+d*s.frame.scale)/math.Abs(s.motion.rate), mostTurns*turn)
}

// faller looks for where the clearance falls to a level, all in axis-frame units.
type faller struct {
	drafter
	near  *nearest
	level float64
	dir   float64
	fine  float64 // how near the value is located
}

// first returns the first value between two, counted in direction dir, where
// the clearance falls to the level.
func (f *faller) first(from, to float64) (value float64, ok bool, err error) {
	a, err := f.measure(f.near, f.dir*from, 0)
	if err != nil {
		return 0, false, err
	}
	b, err := f.measure(f.near, f.dir*to, 0, a.pair)
	if err != nil {
		return 0, false, err
	}
	return f.between(a, b)
}

// between is first between two spots, the first of which is above the level.
// Stretches whose lower bound is above it are passed over; a stretch that the
// level may be reached in is halved, its near half first.
func (f *faller) between(a, b *spot) (value float64, ok bool, err error) {
	ahead := []*spot{b}
	for len(ahead) > 0 {
		b := ahead[len(ahead)-1]
		lo, hi := a, b
		if f.dir < 0 {
			lo, hi = b, a
		}
		t := newStretch(f.scene.motion, lo, hi, f.rm, f.rs)
		if math.IsInf(lo.top, 1) || t.least() > f.level {
			a, ahead = b, ahead[:len(ahead)-1]
			continue
		}
		if math.Abs(b.value-a.value) <= f.fine {
			if b.top > f.level && a.top > f.level && len(ahead) > 1 {
				a, ahead = b, ahead[:len(ahead)-1] // it touches the level to rounding
				continue
			}
			return f.dir * a.value, true, nil
		}
		m, err := f.measure(f.near, (a.value+b.value)/2, t.floor(0.5), a.pair, b.pair)
		if err != nil {
			return 0, false, err
		}
		ahead = append(ahead, m)
	}
	return 0, false, nil
}
