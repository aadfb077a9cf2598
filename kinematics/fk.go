package kinematics

import "fmt"

// Zero returns the joint values of the pose as modelled.
func (t *Tree) Zero() []float64 { return make([]float64, t.values) }

// FK returns the motion of every part from where it is modelled at the given
// joint values (see ValueIndex): the product of the motions of the joints that
// lead to it. A vertex p of part i then stands at FK[i].Apply(p). It panics
// where the number of values is not NumValues. Values are not clamped.
func (t *Tree) FK(values []float64) []Transform {
	dst := make([]Transform, t.numParts)
	t.FKTo(dst, values)
	return dst
}

// FKTo is FK into the caller's slice of NumParts motions; it allocates nothing.
func (t *Tree) FKTo(dst []Transform, values []float64) {
	if len(values) != t.values || len(dst) != t.numParts {
		panic(fmt.Sprintf("kinematics: FK with %d values and %d motions for a tree of %d values and %d parts",
			len(values), len(dst), t.values, t.numParts))
	}
	for p := range dst {
		dst[p] = Identity()
	}
	for _, i := range t.order {
		j := &t.joints[i]
		x := j.Motion(t.of(i, values)...)
		if j.Parent != World {
			x = dst[j.Parent].Mul(x)
		}
		dst[j.Child] = x
	}
}

// of returns the values of joint i among all.
func (t *Tree) of(i int, values []float64) []float64 {
	first, n := t.ValueIndex(i)
	return values[first : first+n]
}

// MotionOf returns the motion of the parts of Subtree(joint) when that joint
// alone has the values (see Joint.Motion) and all others are as modelled.
func (t *Tree) MotionOf(joint int, values ...float64) Transform {
	return t.joints[joint].Motion(values...)
}

// FrameAt returns where the frame of joint j stands on its parent, given the
// motions from FK.
func (t *Tree) FrameAt(j int, motions []Transform) Frame {
	f := t.joints[j].Frame
	if p := t.joints[j].Parent; p != World {
		return motions[p].Frame(f)
	}
	return f
}

// Clamp brings the joint values within the joints' limits, in place, and
// returns how many it changed.
func (t *Tree) Clamp(values []float64) int {
	changed := 0
	for i := range t.joints {
		changed += t.joints[i].Clamp(t.of(i, values))
	}
	return changed
}
