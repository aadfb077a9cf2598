package kinematics

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// Quaternion is a rotation as x, y, z, w with the real part last, the order
// of glTF and of the joint spec. A rotation by t about the unit direction u is
// (u sin t/2, cos t/2); q and -q are the same rotation.
type Quaternion [4]float64

// Quaternion returns the rotation part of x, which must be rigid, as a unit
// quaternion. Of the two signs it takes the one with w > 0; for a half turn
// (w = 0) the one whose first component other than zero is positive. Source:
// S. W. Shepperd, Quaternion from rotation matrix, J. Guidance and Control 1
// (1978) 223-224: the largest of the four comes from the diagonal.
func (x Transform) Quaternion() Quaternion {
	a, b, c := x.X.X, x.Y.Y, x.Z.Z
	trace := a + b + c
	var q Quaternion
	switch {
	case trace >= a && trace >= b && trace >= c:
		q = Quaternion{x.Y.Z - x.Z.Y, x.Z.X - x.X.Z, x.X.Y - x.Y.X, 1 + trace}
	case a >= b && a >= c:
		q = Quaternion{1 + a - b - c, x.Y.X + x.X.Y, x.Z.X + x.X.Z, x.Y.Z - x.Z.Y}
	case b >= c:
		q = Quaternion{x.Y.X + x.X.Y, 1 - a + b - c, x.Z.Y + x.Y.Z, x.Z.X - x.X.Z}
	default:
		q = Quaternion{x.Z.X + x.X.Z, x.Z.Y + x.Y.Z, 1 - a - b + c, x.X.Y - x.Y.X}
	}
	return q.scaled(q.positive() / q.norm())
}

// Transform returns the rotation that q stands for; q may have any length. It
// returns an error where q is not finite or has no length.
func (q Quaternion) Transform() (Transform, error) {
	n := q.norm()
	if !(n > minLength) || math.IsInf(n, 1) {
		return Transform{}, fmt.Errorf("quaternion %v (x, y, z, w) has length %.3g: give a finite one that is not zero",
			[4]float64(q), n)
	}
	x, y, z, w := q[0]/n, q[1]/n, q[2]/n, q[3]/n
	return Transform{
		X: r3.Vec{X: 1 - 2*(y*y+z*z), Y: 2 * (x*y + z*w), Z: 2 * (x*z - y*w)},
		Y: r3.Vec{X: 2 * (x*y - z*w), Y: 1 - 2*(x*x+z*z), Z: 2 * (y*z + x*w)},
		Z: r3.Vec{X: 2 * (x*z + y*w), Y: 2 * (y*z - x*w), Z: 1 - 2*(x*x+y*y)},
	}, nil
}

// Mul returns the rotation that first does r and then q.
func (q Quaternion) Mul(r Quaternion) Quaternion {
	return Quaternion{
		q[3]*r[0] + q[0]*r[3] + q[1]*r[2] - q[2]*r[1],
		q[3]*r[1] + q[1]*r[3] + q[2]*r[0] - q[0]*r[2],
		q[3]*r[2] + q[2]*r[3] + q[0]*r[1] - q[1]*r[0],
		q[3]*r[3] - q[0]*r[0] - q[1]*r[1] - q[2]*r[2],
	}
}

func (q Quaternion) norm() float64 {
	return math.Hypot(math.Hypot(q[0], q[1]), math.Hypot(q[2], q[3]))
}

// scaled returns s q; the sums turn negative zeros, which would show in text,
// into plain ones.
func (q Quaternion) scaled(s float64) Quaternion {
	return Quaternion{s*q[0] + 0, s*q[1] + 0, s*q[2] + 0, s*q[3] + 0}
}

// positive returns the sign that Quaternion's doc comment asks for.
func (q Quaternion) positive() float64 {
	for _, c := range []float64{q[3], q[0], q[1], q[2]} {
		if c != 0 {
			return math.Copysign(1, c)
		}
	}
	return 1
}
