package find

import (
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/find/findtest"
	"pintle/fit/mesh/meshtest"

	"pintle/fit/mesh"
)

// The fourth hinge of a four-bar closes its loop; the others stay sure.
func TestLoop(t *testing.T) {
	for seed := range uint64(4) {
		m := findtest.Made("four-bar", seed)
		res := mustFind(t, m.Parts)
		loops := 0
		for _, c := range res.Joints {
			if c.Loop {
				loops++
			}
			if c.Confidence < 0.5 {
				t.Errorf("%s: %d-%d has confidence %g", m.Name, c.Parent, c.Child, c.Confidence)
			}
		}
		if loops != 1 || len(res.Joints) != len(m.Joints) {
			t.Errorf("%s: %d joints, %d close a loop", m.Name, len(res.Joints), loops)
		}
	}
}

// Joints are sorted by child, every part has at most one parent, and the
// ground none.
func TestTreeIsATree(t *testing.T) {
	for _, kind := range findtest.Kinds() {
		m := findtest.Made(kind, 5)
		res := mustFind(t, m.Parts)
		parents := make([]int, len(m.Parts))
		last := -1
		for _, c := range res.Joints {
			if c.Child < last {
				t.Errorf("%s: child %d after %d", kind, c.Child, last)
			}
			last = c.Child
			if !c.Loop {
				parents[c.Child]++
			}
			if c.Confidence < 0 || c.Confidence > 1 || c.Kind == FixedKind || c.Evidence.Words == "" {
				t.Errorf("%s: %+v", kind, c)
			}
		}
		for _, f := range res.Fixed {
			if f.Confidence < 0 || f.Confidence > 1 || f.Part == f.To {
				t.Errorf("%s: fixed %+v", kind, f)
			}
		}
		for i, n := range parents {
			if n > 1 || i == res.Ground && n > 0 {
				t.Errorf("%s: part %d has %d parents", kind, i, n)
			}
		}
	}
}

// A part without evidence is a finding, with words for it.
func TestDoubtIsAFinding(t *testing.T) {
	parts, _ := chain(2, 24)
	block := meshtest.Box(r3.Vec{X: 25, Y: 6.05, Z: -60}, r3.Vec{X: 75, Y: 80, Z: 60})
	parts = append(parts, mesh.Part{Name: "block", Mesh: block})
	res := mustFind(t, parts)
	found := false
	for _, f := range res.Findings {
		found = found || strings.Contains(f.Text, "No turned geometry between") && strings.Contains(f.Text, "block")
	}
	for _, c := range res.Joints {
		if (c.Child == 2 || c.Parent == 2) && c.Confidence >= 0.5 {
			t.Errorf("the block hangs by %+v", c)
		}
	}
	if !found {
		t.Errorf("findings %+v", res.Findings)
	}
}

func TestWords(t *testing.T) {
	w := &work{parts: []part{{name: "base"}, {name: "arm"}}}
	for _, c := range []struct {
		x    Axis
		want string
	}{
		{Axis{Kind: Revolute, Evidence: Evidence{InParent: 1, InChild: 3, Slips: 0.98}}, "1 circle about the axis in base, 3 in arm; turning keeps 98 % of the mating faces in contact"},
		{Axis{Kind: Revolute, Evidence: Evidence{InChild: 2, Slips: nan()}}, "2 circles about the axis in arm only; no faces lie against one another"},
		{Axis{Kind: Revolute, Evidence: Evidence{Twins: 2, Slips: 1}}, "no circles in base or arm; two of a kind stand turned against each other about it; turning keeps 100 % of the mating faces in contact"},
		{Axis{Kind: Prismatic}, "the faces between base and arm all stand along one direction and go round it"},
	} {
		if got := w.words(c.x, 0, 1); got != c.want {
			t.Errorf("got  %q\nwant %q", got, c.want)
		}
	}
	c := Candidate{Parent: 0, Child: 1, Confidence: 0.4, RunnersUp: []Axis{{Score: 0.35}}}
	if got := w.doubt(c); got != "Two axes between base and arm are about as likely." {
		t.Errorf("doubt %q", got)
	}
}
