package drawing

import (
	"context"
	"testing"

	"pintle/app/doc"
	"pintle/app/doc/doctest"
	"pintle/fit/find"
	"pintle/kinematics"
	"pintle/viewport/draft"
)

// proposed returns the swing with what is found on it.
func proposed(t *testing.T) (*doc.Session, doc.Proposals) {
	t.Helper()
	m := doctest.Model(doctest.Options{})
	s, err := doc.NewSession(doc.New(doc.ModelRef{Path: "/swing.obj"}, m), m)
	if err != nil {
		t.Fatal(err)
	}
	p, err := s.Find(context.Background(), find.Options{}, nil)
	if err != nil || len(p.List) == 0 {
		t.Fatalf("%d proposals, error %v", len(p.List), err)
	}
	return s, p
}

func scene(t *testing.T, s *doc.Session, f *Found) draft.Scene {
	t.Helper()
	out, err := Scene(s, Options{Part: -1, Found: f})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func TestProposalStandsOutFromTheRest(t *testing.T) {
	s, p := proposed(t)
	for i, x := range p.List {
		got := scene(t, s, &Found{List: p.List, At: i})
		for k, v := range got.Parts {
			want := draft.Ghost
			if k == x.Child {
				want = draft.Solid
			}
			if v.Look != want && k != x.Parent {
				t.Errorf("looking at %s part %s has look %d", x.Name, s.Parts[k].Name, v.Look)
			}
		}
	}
	for k, v := range scene(t, s, nil).Parts {
		if v.Look != draft.Solid {
			t.Errorf("without proposals part %s has look %d", s.Parts[k].Name, v.Look)
		}
	}
}

func TestProposalMovesWhatHangsOnIt(t *testing.T) {
	s, p := proposed(t)
	x := p.List[0]
	got := scene(t, s, &Found{List: p.List, Values: []float64{0.3}, Swing: []float64{0.2}})
	want := x.Choices[0].Motion(0.3)
	for k, v := range got.Parts {
		moves := false
		for _, m := range x.Moves {
			moves = moves || m == k
		}
		if m := v.MotionOrIdentity(); moves && m != want || !moves && m != kinematics.Identity() {
			t.Errorf("part %s moves by %v", s.Parts[k].Name, m)
		}
	}
	arcs := 0
	for _, m := range got.Marks {
		if a, ok := m.(draft.DimArc); ok {
			arcs++
			if a.Range != (kinematics.Range{Lower: -0.2, Upper: 0.2}) || a.Frame != x.Choices[0].Frame {
				t.Errorf("the arc says %+v", a)
			}
		}
	}
	if arcs != 1 {
		t.Errorf("%d arcs", arcs)
	}
}

func TestRejectedProposalsAreNotDrawn(t *testing.T) {
	s, p := proposed(t)
	balloons := func(f *Found) int {
		n := 0
		for _, m := range scene(t, s, f).Marks {
			if _, ok := m.(draft.Balloon); ok {
				n++
			}
		}
		return n
	}
	all := balloons(&Found{List: p.List, At: -1})
	out := make([]bool, len(p.List))
	out[0] = true
	if got := balloons(&Found{List: p.List, At: -1, Out: out}); all != len(p.List) || got != all-1 {
		t.Errorf("%d balloons of %d proposals, %d with one rejected", all, len(p.List), got)
	}
	if got := balloons(&Found{List: p.List, At: 0, Out: out}); got != all {
		t.Errorf("%d balloons: the one looked at has none", got)
	}
}
