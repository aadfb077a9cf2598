package desk

import (
	"math"
	"testing"

	"pintle/kinematics"
	"pintle/kinematics/contact"
)

// Limits taken from contact keep the margin that was chosen, by angle or by
// clearance, and each end says what holds it.
func TestLimitsAreTakenWithAMargin(t *testing.T) {
	b := newBench(t)
	b.elbow()
	known := func() bool { return b.Holding() != nil && b.Holding().Margin == b.Margin() }
	if b.TakeLimits() {
		t.Error("limits before anything is known")
	}
	b.until("the usual limits are known", known)
	j, _, _ := b.Joint()
	free := b.Proof(j.Name).Motion.FreeRange()
	two := kinematics.Radians(2)
	if !b.TakeLimits() {
		t.Fatal("no limits")
	}
	j, _, _ = b.Joint()
	if r, _ := j.Limit(0); math.Abs(r.Lower-free.Lower-two)+math.Abs(r.Upper-free.Upper+two) > 1e-9 {
		t.Errorf("limits %v, want the free range %v less two degrees", r, free)
	}
	b.SetMargin(contact.Margin{Clearance: 0.5})
	b.until("limits by clearance are known", known)
	if !b.TakeLimits() {
		t.Fatal("no limits by clearance")
	}
	j, _, _ = b.Joint()
	r, _ := j.Limit(0)
	m := b.Proof(j.Name).Motion
	if e := m.Curve.Error; m.Curve.At(r.Lower) < 0.5-e || m.Curve.At(r.Upper) < 0.5-e || !(r.Upper > r.Lower) {
		t.Errorf("limits %v come nearer than 0.5: %v and %v", r, m.Curve.At(r.Lower), m.Curve.At(r.Upper))
	}
	b.SetLimits(&kinematics.Range{Lower: -0.05, Upper: 9})
	b.until("the user's limits are judged", func() bool { return known() && b.Holding().Active.Upper.Reason == contact.ByContact })
	if a := b.Holding().Active; a.Lower.Value != -0.05 || a.Lower.Reason != contact.ByUser || a.Upper.Value != free.Upper {
		t.Errorf("what holds: %+v", a)
	}
	b.SelectPart(0)
	if b.Holding() != nil || b.TakeLimits() {
		t.Error("limits of no joint")
	}
}
