package desk

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/kinematics"
	"pintle/viewport"
)

func TestGrabKeepsThePointUnderThePointer(t *testing.T) {
	b := newBench(t)
	b.elbow()
	b.SetStep(StepMotion)
	j, _, _ := b.Joint()
	fore := b.Session().Doc.PartIndex("forearm")
	p := b.Session().Parts[fore].Mesh.Vertices()[0]
	h := viewport.Hit{Mode: viewport.PickPart, Part: fore, Point: p}
	if b.Grab(viewport.Hit{Mode: viewport.PickPart, Part: b.Session().Doc.PartIndex("upper link"), Point: p}) != nil {
		t.Error("the still part can be dragged")
	}
	swing := b.Grab(h)
	if swing == nil {
		t.Fatal("the forearm cannot be dragged")
	}
	b.SetLimits(&kinematics.Range{Lower: -4, Upper: 4})
	sight := j.Frame.Hinge
	for _, a := range []float64{0.4, 1.5, 2.9, 3.6, 1, -0.3} { // through half a turn, step by step
		to := kinematics.Rotation(j.Frame.Axis(), a).Apply(p)
		swing(r3.Sub(to, r3.Scale(1000, sight)), sight, false)
		if got := b.Value(j.Name); math.Abs(got-a) > 1e-9 {
			t.Errorf("dragged to %v, the joint stands at %v", a, got)
		}
	}
	swing(p, j.Frame.Reach, true) // edge on: nothing to say
	if got := b.Value(j.Name); math.Abs(got+0.3) > 1e-9 {
		t.Errorf("an edge-on ray moved the joint to %v", got)
	}
}

func TestHeldStopsAtTheFirstContact(t *testing.T) {
	b := newBench(t)
	b.elbow()
	j, _, _ := b.Joint()
	b.until("the motion is proven", func() bool { return b.Proof(j.Name).Motion != nil })
	free := b.Proof(j.Name).Motion.FreeRange()
	if got := b.held(10); got != free.Upper {
		t.Errorf("held at %v, want the first contact at %v", got, free.Upper)
	}
}
