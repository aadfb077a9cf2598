package contact

import (
	"context"
	"fmt"
	"math"

	"pintle/kinematics"
)

// Reason says what sets an end of the range that a joint may be driven over.
type Reason string

// The reasons of a limit.
const (
	ByUser    Reason = "user"    // the limit that was given
	ByContact Reason = "contact" // parts meet there
	ByMargin  Reason = "margin"  // a contact, less the margin kept from it
	ByKind    Reason = "kind"    // nothing stops it: the range of its kind of joint
)

// Margin is what a limit keeps from contact: both where both are given.
type Margin struct {
	Value     float64 // of the motion: radians, or model units for a slider
	Clearance float64 // smallest distance of the parts, model units
}

// Limit is one end of a range with what sets it.
type Limit struct {
	Value  float64 // may be infinite where Reason is ByKind
	Reason Reason
	Event  *Event // the contact behind it, nil where there is none
	Why    string // a clause for people, values in degrees or model units
}

// Limits are both ends of a range.
type Limits struct {
	Lower, Upper Limit
}

// Range returns the values of both ends.
func (l Limits) Range() kinematics.Range {
	return kinematics.Range{Lower: l.Lower.Value, Upper: l.Upper.Value}
}

// Suggest returns limits that keep a margin from the contacts of a free range.
// Where nothing stops the part the limit is that of its kind, which must hold
// zero and may be infinite. A margin of clearance ends the range where the
// clearance first falls to it; one that is not kept as modelled counts once it
// has been. No limit lies beyond the pose as modelled. It returns an error if the
// margin is negative or not finite, if the range makes no sense, or if ctx is
// done.
func (s *Scene) Suggest(ctx context.Context, free Result, kind kinematics.Range, m Margin) (Limits, error) {
	if err := kind.Check(); err != nil {
		return Limits{}, fmt.Errorf("suggesting limits: %w", err)
	}
	if !kind.Contains(0) {
		return Limits{}, fmt.Errorf("suggesting limits: range %g to %g does not hold zero, the pose as modelled", kind.Lower, kind.Upper)
	}
	for _, v := range [2]float64{m.Value, m.Clearance} {
		if !(v >= 0) || math.IsInf(v, 0) {
			return Limits{}, fmt.Errorf("suggesting limits: margin %g: give one that is finite and not negative", v)
		}
	}
	lower, err := s.suggest(ctx, free.Lower, -1, -kind.Lower, m)
	if err != nil {
		return Limits{}, fmt.Errorf("suggesting limits: %w", err)
	}
	upper, err := s.suggest(ctx, free.Upper, 1, kind.Upper, m)
	if err != nil {
		return Limits{}, fmt.Errorf("suggesting limits: %w", err)
	}
	return Limits{Lower: lower, Upper: upper}, nil
}

// suggest returns the limit in direction dir; end is that of the kind, counted
// in that direction.
func (s *Scene) suggest(ctx context.Context, e *Event, dir, end float64, m Margin) (Limit, error) {
	l := Limit{Value: dir * end, Reason: ByKind, Why: "nothing stops it"}
	reach := end
	if e != nil && dir*e.Value <= end {
		reach = dir * e.Value
		l = Limit{Value: e.Value, Reason: ByContact, Event: e, Why: s.meets(e)}
		if m.Value > 0 {
			l.Value, l.Reason = dir*max(reach-m.Value, 0), ByMargin
			l.Why = fmt.Sprintf("kept %s from where %s", s.text(m.Value), l.Why)
		}
	}
	if m.Clearance == 0 {
		return l, nil
	}
	v, ok, err := s.fallsTo(ctx, m.Clearance, dir, reach)
	if err != nil || !ok || v >= dir*l.Value {
		return l, err
	}
	p, err := s.ClearanceAt(ctx, dir*v, Proximity{})
	if err != nil {
		return l, err
	}
	l.Value, l.Reason = dir*v, ByMargin
	if v == 0 {
		l.Value, l.Why = 0, fmt.Sprintf("as modelled %s are only %.6g apart, and never come %.6g apart", s.names(p.Moving, p.Still), p.Distance, m.Clearance)
		return l, nil
	}
	l.Why = fmt.Sprintf("beyond it %s come nearer than %.6g", s.names(p.Moving, p.Still), m.Clearance)
	return l, nil
}

// names names two bodies.
func (s *Scene) names(moving, still int) string {
	name := func(group, i int, or string) string {
		if i < 0 || i >= len(s.bodies[group]) || s.bodies[group][i].Name == "" {
			return or
		}
		return fmt.Sprintf("%q", s.bodies[group][i].Name)
	}
	return name(0, moving, "the moving part") + " and " + name(1, still, "the still part")
}

// meets says which bodies meet at an event, and where.
func (s *Scene) meets(e *Event) string {
	if e.AtRest {
		return s.names(e.Moving, e.Still) + " touch as modelled"
	}
	return fmt.Sprintf("%s meet at %s", s.names(e.Moving, e.Still), s.text(e.Value))
}

// text writes a value of the motion in degrees or model units.
func (s *Scene) text(value float64) string {
	if s.motion.turns {
		return fmt.Sprintf("%.4g deg", kinematics.Degrees(value))
	}
	return fmt.Sprintf("%.6g", value)
}

// Active returns the limits that hold for a joint with the limits of the user's,
// nil if there are none: at each end the user's, unless a contact of the free
// range comes before it; without one, what is suggested.
func (s *Scene) Active(user *kinematics.Range, free Result, suggested Limits) Limits {
	if user == nil {
		return suggested
	}
	return Limits{
		Lower: s.active(user.Lower, free.Lower, suggested.Lower, -1),
		Upper: s.active(user.Upper, free.Upper, suggested.Upper, 1),
	}
}

func (s *Scene) active(user float64, e *Event, suggested Limit, dir float64) Limit {
	const same = 1e-9
	switch {
	case !math.IsInf(user, 0) && math.Abs(user-suggested.Value) <= same*max(1, math.Abs(user)):
		return suggested
	case math.IsInf(user, 0):
		if e == nil {
			return Limit{Value: user, Reason: ByKind, Why: "nothing stops it"}
		}
		return Limit{Value: e.Value, Reason: ByContact, Event: e, Why: s.meets(e)}
	case e != nil && dir*(user-e.Value) > 0:
		return Limit{Value: e.Value, Reason: ByContact, Event: e, Why: fmt.Sprintf("%s, before the limit of %s", s.meets(e), s.text(user))}
	}
	l := Limit{Value: user, Reason: ByUser, Event: e, Why: "given"}
	if e != nil {
		l.Why = fmt.Sprintf("given, %s before %s", s.text(math.Abs(e.Value-user)), s.meets(e))
	}
	return l
}
