package doc

import (
	"context"
	"fmt"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/kinematics"
	"pintle/kinematics/loop"
)

// Linkages are the document's closed loops over the tree of Session.Tree. Loops
// that share a joint are solved together.
//
// A joint that closes a loop carries, in that tree, a part of its own; the loop
// is closed when this stands where the joint's child does. So the joint has
// values, a frame and limits like any other.
type Linkages struct {
	Tree  *kinematics.Tree
	List  []Linkage
	owner []int // of each tree value the element of List that it takes part in, or -1
}

// Linkage is a group of loops that move together.
type Linkage struct {
	Closing []string // the joints that close its loops
	Joints  []string // all its joints, in the document's order
	Drivers []ValueRef
	// Solver is nil where the loops cannot move as they should; Problem then says
	// why.
	Solver  *loop.Linkage
	Problem error
}

// Linkages returns the document's closed loops; empty where there are none. It
// fails where the joints form no tree.
func (s *Session) Linkages() (*Linkages, error) { return s.linkages() }

func (s *Session) buildLinkages() (*Linkages, error) {
	t, err := s.Tree()
	if err != nil {
		return nil, err
	}
	all := &Linkages{Tree: t, owner: make([]int, t.NumValues())}
	for v := range all.owner {
		all.owner[v] = -1
	}
	for _, closing := range s.loopGroups(t) {
		n := s.newLinkage(t, closing)
		for _, name := range n.Joints {
			first, count := t.ValueIndex(s.Doc.JointIndex(name))
			for v := first; v < first+count; v++ {
				all.owner[v] = len(all.List)
			}
		}
		all.List = append(all.List, n)
	}
	return all, nil
}

// ringJoints returns the joints of the document that lie round the loop that
// joint i closes, itself among them.
func (s *Session) ringJoints(t *kinematics.Tree, i int) []int {
	up := t.Chain(t.Joint(i).Child)
	down := t.Chain(s.Doc.PartIndex(s.Doc.Joints[i].Child))
	for len(up) > 0 && len(down) > 0 && up[0] == down[0] {
		up, down = up[1:], down[1:]
	}
	list := append(up, down...)
	slices.Sort(list)
	return slices.DeleteFunc(list, func(j int) bool { return j >= len(s.Doc.Joints) }) // riders
}

// loopGroups returns the joints that close loops, those of loops which share a
// joint together.
func (s *Session) loopGroups(t *kinematics.Tree) [][]int {
	var groups, members [][]int
	for i, j := range s.Doc.Joints {
		if !j.Closes {
			continue
		}
		closing, ring := []int{i}, s.ringJoints(t, i)
		kept, keptMembers := groups[:0:0], members[:0:0]
		for g, m := range members {
			if slices.ContainsFunc(m, func(k int) bool { return slices.Contains(ring, k) }) {
				closing, ring = append(groups[g], closing...), append(m, ring...)
			} else {
				kept, keptMembers = append(kept, groups[g]), append(keptMembers, m)
			}
		}
		groups, members = append(kept, closing), append(keptMembers, ring)
	}
	return groups
}

// How far measured axes may be from what would let a loop move, and how far it
// may open on its way: radians, and shares of the loop's size. Axes of short or
// damaged housings are known to half a degree.
const (
	loopTolerance = 0.01
	loopMisfit    = 0.03
	loopSnap      = 1e-4 // lengths of a parallelogram that is meant as one
)

func (s *Session) newLinkage(t *kinematics.Tree, closing []int) Linkage {
	var n Linkage
	var closings []loop.Closing
	in := make([]bool, len(s.Doc.Joints))
	for _, i := range closing {
		j := s.Doc.Joints[i]
		n.Closing = append(n.Closing, j.Name)
		for _, k := range s.ringJoints(t, i) {
			in[k] = true
		}
		closings = append(closings, loop.Closing{Joint: kinematics.Joint{
			Name: j.Name, Kind: kinematics.Fixed, Parent: t.Joint(i).Child, Child: s.Doc.PartIndex(j.Child), Frame: j.Frame,
		}})
	}
	for i, j := range s.Doc.Joints {
		if in[i] {
			n.Joints = append(n.Joints, j.Name)
		}
	}
	o := loop.Options{HoldLimits: true, Unit: string(s.Model.Unit), Tolerance: loopTolerance, Misfit: loopMisfit, Snap: loopSnap}
	drivers, err := loop.DefaultDrivers(t, closings, s.wantedDrivers(t, in), o)
	if err == nil {
		n.Solver, err = loop.New(t, closings, drivers, o)
	}
	if err != nil {
		n.Solver, n.Problem = nil, err
		return n
	}
	for _, v := range drivers {
		j, freedom := t.ValueOf(v)
		n.Drivers = append(n.Drivers, ValueRef{Joint: t.Joint(j).Name, Freedom: freedom})
	}
	return n
}

// wantedDrivers returns the values among the joints marked that should drive:
// those that couplings set, then the document's.
func (s *Session) wantedDrivers(t *kinematics.Tree, in []bool) []int {
	var out []int
	take := func(v ValueRef) {
		if j := s.Doc.JointIndex(v.Joint); j >= 0 && in[j] {
			first, _ := t.ValueIndex(j)
			out = append(out, first+v.Freedom)
		}
	}
	for _, c := range s.Doc.Couplings {
		take(c.Follower)
	}
	for _, v := range s.Doc.Drivers {
		take(v)
	}
	return out
}

// close sets the values of all loops by their drivers' among values, in place,
// and then what couplings make of them. A coupling that would move what a loop
// moves otherwise has no say; one that makes a loop drive itself is followed
// once round.
func (all *Linkages) close(values []float64, c *kinematics.Couplings) {
	for pass := 0; ; pass++ { // a loop may drive another one by a coupling
		for i := range all.List {
			all.closeOne(i, values)
		}
		loops := slices.Clone(values)
		c.Apply(values)
		again := false
		for v, owner := range all.owner {
			if owner < 0 || all.List[owner].Solver == nil || values[v] == loops[v] {
				continue
			}
			if pass < len(all.List) && slices.Contains(all.List[owner].Solver.Drivers(), v) {
				again = true
			} else {
				values[v] = loops[v]
			}
		}
		if !again {
			return
		}
	}
}

// closeOne sets the values of one linkage by its drivers', as far as it comes.
func (all *Linkages) closeOne(i int, values []float64) {
	n := all.List[i].Solver
	if n == nil {
		return
	}
	drivers := n.Drivers()
	drive := make([]float64, len(drivers))
	for k, v := range drivers {
		drive[k] = values[v]
	}
	// From the pose as modelled, so that the same drivers always give the same pose.
	solved, _, _ := n.Solve(context.Background(), n.Zero(), drive)
	for v, owner := range all.owner {
		if owner == i && kinematics.Finite(r3.Vec{X: solved[v]}) {
			values[v] = solved[v]
		}
	}
}

// LinkageOf returns the linkage that a joint is part of, or -1.
func (all *Linkages) LinkageOf(joint string) int {
	return slices.IndexFunc(all.List, func(n Linkage) bool { return slices.Contains(n.Joints, joint) })
}

// Drive returns what the drivers of a loop must be for the joint value v to come
// to the value to, from the pose of the given values of the tree, as near to it
// as the loop lets it. Where v drives, or is in no loop that moves, that is v
// itself.
func (s *Session) Drive(values []float64, v ValueRef, to float64) (map[ValueRef]float64, error) {
	plain := map[ValueRef]float64{v: to}
	all, err := s.Linkages()
	if err != nil {
		return nil, err
	}
	j := s.Doc.JointIndex(v.Joint)
	i := all.LinkageOf(v.Joint)
	if j < 0 || i < 0 || all.List[i].Solver == nil || slices.Contains(all.List[i].Drivers, v) {
		return plain, nil
	}
	first, _ := all.Tree.ValueIndex(j)
	n := all.List[i]
	with := n.Solver.Drivers()
	for k, own := range with { // v for the first driver that it can stand for
		with[k] = first + v.Freedom
		other, err := n.Solver.WithDrivers(with)
		if err != nil {
			with[k] = own
			continue
		}
		drive := make([]float64, len(with))
		for m, w := range with {
			drive[m] = values[w]
		}
		drive[k] = to
		solved, _, _ := other.Solve(context.Background(), values, drive)
		out := map[ValueRef]float64{}
		for m, w := range n.Solver.Drivers() {
			out[n.Drivers[m]] = solved[w]
		}
		return out, nil
	}
	return nil, fmt.Errorf("%s cannot drive its loop: move %s", s.Doc.refText(v), s.Doc.refText(n.Drivers[0]))
}

// LoopReach returns how far a value of a loop can go either way from the pose as
// modelled, and what stops it there; ok is false where it is in no loop that
// moves, or cannot drive it. free are ranges that joints of one freedom are held
// to besides their limits, such as those that contact leaves free; may be nil.
func (s *Session) LoopReach(ctx context.Context, v ValueRef, free map[string]kinematics.Range) (r loop.Reach, n Linkage, ok bool, err error) {
	all, err := s.Linkages()
	if err != nil {
		return r, n, false, err
	}
	j, i := s.Doc.JointIndex(v.Joint), all.LinkageOf(v.Joint)
	if j < 0 || i < 0 || all.List[i].Solver == nil {
		return r, n, false, nil
	}
	n = all.List[i]
	first, _ := all.Tree.ValueIndex(j)
	solver, at := n.Solver, slices.Index(n.Drivers, v)
	if at < 0 {
		at = 0
		drivers := solver.Drivers()
		drivers[0] = first + v.Freedom
		if solver, err = solver.WithDrivers(drivers); err != nil {
			return r, n, false, nil // it cannot drive
		}
	}
	if len(free) > 0 {
		limits := map[int]kinematics.Range{}
		for name, r := range free {
			if k := s.Doc.JointIndex(name); k >= 0 && s.Doc.Joints[k].Kind.Freedoms() == 1 {
				at, _ := all.Tree.ValueIndex(k)
				limits[at] = r
			}
		}
		solver = solver.WithLimits(limits)
	}
	r, err = solver.Reach(ctx, solver.Zero(), at)
	if ctx.Err() != nil {
		return r, n, false, ctx.Err()
	}
	return r, n, err == nil, nil
}

// loopParts is MovingParts for a joint of a loop: the parts on either side of it
// that no other joint of its linkage moves against it. ok is false for other
// joints.
func (s *Session) loopParts(j Joint) (moving, still []int, ok bool) {
	if !s.Doc.HasLoops() {
		return nil, nil, false
	}
	all, err := s.Linkages()
	if err != nil {
		return nil, nil, false
	}
	i := all.LinkageOf(j.Name)
	if i < 0 {
		return nil, nil, false
	}
	mover := s.movers(all, all.List[i])
	child, parent := s.moverOf(mover, j.Child), s.moverOf(mover, j.Parent)
	for p := range s.Doc.Parts {
		switch mover[p] {
		case child:
			moving = append(moving, p)
		case parent:
			still = append(still, p)
		}
	}
	return moving, still, true
}
