package desk

import (
	"encoding/json"
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/app/doc"
	"pintle/assets"
	"pintle/kinematics"
	"pintle/kinematics/loop"
)

// bridgeBench opens the drawbridge with its joints as generated.
func bridgeBench(t *testing.T) *bench {
	t.Helper()
	b := newBench(t)
	b.openDemo("drawbridge")
	var known struct {
		Joints []struct {
			Name, Type, Parent, Child string
			Origin, Axis              [3]float64
		}
	}
	for _, d := range assets.Demos() {
		if d.Name == "drawbridge" {
			if err := json.Unmarshal(d.Truth, &known); err != nil {
				t.Fatal(err)
			}
		}
	}
	for _, k := range known.Joints {
		axis, err := kinematics.NewAxis(r3.Vec{X: k.Origin[0], Y: k.Origin[1], Z: k.Origin[2]}, r3.Vec{X: k.Axis[0], Y: k.Axis[1], Z: k.Axis[2]})
		if err != nil {
			t.Fatal(err)
		}
		j := doc.Joint{
			Name: k.Name, Kind: kinematics.Kind(k.Type), Parent: k.Parent, Child: k.Child,
			Spec: kinematics.FrameSpec{Datum: axis}, Letters: kinematics.DenavitHartenberg(),
		}
		if !b.do("make "+k.Name, func(s *doc.Session) (doc.Document, error) { return s.TakeJoint(j) }) {
			t.Fatalf("joint %s was not taken", k.Name)
		}
	}
	return b
}

// gap is how far the strut's head is from its eye on the leaf in the drawing.
func gap(b *bench) float64 {
	s := b.Session()
	head := s.Doc.Joints[s.Doc.JointIndex("strut head")].Frame.Origin
	scene := b.Scene()
	on := func(part string) r3.Vec { return scene.Parts[s.Doc.PartIndex(part)].MotionOrIdentity().Apply(head) }
	return r3.Norm(r3.Sub(on("leaf"), on("strut rod")))
}

func TestADrawbridgeIsPulledAnywhere(t *testing.T) {
	b := bridgeBench(t)
	if !b.Session().Doc.Joints[3].Closes {
		t.Fatal("the strut's head does not close the loop")
	}
	for _, c := range []struct {
		joint string
		to    float64
	}{{"leaf hinge", -0.4}, {"strut slide", 30}, {"strut foot", 0.05}, {"strut head", -0.2}, {"strut slide", -60}} {
		b.SelectJoint(c.joint)
		b.SetValue(c.to)
		if got := b.Value(c.joint); math.Abs(got-c.to) > 1e-9*math.Max(1, math.Abs(c.to)) {
			t.Errorf("%s stands at %v, want %v", c.joint, got, c.to)
		}
		if g := gap(b); g > 1e-5 {
			t.Errorf("%s at %v: the strut is %v off its eye", c.joint, c.to, g)
		}
	}
	// Farther than the strut can be: it stops at its dead point and comes back.
	b.SetValue(1e4)
	stop := b.Value("strut slide")
	if stop > 1e3 || gap(b) > 1e-4 {
		t.Errorf("the strut went to %v, %v off its eye", stop, gap(b))
	}
	b.SetValue(stop - 40)
	if math.Abs(b.Value("strut slide")-(stop-40)) > 1e-6 {
		t.Errorf("it stands at %v, want %v", b.Value("strut slide"), stop-40)
	}
}

func TestDrivingByAnotherJointLeavesThePose(t *testing.T) {
	b := bridgeBench(t)
	b.SelectJoint("leaf hinge")
	b.SetValue(-0.3)
	b.SelectJoint("strut slide")
	before := b.Value("strut slide")
	b.DriveLoop()
	n, ok := b.LoopOf()
	if !ok || n.Drivers[0].Joint != "strut slide" {
		t.Fatalf("driven by %v", n.Drivers)
	}
	if math.Abs(b.Value("strut slide")-before) > 1e-9 || math.Abs(b.Value("leaf hinge")+0.3) > 1e-9 || gap(b) > 1e-5 {
		t.Errorf("slide %v, was %v; leaf %v; %v off", b.Value("strut slide"), before, b.Value("leaf hinge"), gap(b))
	}
	b.Undo()
	if n, _ := b.LoopOf(); n.Drivers[0].Joint != "leaf hinge" {
		t.Errorf("undone it is driven by %v", n.Drivers)
	}
}

func TestALoopsReachHoldsWhatIsKnown(t *testing.T) {
	b := bridgeBench(t)
	b.SelectJoint("strut slide")
	free, ok := b.LoopReach()
	if !ok || math.IsInf(free.Range.Span(), 0) {
		t.Fatalf("the slide reaches %+v", free)
	}
	b.SetLimits(&kinematics.Range{Lower: -80, Upper: 40})
	b.SelectJoint("leaf hinge")
	held, ok := b.LoopReach()
	if !ok || held.Upper.Reason != loop.AtLimit || held.Lower.Reason != loop.AtLimit {
		t.Fatalf("the leaf reaches %+v", held)
	}
	b.SetValue(held.Range.Upper + 0.3)
	if got := b.Value("leaf hinge"); math.Abs(got-held.Range.Upper) > 1e-9 || gap(b) > 1e-5 {
		t.Errorf("pulled too far the leaf stands at %v, want %v; %v off", got, held.Range.Upper, gap(b))
	}
	b.SelectJoint("strut slide")
	if got := b.Value("strut slide"); math.Abs(got-40) > 1e-6 {
		t.Errorf("the slide stands at %v, want its limit", got)
	}
	b.SelectPart(0)
	if _, ok := b.LoopReach(); ok {
		t.Error("no joint is selected")
	}
}
