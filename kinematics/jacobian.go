package kinematics

import "gonum.org/v1/gonum/spatial/r3"

// Twist returns the twist t, given in axes that x moves with it, as seen after
// the motion: the adjoint of x applied to t.
func (x Transform) Twist(t Twist) Twist {
	w := x.Turn(t.Angular)
	return Twist{Angular: w, Linear: r3.Add(x.Turn(t.Linear), r3.Cross(x.T, w))}
}

// Add returns the sum of two velocities.
func (t Twist) Add(u Twist) Twist {
	return Twist{Angular: r3.Add(t.Angular, u.Angular), Linear: r3.Add(t.Linear, u.Linear)}
}

// At returns the velocity of the point p that moves with the twist.
func (t Twist) At(p r3.Vec) r3.Vec { return r3.Add(t.Linear, r3.Cross(t.Angular, p)) }

// Jacobian returns the velocity of a part per unit of each joint value at the
// given values, in model axes: one twist for each of NumValues, zero for values
// that do not move the part. For a chain of one-freedom joints it is the space
// Jacobian of K. M. Lynch, F. C. Park, Modern Robotics (Cambridge 2017), ch. 5.
// It panics where the number of values is not NumValues.
func (t *Tree) Jacobian(part int, values []float64) []Twist {
	dst := make([]Twist, t.values)
	t.JacobianTo(dst, part, values, t.FK(values))
	return dst
}

// JacobianTo is Jacobian into the caller's slice, with the motions that FK gives
// for the values; it allocates nothing.
func (t *Tree) JacobianTo(dst []Twist, part int, values []float64, motions []Transform) {
	clear(dst)
	for j := t.carrierOf(part); j >= 0; j = t.carrierOf(t.joints[j].Parent) {
		joint := &t.joints[j]
		first, n := t.ValueIndex(j)
		own := dst[first : first+n]
		joint.TwistsTo(own, values[first:first+n]...)
		if joint.Parent == World {
			continue
		}
		for i := range own {
			own[i] = motions[joint.Parent].Twist(own[i])
		}
	}
}
