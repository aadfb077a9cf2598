package find

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// forest adds up, by trying all subsets of hypotheses without a loop, what they
// are worth: the number of places where each of its trees can hang on nothing
// is the tree's size.
func forest(n int, links []link, m model) (total float64, share [][]float64) {
	type choice struct{ link, axis int }
	var all []choice
	share = make([][]float64, len(links))
	for i, l := range links {
		share[i] = make([]float64, len(l.axes))
		for k := range l.axes {
			all = append(all, choice{i, k})
		}
	}
	for set := range 1 << len(all) {
		root := make([]int, n)
		size := make([]int, n)
		for i := range root {
			root[i], size[i] = i, 1
		}
		find := func(i int) int {
			for root[i] != i {
				i = root[i]
			}
			return i
		}
		worth, ok := 1.0, true
		for b, c := range all {
			if set>>b&1 == 0 {
				continue
			}
			l := links[c.link]
			p, q := find(l.a), find(l.b)
			if p == q {
				ok = false
				break
			}
			root[q] = p
			size[p] += size[q]
			worth *= m.worth(l.axes[c.axis].feats)
		}
		if !ok {
			continue
		}
		for i := range n {
			if root[i] == i {
				worth *= float64(size[i])
			}
		}
		total += worth
		for b, c := range all {
			if set>>b&1 == 1 {
				share[c.link][c.axis] += worth
			}
		}
	}
	return total, share
}

// The probabilities are the shares of all trees, against trying them all
// (G. Kirchhoff's theorem, 1847).
func TestMarginalsAreShares(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 4).Draw(t, "parts")
		m := model{bias: rapid.Float64Range(-3, 3).Draw(t, "bias")}
		m.weight[fMost] = 4
		var links []link
		count := 0
		for a := range n {
			for b := a + 1; b < n; b++ {
				l := link{a: a, b: b}
				for range rapid.IntRange(0, 2).Draw(t, "axes") {
					if count++; count > 9 {
						break
					}
					h := hypothesis{}
					h.feats[fMost] = rapid.Float64Range(-1, 1).Draw(t, "says")
					l.axes = append(l.axes, h)
				}
				links = append(links, l)
			}
		}
		total, share := forest(n, links, m)
		got, ok := marginals(n, links, m)
		if !ok || math.Abs(got-math.Log(total)) > 1e-9 {
			t.Fatalf("logarithm of the sum %g, want %g", got, math.Log(total))
		}
		for i, l := range links {
			for k, h := range l.axes {
				if want := share[i][k] / total; math.Abs(h.p-want) > 1e-9 {
					t.Errorf("probability %g, want %g", h.p, want)
				}
			}
		}
	})
}

// A line that another pair surely uses is less free, and its second use less
// likely.
func TestClaim(t *testing.T) {
	x := &line{}
	strong, weak := hypothesis{a: x}, hypothesis{a: x}
	strong.feats[fMost], weak.feats[fMost] = 1, 0.5
	m := model{bias: -2}
	m.weight[fMost], m.weight[fFree] = 4, 4
	links := []link{{a: 0, b: 1, axes: []hypothesis{strong}}, {a: 0, b: 2, axes: []hypothesis{weak}}}
	for i := range links {
		links[i].axes[0].feats[fFree] = 1
	}
	marginals(3, links, m)
	before := links[1].axes[0].p
	rank(3, links, m)
	if f := links[1].axes[0].feats[fFree]; f > 0.1 {
		t.Errorf("the line is %g free", f)
	}
	if after := links[1].axes[0].p; after >= before {
		t.Errorf("probability rose from %g to %g", before, after)
	}
}

func TestMarginalsOfNothing(t *testing.T) {
	if s, ok := marginals(0, nil, weights()); s != 0 || !ok {
		t.Errorf("no parts: %g, %v", s, ok)
	}
	huge := hypothesis{}
	huge.feats[fBoth] = 1
	m := model{bias: 1e6}
	links := []link{{a: 0, b: 1, axes: []hypothesis{huge, {}}}}
	if s, ok := marginals(2, links, m); !ok || math.IsInf(s, 0) || math.IsNaN(links[0].axes[0].p) || links[0].axes[0].p > 1 {
		t.Errorf("worth without bound: %g, %v, %g", s, ok, links[0].axes[0].p)
	}
}

// More evidence never makes a joint less likely.
func TestWeightsHaveTheirSign(t *testing.T) {
	for f, w := range weights().weight {
		if w < 0 && f != fSlide && f != fFixed {
			t.Errorf("weight %d is %g", f, w)
		}
	}
}
