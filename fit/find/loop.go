package find

import (
	"math"
	"slices"
)

// recut moves the cut of every loop to where its parts hang nearest to the
// ground, and of cuts that are as good to one that leaves slides whole, so that
// a strut stays in one piece. Only links about as sure as one that closes a loop
// are cut. It returns the links of every part and those that close loops then.
func (w *work) recut(links []link, next [][]int, loops []int, ground int) ([][]int, []int) {
	loops = slices.Clone(loops)
	for k, closing := range loops {
		best, least, slid := closing, w.depths(links, next, ground), w.slides(links[closing])
		for _, i := range w.path(links, next, links[closing].a, links[closing].b) {
			if l := &links[i]; l.axes[0].Kind == FixedKind || !l.isShared() || l.axes[0].p < leastLoop {
				continue
			}
			sum := w.depths(links, swapped(links, next, i, closing), ground)
			if slides := w.slides(links[i]); sum < least || sum == least && slid && !slides {
				best, least, slid = i, sum, slides
			}
		}
		if best != closing {
			next = swapped(links, next, best, closing)
			loops[k] = best
		}
	}
	return next, loops
}

// closesWell reports whether a link is sure enough to close a loop: nothing
// else would do for its pair.
func (l *link) closesWell() bool { return l.isShared() && l.alone() >= leastLoop }

// isShared reports whether both parts show the likeliest axis and it keeps
// their mating faces together.
func (l *link) isShared() bool {
	h := l.axes[0]
	return h.a != nil && h.b != nil && h.Evidence.Slips >= leastSlip
}

// slides reports whether a link's likeliest joint is a slide.
func (w *work) slides(l link) bool {
	k := w.candidate(l, l.a, l.b).Kind
	return k == Prismatic || k == Cylindrical
}

// swapped returns the links of every part with one exchanged for another.
func swapped(links []link, next [][]int, out, in int) [][]int {
	with := slices.Clone(next)
	for _, p := range [2]int{links[out].a, links[out].b} {
		with[p] = slices.DeleteFunc(slices.Clone(with[p]), func(i int) bool { return i == out })
	}
	for _, p := range [2]int{links[in].a, links[in].b} {
		with[p] = append(slices.Clone(with[p]), in)
	}
	return with
}

// depths returns how many links lead from the ground to the parts, all
// together; parts on no tree with the ground do not count.
func (w *work) depths(links []link, next [][]int, ground int) int {
	sum := 0
	w.walk(links, next, ground, func(_, _, depth int) bool {
		sum += depth
		return true
	})
	return sum
}

// path returns the links of the tree that lead from one part to another, none
// if it does not.
func (w *work) path(links []link, next [][]int, from, to int) []int {
	by := make([]int, len(w.parts))
	for i := range by {
		by[i] = -1
	}
	w.walk(links, next, from, func(part, link, _ int) bool {
		by[part] = link
		return part != to
	})
	var out []int
	for p := to; p != from; {
		i := by[p]
		if i < 0 {
			return nil
		}
		out = append(out, i)
		p = links[i].a + links[i].b - p
	}
	return out
}

// walk visits the parts of a tree from near to far, until visit returns false,
// with the link that each was reached by.
func (w *work) walk(links []link, next [][]int, from int, visit func(part, link, depth int) bool) {
	depth := make([]int, len(w.parts))
	for i := range depth {
		depth[i] = math.MaxInt
	}
	depth[from] = 0
	for queue := []int{from}; len(queue) > 0; queue = queue[1:] {
		for _, i := range next[queue[0]] {
			p := links[i].a + links[i].b - queue[0]
			if depth[p] != math.MaxInt {
				continue
			}
			depth[p] = depth[queue[0]] + 1
			if !visit(p, i, depth[p]) {
				return
			}
			queue = append(queue, p)
		}
	}
}
