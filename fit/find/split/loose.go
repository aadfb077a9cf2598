package split

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/find"
)

// alone tells which shells are in no group with another.
func (w *work) alone(large []int) map[int]bool {
	count := map[int]int{}
	for _, i := range large {
		count[w.set.find(i)]++
	}
	out := map[int]bool{}
	for _, i := range large {
		out[i] = count[w.set.find(i)] == 1
	}
	return out
}

// joint is a joint of a shell.
type joint struct {
	to   int
	axis find.Axis
}

// seat joins turned shells that turn in all they touch, pins, with what shows
// their axis best, and sets of small ones that are alike, bolts, with what they
// stand in.
func (w *work) seat(large []int, joints map[int][]joint) {
	alone := w.alone(large)
	var pins []int
	for _, i := range large {
		if alone[i] && w.isPin(i, joints[i]) {
			pins = append(pins, i)
		}
	}
	for _, i := range pins {
		if len(joints[i]) > 1 || w.likes(i, pins, joints) >= leastBolts {
			best := slices.MaxFunc(joints[i], func(x, y joint) int { return cmp.Compare(x.axis.Score, y.axis.Score) })
			w.set.join(i, best.to)
		}
	}
}

const (
	sameLean   = 0.01 // radians between axes that are one
	sameOffset = 0.02 // of the shell's diagonal
	sameSize   = 0.01 // of the diagonal, between shells that are alike
	leastBolts = 3    // that are alike, in one shell
	bolt       = 0.25 // of what it stands in, the largest
)

// isPin reports whether a shell is a body turned about the one axis that it
// shares with others.
func (w *work) isPin(i int, joints []joint) bool {
	if len(joints) == 0 {
		return false
	}
	a := joints[0].axis
	for _, j := range joints[1:] {
		if !w.sameLine(i, a, j.axis) {
			return false
		}
	}
	return isTurned(w.shell[i].mesh, a)
}

func (w *work) sameLine(i int, a, b find.Axis) bool {
	return r3.Norm(r3.Cross(a.Axis, b.Axis)) <= sameLean && r3.Norm(r3.Cross(r3.Sub(b.Origin, a.Origin), a.Axis)) <= sameOffset*w.shell[i].diagonal
}

// likes counts the pins, i itself included, that stand as i does, about lines of
// their own, in the much larger shell that i stands in.
func (w *work) likes(i int, pins []int, joints map[int][]joint) int {
	j, d := joints[i][0], w.shell[i].diagonal
	if d > bolt*w.shell[j.to].diagonal {
		return 0
	}
	n := 1
	for _, k := range pins {
		o := joints[k][0]
		if k != i && o.to == j.to && math.Abs(w.shell[k].diagonal-d) <= sameSize*d && r3.Norm(r3.Cross(j.axis.Axis, o.axis.Axis)) <= sameLean && !w.sameLine(i, j.axis, o.axis) {
			n++
		}
	}
	return n
}

// adopt joins a shell that neither belongs to another nor moves against one
// with the nearest larger one: it floats a little off what it sits on.
func (w *work) adopt(large []int, pairs []find.Pair, joints map[int][]joint) {
	alone := w.alone(large)
	nearest := map[int]find.Pair{}
	for _, p := range pairs {
		i, k := large[p.A], large[p.B]
		if w.shell[i].diagonal > w.shell[k].diagonal {
			i = k
		}
		if old, ok := nearest[i]; !ok || p.Gap < old.Gap {
			nearest[i] = p
		}
	}
	for _, i := range large {
		if p, ok := nearest[i]; ok && alone[i] && len(joints[i]) == 0 && p.Gap <= afloat*w.shell[i].diagonal {
			w.set.join(large[p.A], large[p.B])
		}
	}
}

const afloat = 0.5 // of a shell's diagonal, how far off it may float
