package ui

import (
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"pintle/app/ui/desk"
	"pintle/app/ui/outline"
	"pintle/kinematics"
)

// stage is a shell whose window's thread is the test's own goroutine.
type stage struct {
	*Shell
	t     *testing.T
	queue chan func()
}

func newStage(t *testing.T) *stage {
	t.Helper()
	st := &stage{t: t, queue: make(chan func(), 1<<16)}
	a := test.NewTempApp(t)
	st.Shell = NewShell(a, Options{DataDir: t.TempDir(), Do: func(f func()) { st.queue <- f }})
	t.Cleanup(st.Close)
	return st
}

func (s *stage) until(what string, ok func() bool) {
	s.t.Helper()
	late := time.After(2 * time.Minute) // only a hang takes as long
	for !ok() {
		select {
		case f := <-s.queue:
			f()
		case <-late:
			s.t.Fatal("still waiting: " + what)
		}
	}
	for len(s.queue) > 0 { // what came with it
		(<-s.queue)()
	}
}

func (s *stage) open() {
	s.t.Helper()
	s.openDemo("tern-arm")
	s.until("the demo", func() bool { return s.desk.Session() != nil })
}

func TestWindowOpensEmptyAndSaysWhatToDo(t *testing.T) {
	s := newStage(t)
	if v := headView(s.desk); v.Next != "" || v.File != "" {
		t.Errorf("an empty window shows %+v", v)
	}
	if got := outlineGroups(s.desk); got != nil {
		t.Errorf("an empty window lists %v", got)
	}
	if s.win.Title() != "Pintle" {
		t.Errorf("title %q", s.win.Title())
	}
}

func TestDemoOpensAtTheFirstHinge(t *testing.T) {
	s := newStage(t)
	s.open()
	v := headView(s.desk)
	if v.File != "tern-arm.obj" || v.Next != "Find joints" || v.NextOff || v.Step != int(desk.StepJoints) {
		t.Errorf("head %+v", v)
	}
	if len(s.desk.Guide()) < 3 {
		t.Error("the demo has no guide")
	}
	if s.places.Strip.Visible() {
		t.Error("the motion strip shows without a joint")
	}
	if !strings.HasPrefix(s.win.Title(), "tern-arm.obj") {
		t.Errorf("title %q", s.win.Title())
	}
}

func TestOutlineKeysChooseWhatTheyName(t *testing.T) {
	s := newStage(t)
	s.open()
	s.choose(partKey + "forearm")
	if i := s.desk.Part(); i != s.desk.Session().Doc.PartIndex("forearm") {
		t.Errorf("part %d is selected", i)
	}
	s.choose(jointKey + "no such joint")
	if _, _, ok := s.desk.Joint(); ok {
		t.Error("a joint that is not there is selected")
	}
	s.choose("nonsense")
}

func TestStepsLeadOn(t *testing.T) {
	s := newStage(t)
	s.open()
	s.desk.SetStep(desk.StepModel)
	var all []string
	for _, g := range outlineGroups(s.desk) {
		for _, e := range g.Entries {
			all = append(all, e.Text)
		}
	}
	if len(all) != len(s.desk.Session().Parts) {
		t.Errorf("the Model step lists %v", all)
	}
	s.next()
	if s.desk.Step() != desk.StepJoints {
		t.Errorf("from Model the primary button leads to %v", s.desk.Step())
	}
}

func TestNightAndBackKeepsTheDocument(t *testing.T) {
	s := newStage(t)
	s.open()
	before := s.desk.Session().Doc
	s.toggleNight()
	if !s.desk.Shows().Night || s.view.Camera().Up != s.desk.Session().Model.Up {
		t.Error("the night theme lost the view")
	}
	s.toggleNight()
	if !s.desk.Session().Doc.Equal(before) {
		t.Error("a theme changed the document")
	}
}

func TestAProblemIsOneSentenceOnTheDrawing(t *testing.T) {
	s := newStage(t)
	s.desk.Open("/nowhere/at all.glb")
	s.until("the message", func() bool { return s.message.root.Visible() })
	text := s.message.text.Text
	if strings.Contains(text, "\n") || !strings.Contains(text, "at all.glb") {
		t.Errorf("message %q", text)
	}
}

func TestAMessageGivesWayToTheNextWork(t *testing.T) {
	s := newStage(t)
	s.open()
	s.message.show("what came before", true)
	s.desk.FindJoints()
	s.until("the work", func() bool { return s.wait.root.Visible() })
	if s.message.root.Visible() {
		t.Error("the old message lies under the plate")
	}
}

func TestStripSpeaksDegreesForAHinge(t *testing.T) {
	s := newStage(t)
	if got := s.fromStrip(180); got < 3.14159 || got > 3.1416 {
		t.Errorf("180 degrees are %v", got)
	}
	if _, ok := stripView(s.desk); ok {
		t.Error("there is a strip without a joint")
	}
}

func TestReadingGoesRound(t *testing.T) {
	profile := []kinematics.ProfilePoint{{Angle: 0.5, Value: 1}, {Angle: 2, Value: 3}, {Angle: 5, Value: 2}}
	for _, c := range []struct{ at, want float64 }{{0.5, 1}, {2, 3}, {3.5, 2.5}, {0.5 + 2*3.141592653589793, 1}, {-1.283185307179586, 2}} {
		if got := reading(profile, c.at); got < c.want-1e-9 || got > c.want+1e-9 {
			t.Errorf("reading at %v is %v, want %v", c.at, got, c.want)
		}
	}
}

func TestOutlineKeepsLinesWhileOnlyTextChanges(t *testing.T) {
	test.NewTempApp(t)
	o := outline.New()
	chosen := ""
	o.OnChoose = func(k string) { chosen = k }
	w := test.NewTempWindow(t, o.Object())
	w.Resize(fyne.NewSize(260, 300))
	group := func(note string) []outline.Group {
		e := outline.Entry{Key: "a"}
		e.Text, e.Note = "arm", note
		return []outline.Group{{Title: "Mechanism", Entries: []outline.Entry{e}}}
	}
	o.Set(group("measuring"))
	o.Set(group("runs true"))
	test.TapCanvas(w.Canvas(), fyne.NewPos(60, 45))
	if chosen != "a" {
		t.Errorf("a tap on the line chose %q", chosen)
	}
}
