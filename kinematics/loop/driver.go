package loop

import (
	"context"
	"math"
	"slices"

	"pintle/kinematics"
)

// DefaultDrivers returns the values that a user would most likely drive, as
// many as the loops have freedoms that a hinge or slider can drive. Of the
// hinges and sliders that begin at the part both sides of a loop hang on, or
// else of all, it prefers those that turn fully, then those that move most
// where the loop moves. wanted drive first, as far as they can. It fails where
// no joint can drive.
func DefaultDrivers(tree *kinematics.Tree, closings []Closing, wanted []int, o Options) ([]int, error) {
	l, err := build(tree, closings, o)
	if err != nil {
		return nil, err
	}
	if err := l.measureRank(); err != nil {
		return nil, err
	}
	return l.defaultDrivers(wanted)
}

func (l *Linkage) defaultDrivers(wanted []int) ([]int, error) {
	var chosen []int
	add := func(v int) {
		if len(chosen) == len(l.active)-l.rank || slices.Contains(chosen, v) {
			return
		}
		if _, err := l.WithDrivers(append(slices.Clone(chosen), v)); err == nil {
			chosen = append(chosen, v)
		}
	}
	for _, v := range wanted {
		add(v)
	}
	for _, v := range l.ranked(l.candidates(true)) {
		add(v)
	}
	if len(chosen) < len(l.active)-l.rank {
		for _, v := range l.ranked(l.candidates(false)) {
			add(v)
		}
	}
	if len(chosen) == 0 {
		return nil, &LinkageError{Reason: "no joint of the loop can drive it: look at the axes of its joints"}
	}
	return chosen, nil
}

// candidates returns the values of hinges and sliders that take part in a loop;
// with base only those of the tree that begin where a loop's sides meet.
func (l *Linkage) candidates(base bool) []int {
	var out []int
	top := map[int]bool{}
	for i := range l.loops {
		up, down := l.sides(i)
		for _, side := range [][]int{up, down} {
			if len(side) > 0 {
				top[side[0]] = true
			}
		}
	}
	for _, v := range l.active {
		f := l.freedoms[v]
		if l.Joint(f.joint).Kind.Freedoms() == 1 && (!base || top[f.joint]) {
			out = append(out, v)
		}
	}
	return out
}

// ranked puts candidates in order, the most promising first.
func (l *Linkage) ranked(candidates []int) []int {
	type entry struct {
		value int
		full  bool
		share float64
	}
	var list []entry
	for _, v := range candidates {
		n, err := l.WithDrivers([]int{v})
		if err != nil {
			continue
		}
		full, share := n.promise(v)
		list = append(list, entry{v, full, share})
	}
	slices.SortStableFunc(list, func(a, b entry) int {
		switch {
		case a.full != b.full && a.full, a.full == b.full && a.share > b.share*(1+1e-9):
			return -1
		case a.full != b.full, b.share > a.share*(1+1e-9):
			return 1
		}
		return 0
	})
	out := make([]int, len(list))
	for i, e := range list {
		out[i] = e.value
	}
	return out
}

// promise says whether the only driver turns fully within its limits, and its
// share of the loop's motion as modelled.
func (l *Linkage) promise(v int) (full bool, share float64) {
	w := l.newWork()
	a := walker{l: l, w: w}
	w.dir[0] = 1
	a.begin(l.Zero())
	if a.close() != nil || a.head() != nil {
		return false, 0
	}
	share = w.t[0]
	if l.freedoms[v].length || l.limits(v) != kinematics.Unlimited() || len(l.active)-l.rank > 1 {
		return false, share
	}
	s, err := l.stop(context.Background(), l.Zero(), 0, 1)
	return err == nil && math.IsInf(s.Drive, 1), share
}
