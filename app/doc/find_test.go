package doc_test

import (
	"context"
	"encoding/json"
	"errors"
	"math"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/app/doc"
	"pintle/assets"
	"pintle/fit/find"
	"pintle/kinematics"
)

// demoSession opens a demo's model.
func demoSession(t *testing.T, name string) (*doc.Session, []statedJoint) {
	t.Helper()
	for _, d := range assets.Demos() {
		if d.Name != name {
			continue
		}
		path := filepath.Join(t.TempDir(), name+".obj")
		if err := os.WriteFile(path, d.OBJ, 0o600); err != nil {
			t.Fatal(err)
		}
		s, err := doc.OpenModel(context.Background(), path, doc.OpenOptions{})
		if err != nil {
			t.Fatal(err)
		}
		var truth struct{ Joints []statedJoint }
		if err := json.Unmarshal(d.Truth, &truth); err != nil {
			t.Fatal(err)
		}
		return s, truth.Joints
	}
	t.Fatalf("there is no demo %q", name)
	return nil, nil
}

// found proposes joints, with the ground that the truth has.
func found(t *testing.T, s *doc.Session, truth []statedJoint) doc.Proposals {
	t.Helper()
	p, err := s.Find(context.Background(), find.Options{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, j := range truth {
		if slices.ContainsFunc(truth, func(k statedJoint) bool { return k.Child == j.Parent }) {
			continue
		}
		if p, err = s.Reground(context.Background(), p, j.Parent); err != nil {
			t.Fatal(err)
		}
		break
	}
	return p
}

// proposalOf returns the proposal of a child part.
func proposalOf(t *testing.T, s *doc.Session, p doc.Proposals, child string) doc.Proposal {
	t.Helper()
	i := slices.IndexFunc(p.List, func(x doc.Proposal) bool { return s.Parts[x.Child].Name == child && !x.Loop })
	if i < 0 {
		t.Fatalf("nothing is proposed for %q", child)
	}
	return p.List[i]
}

func TestTheDemosJointsAreProposedAndAccepted(t *testing.T) {
	for _, name := range []string{"tern-arm", "heron-leg"} {
		s, truth := demoSession(t, name)
		p := found(t, s, truth)
		d, n, err := s.AcceptAbove(p, 0.5, nil)
		if err != nil || n != len(truth) || len(d.Joints) < n {
			t.Fatalf("%s: %d joints accepted of %d, error %v", name, n, len(truth), err)
		}
		after, err := s.With(d)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := after.Tree(); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		for _, want := range truth {
			k := d.JointOf(want.Child)
			if k < 0 {
				t.Errorf("%s: nothing carries %s", name, want.Child)
				continue
			}
			j := d.Joints[k]
			if j.Parent != want.Parent {
				t.Errorf("%s: %s hangs on %s, want %s", name, want.Child, j.Parent, want.Parent)
			}
			off := kinematics.AxisErrorOf(j.Frame.Axis(), axisOf(want.Origin, want.Axis))
			if a := math.Min(off.Angle, math.Pi-off.Angle); a > 1e-3 || off.Offset > 0.05 {
				t.Errorf("%s: %s is %.3g rad and %.3g mm off", name, j.Name, a, off.Offset)
			}
			// What is picked for it gives the same hinge when it is fitted again.
			if len(j.Picks) == 0 {
				t.Errorf("%s: nothing is picked for %s", name, j.Name)
				continue
			}
			again, err := after.Refit(j)
			if err != nil {
				t.Errorf("%s: %s: %v", name, j.Name, err)
				continue
			}
			if a := kinematics.Angle(again.Frame.Hinge, j.Frame.Hinge); a > 1e-3 {
				t.Errorf("%s: refitted, %s points %.3g rad elsewhere", name, j.Name, a)
			}
			if move := r3.Norm(r3.Sub(again.Frame.Origin, j.Frame.Origin)); move > 0.05 {
				t.Errorf("%s: refitted, %s has moved by %.3g mm", name, j.Name, move)
			}
			if got := after.Read(proposalOf(t, s, p, want.Child)); got.Standing != doc.InPlace || got.Joint != j.Name {
				t.Errorf("%s: once accepted, %s reads %+v", name, j.Name, got)
			}
		}
	}
}

func TestHingesOfALimbHaveOneSense(t *testing.T) {
	s, truth := demoSession(t, "heron-leg")
	d, _, err := s.AcceptAbove(found(t, s, truth), 0.5, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, j := range d.Joints {
		k := d.JointOf(j.Parent)
		if k < 0 {
			continue
		}
		if a := kinematics.Angle(j.Frame.Hinge, d.Joints[k].Frame.Hinge); a > math.Pi*3/4 {
			t.Errorf("%s turns against %s", j.Name, d.Joints[k].Name)
		}
	}
}

func TestReachPointsAtTheNextJoint(t *testing.T) {
	s, truth := demoSession(t, "heron-leg")
	p := found(t, s, truth)
	thigh, shank := proposalOf(t, s, p, "thigh"), proposalOf(t, s, p, "shank")
	f := thigh.Choices[0].Frame
	toward := f.Axis().Offset(shank.Choices[0].Frame.Origin)
	if a := kinematics.Angle(f.Reach, toward); a > 1e-9 {
		t.Errorf("the thigh's reach is %.3g rad off the knee", a)
	}
	if !slices.Contains(thigh.Moves, shank.Child) || slices.Contains(shank.Moves, thigh.Child) {
		t.Errorf("with the thigh move %v, with the shank %v", thigh.Moves, shank.Moves)
	}
}

func TestJointsOfTheUsersOwnAreKept(t *testing.T) {
	s, truth := demoSession(t, "heron-leg")
	p := found(t, s, truth)
	shank := proposalOf(t, s, p, "shank")
	own, err := s.ProposedJoint(shank, 0)
	if err != nil {
		t.Fatal(err)
	}
	own.Name = "my knee"
	for _, c := range []struct {
		tilt float64
		want doc.Standing
	}{{0.1 * math.Pi / 180, doc.Agrees}, {4 * math.Pi / 180, doc.Differs}} {
		mine := own
		mine.Spec.Roll.Angle = c.tilt
		d, err := s.TakeJoint(mine)
		if err != nil {
			t.Fatal(err)
		}
		with, err := s.With(d)
		if err != nil {
			t.Fatal(err)
		}
		r := with.Read(shank)
		if r.Standing != c.want || r.Joint != "my knee" || math.Abs(r.Angle-c.tilt) > 1e-9 || r.Offset > 1e-6 {
			t.Errorf("tilted by %.3g the knee reads %+v", c.tilt, r)
		}
		if _, err := with.Accept(p, shank, 0); !errors.Is(err, doc.ErrTaken) {
			t.Errorf("accepting over the user's own: %v", err)
		}
		d, n, err := with.AcceptAbove(p, 0, nil)
		if err != nil || n != len(p.List)-1 {
			t.Errorf("%d accepted, error %v", n, err)
		}
		if j := d.Joints[d.JointIndex("my knee")]; j.Spec != with.Doc.Joints[0].Spec {
			t.Error("the user's own joint has changed")
		}
	}
}

func TestAcceptingTurnsNothingElse(t *testing.T) {
	s, truth := demoSession(t, "heron-leg")
	p := found(t, s, truth)
	if d, n, err := s.AcceptAbove(p, 1.01, nil); err != nil || n != 0 || !d.Equal(s.Doc) {
		t.Errorf("%d accepted above certainty, error %v", n, err)
	}
	d, n, err := s.AcceptAbove(p, 0, func(i int) int {
		if i == 0 {
			return 0
		}
		return -1
	})
	if err != nil || n != 1 || len(d.Joints) != 1 {
		t.Errorf("%d accepted, %d in the document, error %v", n, len(d.Joints), err)
	}
	if _, err := s.Accept(p, p.List[0], 99); err == nil {
		t.Error("a choice that is not there was accepted")
	}
}

func TestProposalsHoldForTheirPartsOnly(t *testing.T) {
	s, truth := demoSession(t, "heron-leg")
	p := found(t, s, truth)
	renamed, err := s.Doc.RenamePart("shank", "shin")
	if err != nil {
		t.Fatal(err)
	}
	with, err := s.With(renamed)
	if err != nil {
		t.Fatal(err)
	}
	if !p.Fits(with) {
		t.Error("another name makes the proposals void")
	}
	joined, err := s.Doc.JoinParts("shank", "foot")
	if err != nil {
		t.Fatal(err)
	}
	if with, err = s.With(joined); err != nil {
		t.Fatal(err)
	}
	if p.Fits(with) {
		t.Error("the proposals still count where two parts are one")
	}
}

func TestRegroundTurnsThePathRound(t *testing.T) {
	s, truth := demoSession(t, "heron-leg")
	p := found(t, s, truth)
	back, err := s.Reground(context.Background(), p, "foot")
	if err != nil {
		t.Fatal(err)
	}
	if len(back.List) != len(p.List) || s.Parts[back.Ground].Name != "foot" {
		t.Fatalf("%d proposals from ground %d", len(back.List), back.Ground)
	}
	for _, x := range back.List {
		was := proposalOf(t, s, p, s.Parts[x.Parent].Name)
		if was.Parent != x.Child {
			t.Errorf("%s was not turned round", x.Name)
		}
		if a, d := x.Choices[0].Frame.Axis(), was.Choices[0].Frame.Axis(); d.Distance(a.Point) > 1e-6 {
			t.Errorf("%s has another axis", x.Name)
		}
	}
	if _, err := s.Reground(context.Background(), p, "wing"); err == nil {
		t.Error("a part that is not there became the ground")
	}
}

func TestFindStops(t *testing.T) {
	s, _ := demoSession(t, "heron-leg")
	ctx, cancel := context.WithCancel(context.Background())
	_, err := s.Find(ctx, find.Options{}, func(done float64, _ string) {
		if done > 0.2 {
			cancel()
		}
	})
	if !errors.Is(err, context.Canceled) {
		t.Errorf("error %v", err)
	}
}

func TestChoiceMotionLeavesTheAxisInPlace(t *testing.T) {
	s, truth := demoSession(t, "heron-leg")
	p := found(t, s, truth)
	for _, x := range p.List {
		c := x.Choices[0]
		m := c.Motion(0.2)
		if off := r3.Norm(r3.Sub(m.Apply(c.Frame.Origin), c.Frame.Origin)); off > 1e-9 {
			t.Errorf("%s: its own origin moves by %.3g", x.Name, off)
		}
		swing := s.Swing(x, c)
		if len(swing) != c.Kind.Freedoms() || !(swing[0] > 0 && swing[0] < 0.4) {
			t.Errorf("%s swings by %v", x.Name, swing)
		}
	}
}

// A loop is cut at whichever of its joints comes last.
func TestTheJointsOfALoopAreAcceptedInAnyOrder(t *testing.T) {
	s, truth := demoSession(t, "drawbridge")
	p := found(t, s, truth)
	if n := len(p.List); n != 4 {
		t.Fatalf("%d proposals", n)
	}
	for _, first := range []int{3, 2, 1, 0} {
		now := s
		for k := range p.List {
			x := p.List[(first+k)%len(p.List)]
			if got := now.Read(x); got.Standing != doc.Undecided || got.Closes && k == 0 {
				t.Fatalf("from %d: %s reads %+v", first, x.Name, got)
			}
			d, err := now.Accept(p, x, 0)
			if err != nil {
				t.Fatalf("from %d: %s: %v", first, x.Name, err)
			}
			if now, err = now.With(d); err != nil {
				t.Fatal(err)
			}
		}
		closing := 0
		for _, j := range now.Doc.Joints {
			if j.Closes {
				closing++
			}
		}
		if len(now.Doc.Joints) != 4 || closing != 1 {
			t.Errorf("from %d: %d joints, %d of them close a loop", first, len(now.Doc.Joints), closing)
		}
		if _, err := now.Tree(); err != nil {
			t.Errorf("from %d: %v", first, err)
		}
	}
}
