package split

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/find"
	"pintle/fit/mesh"
)

// bond is a pair of shells that belong together, the surer the less its weight.
type bond struct {
	a, b   int
	weight float64
}

// group joins the pairs that do not move against one another, the surest first,
// and none that would bring two shells with a strong joint between them together; then
// bolts, pins and what floats.
func (w *work) group(large []int, pairs []find.Pair) {
	var bonds []bond
	joints := map[int][]joint{}
	for _, p := range pairs {
		a, b := large[p.A], large[p.B]
		switch w.judge(a, b, p) {
		case joined:
			if w.isStrong(a, b, p) {
				w.apart = append(w.apart, [2]int{a, b})
			}
			joints[a] = append(joints[a], joint{b, p.Axes[0]})
			joints[b] = append(joints[b], joint{a, p.Axes[0]})
		case fast:
			bonds = append(bonds, bond{a, b, p.Confidence + p.Gap/w.diagonal})
		}
	}
	slices.SortStableFunc(bonds, func(x, y bond) int { return cmp.Compare(x.weight, y.weight) })
	for _, x := range bonds {
		if w.allowed(x.a, x.b) {
			w.set.join(x.a, x.b)
		}
	}
	w.seat(large, joints)
	w.adopt(large, pairs, joints)
}

// isStrong reports whether the faces of a joint lie close to one another: such a
// joint is not overruled by what else holds the two together.
func (w *work) isStrong(a, b int, p find.Pair) bool {
	return p.Axes[0].Evidence.Slips >= slipping && p.Gap <= play*min(w.shell[a].diagonal, w.shell[b].diagonal)
}

// allowed reports whether two groups have no strong joint between them.
func (w *work) allowed(a, b int) bool {
	a, b = w.set.find(a), w.set.find(b)
	for _, p := range w.apart {
		x, y := w.set.find(p[0]), w.set.find(p[1])
		if x == a && y == b || x == b && y == a {
			return false
		}
	}
	return true
}

// verdict is how two near shells belong together.
type verdict int

const (
	apart  verdict = iota // near by chance, or nothing to tell
	joined                // one moves against the other
	fast                  // they do not move
)

// judge weighs what two near shells show. Faces that lie against one another
// and slip along a common axis make a joint; so does a common axis without such
// faces, unless the two cross and one of them is nothing but a body turned about
// it, as a boss on a flange is.
func (w *work) judge(a, b int, p find.Pair) verdict {
	x, y := w.shell[a], w.shell[b]
	close := p.Gap <= touch*min(x.diagonal, y.diagonal)
	if p.Confidence < sure || len(p.Axes) == 0 {
		if close {
			return fast
		}
		return apart
	}
	best := p.Axes[0]
	if heldTwice(p.Axes) {
		return fast
	}
	e := best.Evidence
	both := e.InParent > 0 && e.InChild > 0
	turned := isTurned(x.mesh, best) || isTurned(y.mesh, best)
	switch {
	case e.Slips >= slipping:
		return joined
	case !math.IsNaN(e.Slips): // faces of a few-sided pin lean too much to slip
		if p.Gap == 0 || !both || !turned {
			return fast
		}
	case p.Gap == 0 && turned:
		return fast
	case p.Gap > 0 && !both && close:
		return fast
	case p.Gap > 0 && !both: // a line that happens to pass by
		return apart
	case p.Gap == 0 && !both && min(len(x.mesh.Triangles()), len(y.mesh.Triangles())) < elaborate:
		return fast
	}
	return joined
}

// heldTwice reports whether a second parallel axis that both shells show is
// about as good as the first: bolts and dowels hold, they do not turn.
func heldTwice(axes []find.Axis) bool {
	a := axes[0]
	if a.Kind != find.Revolute || a.Evidence.InParent == 0 || a.Evidence.InChild == 0 {
		return false
	}
	for _, b := range axes[1:] {
		both := b.Evidence.InParent > 0 && b.Evidence.InChild > 0
		if both && b.Kind == find.Revolute && b.Score > rival*a.Score && r3.Norm(r3.Cross(a.Axis, b.Axis)) < 1e-2 {
			return true
		}
	}
	return false
}

const (
	turnedLean  = 0.18 // of the speed, across the face, as a six-sided bar's
	turnedShare = 0.97 // of the area
	rounding    = 1e-9 // of the shell's diagonal, for faces whose middle is on the axis
	elaborate   = 500  // triangles of a shell that is likely a whole part
)

// isTurned reports whether a shell is a body turned about the axis: a turn
// moves its faces along themselves.
func isTurned(m *mesh.Mesh, x find.Axis) bool {
	good, all := 0.0, 0.0
	for t := range m.Triangles() {
		a, b, c := m.Corners(t)
		n := m.AreaNormal(t)
		area := r3.Norm(n)
		all += area
		v := r3.Cross(x.Axis, r3.Sub(r3.Scale(1./3, r3.Add(a, r3.Add(b, c))), x.Origin))
		if math.Abs(r3.Dot(n, v)) <= area*(turnedLean*r3.Norm(v)+rounding*m.Diagonal()) {
			good += area
		}
	}
	return all > 0 && good >= turnedShare*all
}
