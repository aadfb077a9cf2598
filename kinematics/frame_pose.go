package kinematics

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// frameTolerance is how far a joint frame may be from unit length and right
// angles. Built frames keep to rounding; frames read from a document have
// passed through decimal text.
const frameTolerance = 1e-9

// NewFrame returns the frame at origin with the hinge exactly along hinge and
// the reach along the part of reach perpendicular to it. The vectors may have
// any length. It returns a *VectorError for a vector that gives no direction
// and an *AimError where reach is parallel to hinge.
func NewFrame(origin, hinge, reach r3.Vec) (Frame, error) {
	a, err := NewAxis(origin, hinge)
	if err != nil {
		return Frame{}, err
	}
	r, err := Unit(reach, "reach")
	if err != nil {
		return Frame{}, err
	}
	r, sine := perpendicularPart(r, a.Dir)
	if sine < minSine {
		return Frame{}, &AimError{
			Role: RoleReach, About: RoleHinge, Reference: "direction " + vecText(reach),
			Sine: sine, Min: minSine,
		}
	}
	return Frame{Origin: origin, Hinge: a.Dir, Reach: r}, nil
}

// perpendicularPart returns the unit direction of the part of the unit vector
// v perpendicular to d and the length of that part, both zero where there is
// none.
func perpendicularPart(v, d r3.Vec) (r3.Vec, float64) {
	p := reject(v, d)
	n := r3.Norm(p)
	if !(n > noSine) {
		return r3.Vec{}, 0
	}
	return square(r3.Scale(1/n, p), d), n
}

// Transform returns the pose of the frame in model axes with x = reach, y =
// side, z = hinge.
func (f Frame) Transform() Transform {
	return Transform{X: f.Reach, Y: f.Side(), Z: f.Hinge, T: f.Origin}
}

// FrameOf returns the frame whose pose is x, the inverse of Frame.Transform.
func FrameOf(x Transform) Frame { return Frame{Origin: x.T, Hinge: x.Z, Reach: x.X} }

// Quaternion returns the rotation from model axes to the frame with x = reach,
// y = side, z = hinge.
func (f Frame) Quaternion() Quaternion { return f.Transform().Quaternion() }

// Flipped returns the frame with hinge and side reversed and reach kept.
func (f Frame) Flipped() Frame {
	f.Hinge = opposite(f.Hinge)
	return f
}

// Check returns a *VectorError or a *FrameError where f is not finite, or where
// hinge and reach are off unit length or a right angle by more than 1e-9.
func (f Frame) Check() error {
	for _, v := range []struct {
		what string
		v    r3.Vec
	}{{"frame origin", f.Origin}, {"hinge", f.Hinge}, {"reach", f.Reach}} {
		if !Finite(v.v) {
			return &VectorError{What: v.what, Value: v.v, Length: nan(), Min: minLength}
		}
	}
	for _, c := range []struct {
		what  string
		value float64
	}{
		{"hinge is off unit length", r3.Norm(f.Hinge) - 1},
		{"reach is off unit length", r3.Norm(f.Reach) - 1},
		{"reach is off its right angle to hinge", r3.Dot(f.Hinge, f.Reach)},
	} {
		if math.Abs(c.value) > frameTolerance {
			return &FrameError{What: c.what, Value: math.Abs(c.value), Max: frameTolerance}
		}
	}
	return nil
}
