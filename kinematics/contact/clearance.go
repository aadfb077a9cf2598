package contact

import (
	"context"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/kinematics/internal/task"
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
	err := task.InTwo(2, func(i int) error {
		lo, hi := i*half, min(len(angles), (i+1)*half)
		x := newNearest(ctx, s)
		for k := lo; k < hi; k++ {
			if err := x.step(angles[k]); err != nil {
				return err
			}
			out[k] = x.proximity().Distance
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
	if err := x.at(0); err != nil {
		return Proximity{}, fmt.Errorf("running fit: %w", err)
	}
	return x.proximity(), nil
}

// Closest returns where the moving bodies, turned by the angle, come nearest to
// the still ones; what counts is as for Clearance.
func (s *Scene) Closest(ctx context.Context, angle float64) (Proximity, error) {
	x := newNearest(ctx, s)
	if err := x.step(angle); err != nil {
		return Proximity{}, fmt.Errorf("closest points: %w", err)
	}
	return x.proximity(), nil
}

// ClearanceAt is Closest for a part that is dragged: hint is what it returned for
// a value nearby, and makes it quick, whatever it is; an empty one is no hint. Of
// pairs equally near to rounding it returns any one.
func (s *Scene) ClearanceAt(ctx context.Context, value float64, hint Proximity) (Proximity, error) {
	if math.IsNaN(value) || math.IsInf(value, 0) {
		return Proximity{}, fmt.Errorf("clearance: value %v is not finite", value)
	}
	x := newNearest(ctx, s)
	x.slack = tie
	var seeds []distant
	if d, ok := x.hinted(hint); ok {
		seeds = []distant{d}
	}
	if err := x.at(s.inner(value), seeds...); err != nil {
		return Proximity{}, fmt.Errorf("clearance: %w", err)
	}
	return x.proximity(), nil
}

// hinted returns the triangles of a hint if they are such that count.
func (x *nearest) hinted(h Proximity) (d distant, ok bool) {
	d.mi, d.moving = find(x.scene.moving, h.Moving, h.MovingTri)
	d.si, d.still = find(x.scene.still, h.Still, h.StillTri)
	if d.mi < 0 || d.si < 0 {
		return d, false
	}
	m, s := x.scene.moving[d.mi], x.scene.still[d.si]
	return d, m.active[d.moving] != 0 && s.active[d.still] != 0 &&
		x.counts(patchPair{d.mi, d.si, m.patches()[d.moving], s.patches()[d.still]})
}

// find returns the side of a body and its triangle, -1 if it has none such.
func find(sides []*side, body, tri int) (i, t int32) {
	for i, s := range sides {
		if s.body == body && tri >= 0 && tri < len(s.tris) {
			return int32(i), int32(tri)
		}
	}
	return -1, -1
}

// Reach returns the largest distance of a moving point from the axis, in model
// units: no moving point of a hinge travels further than this per radian.
func (s *Scene) Reach() float64 { return radiusOf(s.moving) / s.frame.scale }

// radiusOf returns how far from the axis what counts of some sides reaches.
func radiusOf(sides []*side) float64 {
	r := 0.0
	for _, m := range sides {
		r = max(r, m.bounds[0].rHi)
	}
	return r
}

// step finds the smallest distance at a value in model terms; the nearest pair
// of the last value gives the first upper bound.
func (x *nearest) step(value float64) error {
	if math.IsNaN(value) || math.IsInf(value, 0) {
		return fmt.Errorf("value %v is not finite", value)
	}
	value = x.scene.inner(value)
	if x.found {
		return x.at(value, x.best)
	}
	return x.at(value)
}
