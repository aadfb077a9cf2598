package loop

import (
	"context"
	"math"

	"pintle/kinematics"
)

// DefaultDriver returns the value that a user would most likely drive: of the
// hinges and sliders of the tree that begin at the part both sides of the first
// loop hang on, or else of all, the one that turns fully; among several, or
// where none does, the one that moves most where the loop moves. It fails where
// no joint can drive.
func DefaultDriver(tree *kinematics.Tree, closings []Closing, o Options) (int, error) {
	l, err := build(tree, closings, o)
	if err != nil {
		return 0, err
	}
	if err := l.measureRank(); err != nil {
		return 0, err
	}
	return l.defaultDriver()
}

func (l *Linkage) defaultDriver() (int, error) {
	candidates := l.candidates(true)
	if len(candidates) == 0 {
		candidates = l.candidates(false)
	}
	best, bestFull, bestShare := -1, false, 0.0
	for _, v := range candidates {
		n, err := l.WithDrivers([]int{v})
		if err != nil {
			continue
		}
		full, share := n.promise(v)
		if best < 0 || full && !bestFull || full == bestFull && share > bestShare*(1+1e-9) {
			best, bestFull, bestShare = v, full, share
		}
	}
	if best < 0 {
		return 0, &LinkageError{Reason: "no joint of the loop can drive it: look at the axes of its joints"}
	}
	return best, nil
}

// candidates returns the values of hinges and sliders that take part in a loop;
// with base only those of the tree that begin where the first loop's sides meet.
func (l *Linkage) candidates(base bool) []int {
	var out []int
	top := map[int]bool{}
	up, down := l.sides(0)
	for _, side := range [][]int{up, down} {
		if len(side) > 0 {
			top[side[0]] = true
		}
	}
	for _, v := range l.active {
		f := l.freedoms[v]
		j := l.Joint(f.joint)
		if j.Kind.Freedoms() == 1 && (!base || top[f.joint]) {
			out = append(out, v)
		}
	}
	return out
}

// promise says whether the only driver turns fully within its limits, and its
// share of the loop's motion as modelled.
func (n *Linkage) promise(v int) (full bool, share float64) {
	w := n.newWork()
	a := walker{l: n, w: w}
	w.dir[0] = 1
	a.begin(n.Zero())
	if a.close() != nil {
		return false, 0
	}
	if err := a.head(); err != nil {
		return false, 0
	}
	share = w.t[0]
	if n.freedoms[v].length || n.limits(v) != kinematics.Unlimited() {
		return false, share
	}
	s, err := n.stop(context.Background(), n.Zero(), 0, 1, nil)
	return err == nil && math.IsInf(s.Drive, 1), share
}
