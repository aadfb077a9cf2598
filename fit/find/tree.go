package find

import (
	"fmt"
	"slices"
	"strings"
)

// tree keeps the likeliest links that join all parts without a loop, and those
// that close one.
func (w *work) tree(links []link) Result {
	res := Result{Ground: w.ground()}
	sortAxes(links)
	next, rest := w.span(links)
	if loops := w.loops(links, rest); len(loops) > 0 {
		w.rankWithout(links, loops)
		if res.Ground >= 0 {
			next, loops = w.recut(links, next, loops, res.Ground)
			w.rankWithout(links, loops)
		}
		res.Joints, res.Fixed = w.hang(links, next, res.Ground)
		for _, i := range loops {
			c := w.candidate(links[i], links[i].a, links[i].b)
			c.Loop, c.Confidence = true, lessSure*links[i].alone()
			res.Joints = append(res.Joints, c)
		}
	} else {
		res.Joints, res.Fixed = w.hang(links, next, res.Ground)
	}
	slices.SortStableFunc(res.Joints, func(a, b Candidate) int { return a.Child - b.Child })
	slices.SortStableFunc(res.Fixed, func(a, b Fixed) int { return a.Part - b.Part })
	res.Findings = w.missing(links, res)
	return res
}

// rankWithout ranks the hypotheses of all links but some that close loops: they
// are no rivals of the others.
func (w *work) rankWithout(links []link, loops []int) {
	var left []link
	for i, l := range links {
		if !slices.Contains(loops, i) {
			left = append(left, l)
		}
	}
	marginals(len(w.parts), left, weights())
	sortAxes(links)
}

func sortAxes(links []link) {
	for i := range links {
		slices.SortStableFunc(links[i].axes, func(x, y hypothesis) int { return compare(y.p, x.p) })
	}
}

// span returns for every part the links of the likeliest tree that it is in,
// and the links that are in no tree (J. Kruskal, 1956).
func (w *work) span(links []link) (next [][]int, rest []int) {
	order := make([]int, 0, len(links))
	for i, l := range links {
		if len(l.axes) > 0 {
			order = append(order, i)
		}
	}
	slices.SortStableFunc(order, func(i, j int) int { return compare(links[j].axes[0].p, links[i].axes[0].p) })
	set := make([]int, len(w.parts))
	for i := range set {
		set[i] = i
	}
	find := func(i int) int {
		for set[i] != i {
			i = set[i]
		}
		return i
	}
	next = make([][]int, len(w.parts))
	for _, i := range order {
		l := links[i]
		a, b := find(l.a), find(l.b)
		if a == b {
			rest = append(rest, i)
			continue
		}
		set[b] = a
		next[l.a] = append(next[l.a], i)
		next[l.b] = append(next[l.b], i)
	}
	return next, rest
}

// What a link must show to close a loop: chance contacts of parts that other
// joints hold together already are common.
const (
	leastLoop = 0.95 // probability if it were the pair's only way to be joined
	leastSlip = 0.85 // share of the mating area
	lessSure  = 0.8  // times the confidence
)

// alone is the probability of a link's best hypothesis that moves against its
// other ones and no joint at all.
func (l *link) alone() float64 {
	m := weights()
	best, all := 0.0, 1.0
	for _, h := range l.axes {
		u := m.worth(h.feats)
		all += u
		if h.Kind != FixedKind {
			best = max(best, u)
		}
	}
	return best / all
}

// loops returns the links that close a loop: both parts show the axis, it
// keeps their mating faces together and none of their other joints has it.
func (w *work) loops(links []link, rest []int) []int {
	var out []int
	for _, i := range rest {
		l := &links[i]
		if !l.closesWell() {
			continue
		}
		h := l.axes[0]
		used := func(k int) bool {
			o := &links[k]
			touches := o.a == l.a || o.b == l.b || o.a == l.b || o.b == l.a
			return k != i && touches && len(o.axes) > 0 && (slices.Contains(out, k) || !slices.Contains(rest, k)) &&
				lineAngle(o.axes[0].Axis.Axis, h.Axis.Axis) < coaxialAngle && fromLine(o.axes[0].Origin, h.Origin, h.Axis.Axis) < coaxialOffset*l.size
		}
		taken := false
		for k := range links {
			taken = taken || used(k)
		}
		if !taken {
			out = append(out, i)
		}
	}
	return out
}

// hang walks the tree from the ground, then from the largest part of what is
// left.
func (w *work) hang(links []link, next [][]int, ground int) ([]Candidate, []Fixed) {
	var out []Candidate
	var fixed []Fixed
	seen := make([]bool, len(w.parts))
	for _, root := range w.bySize(ground) {
		if seen[root] {
			continue
		}
		seen[root] = true
		for queue := []int{root}; len(queue) > 0; queue = queue[1:] {
			p := queue[0]
			for _, i := range next[p] {
				l := links[i]
				c := l.a + l.b - p
				if seen[c] {
					continue
				}
				seen[c] = true
				queue = append(queue, c)
				if l.axes[0].Kind == FixedKind {
					part, to, _ := w.seated(&l)
					fixed = append(fixed, Fixed{Part: part, To: to, Confidence: l.axes[0].p, Words: w.seatWords(part, to)})
					continue
				}
				out = append(out, w.candidate(l, p, c))
			}
		}
	}
	return out, fixed
}

// bySize lists the parts, the ground first, then from large to small.
func (w *work) bySize(ground int) []int {
	out := make([]int, len(w.parts))
	for i := range out {
		out[i] = i
	}
	slices.SortStableFunc(out, func(i, j int) int {
		switch {
		case i == ground:
			return -1
		case j == ground:
			return 1
		}
		return compare(w.parts[j].diagonal, w.parts[i].diagonal)
	})
	return out
}

// ground is the part that most likely stands still: one whose name says so,
// else the one with most surface.
func (w *work) ground() int {
	best, most := -1, 0.0
	for i, p := range w.parts {
		if p.diagonal == 0 {
			continue
		}
		size := p.mesh.Area()
		if saysGround(p.name) {
			size += 1e3 * w.diagonal * w.diagonal
		}
		if best < 0 || compare(size, most) > 0 {
			best, most = i, size
		}
	}
	return best
}

func saysGround(name string) bool {
	name = strings.ToLower(name)
	return slices.ContainsFunc([]string{"base", "ground", "chassis", "world", "floor", "foundation", "pedestal"}, func(word string) bool {
		return strings.Contains(name, word)
	})
}

const mostRunners = 3 // runners-up that are listed

// candidate makes the joint of a link's best hypothesis. Its confidence is that
// of all hypotheses with the same line.
func (w *work) candidate(l link, parent, child int) Candidate {
	var axes []Axis
	sure := 0.0
	for _, h := range l.axes {
		if h.Kind == FixedKind {
			continue
		}
		x := h.Axis
		if x.Score = h.p; parent != l.a {
			x.Evidence.InParent, x.Evidence.InChild = x.Evidence.InChild, x.Evidence.InParent
		}
		x.Evidence.Words = w.words(x, parent, child)
		if len(axes) == 0 || sameLine(axes[0], x, l.size) {
			sure += h.p
		}
		axes = append(axes, x)
	}
	best := axes[0]
	out := Candidate{
		Parent: parent, Child: child, Kind: best.Kind, Axis: best.Axis, Origin: best.Origin, Pitch: best.Pitch,
		Confidence: min(sure, 1), Evidence: best.Evidence, RunnersUp: axes[1:min(len(axes), 1+mostRunners)],
	}
	w.kind(&l, &out)
	return out
}

func sameLine(a, b Axis, size float64) bool {
	return lineAngle(a.Axis, b.Axis) < oneAxisAngle && fromLine(a.Origin, b.Origin, b.Axis) < oneAxisOffset*size
}

// missing reports the pairs and parts that lack a joint.
func (w *work) missing(links []link, res Result) []Finding {
	var out []Finding
	joined := make([]bool, len(w.parts))
	sure := make([]bool, len(w.parts))
	said := map[[2]int]bool{}
	for _, c := range res.Joints {
		joined[c.Parent], joined[c.Child] = true, true
		if c.Confidence >= unsure {
			sure[c.Parent], sure[c.Child] = true, true
			continue
		}
		said[[2]int{min(c.Parent, c.Child), max(c.Parent, c.Child)}] = true
		out = append(out, Finding{c.Parent, c.Child, w.doubt(c)})
	}
	for _, f := range res.Fixed {
		joined[f.Part], joined[f.To], sure[f.Part], sure[f.To] = true, true, true, true
	}
	for _, l := range links {
		if len(l.axes) == 0 && !(sure[l.a] && sure[l.b]) && !said[[2]int{l.a, l.b}] {
			out = append(out, Finding{l.a, l.b, fmt.Sprintf("No turned geometry between %s and %s.", w.parts[l.a].name, w.parts[l.b].name)})
		}
	}
	for i, p := range w.parts {
		if !joined[i] && i != res.Ground {
			if p.diagonal == 0 {
				out = append(out, Finding{i, -1, fmt.Sprintf("%s has no faces.", p.name)})
			} else {
				out = append(out, Finding{i, -1, fmt.Sprintf("%s is joined to no other part.", p.name)})
			}
		}
	}
	return out
}

const unsure = 0.5 // a joint of less confidence is a finding too
