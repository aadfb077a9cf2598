package kinematics

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// minTurn is the angle in radians below which a motion counts as a pure
// translation: less is the rounding of a few chained rotations.
const minTurn = 1e-12

// Screw is a rigid motion in Chasles' form: a turn by Angle about Axis
// together with a shift by Travel along it.
type Screw struct {
	Axis   Axis
	Angle  float64 // radians, 0 to pi
	Travel float64 // model units along Axis.Dir
}

// ScrewOf returns the screw of a rigid motion. Axis.Point is the point of the
// axis nearest to the model's origin. A half turn has two directions: the one
// whose first component other than zero is positive is taken. For a pure
// translation (a turn of less than 1e-12 rad) the angle is 0, the point is the
// origin and the direction is that of the translation; for the identity it is
// zero. Source: O. Bottema, B. Roth, Theoretical Kinematics (1979).
func ScrewOf(x Transform) Screw {
	u, angle := x.axisAngle()
	if angle == 0 {
		dir, err := Unit(x.T, "translation")
		if err != nil {
			return Screw{}
		}
		return Screw{Axis: Axis{Dir: dir}, Travel: r3.Norm(x.T)}
	}
	travel := r3.Dot(x.T, u)
	across := reject(x.T, u)
	// Solves (I - R) q = across with q.u = 0.
	q := r3.Scale(0.5, r3.Add(across, r3.Scale(1/math.Tan(angle/2), r3.Cross(u, across))))
	return Screw{Axis: Axis{Point: q, Dir: u}, Angle: angle, Travel: travel}
}

// axisAngle returns the unit direction and the angle in [0, pi] of the
// rotation part, both zero below minTurn.
func (x Transform) axisAngle() (r3.Vec, float64) {
	q := x.Quaternion()
	v := r3.Vec{X: q[0], Y: q[1], Z: q[2]}
	s := r3.Norm(v)
	angle := 2 * math.Atan2(s, q[3])
	if angle < minTurn {
		return r3.Vec{}, 0
	}
	return r3.Scale(1/s, v), angle
}

// Transform returns the motion that s describes.
func (s Screw) Transform() Transform {
	if s.Angle == 0 {
		return Translation(r3.Scale(s.Travel, s.Axis.Dir))
	}
	x := Rotation(s.Axis, s.Angle)
	x.T = r3.Add(x.T, r3.Scale(s.Travel, s.Axis.Dir))
	return x
}

// Pitch returns the travel per radian: infinite for a pure translation, NaN
// for the identity.
func (s Screw) Pitch() float64 { return s.Travel / s.Angle }

// Twist is a velocity or, taken for unit time, a motion: Angular is the
// rotation vector in radians, Linear the velocity of the point that passes the
// model's origin, in model units. This is the (omega, v) of K. M. Lynch,
// F. C. Park, Modern Robotics (Cambridge 2017).
type Twist struct {
	Angular, Linear r3.Vec
}

// Twist returns the unit twist about the axis that travels pitch model units
// per radian.
func (a Axis) Twist(pitch float64) Twist {
	return Twist{Angular: a.Dir, Linear: r3.Add(r3.Cross(a.Point, a.Dir), r3.Scale(pitch, a.Dir))}
}

// Scale returns the twist s times as fast.
func (t Twist) Scale(s float64) Twist {
	return Twist{Angular: r3.Scale(s, t.Angular), Linear: r3.Scale(s, t.Linear)}
}

// Exp returns the motion that the twist makes in unit time (the matrix
// exponential of se(3)).
func (t Twist) Exp() Transform {
	w, v := t.Angular, t.Linear
	angle := r3.Norm(w)
	if angle < minLength {
		return Translation(v)
	}
	u := r3.Scale(1/angle, w)
	x := turn(u, angle)
	uv := r3.Cross(u, v)
	uuv := r3.Cross(u, uv)
	h := math.Sin(angle / 2)
	x.T = r3.Add(v, r3.Add(r3.Scale(2*h*h/angle, uv), r3.Scale(oneMinusSinc(angle), uuv)))
	return x
}

// oneMinusSinc returns 1 - sin(t)/t without cancellation for small t.
func oneMinusSinc(t float64) float64 {
	if math.Abs(t) > 0.25 {
		return 1 - math.Sin(t)/t
	}
	// t^2/3! - t^4/5! + ...; the term after the last is below 1e-18 of the sum.
	q := t * t
	return q / 6 * (1 - q/20*(1-q/42*(1-q/72*(1-q/110*(1-q/156)))))
}

// Log returns the twist whose Exp is x, with a rotation of at most pi (the
// matrix logarithm of SE(3)). x must be rigid.
func (x Transform) Log() Twist {
	u, angle := x.axisAngle()
	if angle == 0 {
		return Twist{Linear: x.T}
	}
	across := reject(x.T, u)
	half := angle / 2
	v := r3.Sub(r3.Scale(half/math.Tan(half), across), r3.Scale(half, r3.Cross(u, across)))
	return Twist{Angular: r3.Scale(angle, u), Linear: r3.Add(v, r3.Scale(r3.Dot(x.T, u), u))}
}
