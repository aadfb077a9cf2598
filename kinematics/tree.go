package kinematics

import (
	"fmt"
	"slices"
)

// World is the parent of a joint that carries its child from the ground.
const World = -1

// Tree is the mechanism's structure: which part hangs on which by which joint.
// It is constant once made and may be shared by goroutines; joint values and
// motions are slices of the caller's. A part that is no joint's child stands
// on the world.
type Tree struct {
	joints   []Joint
	numParts int
	order    []int // joint indexes, parents first
	carrier  []int // joint whose child the part is, or -1
	first    []int // offset of each joint's values
	values   int
}

// NewTree checks and copies the joints of a model with numParts parts. It
// returns a *JointError for a joint that refers to a part that is not there, to
// itself, or that its Check refuses; a *TwoParentsError for a part that is the
// child of two joints; and a *CycleError for joints that form a ring (closed
// loops are no trees: leave one joint of the loop out).
func NewTree(numParts int, joints []Joint) (*Tree, error) {
	t := &Tree{
		joints: slices.Clone(joints), numParts: numParts,
		carrier: make([]int, numParts), first: make([]int, len(joints)),
	}
	for p := range t.carrier {
		t.carrier[p] = -1
	}
	for i := range t.joints {
		j := &t.joints[i]
		if err := t.checkJoint(i); err != nil {
			return nil, err
		}
		if k := t.carrier[j.Child]; k >= 0 {
			return nil, &TwoParentsError{Part: j.Child, First: t.joints[k].label(k), Second: j.label(i)}
		}
		t.carrier[j.Child] = i
		t.first[i] = t.values
		t.values += j.Kind.Freedoms()
		j.Limits = slices.Clone(j.Limits) // the caller's may change later
		if j.Cone != nil {
			j.Cone = &Cone{Max: slices.Clone(j.Cone.Max)}
		}
	}
	if err := t.sort(); err != nil {
		return nil, err
	}
	return t, nil
}

func (t *Tree) checkJoint(i int) error {
	j := &t.joints[i]
	if err := j.check(i); err != nil {
		return err
	}
	if j.Parent < World || j.Parent >= t.numParts || j.Child < 0 || j.Child >= t.numParts {
		return &JointError{Joint: j.label(i), Reason: fmt.Sprintf(
			"it joins part %d to part %d, but the model has parts 0 to %d: choose parts of this model (the parent may be the world, %d)",
			j.Child, j.Parent, t.numParts-1, World)}
	}
	if j.Parent == j.Child {
		return &JointError{Joint: j.label(i), Reason: fmt.Sprintf("it joins part %d to itself: choose another parent", j.Child)}
	}
	return nil
}

// sort fills order so that every joint comes after the joint that carries its
// parent, or names the joints of a ring.
func (t *Tree) sort() error {
	t.order = make([]int, 0, len(t.joints))
	const waiting, walking, placed = 0, 1, 2
	state := make([]uint8, len(t.joints))
	var stack []int
	for i := range t.joints {
		stack = stack[:0]
		for j := i; j >= 0 && state[j] != placed; j = t.carrierOf(t.joints[j].Parent) {
			if state[j] == walking {
				return t.ring(j)
			}
			state[j] = walking
			stack = append(stack, j)
		}
		for k := len(stack) - 1; k >= 0; k-- {
			state[stack[k]] = placed
			t.order = append(t.order, stack[k])
		}
	}
	return nil
}

func (t *Tree) carrierOf(part int) int {
	if part == World {
		return -1
	}
	return t.carrier[part]
}

// ring names the joints of the ring that joint j is part of.
func (t *Tree) ring(j int) error {
	names := []string{t.joints[j].label(j)}
	for k := t.carrierOf(t.joints[j].Parent); k != j; k = t.carrierOf(t.joints[k].Parent) {
		names = append(names, t.joints[k].label(k))
	}
	names = append(names, names[0])
	slices.Reverse(names) // from parent to child
	return &CycleError{What: "joints", Joints: names}
}

// NumParts returns the number of parts.
func (t *Tree) NumParts() int { return t.numParts }

// NumJoints returns the number of joints.
func (t *Tree) NumJoints() int { return len(t.joints) }

// NumValues returns the number of joint values: the sum of the joints'
// freedoms. Fixed joints take none.
func (t *Tree) NumValues() int { return t.values }

// Joint returns a copy of joint j.
func (t *Tree) Joint(j int) Joint { return t.joints[j] }

// ValueIndex returns where the values of joint j stand in a slice of joint
// values: count of them from first on. A fixed joint has none.
func (t *Tree) ValueIndex(j int) (first, count int) {
	return t.first[j], t.joints[j].Kind.Freedoms()
}

// ValueOf returns which joint the joint value v belongs to and which of its
// freedoms it is: the inverse of ValueIndex.
func (t *Tree) ValueOf(v int) (joint, freedom int) {
	for j := range t.joints {
		if first, n := t.ValueIndex(j); v >= first && v < first+n {
			return j, v - first
		}
	}
	return -1, -1
}

// Find returns the first joint of that name, or -1.
func (t *Tree) Find(name string) int {
	return slices.IndexFunc(t.joints, func(j Joint) bool { return j.Name == name })
}

// Carrier returns the joint whose child the part is, or -1 for a part that
// stands on the world.
func (t *Tree) Carrier(part int) int { return t.carrier[part] }

// Next returns the joints whose parent is the child part of joint j, in the
// order given.
func (t *Tree) Next(j int) []int {
	var next []int
	for k := range t.joints {
		if t.joints[k].Parent == t.joints[j].Child {
			next = append(next, k)
		}
	}
	return next
}

// Chain returns the joints that lead from the world to the part, root first.
func (t *Tree) Chain(part int) []int {
	var chain []int
	for j := t.carrierOf(part); j >= 0; j = t.carrierOf(t.joints[j].Parent) {
		chain = append(chain, j)
	}
	slices.Reverse(chain)
	return chain
}

// Subtree returns the parts that joint j moves: its child and everything below
// it, in ascending order.
func (t *Tree) Subtree(j int) []int {
	moves := make([]bool, t.numParts)
	moves[t.joints[j].Child] = true
	for _, k := range t.order {
		if p := t.joints[k].Parent; p != World && moves[p] {
			moves[t.joints[k].Child] = true
		}
	}
	var parts []int
	for p, m := range moves {
		if m {
			parts = append(parts, p)
		}
	}
	return parts
}
