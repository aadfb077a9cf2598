package ui

import (
	"math"
	"strings"
	"testing"

	"fyne.io/fyne/v2"

	"pintle/app/ui/desk"
)

func (s *stage) find() {
	s.t.Helper()
	s.open()
	s.next()
	s.until("the joints are found", func() bool { return s.desk.Reviewing() })
	s.update()
}

func TestFindIsTheFirstThingToDo(t *testing.T) {
	s := newStage(t)
	s.open()
	s.desk.SetStep(desk.StepModel)
	if v := headView(s.desk); v.Next != "Find joints" || v.NextOff {
		t.Errorf("at the Model step the head offers %q, off %v", v.Next, v.NextOff)
	}
	s.next()
	s.until("the joints are found", func() bool { return s.desk.Reviewing() })
	if v := headView(s.desk); v.Next != "Accept joint" {
		t.Errorf("in the review the head offers %q", v.Next)
	}
}

func TestReviewKeysAcceptRejectAndStep(t *testing.T) {
	s := newStage(t)
	s.find()
	press := func(k fyne.KeyName) { s.view.TypedKey(&fyne.KeyEvent{Name: k}); s.update() }
	camera := s.view.Camera()
	press(fyne.KeyDown)
	if r := s.desk.Review(); r.At != 1 {
		t.Errorf("Down leads to %d", r.At)
	}
	press(fyne.KeyUp)
	press(fyne.KeyReturn)
	if n := len(s.desk.Session().Doc.Joints); n != 1 {
		t.Errorf("Return made %d joints", n)
	}
	press(fyne.KeyDelete)
	if r := s.desk.Review(); !r.Rows[1].Rejected || r.At != 2 {
		t.Error("Delete did not reject and go on")
	}
	if got := s.view.Camera(); got.Azimuth != camera.Azimuth || got.Elevation != camera.Elevation {
		t.Error("the review's keys turn the view")
	}
	press(fyne.KeyEscape)
	if s.desk.Reviewing() {
		t.Error("Escape does not leave the review")
	}
	press(fyne.KeyDown)
	if got := s.view.Camera(); got.Elevation == camera.Elevation {
		t.Error("after the review the keys do not turn the view")
	}
}

func TestOutlineListsTheProposals(t *testing.T) {
	s := newStage(t)
	s.find()
	groups := outlineGroups(s.desk)
	if len(groups[0].Entries) != 8 || !strings.Contains(groups[0].Title, "ground") {
		t.Fatalf("%d entries under %q", len(groups[0].Entries), groups[0].Title)
	}
	first := groups[0].Entries[0]
	if !first.Selected || first.Level < 0.9 || first.Note == "" || first.Balloon != 1 {
		t.Errorf("the first line shows %+v", first.Item)
	}
	s.choose(groups[0].Entries[3].Key)
	if r := s.desk.Review(); r.At != 3 {
		t.Errorf("the fourth line leads to %d", r.At)
	}
	s.acceptAbove()
	if n := len(s.desk.Session().Doc.Joints); n != 8 || !strings.Contains(s.message.text.Text, "8 joints") {
		t.Errorf("%d joints, message %q", n, s.message.text.Text)
	}
	if v := headView(s.desk); v.Next != "On to motion" {
		t.Errorf("after the last joint the head offers %q", v.Next)
	}
}

func TestRulerSwingsTheProposal(t *testing.T) {
	s := newStage(t)
	s.find()
	v, ok := stripView(s.desk)
	if !ok || !strings.HasPrefix(v.Title, "Swing of 1") {
		t.Fatalf("the strip shows %q, %v", v.Title, ok)
	}
	s.stripValue(30)
	if got := s.desk.FoundValue(); math.Abs(got-math.Pi/6) > 1e-12 {
		t.Errorf("30 on the ruler swings by %v", got)
	}
	s.stripZero()
	if s.desk.FoundValue() != 0 {
		t.Error("it does not go back to where it is modelled")
	}
}

func TestSwingEndsExactlyAtRest(t *testing.T) {
	if swingAt(0) != 0 || swingAt(1) != 0 || swingAt(0.1) != 0 {
		t.Error("it does not begin and end at rest")
	}
	lo, hi := 0.0, 0.0
	for i := range 1000 {
		v := swingAt(float64(i) / 1000)
		lo, hi = min(lo, v), max(hi, v)
	}
	if math.Abs(hi-1) > 1e-3 || math.Abs(lo+1) > 1e-3 {
		t.Errorf("it swings from %v to %v, want the same both ways", lo, hi)
	}
	// One freedom after the other, never two at once.
	for i := range 1000 {
		v := swung([]float64{1, 2, 3}, float64(i)/1000)
		moving := 0
		for _, x := range v {
			if x != 0 {
				moving++
			}
		}
		if moving > 1 {
			t.Fatalf("at %d it swings by %v", i, v)
		}
	}
	if v := swung([]float64{1, 2, 3}, 1); v[0] != 0 || v[1] != 0 || v[2] != 0 {
		t.Errorf("it ends at %v", v)
	}
}
