package doc_test

import (
	"context"
	"errors"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/app/doc"
	"pintle/app/doc/doctest"
	"pintle/fit/find"
	"pintle/fit/mesh"
	"pintle/kinematics"
)

// swingProposals opens the test swing with one proposal, made by hand: the arm on
// the base about an axis.
func swingProposals(t *testing.T, m *mesh.Model, axis kinematics.Axis, kind kinematics.Kind) (*doc.Session, doc.Proposals, doc.Proposal) {
	t.Helper()
	path, err := doctest.WriteOBJ(t.TempDir(), m)
	if err != nil {
		t.Fatal(err)
	}
	s := must[*doc.Session](t)(doc.OpenModel(context.Background(), path, doc.OpenOptions{Unit: mesh.Millimetre}))
	all := must[doc.Proposals](t)(s.Find(context.Background(), find.Options{}, nil))
	spec := kinematics.FrameSpec{Datum: axis}
	frame := must[kinematics.Frame](t)(kinematics.Build(spec, kinematics.Surroundings{}))
	base, arm := s.Doc.PartIndex("base"), s.Doc.PartIndex("arm")
	p := doc.Proposal{
		Parent: base, Child: arm, Name: "swing", Moves: []int{arm},
		Choices: []doc.Choice{{Kind: kind, Spec: spec, Frame: frame}},
	}
	all.List = []doc.Proposal{p}
	return s, all, p
}

func TestTrialStopsWhereTheSwingMeetsItsStop(t *testing.T) {
	// The stops are further than the trial goes: turn the arm in the model towards
	// the upper one by 25 degrees, and 1.7 degrees of its range are left there.
	const turned = 25 * math.Pi / 180
	o := doctest.Options{Move: doctest.Skew()}
	m := doctest.Model(o)
	for i, p := range m.Parts {
		if p.Name == "arm" {
			m.Parts[i].Mesh = turnedMesh(t, p.Mesh, kinematics.Rotation(o.Hinge(), turned))
		}
	}
	want := doctest.FreeRange().Upper - turned
	for _, kind := range []kinematics.Kind{kinematics.Revolute, kinematics.Cylindric, kinematics.Spherical} {
		s, all, p := swingProposals(t, m, o.Hinge(), kind)
		got, err := s.Try(context.Background(), all, p, 0, nil)
		if err != nil {
			t.Fatal(err)
		}
		if kind != kinematics.Spherical { // a ball's first freedom need not be about the hinge
			if len(got.Stops) != 1 || got.Stops[0].Meets != "base" || got.Stops[0].Part != "arm" || math.Abs(got.Range().Upper-want) > 1e-6 {
				t.Errorf("%s: stops %+v, want %.6g: %s", kind, got.Stops, want, got.Words)
			}
			if got.Range().Lower != got.Searched.Lower || got.Blocked || math.Abs(got.Searched.Upper-kinematics.Radians(15)) > 1e-15 {
				t.Errorf("%s: %v in %v, blocked %v", kind, got.Range(), got.Searched, got.Blocked)
			}
			if text := doc.AngleText(want); got.Words != "stopped at "+text+" by base; turns 15° the other way" {
				t.Errorf("%s: %s", kind, got.Words)
			}
		}
	}
}

func TestTrialGoesAllTheWayWhereNothingIsMet(t *testing.T) {
	o := doctest.Options{}
	s, all, p := swingProposals(t, doctest.Model(o), o.Hinge(), kinematics.Revolute)
	got, err := s.Try(context.Background(), all, p, 0, nil)
	if err != nil || got.Words != "turns 15° both ways without new contact" || got.Blocked || len(got.Presses) > 0 || len(got.Stops) > 0 || got.Range() != got.Searched {
		t.Errorf("%+v, error %v", got, err)
	}
	if !slices.Equal(got.Moving, p.Moves) || len(got.Still) != 2 || len(got.Followers) > 0 {
		t.Errorf("moving %v, still %v, following %v", got.Moving, got.Still, got.Followers)
	}
	// Along the hinge the hub's end (z = -6) meets the plate's top (z = -8) after 2 mm.
	p.Choices[0].Kind = kinematics.Prismatic
	got, err = s.Try(context.Background(), all, p, 0, nil)
	far := 0.1 * s.Parts[p.Child].Mesh.Diagonal()
	if err != nil || math.Abs(got.Range().Lower+2) > 1e-9 || got.Range().Upper != far || got.Searched.Lower != -far {
		t.Errorf("along the hinge %+v, error %v", got, err)
	}
	if got.Freedom.Turns || !strings.HasPrefix(got.Words, "stopped at -2.000 mm by base; slides ") {
		t.Errorf("it says %q", got.Words)
	}
	// A screw of 8 mm a radian comes down on it at -1/4 radian.
	p.Choices[0].Kind, p.Choices[0].Pitch = kinematics.Helical, 8
	got, err = s.Try(context.Background(), all, p, 0, nil)
	if err != nil || math.Abs(got.Range().Lower+0.25) > 1e-9 {
		t.Errorf("as a screw %+v, error %v", got, err)
	}
}

func TestAWrongAxisIsStoppedAtOnceAndTheRightOneIsNot(t *testing.T) {
	s, truth := demoSession(t, "tern-arm")
	all := found(t, s, truth)
	p := proposalOf(t, s, all, "forearm")
	right, err := s.Try(context.Background(), all, p, 0, nil)
	if err != nil || right.Blocked || right.Range() != right.Searched {
		t.Errorf("the true elbow: %s, error %v", right.Words, err)
	}
	wrong := p
	wrong.Choices = slices.Clone(p.Choices)
	for _, dir := range []r3.Vec{p.Choices[0].Frame.Reach, p.Choices[0].Frame.Side()} {
		f := &wrong.Choices[0].Frame
		f.Hinge, f.Reach = dir, r3.Scale(-1, p.Choices[0].Frame.Hinge)
		got, err := s.Try(context.Background(), all, wrong, 0, nil)
		if r := got.Range(); err != nil || !got.Blocked || len(got.Stops) != 2 || r.Span() > kinematics.Radians(5) || got.Stops[0].Meets != "upper link" {
			t.Errorf("about %v: %s, error %v", dir, got.Words, err)
		}
	}
}

// A pin that fills its bore lets nothing tilt in it.
func TestAChoiceThatCannotMoveIsBlockedAsModelled(t *testing.T) {
	for _, o := range []doctest.Options{{}, {Move: doctest.Skew()}} {
		across := o.Hinge()
		across.Dir = r3.Unit(r3.Cross(across.Dir, r3.Vec{X: 0.36, Y: 0.48, Z: 0.8}))
		if o.Move == (kinematics.Transform{}) {
			across.Dir = r3.Vec{X: 1}
		}
		s, all, p := swingProposals(t, doctest.Model(o), across, kinematics.Revolute)
		got, err := s.Try(context.Background(), all, p, 0, nil)
		if want := []doc.TrialStop{{Part: "arm", Meets: "pin"}}; err != nil || !got.Blocked || !slices.Equal(got.Presses, want) ||
			got.Words != "blocked as modelled: it would press into pin, which it touches, both ways" {
			t.Errorf("%+v, error %v", got, err)
		}
	}
}

func TestTrialOfALoopLeavesOutWhatFollows(t *testing.T) {
	s, truth := demoSession(t, "drawbridge")
	all := found(t, s, truth)
	closes := slices.IndexFunc(all.List, func(p doc.Proposal) bool { return p.Loop })
	if closes < 0 {
		t.Fatal("no loop is found")
	}
	n := 0
	for _, p := range all.List {
		if !p.Loop && !p.InLoop {
			continue
		}
		got, err := s.Try(context.Background(), all, p, 0, nil)
		if err != nil {
			t.Fatal(err)
		}
		n += len(got.Followers)
		if slices.Contains(got.Followers, p.Parent) || got.Blocked {
			t.Errorf("%s: %s; following %v", p.Name, got.Words, got.Followers)
		}
		if len(got.Moving)+len(got.Still)+len(got.Followers) != len(s.Parts) {
			t.Errorf("%s: a part is missing", p.Name)
		}
	}
	if n == 0 {
		t.Error("nothing follows in the loop")
	}
}

func TestTrialBadInputAndCancel(t *testing.T) {
	o := doctest.Options{}
	s, all, p := swingProposals(t, doctest.Model(o), o.Hinge(), kinematics.Revolute)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := s.Try(ctx, all, p, 0, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
	ctx = context.Background()
	for _, k := range []int{-1, 1} {
		if _, err := s.Try(ctx, all, p, k, nil); err == nil || strings.Contains(err.Error(), "\n") {
			t.Errorf("choice %d: %v", k, err)
		}
	}
	everything := p
	everything.Moves = []int{0, 1, 2}
	if _, err := s.Try(ctx, all, everything, 0, nil); !errors.Is(err, doc.ErrNothingStill) {
		t.Errorf("everything moves: %v", err)
	}
	fixed := p
	fixed.Choices = []doc.Choice{p.Choices[0]}
	fixed.Choices[0].Kind = kinematics.Fixed
	if _, err := s.Try(ctx, all, fixed, 0, nil); !errors.Is(err, doc.ErrNothingMoves) {
		t.Errorf("a fixed joint: %v", err)
	}
	lost := p
	lost.Choices = []doc.Choice{p.Choices[0]}
	lost.Choices[0].Frame.Hinge = r3.Vec{}
	if _, err := s.Try(ctx, all, lost, 0, nil); err == nil {
		t.Error("an axis without direction is tried")
	}
	if _, err := s.Try(ctx, doc.Proposals{}, p, 0, nil); err == nil {
		t.Error("proposals of another model are tried")
	}
}

// turnedMesh returns a mesh somewhere else.
func turnedMesh(t *testing.T, m *mesh.Mesh, by kinematics.Transform) *mesh.Mesh {
	t.Helper()
	b := mesh.NewBuilder()
	for _, v := range m.Vertices() {
		b.Vertex(by.Apply(v))
	}
	for _, f := range m.Triangles() {
		b.Face(f[0], f[1], f[2])
	}
	out, _, err := b.Build(mesh.Options{Weld: -1})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// tried counts trials by what they show.
type tried struct{ all, blocked, oneWay, bothWays int }

func (c *tried) count(v doc.Trial) {
	c.all++
	switch {
	case v.Blocked:
		c.blocked++
	case len(v.Stops) == 1:
		c.oneWay++
	case len(v.Stops) == 2:
		c.bothWays++
	}
}

// What the finite test is worth on real machines: which of the proposed axes
// are blocked, of those near the stated one and of the others. Models of
// machines overlap where they stand, so a true axis may be blocked as well.
func TestTrialsOfTheMechanisms(t *testing.T) {
	needMechanisms(t)
	var right, wrong tried
	for _, name := range []string{"arm-a", "arm-b", "hand-a", "leg-a"} {
		for _, pose := range []string{"", "posed"} {
			s, truth := openMechanism(t, filepath.Join(name, pose))
			all := found(t, s, truth.Joints)
			var r, w tried
			longest := time.Duration(0)
			for _, p := range all.List {
				k := slices.IndexFunc(truth.Joints, func(j statedJoint) bool {
					return j.Parent == s.Parts[p.Parent].Name && j.Child == s.Parts[p.Child].Name
				})
				for i, c := range p.Choices {
					if c.Kind == kinematics.Fixed {
						continue
					}
					start := time.Now()
					v, err := s.Try(context.Background(), all, p, i, nil)
					if err != nil {
						t.Fatal(err)
					}
					longest = max(longest, time.Since(start))
					hit := false
					if k >= 0 {
						j := truth.Joints[k]
						off := kinematics.AxisErrorOf(c.Frame.Axis(), axisOf(j.Origin, j.Axis))
						hit = min(off.Angle, math.Pi-off.Angle) < kinematics.Radians(0.5) && off.Offset < 0.005*s.Parts[p.Child].Mesh.Diagonal()
					}
					if hit {
						r.count(v)
						right.count(v)
					} else {
						w.count(v)
						wrong.count(v)
					}
					if hit && v.Blocked {
						t.Logf("%s %s: %s, %s, choice %d: %s", name, pose, p.Name, c.Kind, i, v.Words)
					}
				}
			}
			t.Logf("%s %s: near the stated axis %+v, others %+v, the longest took %v", name, pose, r, w, longest)
		}
	}
	t.Logf("near the stated axis %+v, others %+v", right, wrong)
	if right.all == 0 || wrong.all == 0 {
		t.Error("nothing was tried")
	}
	// Measured: 1 of 72 near the stated axis, 40 of 154 of the others.
	if 20*right.blocked > right.all || 6*wrong.blocked < wrong.all {
		t.Error("the trial does not tell true axes from others")
	}
}
