package desk

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/app/doc"
	"pintle/kinematics"
	"pintle/viewport"
)

// Each value of a joint is moved, limited and undone by itself, and goes where
// it makes sense when the kind changes.
func TestEveryFreedomIsMovedAndLimited(t *testing.T) {
	b := newBench(t)
	b.elbow()
	j, _, _ := b.Joint()
	b.SetValue(0.5)
	b.SetKind(kinematics.Cylindric)
	if got := b.Values(j.Name); len(got) != 2 || got[0] != 0.5 || got[1] != 0 {
		t.Fatalf("a sleeve made of a hinge at 0.5 stands at %v", got)
	}
	b.SetFreedom(1)
	b.SetValue(7)
	b.SetLimits(&kinematics.Range{Lower: -2, Upper: 9})
	if got := b.Values(j.Name); got[0] != 0.5 || got[1] != 7 || b.Value(j.Name) != 7 {
		t.Errorf("it stands at %v, its slide at %v", got, b.Value(j.Name))
	}
	now, _, _ := b.Joint()
	if _, ok := now.Limit(0); ok {
		t.Error("the turn was limited with the slide")
	}
	if r, ok := now.Limit(1); !ok || r != (kinematics.Range{Lower: -2, Upper: 9}) {
		t.Errorf("limits %v", now.Limits)
	}
	b.until("each freedom is proven", func() bool { return b.Proof(j.Name).Alone != nil })
	if a := b.Proof(j.Name).Alone; len(a.Free) != 2 || b.Proof(j.Name).Motion != nil {
		t.Errorf("proof %+v", a)
	}
	if now, _, _ := b.Joint(); b.State(now) != Unproven && b.State(now) != Stopped {
		t.Errorf("state %v", b.State(now))
	}
	b.SetFreedom(2) // there is none
	if b.Freedom() != 1 {
		t.Errorf("freedom %d", b.Freedom())
	}
	b.SetKind(kinematics.Spherical)
	if got := b.Values(j.Name); len(got) != 3 || got[0] != 0 || got[1] != 0 || b.Freedom() != 0 {
		t.Errorf("a ball made of a sleeve stands at %v", got)
	}
	most := 0.4
	b.SetCone(&most)
	if now, _, _ := b.Joint(); now.Cone == nil || now.Cone.Max[0] != 0.4 {
		t.Errorf("cone %v", now.Cone)
	}
	b.Undo()
	if now, _, _ := b.Joint(); now.Cone != nil {
		t.Error("the cone stays after undo")
	}
	b.SetKind(kinematics.Helical)
	b.SetPitch(2)
	if now, _, _ := b.Joint(); now.Pitch != 2 {
		t.Errorf("pitch %v", now.Pitch)
	}
}

// A follower goes with its driver; moving the follower moves the driver, unless
// a curve leads from one to the other.
func TestFollowing(t *testing.T) {
	b := newBench(t)
	b.elbow()
	first, _, _ := b.Joint()
	b.SetKind(kinematics.Cylindric)
	turn := doc.ValueRef{Joint: first.Name}
	b.Follow(1, turn, 10, 0)
	if c, ok := b.Follows(1); !ok || c.Driver != turn || c.Law.Kind != kinematics.LawRatio {
		t.Fatalf("follows %+v", c)
	}
	b.SetValue(0.3)
	if got := b.Values(first.Name); math.Abs(got[1]-3) > 1e-12 {
		t.Errorf("it stands at %v", got)
	}
	b.SetFreedom(1)
	b.SetValue(5)
	if got := b.Values(first.Name); math.Abs(got[0]-0.5) > 1e-12 || math.Abs(got[1]-5) > 1e-12 {
		t.Errorf("moved by its follower it stands at %v", got)
	}
	b.Follow(1, turn, 10, 1)
	if got := b.Value(first.Name); math.Abs(got-6) > 1e-12 {
		t.Errorf("with an offset it stands at %v", got)
	}
	b.Follow(0, doc.ValueRef{Joint: first.Name, Freedom: 1}, 1, 0)
	if _, ok := b.Follows(0); ok || len(b.problems) != 1 {
		t.Errorf("a ring of couplings was taken, problems %v", b.problems)
	}
	b.Unfollow(1)
	if _, ok := b.Follows(1); ok {
		t.Error("it still follows")
	}
	b.Undo()
	if _, ok := b.Follows(1); !ok {
		t.Error("undo does not bring the coupling back")
	}
}

// The point that is grabbed stays under the pointer, whatever the freedom: for
// turns about its axis, for slides along it.
func TestGrabMovesTheChosenFreedom(t *testing.T) {
	b := newBench(t)
	b.elbow()
	b.SetStep(StepMotion)
	j, _, _ := b.Joint()
	fore := b.Session().Doc.PartIndex("forearm")
	p := b.Session().Parts[fore].Mesh.Vertices()[0]
	for _, c := range []struct {
		kind    kinematics.Kind
		freedom int
		at      []float64 // where the joint stands when it is grabbed
	}{
		{kinematics.Prismatic, 0, []float64{3}},
		{kinematics.Cylindric, 1, []float64{0.4, -2}},
		{kinematics.Cylindric, 0, []float64{0.4, -2}},
		{kinematics.Universal, 1, []float64{0.4, 0.2}},
		{kinematics.Planar, 1, []float64{3, 4, 0.5}},
		{kinematics.Planar, 2, []float64{3, 4, 0.5}},
		{kinematics.Spherical, 2, []float64{0.3, 0.2, 0.1}},
	} {
		b.SetKind(c.kind)
		for i, v := range c.at {
			b.SetFreedom(i)
			b.SetValue(v)
		}
		b.SetFreedom(c.freedom)
		j, _, _ = b.Joint()
		k := kinematics.Joint{Kind: j.Kind, Frame: j.Frame}
		grabbed := k.Motion(c.at...).Apply(p)
		drag := b.Grab(viewport.Hit{Mode: viewport.PickPart, Part: fore, Point: grabbed})
		if drag == nil {
			t.Fatalf("%s cannot be dragged", c.kind)
		}
		want := append([]float64(nil), c.at...)
		want[c.freedom] += 0.25
		to := k.Motion(want...).Apply(p)
		sight := r3.Unit(r3.Add(k.Twists(c.at...)[c.freedom].Angular, r3.Vec{X: 0.2, Y: 0.3, Z: -0.4}))
		drag(r3.Sub(to, r3.Scale(700, sight)), sight, false)
		if got := b.Value(j.Name); math.Abs(got-want[c.freedom]) > 1e-9 {
			t.Errorf("%s, %s: dragged to %v, want %v", c.kind, c.kind.Freedom(c.freedom), got, want[c.freedom])
		}
	}
}

// A driver goes no further than lets its follower keep its limits.
func TestDriverStopsForItsFollower(t *testing.T) {
	b := newBench(t)
	b.elbow()
	j, _, _ := b.Joint()
	b.SetKind(kinematics.Cylindric)
	b.Follow(1, doc.ValueRef{Joint: j.Name}, 10, 0)
	if r, ok := b.Limit(0); ok {
		t.Errorf("limited to %v by nothing", r)
	}
	b.SetLimit(1, &kinematics.Range{Lower: -4, Upper: 6})
	b.SetLimit(0, &kinematics.Range{Lower: -0.3, Upper: 2})
	if r, ok := b.Limit(0); !ok || math.Abs(r.Lower+0.3) > 1e-12 || math.Abs(r.Upper-0.6) > 1e-12 {
		t.Errorf("the driver may go %v", r)
	}
	if got := b.held(5); math.Abs(got-0.6) > 1e-12 {
		t.Errorf("dragged on it stops at %v", got)
	}
}
