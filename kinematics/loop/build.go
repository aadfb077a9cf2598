package loop

import (
	"fmt"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/kinematics"
)

// link is a joint of the tree that takes part in a loop. Its child part is the
// body of the same number.
type link struct {
	joint        kinematics.Joint // about the linkage's middle
	parent       int              // body, or ground
	first, count int              // its values
}

// ground is the body of every part that no loop moves.
const ground = -1

// ring is one closed loop: the way from the joint's parent down to the part
// that both sides hang on, and up again to its child.
type ring struct {
	joint         kinematics.Joint // about the linkage's middle
	parent, child int              // bodies
	gap           kinematics.Transform
	onParent      r3.Vec // the joint's origin, as modelled
	onChild       r3.Vec
	first, count  int   // the joint's values
	up, down      []int // links on the parent's side only, on the child's side only
	size          float64
}

// build lays the loops out; it does not look at drivers.
func build(tree *kinematics.Tree, closings []Closing, o Options) (*Linkage, error) {
	if len(closings) == 0 {
		return nil, &LinkageError{Reason: "no joint closes a loop: a tree needs no solving"}
	}
	l := &Linkage{tree: tree, closings: slices.Clone(closings), values: tree.NumValues(), o: o}
	for i := range l.closings {
		if err := l.checkClosing(i); err != nil {
			return nil, err
		}
		l.closings[i] = l.closings[i].clone()
	}
	linkOf, err := l.takeLinks()
	if err != nil {
		return nil, err
	}
	middle := l.place()
	l.takeRings(linkOf, middle)
	l.takeFreedoms()
	if len(l.active) == 0 {
		return nil, &LinkageError{Reason: "the loop has fixed joints only: nothing can move"}
	}
	return l, nil
}

// clone copies what the caller may change later.
func (c Closing) clone() Closing {
	c.Joint.Limits = slices.Clone(c.Joint.Limits)
	if c.Joint.Cone != nil {
		c.Joint.Cone = &kinematics.Cone{Max: slices.Clone(c.Joint.Cone.Max)}
	}
	if c.OnChild != nil {
		f := *c.OnChild
		c.OnChild = &f
	}
	return c
}

func (l *Linkage) checkClosing(i int) error {
	c := l.closings[i]
	refuse := func(err error, format string, args ...any) error {
		return &LinkageError{Joint: jointName(c.Joint, l.tree.NumJoints()+i), Reason: fmt.Sprintf(format, args...), Err: err}
	}
	if err := c.Joint.Check(); err != nil {
		return refuse(err, "it cannot close a loop")
	}
	if c.OnChild != nil {
		if err := c.OnChild.Check(); err != nil {
			return refuse(err, "its frame on the child part is wrong")
		}
	}
	for _, p := range []int{c.Joint.Parent, c.Joint.Child} {
		if p < kinematics.World || p >= l.tree.NumParts() {
			return refuse(nil, "it joins part %d, but the model has parts 0 to %d", p, l.tree.NumParts()-1)
		}
	}
	if c.Joint.Parent == c.Joint.Child {
		return refuse(nil, "it joins part %d to itself: choose another part", c.Joint.Parent)
	}
	return nil
}

// sides returns the joints that lead to the parent and to the child of closing
// i without those that lead to both.
func (l *Linkage) sides(i int) (up, down []int) {
	chain := func(part int) []int {
		if part == kinematics.World {
			return nil
		}
		return l.tree.Chain(part)
	}
	up, down = chain(l.closings[i].Joint.Parent), chain(l.closings[i].Joint.Child)
	for len(up) > 0 && len(down) > 0 && up[0] == down[0] {
		up, down = up[1:], down[1:]
	}
	return up, down
}

// takeLinks collects the joints of all loops, parents first, and returns the
// link of each tree joint, ground where it is in no loop.
func (l *Linkage) takeLinks() ([]int, error) {
	linkOf := make([]int, l.tree.NumJoints())
	for j := range linkOf {
		linkOf[j] = ground
	}
	for i := range l.closings {
		up, down := l.sides(i)
		if len(up)+len(down) == 0 {
			c := l.closings[i].Joint
			return nil, &LinkageError{
				Joint:  jointName(c, l.tree.NumJoints()+i),
				Reason: "no joint lets its parts move against each other, so it closes no loop: leave it out",
			}
		}
		for _, j := range append(up, down...) {
			linkOf[j] = 0
		}
	}
	for _, j := range l.parentsFirst(linkOf) {
		linkOf[j] = len(l.links)
		first, count := l.tree.ValueIndex(j)
		joint := l.tree.Joint(j)
		parent := ground
		if joint.Parent != kinematics.World {
			if k := l.tree.Carrier(joint.Parent); k >= 0 {
				parent = linkOf[k]
			}
		}
		l.links = append(l.links, link{joint: joint, parent: parent, first: first, count: count})
	}
	return linkOf, nil
}

// parentsFirst returns the joints that are marked, each after the joint that
// carries its parent, else in the tree's order.
func (l *Linkage) parentsFirst(linkOf []int) []int {
	depth := make([]int, len(linkOf))
	var in []int
	for j := range linkOf {
		if linkOf[j] != ground {
			depth[j] = len(l.tree.Chain(l.tree.Joint(j).Child))
			in = append(in, j)
		}
	}
	slices.SortStableFunc(in, func(a, b int) int { return depth[a] - depth[b] })
	return in
}

// place moves the links to the middle of all joints of the loops and returns it.
func (l *Linkage) place() r3.Vec {
	var points []r3.Vec
	for i := range l.links {
		points = append(points, l.links[i].joint.Frame.Origin)
	}
	for _, c := range l.closings {
		points = append(points, c.Joint.Frame.Origin)
	}
	middle, _ := centre(points)
	for i := range l.links {
		f := &l.links[i].joint.Frame
		f.Origin = r3.Sub(f.Origin, middle)
	}
	return middle
}

// takeRings lays out each loop about the middle, with its size.
func (l *Linkage) takeRings(linkOf []int, middle r3.Vec) {
	body := func(part int) int {
		if part == kinematics.World || l.tree.Carrier(part) < 0 {
			return ground
		}
		return linkOf[l.tree.Carrier(part)]
	}
	for i, c := range l.closings {
		r := ring{joint: c.Joint, parent: body(c.Joint.Parent), child: body(c.Joint.Child), gap: kinematics.Identity()}
		r.joint.Frame.Origin = r3.Sub(r.joint.Frame.Origin, middle)
		r.onParent, r.onChild = r.joint.Frame.Origin, r.joint.Frame.Origin
		if c.OnChild != nil {
			f := *c.OnChild
			f.Origin = r3.Sub(f.Origin, middle)
			r.onChild = f.Origin
			r.gap = r.joint.Frame.Transform().Mul(f.Transform().Inverse())
		}
		up, down := l.sides(i)
		points := []r3.Vec{r.onParent}
		for side, joints := range [2][]int{up, down} {
			for _, j := range joints {
				k := linkOf[j]
				points = append(points, l.links[k].joint.Frame.Origin)
				if side == 0 {
					r.up = append(r.up, k)
				} else {
					r.down = append(r.down, k)
				}
			}
		}
		if _, r.size = centre(points); r.size == 0 {
			r.size = 1 // all axes meet where they are given: lengths play no part
		}
		r.first, r.count = l.values, c.Joint.Kind.Freedoms()
		l.values += r.count
		l.loops = append(l.loops, r)
	}
}

// takeFreedoms finds which values take part and what they are measured in.
func (l *Linkage) takeFreedoms() {
	l.freedoms = make([]freedom, l.values)
	l.column = make([]int, l.values)
	for v := range l.column {
		l.column[v] = -1
		l.freedoms[v].scale = 1
	}
	for j := range l.tree.NumJoints() {
		first, count := l.tree.ValueIndex(j)
		l.nameFreedoms(j, first, count)
	}
	for i := range l.loops {
		r := &l.loops[i]
		take := func(first, count int) {
			for v := first; v < first+count; v++ {
				f := &l.freedoms[v]
				if f.length && (l.column[v] < 0 || r.size < f.scale) {
					f.scale = r.size
				}
				l.column[v] = 0
			}
		}
		l.nameFreedoms(l.tree.NumJoints()+i, r.first, r.count)
		take(r.first, r.count)
		for _, k := range append(slices.Clone(r.up), r.down...) {
			take(l.links[k].first, l.links[k].count)
		}
	}
	for v := range l.column {
		if l.column[v] == 0 {
			l.column[v] = len(l.active)
			l.active = append(l.active, v)
		}
	}
}

// nameFreedoms notes what the values of a joint are.
func (l *Linkage) nameFreedoms(joint, first, count int) {
	j := l.Joint(joint)
	for i := range count {
		f := &l.freedoms[first+i]
		f.joint, f.length, f.limits = joint, !j.Kind.Freedom(i).Turns, j.Limit(i)
		f.ball = j.Kind == kinematics.Spherical
	}
}
