package doc_test

import (
	"context"
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/app/doc"
	"pintle/app/doc/doctest"
	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
	"pintle/kinematics"
)

// carriage is a block of 10 between two stops, 7 below it and 12 above, with a
// joint of a kind along z.
func carriage(t *testing.T, j doc.Joint) *doc.Session {
	t.Helper()
	box := func(x, y, z0, z1 float64) *mesh.Mesh {
		return meshtest.Box(r3.Vec{X: -x, Y: -y, Z: z0}, r3.Vec{X: x, Y: y, Z: z1})
	}
	m := &mesh.Model{Parts: []mesh.Part{
		{Name: "block", Mesh: box(5, 5, 0, 10)}, {Name: "floor", Mesh: box(30, 30, -9, -7)}, {Name: "roof", Mesh: box(30, 30, 22, 24)},
	}}
	path := must[string](t)(doctest.WriteOBJ(t.TempDir(), m))
	s := must[*doc.Session](t)(doc.OpenModel(context.Background(), path, doc.OpenOptions{}))
	j.Name, j.Parent, j.Child, j.Letters = "slide", "floor", "block", kinematics.DenavitHartenberg()
	j.Frame = kinematics.Frame{Hinge: r3.Vec{Z: 1}, Reach: r3.Vec{X: 1}}
	j.Spec = kinematics.FrameSpec{Datum: j.Frame.Axis()}
	d := must[doc.Document](t)(s.Doc.AddJoint(j))
	return must[*doc.Session](t)(s.With(d))
}

// A slider's free range is the gaps, its clearance the nearer of the two, and a
// limit beyond a gap is a finding in model units (plain arithmetic).
func TestSliderIsProven(t *testing.T) {
	limit := []kinematics.Range{{Lower: -3, Upper: 15}}
	s := carriage(t, doc.Joint{Kind: kinematics.Prismatic, Limits: limit})
	m := must[*doc.Motion](t)(s.Motion(context.Background(), "slide", doc.MotionOptions{Samples: 20}, nil))
	if r := m.FreeRange(); math.Abs(r.Lower+7) > 1e-9 || math.Abs(r.Upper-12) > 1e-9 {
		t.Fatalf("free range %v", r)
	}
	if m.Freedom().Turns || len(m.Runout) != 0 {
		t.Errorf("a slider turns, or runs out: %+v", m.Runout)
	}
	for _, c := range m.Curve.Samples {
		if want := min(c.Value+7, 12-c.Value); math.Abs(c.Distance-want) > 1e-6 {
			t.Errorf("clearance at %v is %v, want %v", c.Value, c.Distance, want)
		}
	}
	var blocked *doc.Finding
	list := s.Findings(s.Doc.Joints[0], m)
	for i := range list {
		if list[i].Kind == doc.RangeBlocked {
			blocked = &list[i]
		}
	}
	if blocked == nil || blocked.Value != 15 || math.Abs(blocked.Limit-12) > 1e-9 || blocked.Unit != doc.Length {
		t.Errorf("findings %+v", list)
	}
	// A range that is typed is in model units too.
	in := must[doc.MotionInput](t)(s.MotionInput(s.Doc.Joints[0]))
	in.Range = kinematics.Range{Lower: 1, Upper: 2}
	if _, err := doc.ComputeMotion(context.Background(), in, nil); err == nil || err.Error() != "the range from 1 to 2 must hold 0, the pose as modelled" {
		t.Errorf("error %v", err)
	}
}

// Nothing in the way of a slider: shown as far as it is large.
func TestFreeSliderIsShownAsFarAsItIsLarge(t *testing.T) {
	s := carriage(t, doc.Joint{Kind: kinematics.Prismatic})
	d := must[doc.Document](t)(s.Doc.EditJoint("slide", func(j doc.Joint) doc.Joint {
		j.Spec.Datum.Dir = r3.Vec{X: 1}
		j.Frame = kinematics.Frame{Hinge: r3.Vec{X: 1}, Reach: r3.Vec{Y: 1}}
		return j
	}))
	s = must[*doc.Session](t)(s.With(d))
	m := must[*doc.Motion](t)(s.Motion(context.Background(), "slide", doc.MotionOptions{Samples: 5}, nil))
	size := math.Sqrt(300)
	if m.Free.Lower != nil || m.Free.Upper != nil || math.Abs(m.Shown().Upper-size) > 1e-9 || math.Abs(m.Shown().Lower+size) > 1e-9 {
		t.Errorf("free %+v, shown %v", m.Free, m.Shown())
	}
}

// A block on a screw turns by the gap over the pitch (plain arithmetic: its flat
// top keeps its height while it turns).
func TestScrewIsProven(t *testing.T) {
	const pitch = 2.5 // a radian
	s := carriage(t, doc.Joint{Kind: kinematics.Helical, Pitch: pitch})
	m := must[*doc.Motion](t)(s.Motion(context.Background(), "slide", doc.MotionOptions{}, nil))
	if r := m.FreeRange(); math.Abs(r.Lower+7/pitch) > 1e-9 || math.Abs(r.Upper-12/pitch) > 1e-9 {
		t.Errorf("free range %v", r)
	}
	list, proven, err := s.Prove(context.Background(), s.Doc.Joints[0], nil)
	if err != nil || proven == nil || doc.Worst(list) == doc.Stop {
		t.Errorf("%v, %v, %v", list, proven, err)
	}
}

// Each freedom of a sleeve and of a flat slide by itself: along the stops the
// gaps, all else free; limits beyond are told (plain arithmetic).
func TestEachFreedomAlone(t *testing.T) {
	free := kinematics.Unlimited()
	gaps := kinematics.Range{Lower: -7, Upper: 12}
	for _, c := range []struct {
		kind kinematics.Kind
		want []kinematics.Range
	}{
		{kinematics.Prismatic, []kinematics.Range{gaps}},
		{kinematics.Cylindric, []kinematics.Range{free, gaps}},
		{kinematics.Planar, []kinematics.Range{free, free, free}},
	} {
		s := carriage(t, doc.Joint{Kind: c.kind})
		j := s.Doc.Joints[0]
		a := must[*doc.Alone](t)(s.Alone(context.Background(), j, nil))
		for i, want := range c.want {
			got := a.Range(i)
			if got != want && !(math.Abs(got.Lower-want.Lower)+math.Abs(got.Upper-want.Upper) < 1e-9) {
				t.Errorf("%s, %s: %v, want %v", c.kind, c.kind.Freedom(i), got, want)
			}
			limit := kinematics.Range{Lower: -1, Upper: 15}
			list := s.AloneFindings(j.WithLimit(i, &limit), a)
			if blocked := len(list) == 1 && list[0].Value == 15 && list[0].Severity == doc.Stop; blocked != (want == gaps) {
				t.Errorf("%s, %s: findings %+v", c.kind, c.kind.Freedom(i), list)
			}
		}
		if got := a.Range(7); got != free {
			t.Errorf("a freedom that is not there goes %v", got)
		}
	}
	// The turns of a ball joint by themselves are those of a hinge about its axes.
	b := stud(t, doc.Joint{Kind: kinematics.Spherical})
	a := must[*doc.Alone](t)(b.Alone(context.Background(), b.Doc.Joints[0], nil))
	if r := a.Range(0); math.Abs(r.Upper-leanTo(4)) > 1e-9 || math.Abs(r.Lower+leanTo(6.5)) > 1e-9 || a.Range(2) != free {
		t.Errorf("swing about the hinge %v, twist %v", r, a.Range(2))
	}
}
