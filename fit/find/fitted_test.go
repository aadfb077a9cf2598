package find

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"sync"
	"testing"

	"pintle/fit/find/findtest"
)

// lesson is a mechanism with known joints, compared part by part.
type lesson struct {
	m     findtest.Mechanism
	w     *work
	links []link   // without those that close loops or do not count
	right [][]bool // by link and hypothesis
	usual float64  // how often mechanisms of its kind are met
}

func newLesson(t testing.TB, m findtest.Mechanism) lesson {
	t.Helper()
	w, err := survey(context.Background(), m.Parts, Options{Near: defaultNear})
	if err != nil {
		t.Fatal(err)
	}
	links, err := w.links(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	kind, _, _ := strings.Cut(m.Name, " ")
	out := lesson{m: m, w: w, usual: usual(kind)}
	for _, l := range links {
		j := slices.IndexFunc(m.Joints, func(j findtest.Joint) bool { return l.joins(j.Parent, j.Child) })
		if j >= 0 && (m.Joints[j].Loop || !m.Joints[j].Scorable) || slices.ContainsFunc(m.Ignore, func(p [2]int) bool { return l.joins(p[0], p[1]) }) {
			continue
		}
		right := make([]bool, len(l.axes))
		for k, h := range l.axes {
			switch {
			case h.Kind == FixedKind:
				right[k] = slices.ContainsFunc(m.Fixed, func(p [2]int) bool { return l.joins(p[0], p[1]) })
			case j >= 0:
				right[k] = rightAxis(m, m.Joints[j], h)
			}
		}
		out.links, out.right = append(out.links, l), append(out.right, right)
	}
	return out
}

func (l *link) joins(p, q int) bool { return l.a == min(p, q) && l.b == max(p, q) }

// rightAxis is the score's rule for a hypothesis; a slide is right for sliders
// alone, and a turn through a ball's centre for the ball.
func rightAxis(m findtest.Mechanism, j findtest.Joint, h hypothesis) bool {
	if h.Kind == Prismatic && j.Kind != "prismatic" {
		return false
	}
	if j.Kind == "spherical" {
		return fromLine(j.Origin, h.Origin, h.Axis.Axis) <= findtest.HitOffset*m.Parts[j.Child].Mesh.Diagonal()
	}
	angle, offset := findtest.Off(j, findtest.Found{Kind: string(h.Kind), Origin: h.Origin, Axis: h.Axis.Axis})
	return angle <= findtest.HitAngle && offset <= findtest.HitOffset*m.Parts[j.Child].Mesh.Diagonal()
}

// usual is how often a mechanism of a kind is met, by what is in use.
func usual(kind string) float64 {
	switch kind {
	case "arm", "hand", "quadruped", "biped":
		return 3
	case "scara", "head", "rover", "gripper":
		return 1.5
	}
	return 0.3
}

// lessons makes mechanisms of every kind: at rest, posed, and posed with every
// other part hidden in its hull or its box.
func lessons(t testing.TB, seeds int) []lesson {
	t.Helper()
	kinds := findtest.Kinds()
	out := make([]lesson, seeds*len(kinds))
	var wg sync.WaitGroup
	for first := range 2 {
		wg.Go(func() {
			for i := first; i < len(out); i += 2 {
				seed := i / len(kinds)
				m := findtest.Made(kinds[i%len(kinds)], uint64(seed))
				if seed%4 > 0 {
					m = findtest.Posed(m, uint64(seed))
				}
				switch seed % 8 {
				case 3:
					m = findtest.Hulled(m, findtest.EveryOther(m, seed%16 < 8)...)
				case 7:
					m = findtest.Boxed(m, findtest.EveryOther(m, seed%16 < 8)...)
				}
				out[i] = newLesson(t, m)
			}
		})
	}
	wg.Wait()
	return out
}

// likelihood returns the logarithm of the probability that the model gives the
// known joints, and its gradient.
func (s *lesson) likelihood(m model) (float64, model) {
	var g model
	logSum, ok := marginals(len(s.w.parts), s.links, m)
	if !ok {
		return math.Inf(-1), g
	}
	sum := -logSum
	for i, l := range s.links {
		all := 0.0
		for k, h := range l.axes {
			if s.right[i][k] {
				all += m.worth(h.feats)
			}
		}
		if all > 0 {
			sum += math.Log(all)
		}
		for k, h := range l.axes {
			d := -h.p
			if s.right[i][k] {
				d += m.worth(h.feats) / all
			}
			g.bias += d
			for f, x := range h.feats {
				g.weight[f] += d * x
			}
		}
	}
	return sum, g
}

// prior is what the weights are drawn to where lessons say little.
func prior() model {
	m := model{bias: 0}
	for f, x := range map[int]float64{
		fGap: 1, fCentre: 1.5, fFree: 2, fTwin: 3, fTwinOnly: 3, fUnlike: 1, fSlip: 0.5,
		fBoth: 3, fMost: 3, fNear: 1.5, fOnly: 0.5, fShare: 1, fTurn: 1, fTurns: 1, fSmall: 2, fSeat: 2, fKin: 4, fPlain: 2,
	} {
		m.weight[f] = x
	}
	return m
}

const ridge = 0.03

// climb maximises the mean likelihood by Adam (D. Kingma and J. Ba, 2014), with
// weights that are not negative but for the constants of the kinds.
func climb(set []lesson, m model) model {
	var a, b [numFeatures + 1]float64
	base := prior()
	for step := 1; step <= 300; step++ {
		var g model
		all := 0.0
		for i := range set {
			s := &set[i]
			_, d := s.likelihood(m)
			w := s.usual / float64(1+len(s.m.Joints))
			all += w
			g.bias += 10 * w * d.bias
			for f := range d.weight {
				g.weight[f] += 10 * w * d.weight[f]
			}
		}
		for f := -1; f < numFeatures; f++ {
			x, slope := &m.bias, g.bias/all
			if f >= 0 {
				x, slope = &m.weight[f], g.weight[f]/all-ridge*(m.weight[f]-base.weight[f])
			}
			k := f + 1
			a[k], b[k] = 0.9*a[k]+0.1*slope, 0.999*b[k]+0.001*slope*slope
			n := float64(step)
			*x += 0.1 * a[k] / (1 - math.Pow(0.9, n)) / (math.Sqrt(b[k]/(1-math.Pow(0.999, n))) + 1e-8)
			if f >= 0 && f != fSlide && f != fFixed && *x < 0 {
				*x = 0
			}
		}
	}
	return m
}

// fitted fits the model: what other pairs claim depends on it, so in turns.
func fitted(set []lesson) model {
	m := climb(set, prior())
	for range 2 {
		for i := range set {
			for k := range set[i].links {
				for h := range set[i].links[k].axes {
					set[i].links[k].axes[h].feats[fFree] = 1
				}
			}
			rank(len(set[i].w.parts), set[i].links, m)
		}
		m = climb(set, m)
	}
	return m
}

func (m model) String() string {
	text := fmt.Sprintf("bias %.2f, weights", m.bias)
	for _, x := range m.weight {
		text += fmt.Sprintf(" %.2f,", x)
	}
	return text
}

// The weights are those that the made mechanisms ask for. It takes minutes:
// PINTLE_TABLE=full go test ./fit/find -run Weights -v
func TestWeights(t *testing.T) {
	if !full() {
		t.Skip("PINTLE_TABLE=full fits the weights")
	}
	set := lessons(t, 24)
	got, want := fitted(set), weights()
	t.Logf("fitted: %v", got)
	for f := range got.weight {
		if d := math.Abs(got.weight[f] - want.weight[f]); d > 0.02 {
			t.Errorf("weight %d: fitted %.2f, used %.2f", f, got.weight[f], want.weight[f])
		}
	}
}
