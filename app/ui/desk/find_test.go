package desk

import (
	"context"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pintle/app/doc"
	"pintle/app/job"
	"pintle/assets"
	"pintle/fit/find"
	"pintle/kinematics"
	"pintle/viewport"
	"pintle/viewport/draft"
)

// look opens a demo and looks for its joints.
func (b *bench) look(demo string) Review {
	b.t.Helper()
	b.openDemo(demo)
	b.FindJoints()
	b.until("the joints are found", func() bool { return b.Reviewing() || len(b.problems) > 0 })
	r := b.Review()
	if len(b.problems) > 0 || len(r.Rows) == 0 {
		b.t.Fatalf("nothing was found: %v", b.problems)
	}
	return r
}

func TestReviewFromFindToTheLastJoint(t *testing.T) {
	b := newBench(t)
	looked := 0
	b.OnLook = func() { looked++ }
	r := b.look("tern-arm")
	n := len(r.Rows)
	if n != 8 || r.At != 0 || r.Left != n || looked != 1 {
		t.Fatalf("%d proposals, at %d, %d left, looked %d times", n, r.At, r.Left, looked)
	}
	// Accept goes on to the next; Reject too; stepping goes round.
	b.AcceptFound()
	if r = b.Review(); r.At != 1 || r.Left != n-1 || r.Rows[0].Standing != doc.InPlace {
		t.Errorf("after accepting: at %d, %d left, %v", r.At, r.Left, r.Rows[0].Standing)
	}
	b.RejectFound()
	if r = b.Review(); r.At != 2 || r.Left != n-2 || !r.Rows[1].Rejected {
		t.Errorf("after rejecting: at %d, %d left", r.At, r.Left)
	}
	b.LookOn(-1)
	b.RejectFound()
	if r = b.Review(); r.At != 1 || r.Rows[1].Rejected {
		t.Error("rejecting again does not take it back")
	}
	b.LookOn(-2)
	if r = b.Review(); r.At != n-1 {
		t.Errorf("two back from the second is %d", r.At)
	}
	b.RejectFound()
	b.SetLeast(0.5)
	before := len(b.Session().Doc.Joints)
	b.AcceptAbove()
	if got := len(b.Session().Doc.Joints); got != before+n-2 {
		t.Errorf("%d joints after accepting all, want %d", got, before+n-2)
	}
	if b.Reviewing() {
		t.Error("all is decided and the review goes on")
	}
	if j, _, ok := b.Joint(); !ok || j.Accepted {
		t.Errorf("the review ends at %q, accepted %v: it is still to be proven", j.Name, j.Accepted)
	}
	b.Undo()
	if got := len(b.Session().Doc.Joints); got != before {
		t.Errorf("one Undo leaves %d joints, want %d", got, before)
	}
	b.FindJoints()
	if r = b.Review(); !b.Reviewing() || r.Left != n-2 {
		t.Errorf("back in the review %d are left, want %d", r.Left, n-2)
	}
	if len(b.problems) > 0 {
		t.Error(b.problems)
	}
}

func TestReviewOrdersByConfidence(t *testing.T) {
	b := newBench(t)
	b.look("drawbridge")
	b.SetBySure(true)
	r := b.Review()
	for i := 1; i < len(r.Rows); i++ {
		if r.Rows[i].Confidence > r.Rows[i-1].Confidence {
			t.Errorf("row %d is surer than the one before", i)
		}
	}
	b.SetLeast(0)
	if r = b.Review(); r.Above != r.Left {
		t.Errorf("%d of %d are as sure as 0", r.Above, r.Left)
	}
	b.SetLeast(1)
	if r = b.Review(); r.Above != 0 {
		t.Errorf("%d are certain", r.Above)
	}
}

func TestSwingMovesTheChildAndComesToRest(t *testing.T) {
	b := newBench(t)
	b.look("tern-arm")
	b.LookAt(2)
	row, _ := b.Review().Current()
	all, ok := b.FoundSwing()
	if !ok || len(all) != 1 || !(all[0] > 0.05 && all[0] < 0.5) {
		t.Fatalf("it swings by %v", all)
	}
	reach := all[0]
	before := b.Swings()
	b.SwingFound(reach)
	s := b.Scene()
	want := kinematics.Rotation(row.Choices[0].Frame.Axis(), reach)
	p := b.Session().Parts[row.Child].Mesh.Vertices()[0]
	if got := s.Parts[row.Child].MotionOrIdentity().Apply(p); got != want.Apply(p) {
		t.Errorf("the child's vertex is at %v, want %v", got, want.Apply(p))
	}
	if s.Parts[row.Parent].MotionOrIdentity() != kinematics.Identity() {
		t.Error("the parent moves")
	}
	b.SwingFound(0)
	if s = b.Scene(); s.Parts[row.Child].MotionOrIdentity() != kinematics.Identity() {
		t.Error("the child does not come to rest where it was")
	}
	b.SwingFound(0)
	if b.Swings() != before+2 {
		t.Errorf("%d redraws for two moves", b.Swings()-before)
	}
	b.SwingFound(0.1)
	b.LookOn(1)
	if b.FoundValue() != 0 {
		t.Error("the next proposal is not at rest")
	}
}

func TestReviewDrawsTheAxisAndTheRunnersUp(t *testing.T) {
	b := newBench(t)
	b.look("tern-arm")
	count := func() (frames, dashed, filled int) {
		for _, m := range b.Scene().Marks {
			switch m := m.(type) {
			case draft.FrameMark:
				frames++
			case draft.Line:
				if m.Type == draft.Dashed {
					dashed++
				}
			case draft.Balloon:
				if m.Filled {
					filled++
				}
			}
		}
		return frames, dashed, filled
	}
	for i, row := range b.Review().Rows {
		b.LookAt(row.Number)
		frames, dashed, filled := count()
		if frames != 1 || filled != 1 || dashed != len(row.Choices)-1 {
			t.Errorf("proposal %d: %d frames, %d filled balloons, %d dashed axes of %d", i, frames, filled, dashed, len(row.Choices)-1)
		}
	}
}

func TestChoosingARunnerUpMakesThatJoint(t *testing.T) {
	b := newBench(t)
	r := b.look("tern-arm")
	for _, row := range r.Rows {
		if len(row.Choices) < 2 {
			continue
		}
		b.LookAt(row.Number)
		b.ChooseOn(-1)
		last := len(row.Choices) - 1
		if got, _ := b.Review().Current(); got.Choice != last {
			t.Fatalf("one before the first is choice %d", got.Choice)
		}
		b.AcceptFound()
		i := b.Session().Doc.JointIndex(row.Name)
		if i < 0 {
			t.Fatal(b.problems)
		}
		axis := b.Session().Doc.Joints[i].Frame.Axis()
		want := row.Choices[last].Frame.Axis()
		if a := kinematics.Angle(axis.Dir, want.Dir); a > 1e-9 || axis.Distance(want.Point) > 1e-6 {
			t.Errorf("the joint is %v rad off the runner-up", a)
		}
		return
	}
	t.Fatal("no proposal has a runner-up")
}

func TestClickInAReviewLooksAtThePart(t *testing.T) {
	b := newBench(t)
	b.look("tern-arm")
	palm := b.Session().Doc.PartIndex("palm")
	b.Click(viewport.Hit{Mode: viewport.PickPart, Part: palm, Triangle: 0, Vertex: -1, Edge: -1})
	if row, _ := b.Review().Current(); row.Child != palm {
		t.Errorf("a click on the palm looks at %s", row.Name)
	}
	if len(b.Picks()) != 0 || b.Part() != -1 {
		t.Error("the click picked something as well")
	}
	b.Escape()
	if b.Reviewing() || !b.CanResume() {
		t.Error("Escape does not leave the review, or throws it away")
	}
}

func TestDraggingSwingsTheProposal(t *testing.T) {
	b := newBench(t)
	b.look("tern-arm")
	row, _ := b.Review().Current()
	axis := row.Choices[0].Frame.Axis()
	m := b.Session().Parts[row.Child].Mesh
	far := m.Vertices()[0]
	for _, v := range m.Vertices() {
		if axis.Distance(v) > axis.Distance(far) {
			far = v
		}
	}
	drag := b.Grab(viewport.Hit{Mode: viewport.PickPart, Part: row.Child, Triangle: 0, Vertex: -1, Edge: -1, Point: far})
	if drag == nil {
		t.Fatal("the child cannot be grabbed")
	}
	to := kinematics.Rotation(axis, 0.3).Apply(far)
	eye := axis.Dir
	eye.X, eye.Y, eye.Z = to.X+100*eye.X, to.Y+100*eye.Y, to.Z+100*eye.Z
	drag(eye, kinematics.Axis{Dir: axis.Dir}.Reversed().Dir, false)
	if math.Abs(b.FoundValue()-0.3) > 1e-9 {
		t.Errorf("dragged to %v, want 0.3", b.FoundValue())
	}
	if b.Grab(viewport.Hit{Mode: viewport.PickPart, Part: row.Parent, Vertex: -1, Edge: -1, Point: far}) != nil {
		t.Error("the parent swings")
	}
}

func TestAnotherGroundTurnsTheTreeRound(t *testing.T) {
	b := newBench(t)
	b.look("heron-leg")
	b.SetGround("foot")
	r := b.Review()
	if r.Ground != "foot" || b.Session().Parts[r.Rows[0].Parent].Name != "foot" {
		t.Errorf("ground %q, the first joint hangs on %q", r.Ground, b.Session().Parts[r.Rows[0].Parent].Name)
	}
}

func TestPartsThatChangeEndTheReview(t *testing.T) {
	b := newBench(t)
	b.look("tern-arm")
	b.EndReview()
	b.SelectPart(b.Session().Doc.PartIndex("finger 1"))
	b.JoinPart("finger 2")
	if b.CanResume() || b.Reviewing() {
		t.Error("proposals about other parts are kept")
	}
	b.openDemo("drawbridge")
	b.until("the other demo", func() bool { return b.Title() == "drawbridge.obj" })
	if b.CanResume() {
		t.Error("proposals about another model are kept")
	}
}

func TestFindCanBeCancelled(t *testing.T) {
	b := newBench(t)
	b.openDemo("tern-arm")
	b.FindJoints()
	b.CancelTask()
	if b.Task() != nil {
		t.Error("the work is still waited for")
	}
	b.runner.Close() // waits until the work has stopped
	for len(b.queue) > 0 {
		(<-b.queue)()
	}
	if b.Reviewing() || len(b.problems) > 0 {
		t.Errorf("reviewing %v, problems %v", b.Reviewing(), b.problems)
	}
	// What is found about another model is not shown.
	other := newBench(t)
	other.openDemo("heron-leg")
	other.takeFound(foundIn(t, b.Session()))
	if other.Reviewing() {
		t.Error("proposals about other parts are looked through")
	}
}

func foundIn(t *testing.T, s *doc.Session) doc.Proposals {
	t.Helper()
	p, err := s.Find(context.Background(), find.Options{}, job.Progress(nil))
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// A model that is one mesh is cut into its pieces first, as a step of its own.
func TestFindInAFusedModel(t *testing.T) {
	var lines []string
	for _, d := range assets.Demos() {
		if d.Name == "tern-arm" {
			for _, l := range strings.Split(string(d.OBJ), "\n") {
				if !strings.HasPrefix(l, "o ") {
					lines = append(lines, l)
				}
			}
		}
	}
	path := filepath.Join(t.TempDir(), "arm.obj")
	if err := os.WriteFile(path, []byte("o arm\n"+strings.Join(lines, "\n")), 0o600); err != nil {
		t.Fatal(err)
	}
	b := newBench(t)
	b.Open(path)
	b.until("the model opens", func() bool { return b.Session() != nil || len(b.problems) > 0 })
	if n := len(b.Session().Parts); n != 1 {
		t.Fatalf("%d parts, want one", n)
	}
	b.FindJoints()
	b.until("the joints are found", func() bool { return b.Reviewing() || len(b.problems) > 0 })
	if n := len(b.Session().Parts); n < 6 || len(b.Review().Rows) < 5 {
		t.Errorf("%d parts, %d proposals, problems %v", n, len(b.Review().Rows), b.problems)
	}
	b.AcceptFound()
	if n := len(b.Session().Doc.Joints); n != 1 {
		t.Errorf("%d joints accepted", n)
	}
	b.Undo()
	if !b.Reviewing() {
		t.Error("undoing the joint ends the review")
	}
	b.Undo()
	if len(b.Session().Parts) != 1 || b.Reviewing() {
		t.Error("undoing the cut leaves the pieces, or the review of their joints")
	}
}
