package doc_test

import (
	"context"
	"math"
	"strings"
	"testing"

	"pintle/app/doc"
	"pintle/app/doc/doctest"
	"pintle/kinematics"
	"pintle/kinematics/contact"
)

// held returns which limits hold for the only joint of a session.
func held(t *testing.T, s *doc.Session, m contact.Margin) *doc.Holding {
	t.Helper()
	ctx := context.Background()
	j := s.Doc.Joints[0]
	motion := must[*doc.Motion](t)(s.Motion(ctx, j.Name, doc.MotionOptions{}, nil))
	x := must[*doc.Stance](t)(s.Stance(ctx, j.Name, nil, doc.MotionOptions{}, nil))
	return must[*doc.Holding](t)(x.Limits(ctx, j, motion, m))
}

func says(t *testing.T, what string, l contact.Limit, value float64, by contact.Reason, why string) {
	t.Helper()
	if math.Abs(l.Value-value) > 1e-8 || l.Reason != by || !strings.Contains(l.Why, why) {
		t.Errorf("%s: %v by %s (%s), want %v by %s that says %q", what, l.Value, l.Reason, l.Why, value, by, why)
	}
}

// Limits of the swing by angle and by clearance: the bar is gapOf(v) from a
// stop's corner, so it is d away at asin((2+d)/r) before the corner's azimuth
// (plane geometry). What the user gives holds, unless a contact comes first.
func TestLimitsHoldByMarginOrByTheUser(t *testing.T) {
	s := fineStance(t, 1)
	free := doctest.FreeRange()
	two := kinematics.Radians(2)
	h := held(t, s, contact.Margin{Value: two})
	says(t, "lower by angle", h.Active.Lower, free.Lower+two, contact.ByMargin, `kept 2 deg from where "arm" and "base" meet`)
	says(t, "upper by angle", h.Active.Upper, free.Upper-two, contact.ByMargin, "kept 2 deg")
	if r, ok := h.Range(); !ok || math.Abs(r.Upper-free.Upper+two) > 1e-9 {
		t.Errorf("to take over: %v, %v", r, ok)
	}
	_, corner := doctest.Contacts()
	at := math.Atan2(corner.Y, corner.X) - math.Asin((doctest.ArmHalf+1.5)/math.Hypot(corner.X, corner.Y))
	says(t, "upper by clearance", held(t, s, contact.Margin{Clearance: 1.5}).Active.Upper, at, contact.ByMargin, "come nearer than 1.5")

	d := must[doc.Document](t)(s.Doc.EditJoint("swing", func(j doc.Joint) doc.Joint {
		return j.WithLimit(0, &kinematics.Range{Lower: -0.1, Upper: 1})
	}))
	s = must[*doc.Session](t)(s.With(d))
	h = held(t, s, contact.Margin{Value: two})
	says(t, "the user's", h.Active.Lower, -0.1, contact.ByUser, "given")
	says(t, "beyond a contact", h.Active.Upper, free.Upper, contact.ByContact, "before the limit of")
	// The finding says the same.
	m := must[*doc.Motion](t)(s.Motion(context.Background(), "swing", doc.MotionOptions{}, nil))
	blocked := 0
	for _, f := range s.Findings(s.Doc.Joints[0], m) {
		if f.Kind == doc.RangeBlocked {
			blocked++
			if f.Limit != h.Active.Upper.Value {
				t.Errorf("the finding puts the contact at %v", f.Limit)
			}
		}
	}
	if blocked != 1 || m.DefaultMargin() != (contact.Margin{Value: two}) {
		t.Errorf("%d findings, margin %v", blocked, m.DefaultMargin())
	}
}

func TestBadMarginsAreRefused(t *testing.T) {
	s := lifted(t)
	ctx := context.Background()
	m := must[*doc.Motion](t)(s.Motion(ctx, "slide", doc.MotionOptions{}, nil))
	x := must[*doc.Stance](t)(s.Stance(ctx, "slide", nil, doc.MotionOptions{}, nil))
	if _, err := x.Limits(ctx, s.Doc.Joints[0], m, contact.Margin{Clearance: -1}); err == nil || !strings.Contains(err.Error(), "margin -1") {
		t.Errorf("error %v", err)
	}
	if got := m.DefaultMargin().Value; math.Abs(got-0.19) > 1e-9 {
		t.Errorf("a slide of 19 keeps %v", got)
	}
	x = must[*doc.Stance](t)(s.Stance(ctx, "slide", map[string][]float64{"lift": {1}}, doc.MotionOptions{}, nil))
	if _, err := x.Limits(ctx, s.Doc.Joints[0], m, contact.Margin{}); err == nil {
		t.Error("limits of a pose that is not the model's")
	}
}
