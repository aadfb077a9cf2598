package desk

import (
	"testing"

	"pintle/kinematics"
)

// A ball joint's region is found in the background, gives limits, and goes when
// the joint changes.
func TestRegionGivesLimitsAndGoesWithTheJoint(t *testing.T) {
	b := newBench(t)
	b.elbow()
	b.FindRegion() // a hinge does not lean
	if b.Task() != nil || b.TakeRegion(0.1) {
		t.Error("a hinge has a region")
	}
	b.SetKind(kinematics.Spherical)
	b.FindRegion()
	b.until("the region is found", func() bool { return b.Region() != nil || len(b.problems) > 0 })
	r := b.Region()
	if r == nil {
		t.Fatal(b.problems)
	}
	marks := len(b.Scene().Marks)
	if !b.TakeRegion(0.02) {
		t.Fatal("no limits")
	}
	j, _, _ := b.Joint()
	if j.Cone == nil || b.Region() != r {
		t.Errorf("cone %v, region %v: limits do not change where it can go", j.Cone, b.Region())
	}
	if len(b.session.RegionFindings(j, r.Region)) != 0 || marks == 0 {
		t.Error("the limits taken are blocked")
	}
	b.FlipHinge()
	if b.Region() != nil {
		t.Error("the region of another frame is still shown")
	}
}
