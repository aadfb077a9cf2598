package find

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// tree keeps the best supported links that join all parts without a loop.
func (w *work) tree(links []link) Result {
	res := Result{Ground: w.ground()}
	order := make([]int, 0, len(links))
	for i, l := range links {
		if len(l.axes) > 0 {
			order = append(order, i)
		}
	}
	slices.SortStableFunc(order, func(i, j int) int { return compare(links[j].axes[0].Score, links[i].axes[0].Score) })
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
	next := make([][]int, len(w.parts))
	var rest []int
	for _, i := range order {
		l := links[i]
		if a, b := find(l.a), find(l.b); a != b {
			set[b] = a
			next[l.a] = append(next[l.a], i)
			next[l.b] = append(next[l.b], i)
		} else {
			rest = append(rest, i)
		}
	}
	res.Joints = w.hang(links, next, res.Ground)
	res.Joints = w.close(links, rest, res.Joints)
	res.Findings = w.missing(links, res)
	return res
}

// What a link must show to close a loop: chance contacts of parts that other
// joints hold together already are common.
const (
	leastLoop = 0.3 // score
	leastSlip = 0.9 // share of the mating area
	lessSure  = 0.8 // times the confidence
)

// close adds the links that close a loop: both parts show the axis, it keeps
// their mating faces together and none of their other joints has it.
func (w *work) close(links []link, rest []int, tree []Candidate) []Candidate {
	out := tree
	for _, i := range rest {
		l := links[i]
		h := l.axes[0]
		if h.a == nil || h.b == nil || h.Score < leastLoop || !(h.Evidence.Slips >= leastSlip) {
			continue
		}
		c := w.candidate(l, l.a, l.b)
		size := min(w.parts[l.a].diagonal, w.parts[l.b].diagonal)
		if slices.ContainsFunc(out, func(t Candidate) bool {
			touches := t.Parent == l.a || t.Parent == l.b || t.Child == l.a || t.Child == l.b
			return touches && lineAngle(t.Axis, c.Axis) < coaxialAngle && fromLine(t.Origin, c.Origin, c.Axis) < coaxialOffset*size
		}) {
			continue
		}
		c.Loop = true
		c.Confidence *= lessSure
		out = append(out, c)
	}
	slices.SortStableFunc(out, func(a, b Candidate) int { return a.Child - b.Child })
	return out
}

// hang walks the tree from the ground, then from the largest part of what is
// left.
func (w *work) hang(links []link, next [][]int, ground int) []Candidate {
	var out []Candidate
	seen := make([]bool, len(w.parts))
	bySize := make([]int, len(w.parts))
	for i := range bySize {
		bySize[i] = i
	}
	slices.SortStableFunc(bySize, func(i, j int) int {
		switch {
		case i == ground:
			return -1
		case j == ground:
			return 1
		}
		return compare(w.parts[j].diagonal, w.parts[i].diagonal)
	})
	for _, root := range bySize {
		if seen[root] {
			continue
		}
		seen[root] = true
		for queue := []int{root}; len(queue) > 0; queue = queue[1:] {
			p := queue[0]
			for _, i := range next[p] {
				c := links[i].a + links[i].b - p
				if seen[c] {
					continue
				}
				seen[c] = true
				out = append(out, w.candidate(links[i], p, c))
				queue = append(queue, c)
			}
		}
	}
	slices.SortStableFunc(out, func(a, b Candidate) int { return a.Child - b.Child })
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

func (w *work) candidate(l link, parent, child int) Candidate {
	axes := make([]Axis, len(l.axes))
	for i, h := range l.axes {
		axes[i] = h.Axis
		e := &axes[i].Evidence
		if parent != l.a {
			e.InParent, e.InChild = e.InChild, e.InParent
		}
		e.Words = w.words(axes[i], parent, child)
	}
	c := Candidate{
		Parent: parent, Child: child, Kind: Revolute,
		Axis: axes[0].Axis, Origin: axes[0].Origin, Evidence: axes[0].Evidence, RunnersUp: axes[1:min(len(axes), 4)],
	}
	if axes[0].Kind == Prismatic || l.slides(axes[0].Origin, axes[0].Axis) {
		c.Kind = Prismatic
	}
	c.Confidence = confidence(axes, min(w.parts[l.a].diagonal, w.parts[l.b].diagonal))
	return c
}

// confidence rests on the score, on the lead over the next axis and on
// whether both parts show the axis.
func confidence(axes []Axis, size float64) float64 {
	s := axes[0].Score
	lead := 1.0
	for _, x := range axes[1:] {
		if lineAngle(x.Axis, axes[0].Axis) < 0.01 && fromLine(x.Origin, axes[0].Origin, axes[0].Axis) < 5e-3*size {
			continue
		}
		lead = 1 - x.Score/s
		break
	}
	c := s / (s + 0.03) * (0.4 + 0.6*math.Sqrt(max(lead, 0)))
	return min(max(c, 0), 1)
}

func (w *work) words(x Axis, parent, child int) string {
	e := x.Evidence
	if x.Kind == Prismatic {
		return fmt.Sprintf("the faces between %s and %s all stand along one direction and go round it", w.parts[parent].name, w.parts[child].name)
	}
	where := fmt.Sprintf("%s about the axis in %s, %s in %s", circles(e.InParent), w.parts[parent].name, number(e.InChild), w.parts[child].name)
	if e.InChild == 0 || e.InParent == 0 {
		name, n := w.parts[parent].name, e.InParent
		if n == 0 {
			name, n = w.parts[child].name, e.InChild
		}
		where = fmt.Sprintf("%s about the axis in %s only", circles(n), name)
	}
	if math.IsNaN(e.Slips) {
		return where + "; no faces lie against one another"
	}
	return fmt.Sprintf("%s; turning keeps %.0f %% of the mating faces in contact", where, 100*e.Slips)
}

func circles(n int) string {
	if n == 1 {
		return "1 circle"
	}
	return fmt.Sprintf("%d circles", n)
}

func number(n int) string { return fmt.Sprintf("%d", n) }

// missing reports the parts that hang on nothing and the near pairs without
// any axis.
func (w *work) missing(links []link, res Result) []Finding {
	var out []Finding
	joined := make([]bool, len(w.parts))
	for _, c := range res.Joints {
		joined[c.Parent], joined[c.Child] = true, true
	}
	for _, l := range links {
		if len(l.axes) == 0 && !(joined[l.a] && joined[l.b]) {
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
