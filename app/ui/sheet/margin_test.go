package sheet

import (
	"strings"
	"testing"

	"pintle/app/doc"
	"pintle/app/ui/desk"
	"pintle/kinematics"
	"pintle/kinematics/contact"
)

// The sheet offers a margin by angle or by clearance, and says for each end what
// holds it.
func TestSheetSaysWhatHoldsALimit(t *testing.T) {
	s, d := opened(t)
	hinged(t, d, "upper link")
	d.SetStep(desk.StepMotion)
	b := &builder{sheet: s, desk: d}
	m := &doc.Motion{Kind: kinematics.Revolute, Size: 340}
	b.margin(m)
	s.box.Objects = b.objects
	s.box.Refresh()
	if got := shows(s); !strings.Contains(got, "keep clear by") || !strings.Contains(got, "Limits from contact") || strings.Contains(got, "holds below") {
		t.Errorf("before the limits are known: %s", got)
	}
	b = &builder{sheet: s, desk: d}
	b.holding(m, &doc.Holding{Active: contact.Limits{
		Lower: contact.Limit{Value: kinematics.Radians(-12.3), Reason: contact.ByMargin, Why: "kept 2 deg from where they meet"},
		Upper: contact.Limit{Value: kinematics.Unlimited().Upper, Reason: contact.ByKind, Why: "nothing stops it"},
	}}, true)
	s.box.Objects = b.objects
	s.box.Refresh()
	got := shows(s)
	for _, want := range []string{"holds below", "−12.30°, by the margin", "kept 2 deg from where they meet", "free, by its kind", "nothing stops it"} {
		if !strings.Contains(got, want) {
			t.Errorf("%q is missing in %s", want, got)
		}
	}
	if v := usualClearance(m); v != 3 {
		t.Errorf("the usual clearance is %v, want 3", v)
	}
	m.Curve = &contact.Curve{Samples: []contact.Sample{{Proximity: contact.Proximity{Distance: 5}}}}
	if v := usualClearance(m); v != 2 {
		t.Errorf("where there are 5 the usual clearance is %v, want 2", v)
	}
	if v := usualClearance(&doc.Motion{}); v != 1 {
		t.Errorf("the usual clearance of nothing is %v", v)
	}
}
