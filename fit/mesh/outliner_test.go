package mesh_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
)

// An Outliner that has done other sets before gives what Topology.Outline gives.
func TestOutlinerForgets(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawSoup(t, 30)
		if len(m.Triangles()) == 0 {
			return
		}
		top := m.Topology()
		o := mesh.NewOutliner(top)
		for range rapid.IntRange(1, 5).Draw(t, "sets") {
			set := rapid.SliceOfNDistinct(rapid.Int32Range(0, int32(len(m.Triangles())-1)), 1, -1, rapid.ID[int32]).Draw(t, "set")
			if diff := cmp.Diff(top.Outline(set), o.Outline(set)); diff != "" {
				t.Fatal(diff)
			}
		}
	})
}

// Chains of the feature edges are the feature loops; of no edges there are none.
func TestChains(t *testing.T) {
	top := meshtest.Cylinder(1, 0, 2, 24, 3, true).Topology()
	if diff := cmp.Diff(top.FeatureLoops(0.5), top.Chains(top.FeatureEdges(0.5))); diff != "" {
		t.Error(diff)
	}
	if got := top.Chains(make([]bool, len(top.EdgeVerts))); got != nil {
		t.Errorf("no edges: %v", got)
	}
	one := make([]bool, len(top.EdgeVerts))
	one[3] = true
	if got := top.Chains(one); len(got) != 1 || len(got[0].Edges) != 1 || got[0].Closed {
		t.Errorf("one edge: %v", got)
	}
}

// BenchmarkOutliner outlines every quad of a torus by itself.
func BenchmarkOutliner(b *testing.B) {
	bySize(b, func(b *testing.B, n int) {
		top := benchTorus(n).Topology()
		o := mesh.NewOutliner(top)
		for i := 0; b.Loop(); i++ {
			t := int32(2 * (i % (len(top.TriEdges) / 2)))
			o.Outline([]int32{t, t + 1})
		}
	})
}
