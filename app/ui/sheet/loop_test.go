package sheet

import (
	"context"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"
	"gonum.org/v1/gonum/spatial/r3"

	"pintle/app/doc"
	"pintle/app/job"
	"pintle/app/ui/desk"
	"pintle/app/ui/style"
	"pintle/assets"
	"pintle/kinematics"
)

// bridge saves the drawbridge with its joints as generated, the slide limited.
func bridge(t *testing.T) string {
	t.Helper()
	var known struct {
		Joints []struct {
			Name, Type, Parent, Child string
			Origin, Axis              [3]float64
		}
	}
	dir := t.TempDir()
	for _, d := range assets.Demos() {
		if d.Name == "drawbridge" {
			if err := json.Unmarshal(d.Truth, &known); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(filepath.Join(dir, "bridge.obj"), d.OBJ, 0o600); err != nil {
				t.Fatal(err)
			}
		}
	}
	s, err := doc.OpenModel(context.Background(), filepath.Join(dir, "bridge.obj"), doc.OpenOptions{})
	if err != nil {
		t.Fatal(err)
	}
	d := s.Doc
	for _, k := range known.Joints {
		o, a := k.Origin, k.Axis
		axis, err := kinematics.NewAxis(r3.Vec{X: o[0], Y: o[1], Z: o[2]}, r3.Vec{X: a[0], Y: a[1], Z: a[2]})
		if err != nil {
			t.Fatal(err)
		}
		j := doc.Joint{
			Name: k.Name, Kind: kinematics.Kind(k.Type), Parent: k.Parent, Child: k.Child, Spec: kinematics.FrameSpec{Datum: axis},
			Frame:   kinematics.Frame{Origin: axis.Point, Hinge: axis.Dir, Reach: kinematics.Perpendicular(axis.Dir)},
			Letters: kinematics.DenavitHartenberg(), Closes: d.JointOf(k.Child) >= 0,
		}
		if j.Kind == kinematics.Prismatic {
			j = j.WithLimit(0, &kinematics.Range{Lower: -40, Upper: 20})
		}
		if d, err = d.AddJoint(j); err != nil {
			t.Fatal(err)
		}
	}
	to := filepath.Join(dir, "bridge.pintle")
	if err := doc.Save(to, d); err != nil {
		t.Fatal(err)
	}
	return to
}

func TestJointSheetShowsItsLoop(t *testing.T) {
	test.NewTempApp(t).Settings().SetTheme(style.New(false))
	queue := make(chan func(), 1<<14)
	r := job.NewRunner(func(f func()) { queue <- f })
	t.Cleanup(r.Close)
	d := desk.New(r)
	d.OnProblem = func(err error) { t.Error(err) }
	d.Open(bridge(t))
	for late := time.After(2 * time.Minute); d.Session() == nil; {
		select {
		case f := <-queue:
			f()
		case <-late:
			t.Fatal("the bridge does not open")
		}
	}
	s := New(d, Callbacks{})
	w := test.NewTempWindow(t, s.Object())
	w.Resize(fyne.NewSize(336, 900))
	d.SetStep(desk.StepMotion)
	d.SelectJoint("leaf hinge")
	s.Update(nil)
	text := shows(s)
	for _, want := range []string{"LOOP", "moves with strut foot, strut slide, strut head", "driven by\nleaf hinge", "goes up to\n", "there strut slide is at its limit or in contact", "Limits from the loop, 2° short", "Drive by this joint"} {
		if !strings.Contains(text, want) {
			t.Errorf("the sheet lacks %q:\n%s", want, text)
		}
	}
	d.SelectJoint("strut slide")
	d.DriveLoop()
	s.Update(nil)
	if text := shows(s); !strings.Contains(text, "driven by\nstrut slide") || !strings.Contains(text, "Limits from the loop, 1 % short") {
		t.Errorf("driven by the slide the sheet shows\n%s", text)
	}
}

func TestLimitsFromALoopKeepClearOfItsEnds(t *testing.T) {
	two := 2 * math.Pi / 180
	for _, c := range []struct {
		r     kinematics.Range
		turns bool
		want  kinematics.Range
		ok    bool
	}{
		{kinematics.Range{Lower: -1, Upper: 0.5}, true, kinematics.Range{Lower: -1 + two, Upper: 0.5 - two}, true},
		{kinematics.Range{Lower: -100, Upper: 100}, false, kinematics.Range{Lower: -98, Upper: 98}, true},
		{kinematics.Range{Lower: -0.01, Upper: 0.5}, true, kinematics.Range{Upper: 0.5 - two}, true},
		{kinematics.Range{Lower: -0.01, Upper: 0.01}, true, kinematics.Range{}, false},
		{kinematics.Range{Lower: math.Inf(-1), Upper: math.Inf(1)}, true, kinematics.Range{}, false},
	} {
		got, ok := shortOf(c.r, c.turns)
		if ok != c.ok || ok && (math.Abs(got.Lower-c.want.Lower) > 1e-12 || math.Abs(got.Upper-c.want.Upper) > 1e-12) {
			t.Errorf("%v gives %v, %v; want %v", c.r, got, ok, c.want)
		}
	}
}
