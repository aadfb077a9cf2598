package doc

import (
	"context"
	"fmt"
	"math"

	"pintle/kinematics"
	"pintle/kinematics/contact"
)

// Holding says which limits a joint of one freedom has, and why.
type Holding struct {
	Margin contact.Margin // that the suggested limits keep
	// Suggested are the limits that keep the margin from contact, Active those that
	// hold at each end.
	Suggested, Active contact.Limits
}

// DefaultMargin is what limits keep from contact where nothing else is said: two
// degrees, or a hundredth of a slide (common practice, no published source).
func (m *Motion) DefaultMargin() contact.Margin {
	if m.Freedom().Turns {
		return contact.Margin{Value: kinematics.Radians(2)}
	}
	return contact.Margin{Value: 0.01 * m.Shown().Span()}
}

// Limits returns which limits hold for a joint, by its own limits and by those
// that keep a margin from the contacts of its motion as modelled. It fails where
// the margin makes no sense, where the stance is not the one as modelled, and
// when ctx is done.
func (x *Stance) Limits(ctx context.Context, j Joint, m *Motion, margin contact.Margin) (*Holding, error) {
	if x.Motion != nil {
		return nil, fmt.Errorf("joint %q: limits count from the pose as modelled", j.Name)
	}
	var own *kinematics.Range
	if r, ok := j.Limit(0); ok {
		own = &r
	}
	h, err := holding(ctx, x.scene, own, m.Free, margin)
	if err != nil {
		return nil, fmt.Errorf("joint %q: %w", j.Name, err)
	}
	return h, nil
}

func holding(ctx context.Context, scene *contact.Scene, own *kinematics.Range, free contact.Result, margin contact.Margin) (*Holding, error) {
	h := &Holding{Margin: margin}
	var err error
	if h.Suggested, err = scene.Suggest(ctx, free, kinematics.Unlimited(), margin); err != nil {
		return nil, err
	}
	h.Active = scene.Active(own, free, h.Suggested)
	return h, nil
}

// Range returns the limits to take over; ok is false where nothing stops the
// joint, or where the margin leaves nothing to move in.
func (h *Holding) Range() (r kinematics.Range, ok bool) {
	r = h.Suggested.Range()
	return r, r.Upper > r.Lower && !(math.IsInf(r.Lower, 0) && math.IsInf(r.Upper, 0))
}
