// Package kinematics holds joint frames, joint kinds, the tree they form and
// what follows from them: where a part stands at given joint values, whether
// a housing runs true about its hinge. Lengths are model units, angles are
// radians, all frames are right-handed.
package kinematics

import "gonum.org/v1/gonum/spatial/r3"

// Frame is a joint frame in model axes. Side is Hinge x Reach.
type Frame struct {
	Origin r3.Vec
	Hinge  r3.Vec // unit, the motion axis
	Reach  r3.Vec // unit, perpendicular to Hinge, toward the next joint
}

// Side returns Hinge x Reach, the third direction of the frame.
func (f Frame) Side() r3.Vec { return r3.Cross(f.Hinge, f.Reach) }

// Axis is a directed line in model axes.
type Axis struct {
	Point r3.Vec
	Dir   r3.Vec // unit
}

// Axis returns the hinge line of the frame.
func (f Frame) Axis() Axis { return Axis{Point: f.Origin, Dir: f.Hinge} }

// Transform is a rigid motion p -> p.x X + p.y Y + p.z Z + T. X, Y and Z are
// the columns of a rotation matrix.
type Transform struct {
	X, Y, Z, T r3.Vec
}

// Identity returns the motion that leaves every point where it is.
func Identity() Transform {
	return Transform{X: r3.Vec{X: 1}, Y: r3.Vec{Y: 1}, Z: r3.Vec{Z: 1}}
}

// Apply returns the moved point.
func (x Transform) Apply(p r3.Vec) r3.Vec { return r3.Add(x.Turn(p), x.T) }

// Turn returns the direction d turned by the rotation part alone.
func (x Transform) Turn(d r3.Vec) r3.Vec {
	return r3.Vec{
		X: d.X*x.X.X + d.Y*x.Y.X + d.Z*x.Z.X,
		Y: d.X*x.X.Y + d.Y*x.Y.Y + d.Z*x.Z.Y,
		Z: d.X*x.X.Z + d.Y*x.Y.Z + d.Z*x.Z.Z,
	}
}
