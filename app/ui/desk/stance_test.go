package desk

import (
	"math"
	"testing"
	"time"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/app/doc"
	"pintle/kinematics"
)

// While the elbow is swung the clearance at its value is measured, and is what
// the curve says within its certified error.
func TestClearanceWhereTheJointStands(t *testing.T) {
	b := newBench(t)
	b.stance.soon = time.Minute // however busy the machine
	b.elbow()
	j, _, _ := b.Joint()
	if _, ok := b.Near(); ok {
		t.Error("a clearance before anything is known")
	}
	b.until("the elbow's stance is known", func() bool { return b.stance.known != nil })
	m, asModelled := b.Standing()
	if m == nil || !asModelled || m != b.Proof(j.Name).Motion {
		t.Fatalf("motion %p as modelled %v, want the proof's", m, asModelled)
	}
	for _, v := range []float64{0, 0.2, 0.5, -0.3} {
		b.SetValue(v)
		p, ok := b.Near()
		if !ok || math.Abs(p.Distance-m.Curve.At(v)) > m.Curve.Error {
			t.Errorf("at %v: %v apart, the curve says %v ± %v", v, p.Distance, m.Curve.At(v), m.Curve.Error)
		}
		if o := b.Scene(); len(o.Marks) == 0 || math.Abs(r3.Norm(r3.Sub(p.OnMoving, p.OnStill))-p.Distance) > 1e-9 {
			t.Errorf("at %v the nearest points %v and %v are not %v apart", v, p.OnMoving, p.OnStill, p.Distance)
		}
	}
}

// A joint further out changes what the elbow meets: its contacts are found anew
// where the other one stands, and are those of the model once it is back.
func TestContactsFollowAnotherJoint(t *testing.T) {
	b := newBench(t)
	b.stance.soon = time.Minute // however busy the machine
	b.elbow()
	elbow, _, _ := b.Joint()
	f := kinematics.Frame{Origin: elbow.Frame.Origin, Hinge: elbow.Frame.Reach, Reach: elbow.Frame.Hinge}
	other := doc.Joint{
		Name: "twist", Kind: kinematics.Revolute, Parent: elbow.Parent, Child: b.another(elbow), Letters: kinematics.DenavitHartenberg(), Frame: f,
		Spec: kinematics.FrameSpec{Datum: f.Axis()},
	}
	if !b.do("add", func(s *doc.Session) (doc.Document, error) { return s.Doc.AddJoint(other) }) {
		t.Fatal(b.problems)
	}
	b.SelectJoint("twist")
	b.SetValue(0.9)
	b.SelectJoint(elbow.Name)
	b.until("the elbow's contacts as the other stands", func() bool { _, asModelled := b.Standing(); return !asModelled })
	m, _ := b.Standing()
	if m.Poses == nil || m == b.Proof(elbow.Name).Motion {
		t.Error("the motion is that of the model")
	}
	b.SetValue(0.1)
	if p, ok := b.Near(); !ok || math.Abs(p.Distance-m.Curve.At(0.1)) > m.Curve.Error {
		t.Errorf("%v apart, the curve says %v", p.Distance, m.Curve.At(0.1))
	}
	b.SelectJoint("twist")
	b.SetValue(0)
	b.SelectJoint(elbow.Name)
	b.until("the elbow's stance as modelled", func() bool { return b.stance.known != nil })
	if m, asModelled := b.Standing(); !asModelled || m != b.Proof(elbow.Name).Motion {
		t.Error("back as modelled, the contacts are not those of the model")
	}
}

// another returns a part that no joint has yet.
func (b *bench) another(j doc.Joint) string {
	for _, p := range b.Session().Parts {
		if p.Name != j.Parent && p.Name != j.Child {
			return p.Name
		}
	}
	b.t.Fatal("no third part")
	return ""
}
