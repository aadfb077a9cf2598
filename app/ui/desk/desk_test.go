package desk

import (
	"encoding/json"
	"errors"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/app/doc"
	"pintle/app/job"
	"pintle/assets"
	"pintle/fit"
	"pintle/fit/mesh"
	"pintle/kinematics"
	"pintle/viewport"
	"pintle/viewport/draft"
)

// bench is a desk with a queue in place of a window's thread.
type bench struct {
	*Desk
	t        *testing.T
	queue    chan func()
	problems []error
}

func newBench(t *testing.T) *bench {
	t.Helper()
	b := &bench{t: t, queue: make(chan func(), 1<<16)}
	r := job.NewRunner(func(f func()) { b.queue <- f })
	b.Desk = New(r)
	b.OnProblem = func(err error) { b.problems = append(b.problems, err) }
	t.Cleanup(r.Close)
	return b
}

// until runs the window's thread until the condition holds.
func (b *bench) until(what string, ok func() bool) {
	b.t.Helper()
	late := time.After(2 * time.Minute) // only a hang takes as long
	for !ok() {
		select {
		case f := <-b.queue:
			f()
		case <-late:
			b.t.Fatalf("still waiting: %s; problems %v", what, b.problems)
		}
	}
}

func (b *bench) openDemo(name string) {
	b.t.Helper()
	b.OpenDemo(name, b.t.TempDir())
	b.until("the demo opens", func() bool { return b.Session() != nil || len(b.problems) > 0 })
	if b.Session() == nil {
		b.t.Fatalf("the demo did not open: %v", b.problems)
	}
}

// patchOf returns the hit of a click on the patch of a part that is a cylinder
// of that radius cut into that many faces.
func (b *bench) patchOf(part string, radius float64, faces int) viewport.Hit {
	b.t.Helper()
	i := b.Session().Doc.PartIndex(part)
	m := b.Session().Parts[i].Mesh
	label, n := m.Topology().EvenPatches(doc.FeatureAngle)
	patches := make([][]int32, n)
	for t, l := range label {
		patches[l] = append(patches[l], int32(t))
	}
	for _, p := range patches {
		if len(p) != faces {
			continue
		}
		points, normals := fit.FromPatch(m, p)
		d, err := fit.FitCylinder(points, fit.Options{Normals: normals})
		if err == nil && math.Abs(d.Radius-radius) < 1e-3 && d.Arc > 6 && d.FormError < 1e-3 {
			a, c, e := m.Corners(int(p[0]))
			at := r3.Scale(1.0/3, r3.Add(a, r3.Add(c, e)))
			return viewport.Hit{Mode: viewport.PickPatch, Part: i, Triangle: int(p[0]), Vertex: -1, Edge: -1, Patch: p, Point: at, Modelled: at}
		}
	}
	b.t.Fatalf("part %q has no cylinder of radius %v", part, radius)
	return viewport.Hit{}
}

func (b *bench) elbow() {
	b.t.Helper()
	b.openDemo("tern-arm")
	b.Click(b.patchOf("upper link", 31, 112))
	b.until("the pick is read", func() bool { return len(b.Live().Answers) > 0 })
	b.MakeHinge()
	if _, _, ok := b.Joint(); !ok {
		b.t.Fatalf("no hinge was made: %v", b.problems)
	}
}

// truth is the demo's own record of a joint.
func truth(t *testing.T, demo, child string) (kinematics.Axis, kinematics.Range) {
	t.Helper()
	for _, d := range assets.Demos() {
		if d.Name != demo {
			continue
		}
		var f struct {
			Joints []struct {
				Child        string
				Origin, Axis [3]float64
				Lower, Upper float64
			}
		}
		if err := json.Unmarshal(d.Truth, &f); err != nil {
			t.Fatal(err)
		}
		for _, j := range f.Joints {
			if j.Child == child {
				vec := func(v [3]float64) r3.Vec { return r3.Vec{X: v[0], Y: v[1], Z: v[2]} }
				a, err := kinematics.NewAxis(vec(j.Origin), vec(j.Axis))
				if err != nil {
					t.Fatal(err)
				}
				return a, kinematics.Range{Lower: j.Lower, Upper: j.Upper}
			}
		}
	}
	t.Fatalf("demo %q has no joint of %q", demo, child)
	return kinematics.Axis{}, kinematics.Range{}
}

func TestFromPickToProvenHinge(t *testing.T) {
	b := newBench(t)
	b.elbow()
	j, number, _ := b.Joint()
	if number != 1 || j.Child != "forearm" || j.Parent != "upper link" {
		t.Errorf("joint %d moves %q against %q", number, j.Child, j.Parent)
	}
	axis, _ := truth(t, "tern-arm", "forearm")
	off := kinematics.AxisErrorOf(j.Frame.Axis(), axis)
	if a := math.Min(off.Angle, math.Pi-off.Angle); a > 1e-6 || off.Offset > 1e-4 {
		t.Errorf("the hinge is %.3g rad and %.3g mm off the true axis", a, off.Offset)
	}
	b.until("the motion is proven", func() bool { return b.Proof(j.Name).Motion != nil || b.Proof(j.Name).Err != nil })
	p := b.Proof(j.Name)
	if p.Err != nil {
		t.Fatal(p.Err)
	}
	free := p.Motion.FreeRange()
	if math.IsInf(free.Lower, 0) || math.IsInf(free.Upper, 0) || free.Span() < 1 {
		t.Errorf("the elbow is free over %v", free)
	}
	if len(p.Motion.Moving) != 6 { // forearm, wrist, palm, three fingers
		t.Errorf("%d parts move, want 6", len(p.Motion.Moving))
	}
	// The pick runs true; the forearm's own hub is not quite round, by design.
	if b.State(j) != ToCheck || p.Findings[0].Kind != doc.RadialRunout || !strings.Contains(p.Findings[0].Text, "as far as its arc of") {
		t.Errorf("the elbow's state is %v; findings %v", b.State(j), p.Findings)
	}
	b.Accept(true)
	j, _, _ = b.Joint()
	if b.State(j) != Accepted {
		t.Errorf("after accepting the state is %v", b.State(j))
	}
}

func TestUndoAndRedoFollowTheSelection(t *testing.T) {
	b := newBench(t)
	b.elbow()
	b.RenameJoint("elbow")
	if j, _, _ := b.Joint(); j.Name != "elbow" {
		t.Fatalf("after renaming the selection is %q", j.Name)
	}
	b.FlipHinge()
	flipped, _, _ := b.Joint()
	b.Undo()
	back, _, _ := b.Joint()
	if d := r3.Dot(flipped.Frame.Hinge, back.Frame.Hinge); d > -0.999999 {
		t.Errorf("undoing the flip left the hinge (cosine %v)", d)
	}
	b.Undo()
	b.Undo()
	if n := len(b.Session().Doc.Joints); n != 0 {
		t.Errorf("%d joints after undoing everything", n)
	}
	if _, _, ok := b.Joint(); ok {
		t.Error("a joint that is gone is still selected")
	}
	b.Redo()
	if n := len(b.Session().Doc.Joints); n != 1 {
		t.Errorf("%d joints after redo, want 1", n)
	}
}

func TestAimingTheFrameAtAPoint(t *testing.T) {
	b := newBench(t)
	b.elbow()
	j, _, _ := b.Joint()
	part := b.Session().Doc.PartIndex("palm")
	target := b.Session().Parts[part].Mesh.Vertices()[0]
	b.StartAim(Aim{Role: kinematics.RoleReach, Mode: viewport.PickPoint})
	b.Click(viewport.Hit{Mode: viewport.PickPoint, Part: part, Vertex: 0, Point: target, Modelled: target})
	j, _, _ = b.Joint()
	toward := r3.Sub(target, j.Frame.Origin)
	toward = r3.Sub(toward, r3.Scale(r3.Dot(toward, j.Frame.Hinge), j.Frame.Hinge))
	if a := kinematics.Angle(toward, j.Frame.Reach); a > 1e-9 {
		t.Errorf("reach is %.3g rad off the point it was aimed at", a)
	}
	if b.Aim().Active {
		t.Error("still aiming after the click")
	}
}

func TestEscapeGoesOutward(t *testing.T) {
	b := newBench(t)
	b.elbow()
	b.StartAim(Aim{Role: kinematics.RoleReach, Mode: viewport.PickPoint})
	b.Escape()
	if _, _, ok := b.Joint(); b.Aim().Active || !ok {
		t.Error("the first Escape did not leave aiming alone")
	}
	b.Escape()
	if _, _, ok := b.Joint(); ok {
		t.Error("the second Escape did not clear the selection")
	}
}

func TestClickingTwiceTakesAnElementOut(t *testing.T) {
	b := newBench(t)
	b.openDemo("tern-arm")
	h := b.patchOf("upper link", 31, 112)
	b.Click(h)
	if len(b.Picks()) != 1 {
		t.Fatalf("%d elements picked, want 1", len(b.Picks()))
	}
	b.Click(h)
	if len(b.Picks()) != 0 {
		t.Errorf("%d elements picked after clicking again", len(b.Picks()))
	}
}

func TestSwapParts(t *testing.T) {
	b := newBench(t)
	b.openDemo("tern-arm")
	b.Click(b.patchOf("upper link", 31, 112))
	b.until("the pick is read", func() bool { return b.Live().Joint.Name != "" })
	was := b.Live().Joint
	b.SwapParts()
	b.until("the pick is read again", func() bool { return b.Live().Joint.Child == was.Parent })
	if got := b.Live().Joint.Parent; got != was.Child {
		t.Errorf("after swapping the parent is %q, want %q", got, was.Child)
	}
}

func TestSceneShowsTheMotionAndPutsPartsWhereTheyStand(t *testing.T) {
	b := newBench(t)
	b.elbow()
	j, _, _ := b.Joint()
	b.until("the motion is proven", func() bool { return b.Proof(j.Name).Motion != nil })
	b.SetValue(0.5)
	s := b.Scene()
	fore, up := b.Session().Doc.PartIndex("forearm"), b.Session().Doc.PartIndex("upper link")
	if x := s.Parts[up].MotionOrIdentity(); x != kinematics.Identity() {
		t.Error("the parent moves")
	}
	want := kinematics.Rotation(j.Frame.Axis(), 0.5)
	p := b.Session().Parts[fore].Mesh.Vertices()[0]
	if d := r3.Norm(r3.Sub(s.Parts[fore].MotionOrIdentity().Apply(p), want.Apply(p))); d > 1e-9 {
		t.Errorf("the forearm is drawn %v mm from where it stands", d)
	}
	kinds := map[string]int{}
	for _, m := range s.Marks {
		switch m.(type) {
		case draft.FrameMark:
			kinds["frame"]++
		case draft.Extreme:
			kinds["extreme"]++
		case draft.DimArc:
			kinds["arc"]++
		case draft.Balloon:
			kinds["balloon"]++
		}
	}
	if kinds["frame"] != 1 || kinds["arc"] != 1 || kinds["balloon"] != 1 || kinds["extreme"] != 12 {
		t.Errorf("marks %v", kinds)
	}
}

func TestEnvelopeIsDroppedWhenTheJointChanges(t *testing.T) {
	b := newBench(t)
	b.elbow()
	j, _, _ := b.Joint()
	b.until("the motion is proven", func() bool { return b.Proof(j.Name).Motion != nil })
	b.SetLimits(&kinematics.Range{Lower: -0.2, Upper: 0.3})
	b.MakeEnvelope()
	b.until("the envelope is swept", func() bool { return b.Envelope() != nil || len(b.problems) > 0 })
	e := b.Envelope()
	if e == nil {
		t.Fatal(b.problems)
	}
	if e.Over[0].Over[0] != (kinematics.Range{Lower: -0.2, Upper: 0.3}) || !(e.Volume > 0) || !(e.Error < 0.1*e.Volume) {
		t.Errorf("envelope over %v, volume %v ± %v", e.Over[0].Over[0], e.Volume, e.Error)
	}
	if err := mesh.Validate(e.Mesh); err != nil {
		t.Errorf("envelope mesh: %v", err)
	}
	b.FlipHinge()
	if b.Envelope() != nil {
		t.Error("the envelope of another hinge is still shown")
	}
}

func TestSaveAndOpenAgain(t *testing.T) {
	b := newBench(t)
	b.elbow()
	if err := b.Save(); !errors.Is(err, ErrNoPath) {
		t.Errorf("saving without a place: %v", err)
	}
	path := filepath.Join(t.TempDir(), "arm")
	if err := b.SaveAs(path); err != nil {
		t.Fatal(err)
	}
	if b.Dirty() || b.Path() != path+doc.Extension {
		t.Errorf("dirty %v, path %q", b.Dirty(), b.Path())
	}
	again := newBench(t)
	again.Open(b.Path())
	again.until("the document opens", func() bool { return again.Session() != nil || len(again.problems) > 0 })
	if again.Session() == nil {
		t.Fatal(again.problems)
	}
	if !again.Session().Doc.Equal(b.Session().Doc) {
		t.Error("the document differs after saving and opening")
	}
}

func TestBadFilesGetOneSentenceAndHarmNothing(t *testing.T) {
	b := newBench(t)
	b.elbow()
	before := b.Session().Doc
	dir := t.TempDir()
	for name, content := range map[string]string{
		"empty.obj": "", "short.glb": "glTF", "text.stl": "solid x\nfacet", "broken.pintle": "{", "words.ply": "ply\nformat ascii 1.0\n",
	} {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(content), 0o600); err != nil {
			t.Fatal(err)
		}
		b.problems = nil
		b.Open(path)
		b.until(name, func() bool { return len(b.problems) > 0 })
		if text := b.problems[0].Error(); strings.Contains(text, "\n") || !strings.Contains(text, name) {
			t.Errorf("%s: the sentence is %q", name, text)
		}
	}
	b.problems = nil
	b.Open(dir)
	b.until("a directory", func() bool { return len(b.problems) > 0 })
	if !b.Session().Doc.Equal(before) {
		t.Error("the document was changed by a file that could not be opened")
	}
}

func TestPartEdits(t *testing.T) {
	b := newBench(t)
	b.openDemo("tern-arm")
	b.SelectPart(b.Session().Doc.PartIndex("finger 1"))
	b.RenamePart("thumb")
	if b.Session().Doc.PartIndex("thumb") < 0 {
		t.Error("the part was not renamed")
	}
	b.HidePart("thumb", true)
	if s := b.Scene(); s.Parts[b.Session().Doc.PartIndex("thumb")].Look != draft.Hidden {
		t.Error("a hidden part is drawn")
	}
	n := len(b.Session().Parts)
	b.JoinPart("finger 2")
	if len(b.Session().Parts) != n-1 {
		t.Errorf("%d parts after joining two of %d", len(b.Session().Parts), n)
	}
	b.Undo()
	b.Undo()
	b.Undo()
	if b.Session().Doc.PartIndex("finger 1") < 0 || len(b.Session().Parts) != n {
		t.Error("undo did not bring the parts back")
	}
}

func TestWhoMovesByName(t *testing.T) {
	b := newBench(t)
	b.openDemo("heron-leg")
	if got := b.Session().Parts[groundOf(b.Session())].Name; got != "hip" {
		t.Errorf("the ground is %q, want the hip", got)
	}
	if got := b.Session().Parts[lowest(b.Session())].Name; got != "foot" {
		t.Errorf("the lowest part is %q, want the foot", got)
	}
}

func TestRollAimsTheHingeAtADirection(t *testing.T) {
	b := newBench(t)
	b.elbow()
	b.SetRollAim(kinematics.RoleHinge, kinematics.Reference{Kind: kinematics.FromWorld, World: kinematics.PlusX})
	j, _, _ := b.Joint()
	// As near to X as a roll about reach allows: X without its part along reach.
	want := r3.Sub(r3.Vec{X: 1}, r3.Scale(j.Frame.Reach.X, j.Frame.Reach))
	if a := kinematics.Angle(want, j.Frame.Hinge); a > 1e-9 {
		t.Errorf("the hinge is %.3g rad off where the roll aims it", a)
	}
}

// The forearm's hub has lobes by design, so a midpoint of two vertices, the
// centre of a rim and the axis of the surface disagree, and the pick says so.
func TestAnswersOnTheHubThatIsNotRoundDiffer(t *testing.T) {
	b := newBench(t)
	b.openDemo("tern-arm")
	axis, _ := truth(t, "tern-arm", "forearm")
	part := b.Session().Doc.PartIndex("forearm")
	m := b.Session().Parts[part].Mesh
	side := kinematics.Perpendicular(axis.Dir)
	for turn := 0.0; turn < 6; turn += 0.4 { // look at the hub from outside, all round
		dir := kinematics.Rotation(kinematics.Axis{Dir: axis.Dir}, turn).Turn(side)
		tri, _, ok := m.BVH().Ray(r3.Add(axis.Point, r3.Scale(200, dir)), r3.Scale(-1, dir))
		if !ok {
			continue
		}
		patch := doc.PatchAt(m, tri)
		if len(patch) < 40 {
			continue
		}
		b.ClearPicks()
		b.Click(viewport.Hit{Mode: viewport.PickPatch, Part: part, Triangle: tri, Patch: patch})
		rim := m.Topology().Outline(patch)[0]
		n := len(rim.Vertices)
		for _, v := range []int32{rim.Vertices[0], rim.Vertices[n/2]} {
			b.Click(viewport.Hit{Mode: viewport.PickPoint, Part: part, Vertex: int(v)})
		}
		b.Click(viewport.Hit{Mode: viewport.PickLoop, Part: part, Loop: rim})
		b.until("the pick is read", func() bool { return len(b.Live().Answers) > 3 })
		apart := 0
		for _, a := range b.Live().Answers {
			if a.Err == nil && a.Offset > 0.01 {
				apart++
			}
		}
		if apart < 2 {
			t.Errorf("only %d of the answers %+v lie apart", apart, b.Live().Answers)
		}
		return
	}
	t.Fatal("the hub has no patch of 40 faces or more")
}

// Beyond its stops the elbow's forearm cuts into the upper link: the drawing
// shows where. With the joints below it passes through more.
func TestEnvelopeShowsWhatToCarve(t *testing.T) {
	b := newBench(t)
	b.elbow()
	j, _, _ := b.Joint()
	b.until("the motion is proven", func() bool { return b.Proof(j.Name).Motion != nil })
	b.SetLimits(&kinematics.Range{Lower: -1.2, Upper: 0.3})
	b.MakeEnvelope()
	b.until("the envelope is swept", func() bool { return b.Envelope() != nil || len(b.problems) > 0 })
	e := b.Envelope()
	if e == nil || e.Carving == nil || !(e.Carving.Area > 0) {
		t.Fatalf("envelope %v, problems %v", e, b.problems)
	}
	patches := 0
	for _, m := range b.Scene().Marks {
		if p, ok := m.(draft.Patch); ok && p.Ink == draft.InkBad {
			patches++
		}
	}
	want := 0
	for _, p := range e.Carving.Parts {
		if p.Mesh != nil {
			want++
		}
	}
	if patches != want {
		t.Errorf("%d patches drawn, want %d", patches, want)
	}
	if b.CarriesJoints() {
		t.Error("joints hang on the only one")
	}
	b.ClearEnvelope()
	b.MakeLimbEnvelope()
	b.until("the limb is swept", func() bool { return b.Envelope() != nil || len(b.problems) > 0 })
	if l := b.Envelope(); l == nil || math.Abs(l.Volume-e.Volume) > e.Error+l.Error {
		t.Errorf("limb of one joint: %+v, problems %v", l, b.problems)
	}
}
