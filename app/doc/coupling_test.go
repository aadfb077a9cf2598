package doc_test

import (
	"context"
	"math"
	"strings"
	"testing"

	"pintle/app/doc"
	"pintle/app/doc/doctest"
	"pintle/kinematics"
)

// train is three hinges in a row.
func train() doc.Document {
	d := twoParts()
	elbow := d.Joints[0]
	wrist := elbow
	wrist.Name, wrist.Parent, wrist.Child = "wrist", "arm", "pin"
	d.Joints = []doc.Joint{elbow, wrist}
	return d
}

func follow(follower, driver string, ratio float64) doc.Coupling {
	return doc.Coupling{
		Driver: doc.ValueRef{Joint: driver}, Follower: doc.ValueRef{Joint: follower},
		Law: kinematics.Law{Kind: kinematics.LawRatio, Ratio: ratio},
	}
}

func TestCouplingsAreEditedAndUndone(t *testing.T) {
	h := doc.NewHistory(train())
	edit := func(label string, f func(doc.Document) (doc.Document, error)) doc.Document {
		t.Helper()
		d, err := f(h.Current())
		if err != nil {
			t.Fatal(err)
		}
		h.Do(label, func(doc.Document) doc.Document { return d })
		return d
	}
	edit("couple", func(d doc.Document) (doc.Document, error) { return d.SetCoupling(follow("wrist", "elbow", -0.5)) })
	d := edit("couple again", func(d doc.Document) (doc.Document, error) { return d.SetCoupling(follow("wrist", "elbow", 2)) })
	if len(d.Couplings) != 1 || d.Couplings[0].Law.Ratio != 2 || d.CouplingOf(doc.ValueRef{Joint: "wrist"}) != 0 {
		t.Fatalf("couplings %+v", d.Couplings)
	}
	d = edit("rename", func(d doc.Document) (doc.Document, error) {
		return d.EditJoint("elbow", func(j doc.Joint) doc.Joint { j.Name = "knee"; return j })
	})
	if d.Couplings[0].Driver.Joint != "knee" {
		t.Errorf("couplings %+v", d.Couplings)
	}
	gone, err := d.RemoveJoint("knee")
	if err != nil || len(gone.Couplings) != 0 || len(d.Couplings) != 1 {
		t.Errorf("left %+v, %v", gone.Couplings, err)
	}
	slid, err := d.EditJoint("wrist", func(j doc.Joint) doc.Joint { return j.WithKind(kinematics.Prismatic) })
	if err != nil || len(slid.Couplings) != 0 {
		t.Errorf("a slider still follows by a hinge's ratio: %+v, %v", slid.Couplings, err)
	}
	freed, err := d.RemoveCoupling(doc.ValueRef{Joint: "wrist"})
	if err != nil || len(freed.Couplings) != 0 {
		t.Errorf("left %+v, %v", freed.Couplings, err)
	}
	if _, err := freed.RemoveCoupling(doc.ValueRef{Joint: "wrist"}); err == nil || err.Error() != `joint "wrist" follows nothing` {
		t.Errorf("error %v", err)
	}
	h.Undo()
	h.Undo()
	if got := h.Current().Couplings[0].Law.Ratio; got != -0.5 {
		t.Errorf("undone to the ratio %v", got)
	}
}

func TestCouplingsRefused(t *testing.T) {
	for _, c := range []struct {
		want string
		list []doc.Coupling
	}{
		{`a coupling: there is no joint "toe"`, []doc.Coupling{follow("wrist", "toe", 1)}},
		{`a coupling: a revolute joint such as "elbow" has no value 1`, []doc.Coupling{{Driver: doc.ValueRef{Joint: "elbow", Freedom: 1}, Follower: doc.ValueRef{Joint: "wrist"}}}},
		{`the coupling of joint "wrist": ratio NaN and offset 0: give finite numbers`, []doc.Coupling{follow("wrist", "elbow", math.NaN())}},
		{`joint "wrist" follows two drivers: one must do`, []doc.Coupling{follow("wrist", "elbow", 1), follow("wrist", "elbow", 2)}},
		{`joint "wrist" would follow itself: break the ring of couplings`, []doc.Coupling{follow("wrist", "elbow", 1), follow("elbow", "wrist", 1)}},
	} {
		d := train()
		d.Couplings = c.list
		if err := d.Validate(); err == nil || err.Error() != c.want {
			t.Errorf("error %v, want %s", err, c.want)
		}
	}
}

// Poses hold the free values; followers come from their drivers.
func TestPosesTakeFollowersAlong(t *testing.T) {
	dir := t.TempDir()
	s, err := doc.OpenModel(context.Background(), must[string](t)(doctest.WriteOBJ(dir, doctest.Model(doctest.Options{}))), doc.OpenOptions{})
	if err != nil {
		t.Fatal(err)
	}
	frame := kinematics.Frame{Hinge: doctest.Options{}.Hinge().Dir, Reach: kinematics.Perpendicular(doctest.Options{}.Hinge().Dir)}
	d := s.Doc
	for i, j := range []doc.Joint{{Name: "a", Child: "pin", Kind: kinematics.Revolute}, {Name: "b", Parent: "pin", Child: "arm", Kind: kinematics.Cylindric}} {
		j.Frame, j.Letters = frame, kinematics.DenavitHartenberg()
		j.Spec = kinematics.FrameSpec{Datum: frame.Axis()}
		if d, err = d.AddJoint(j); err != nil {
			t.Fatalf("joint %d: %v", i, err)
		}
	}
	c := follow("b", "a", 3)
	c.Follower.Freedom = 1
	if d, err = d.SetCoupling(c); err != nil {
		t.Fatal(err)
	}
	if s, err = s.With(d); err != nil {
		t.Fatal(err)
	}
	tree := must[*kinematics.Tree](t)(s.Tree())
	got := must[[]float64](t)(s.PoseValues(tree, doc.Pose{Name: "p", Values: []doc.JointValue{
		{Joint: "a", Values: []float64{0.2}}, {Joint: "b", Values: []float64{0.4, 9}},
	}}))
	if want := []float64{0.2, 0.4, 0.6}; math.Abs(got[0]-want[0])+math.Abs(got[1]-want[1])+math.Abs(got[2]-want[2]) > 1e-15 {
		t.Errorf("values %v, want %v", got, want)
	}
	if _, err := s.PoseValues(tree, doc.Pose{Name: "p", Values: []doc.JointValue{{Joint: "toe"}}}); err == nil || !strings.Contains(err.Error(), `there is no joint "toe"`) {
		t.Errorf("error %v", err)
	}
}

// A driver of -60 to 90 degrees takes its follower past what that may do; the
// finding says how far and where to keep the driver (plain arithmetic).
func TestAFollowerPastItsLimitsIsAFinding(t *testing.T) {
	s, err := doc.OpenModel(context.Background(), must[string](t)(doctest.WriteOBJ(t.TempDir(), doctest.Model(doctest.Options{}))), doc.OpenOptions{})
	if err != nil {
		t.Fatal(err)
	}
	const deg = math.Pi / 180
	d := s.Doc
	for _, j := range []doc.Joint{
		{Name: "a", Child: "pin", Limits: []kinematics.Range{{Lower: -60 * deg, Upper: 90 * deg}}},
		{Name: "b", Parent: "pin", Child: "arm", Limits: []kinematics.Range{{Lower: -40 * deg, Upper: 30 * deg}}},
	} {
		j.Kind, j.Letters = kinematics.Revolute, kinematics.DenavitHartenberg()
		j.Frame = kinematics.Frame{Hinge: doctest.Options{}.Hinge().Dir, Reach: kinematics.Perpendicular(doctest.Options{}.Hinge().Dir)}
		j.Spec = kinematics.FrameSpec{Datum: j.Frame.Axis()}
		if d, err = d.AddJoint(j); err != nil {
			t.Fatal(err)
		}
	}
	found := func(c doc.Coupling, edit func(doc.Document) doc.Document) []doc.Finding {
		t.Helper()
		e, err := d.SetCoupling(c)
		if err != nil {
			t.Fatal(err)
		}
		with, err := s.With(edit(e))
		if err != nil {
			t.Fatal(err)
		}
		var out []doc.Finding
		for _, f := range with.Findings(with.Doc.Joints[1], nil) {
			if f.Kind == doc.RangeCoupled {
				out = append(out, f)
			}
		}
		return out
	}
	same := func(d doc.Document) doc.Document { return d }
	got := found(follow("b", "a", 0.5), same)
	if len(got) != 1 || math.Abs(got[0].Value-45*deg) > 1e-12 || math.Abs(got[0].Limit-30*deg) > 1e-12 ||
		got[0].Text != "follows a to 45.00° past its own limit of 30.00°; keep a within -60.00° to 60.00°" {
		t.Errorf("findings %+v", got)
	}
	if got := found(follow("b", "a", 1./3), same); len(got) != 0 {
		t.Errorf("within its limits, yet %+v", got)
	}
	free := func(d doc.Document) doc.Document {
		d, err := d.EditJoint("a", func(j doc.Joint) doc.Joint { j.Limits = nil; return j })
		if err != nil {
			t.Fatal(err)
		}
		return d
	}
	if got := found(follow("b", "a", 0.5), free); len(got) != 1 || !strings.HasPrefix(got[0].Text, "follows a, which is not limited, past its own limit of") {
		t.Errorf("findings %+v", got)
	}
	off := follow("b", "a", 0.5)
	off.Law.Kind, off.Law.Offset = kinematics.LawLinear, 1
	if got := found(off, same); len(got) != 1 || !strings.HasSuffix(got[0].Text, "it is outside as modelled: change the offset or the limits") {
		t.Errorf("findings %+v", got)
	}
}

// Kinds of several freedoms say that they are not proven, and are no failure.
func TestSeveralFreedomsAreNotProvenYet(t *testing.T) {
	s, err := doc.OpenModel(context.Background(), must[string](t)(doctest.WriteOBJ(t.TempDir(), doctest.Model(doctest.Options{}))), doc.OpenOptions{})
	if err != nil {
		t.Fatal(err)
	}
	for _, k := range []kinematics.Kind{kinematics.Cylindric, kinematics.Planar} {
		j := doc.Joint{Name: "j", Kind: k, Parent: "base", Child: "arm", Frame: kinematics.Frame{Hinge: doctest.Options{}.Hinge().Dir, Reach: kinematics.Perpendicular(doctest.Options{}.Hinge().Dir)}}
		list, m, err := s.Prove(context.Background(), j, nil)
		if err != nil || m != nil || doc.Worst(list) == doc.Stop {
			t.Errorf("%s: %v, %v, %v", k, list, m, err)
		}
		said := false
		for _, f := range list {
			said = said || f.Kind == doc.MotionUnproven && strings.Contains(f.Text, "not for all of them together")
		}
		if !said {
			t.Errorf("%s: %+v", k, list)
		}
		if _, err := s.MotionInput(j); err == nil || !strings.Contains(err.Error(), "at once") {
			t.Errorf("%s: error %v", k, err)
		}
	}
}
