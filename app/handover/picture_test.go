package handover_test

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/app/doc"
	"pintle/app/doc/doctest"
	"pintle/app/handover"
	"pintle/kinematics"
	"pintle/viewport/draft"
)

func marks[T draft.Mark](s draft.Scene) []T {
	var out []T
	for _, m := range s.Marks {
		if v, ok := m.(T); ok {
			out = append(out, v)
		}
	}
	return out
}

func TestPictureShowsTheMechanismInItsPose(t *testing.T) {
	s := mechanism(t)
	d, err := s.Doc.HidePart("pin", true)
	if err != nil {
		t.Fatal(err)
	}
	if s, err = s.With(d); err != nil {
		t.Fatal(err)
	}
	angle := kinematics.Radians(25)
	pose := []doc.JointValue{{Joint: "swing", Values: []float64{angle}}}
	scene, camera, err := handover.Picture(s, handover.PictureOptions{Pose: pose, Joint: "slide", Aspect: 1.6, View: draft.Front})
	if err != nil {
		t.Fatal(err)
	}
	if len(scene.Parts) != 5 || scene.Parts[3].Look != draft.Hidden || scene.Parts[1].Emphasis != draft.Selected {
		t.Errorf("parts %+v", scene.Parts)
	}
	// The boom has turned about the true hinge, and carries the slider's child.
	want := kinematics.Rotation(s.Doc.Joints[0].Frame.Axis(), angle)
	probe := r3.Vec{X: 40, Y: 3, Z: -2}
	for _, i := range []int{1, 4} {
		if off := r3.Norm(r3.Sub(scene.Parts[i].Motion.Apply(probe), want.Apply(probe))); off > 1e-9 {
			t.Errorf("part %d is off by %g", i, off)
		}
	}
	if b := marks[draft.Balloon](scene); len(b) != 4 || b[0].Text != "1" || !b[1].Filled || b[0].Filled {
		t.Errorf("balloons %+v", b)
	}
	if a := marks[draft.AxisLine](scene); len(a) != 3 {
		t.Errorf("%d axis lines, want one for each joint but the chosen one", len(a))
	}
	// The slider hangs on the boom: its frame has turned along.
	f := marks[draft.FrameMark](scene)
	if len(f) != 1 || r3.Norm(r3.Sub(f[0].Frame.Hinge, want.Turn(s.Doc.Joints[1].Frame.Hinge))) > 1e-12 {
		t.Errorf("frame mark %+v", f)
	}
	if camera.Up != s.Model.Up || !camera.Valid() {
		t.Errorf("camera %+v", camera)
	}
	view := camera.View(1600, 1000, 1, scene.Bounds())
	for _, c := range scene.Corners() {
		p, ok := view.Project(c)
		if !ok || p.X < 0 || p.Y < 0 || p.X > 1600 || p.Y > 1000 {
			t.Errorf("corner %v is not in the picture", c)
		}
	}
}

func TestPictureOfAHingeShowsItsRange(t *testing.T) {
	s := mechanism(t)
	scene, _, err := handover.Picture(s, handover.PictureOptions{Joint: "swing"})
	if err != nil {
		t.Fatal(err)
	}
	limits := s.Doc.Joints[0].Limits[0]
	if a := marks[draft.DimArc](scene); len(a) != 1 || a[0].Range != limits || a[0].Text != "70.00°" {
		t.Errorf("dimension %+v", a)
	}
	ends := marks[draft.Extreme](scene)
	moving, _ := s.MovingParts(s.Doc.Joints[0])
	if len(ends) != 2*len(moving) {
		t.Fatalf("%d extreme outlines of %d moving parts", len(ends), len(moving))
	}
	hinge := doctest.Options{Move: doctest.Skew()}.Hinge()
	for i, angle := range []float64{limits.Lower, limits.Upper} {
		if r3.Dot(hinge.Dir, s.Doc.Joints[0].Frame.Hinge) < 0 {
			angle = -angle
		}
		p := r3.Vec{X: 1, Y: 2, Z: 3}
		if off := r3.Norm(r3.Sub(ends[i*len(moving)].Motion.Apply(p), kinematics.Rotation(hinge, angle).Apply(p))); off > 1e-6 {
			t.Errorf("end %d is off by %g", i, off)
		}
	}
	if math.IsNaN(scene.Bounds().Min.X) {
		t.Error("no bounds")
	}
}

func TestPictureRefusesUnknownJoints(t *testing.T) {
	s := mechanism(t)
	for _, o := range []handover.PictureOptions{{Joint: "knee"}, {Pose: []doc.JointValue{{Joint: "knee"}}}} {
		if _, _, err := handover.Picture(s, o); err == nil {
			t.Errorf("%+v was drawn", o)
		}
	}
}
