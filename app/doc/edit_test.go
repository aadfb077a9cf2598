package doc_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/app/doc"
	"pintle/fit/mesh"
	"pintle/kinematics"
)

func box(t testing.TB, at r3.Vec, size float64) *mesh.Mesh {
	t.Helper()
	b := mesh.NewBuilder()
	addBox(b, at, r3.Vec{X: size, Y: size, Z: size})
	m, _, err := b.Build(mesh.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// addBox adds an axis-aligned box from corner at.
func addBox(b *mesh.Builder, at, size r3.Vec) {
	var v [8]int32
	for i := range v {
		p := at
		if i&1 != 0 {
			p.X += size.X
		}
		if i&2 != 0 {
			p.Y += size.Y
		}
		if i&4 != 0 {
			p.Z += size.Z
		}
		v[i] = b.Vertex(p)
	}
	for _, f := range [][4]int{{0, 2, 3, 1}, {4, 5, 7, 6}, {0, 1, 5, 4}, {2, 6, 7, 3}, {0, 4, 6, 2}, {1, 3, 7, 5}} {
		b.Face(v[f[0]], v[f[1]], v[f[2]], v[f[3]])
	}
}

func TestNewTakesEveryPartWhole(t *testing.T) {
	m := &mesh.Model{Parts: []mesh.Part{{Name: "a", Mesh: box(t, r3.Vec{}, 1)}, {Name: "b", Mesh: box(t, r3.Vec{X: 3}, 1)}}}
	d := doc.New(doc.ModelRef{Path: "/m.obj"}, m)
	if err := d.Validate(); err != nil {
		t.Fatal(err)
	}
	if len(d.Parts) != 2 || d.Parts[1].Name != "b" || d.Parts[1].Pieces[0] != (doc.Piece{Source: "b", Shell: doc.Whole}) {
		t.Errorf("parts %+v", d.Parts)
	}
}

func TestRenamePartReachesItsJoints(t *testing.T) {
	d := twoParts()
	e, err := d.RenamePart("arm", "forearm")
	if err != nil {
		t.Fatal(err)
	}
	if e.Joints[0].Child != "forearm" || e.Validate() != nil || e.Joints[0].Picks[0].Source != "arm" {
		t.Errorf("joint %+v, %v", e.Joints[0], e.Validate())
	}
	if !d.Equal(twoParts()) {
		t.Error("the old document was modified")
	}
	for _, c := range []struct{ from, to, want string }{
		{"leg", "x", `there is no part "leg"`},
		{"arm", "base", `there is a part "base" already`},
		{"arm", "", "a part needs a name"},
	} {
		if _, err := d.RenamePart(c.from, c.to); err == nil || err.Error() != c.want {
			t.Errorf("error %v, want %s", err, c.want)
		}
	}
}

func TestJoinParts(t *testing.T) {
	d := twoParts()
	e, err := d.JoinParts("pin", "arm")
	if err != nil {
		t.Fatal(err)
	}
	if len(e.Parts) != 2 || e.Joints[0].Child != "pin" || len(e.Parts[1].Pieces) != 2 || e.Validate() != nil {
		t.Errorf("parts %+v, joint on %q, %v", e.Parts, e.Joints[0].Child, e.Validate())
	}
	if !d.Equal(twoParts()) {
		t.Error("the old document was modified")
	}
	second := d.Joints[0]
	second.Name, second.Parent, second.Child = "wrist", "base", "pin"
	two, err := d.AddJoint(second)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		d     doc.Document
		names []string
		want  string
	}{
		{d, []string{"arm"}, "joining takes two parts or more"},
		{d, []string{"arm", "arm"}, `part "arm" is named twice`},
		{d, []string{"arm", "leg"}, `there is no part "leg"`},
		{d, []string{"base", "arm"}, `joint "elbow" moves "arm" against "base": remove it before joining them`},
		{two, []string{"arm", "pin"}, `the parts hang on two joints, "elbow" and "wrist": remove one before joining them`},
	} {
		if _, err := c.d.JoinParts(c.names...); err == nil || err.Error() != c.want {
			t.Errorf("error %v, want %s", err, c.want)
		}
	}
}

func TestRenameJointReachesPosesAndFrames(t *testing.T) {
	d := twoParts()
	second := d.Joints[0]
	second.Name, second.Parent, second.Child = "wrist", "arm", "pin"
	second.Spec.Roll.At = kinematics.Reference{Kind: kinematics.FromJoint, Joint: "elbow"}
	d, err := d.AddJoint(second)
	if err != nil {
		t.Fatal(err)
	}
	e, err := d.EditJoint("elbow", func(j doc.Joint) doc.Joint { j.Name = "Ellbogen"; return j })
	if err != nil {
		t.Fatal(err)
	}
	if e.Poses[0].Values[0].Joint != "Ellbogen" || e.Joints[1].Spec.Roll.At.Joint != "Ellbogen" {
		t.Errorf("pose %+v, reference %q", e.Poses[0], e.Joints[1].Spec.Roll.At.Joint)
	}
	if d.Poses[0].Values[0].Joint != "elbow" || d.Joints[1].Spec.Roll.At.Joint != "elbow" {
		t.Error("the old document was modified")
	}
	if _, err := e.RemoveJoint("Ellbogen"); err == nil || !strings.Contains(err.Error(), `the frame of joint "wrist" refers to joint "Ellbogen"`) {
		t.Errorf("removing a joint that is referred to: %v", err)
	}
	e, err = e.RemoveJoint("wrist")
	if err != nil {
		t.Fatal(err)
	}
	if e, err = e.RemoveJoint("Ellbogen"); err != nil || len(e.Joints) != 0 || len(e.Poses[0].Values) != 0 || e.Validate() != nil {
		t.Errorf("left %+v %+v (%v)", e.Joints, e.Poses, err)
	}
	if _, err := e.EditJoint("elbow", func(j doc.Joint) doc.Joint { return j }); err == nil {
		t.Error("a joint that is gone was edited")
	}
}

func TestPoses(t *testing.T) {
	d := twoParts()
	e, err := d.SetPose(doc.Pose{Name: "folded", Values: []doc.JointValue{{Joint: "elbow", Values: []float64{1}}}})
	if err != nil || len(e.Poses) != 2 {
		t.Fatal(e.Poses, err)
	}
	e, err = e.SetPose(doc.Pose{Name: "folded"})
	if err != nil || len(e.Poses) != 2 || len(e.Poses[1].Values) != 0 {
		t.Error(e.Poses, err)
	}
	if _, err := e.SetPose(doc.Pose{Name: "odd", Values: []doc.JointValue{{Joint: "knee"}}}); err == nil {
		t.Error("a pose of no joint was taken")
	}
	if e, err = e.RemovePose("folded"); err != nil || len(e.Poses) != 1 {
		t.Error(e.Poses, err)
	}
	if _, err := e.RemovePose("folded"); err == nil {
		t.Error("a pose that is gone was removed")
	}
}

func TestFreeJointName(t *testing.T) {
	d := twoParts()
	if a, b := d.FreeJointName("wrist"), d.FreeJointName("elbow"); a != "wrist" || b != "elbow 2" {
		t.Error(a, b)
	}
}

// Undo and redo against a plain list of states, in any order.
func TestHistoryProperty(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		type state struct {
			doc   doc.Document
			label string
		}
		h := doc.NewHistory(twoParts())
		states, at, saved := []state{{doc: twoParts()}}, 0, 0
		savedGone := false
		calls, changes := 0, 0
		h.OnChange(func() { calls++ })
		rename := func(to string) func(doc.Document) doc.Document {
			return func(d doc.Document) doc.Document {
				e, err := d.RenamePart(d.Parts[2].Name, to)
				if err != nil {
					t.Fatal(err)
				}
				return e
			}
		}
		push := func(label string) {
			if saved > at {
				savedGone = true
			}
			states = append(slices.Clone(states[:at+1]), state{h.Current(), label})
			at++
			changes++
		}
		for i := range rapid.IntRange(0, 40).Draw(t, "steps") {
			switch rapid.SampledFrom([]string{"do", "nothing", "undo", "redo", "save"}).Draw(t, "step") {
			case "do":
				label := fmt.Sprint("rename ", i)
				if !h.Do(label, rename(fmt.Sprint("pin ", i))) {
					t.Fatal("a change was refused")
				}
				push(label)
			case "nothing":
				if h.Do("nothing", func(d doc.Document) doc.Document { return d }) {
					t.Fatal("no change left a step")
				}
			case "undo":
				if done := h.Undo(); done != (at > 0) {
					t.Fatal("undo", done)
				} else if done {
					at--
					changes++
				}
			case "redo":
				if done := h.Redo(); done != (at+1 < len(states)) {
					t.Fatal("redo", done)
				} else if done {
					at++
					changes++
				}
			case "save":
				if h.Dirty() {
					changes++
				}
				h.Saved(h.Serial())
				saved, savedGone = at, false
			}
			if !h.Current().Equal(states[at].doc) {
				t.Fatalf("step %d: the document is not that of state %d", i, at)
			}
			if h.Dirty() != (savedGone || at != saved) {
				t.Fatalf("dirty %v at %d, saved at %d (gone %v)", h.Dirty(), at, saved, savedGone)
			}
			if label, ok := h.UndoLabel(); ok != (at > 0) || ok && label != states[at].label {
				t.Fatalf("undo label %q %v", label, ok)
			}
			if label, ok := h.RedoLabel(); ok != (at+1 < len(states)) || ok && label != states[at+1].label {
				t.Fatalf("redo label %q %v", label, ok)
			}
		}
		if calls != changes {
			t.Fatalf("%d notifications for %d changes", calls, changes)
		}
	})
}

func TestAdjustMakesOneStepOfADrag(t *testing.T) {
	h := doc.NewHistory(twoParts())
	value := func(v float64) func(doc.Document) doc.Document {
		return func(d doc.Document) doc.Document {
			e, err := d.SetPose(doc.Pose{Name: "neutral", Values: []doc.JointValue{{Joint: "elbow", Values: []float64{v}}}})
			if err != nil {
				t.Fatal(err)
			}
			return e
		}
	}
	at := func() float64 { return h.Current().Poses[0].Values[0].Values[0] }
	h.Adjust("turn elbow", value(0.5)) // as it is: no step
	for v := 1.0; v <= 5; v++ {
		h.Adjust("turn elbow", value(v))
	}
	h.Settle()
	h.Adjust("turn elbow", value(6))
	h.Adjust("turn wrist", value(7))
	for _, want := range []float64{6, 5, 0.5} {
		if !h.Undo() || at() != want {
			t.Fatalf("value %v after undo, want %v", at(), want)
		}
	}
	if h.Undo() {
		t.Error("an empty adjustment left a step")
	}
	h.Redo()
	h.Adjust("turn elbow", value(8))
	if h.Undo(); at() != 5 {
		t.Errorf("an adjustment after redo overwrote the step: %v", at())
	}
}

func TestHistoryIsBounded(t *testing.T) {
	h := doc.NewHistory(twoParts())
	const n = 1500
	for i := range n {
		h.Do("rename", func(d doc.Document) doc.Document {
			e, err := d.RenamePart(d.Parts[2].Name, fmt.Sprint("pin ", i))
			if err != nil {
				t.Fatal(err)
			}
			return e
		})
	}
	steps := 0
	for h.Undo() {
		steps++
	}
	if steps != 1000 || h.Current().Parts[2].Name != "pin 499" || !h.Dirty() {
		t.Errorf("%d steps back to %q", steps, h.Current().Parts[2].Name)
	}
	h.Reset(twoParts())
	if h.Dirty() || h.Undo() || h.Redo() {
		t.Error("not afresh after Reset")
	}
}
