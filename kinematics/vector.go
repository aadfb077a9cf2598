package kinematics

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// minLength is the length below which a vector has no trustworthy direction:
// its components are about to lose digits to gradual underflow.
const minLength = 1e-290

// Unit returns v scaled to length 1. A vector that is of unit length to
// rounding comes back bit for bit, so Unit may be applied twice. It returns a
// *VectorError for a vector that is not finite or shorter than 1e-290; what
// names the vector in that error.
func Unit(v r3.Vec, what string) (r3.Vec, error) {
	if !Finite(v) {
		return r3.Vec{}, &VectorError{What: what, Value: v, Length: math.NaN(), Min: minLength}
	}
	if math.Abs(r3.Norm2(v)-1) <= 16*epsilon {
		return v, nil
	}
	// Scaled first, so that the squares neither overflow nor vanish.
	m := max(math.Abs(v.X), math.Abs(v.Y), math.Abs(v.Z))
	if m < minLength {
		return r3.Vec{}, &VectorError{What: what, Value: v, Length: m, Min: minLength}
	}
	w := r3.Vec{X: v.X / m, Y: v.Y / m, Z: v.Z / m}
	return r3.Scale(1/r3.Norm(w), w), nil
}

// Finite reports whether no component of v is NaN or infinite.
func Finite(v r3.Vec) bool {
	return finite(v.X) && finite(v.Y) && finite(v.Z)
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

// Angle returns the angle between two directions, 0 to pi, of any length. It
// keeps its digits for nearly parallel directions; it is 0 where one of them
// is zero.
func Angle(a, b r3.Vec) float64 {
	return math.Atan2(r3.Norm(r3.Cross(a, b)), r3.Dot(a, b))
}

// SignedAngle returns the angle, -pi to pi, that turns the direction a onto b
// about the unit direction axis by the right-hand rule. Parts of a and b along
// the axis are left out of account.
func SignedAngle(a, b, axis r3.Vec) float64 {
	a, b = reject(a, axis), reject(b, axis)
	return math.Atan2(r3.Dot(axis, r3.Cross(a, b)), r3.Dot(a, b))
}

// Perpendicular returns a unit direction perpendicular to the unit direction
// d: the model axis that leans least along d, made perpendicular. It is the
// same for d and -d.
func Perpendicular(d r3.Vec) r3.Vec {
	ax, ay, az := math.Abs(d.X), math.Abs(d.Y), math.Abs(d.Z)
	e := r3.Vec{Z: 1}
	switch {
	case ax <= ay && ax <= az:
		e = r3.Vec{X: 1}
	case ay <= az:
		e = r3.Vec{Y: 1}
	}
	p := reject(e, d)
	p = r3.Scale(1/r3.Norm(p), p)
	return square(p, d)
}

// opposite returns -v without making negative zeros, which would show in text.
func opposite(v r3.Vec) r3.Vec { return r3.Sub(r3.Vec{}, v) }

// reject returns the part of v that is perpendicular to the unit direction d.
func reject(v, d r3.Vec) r3.Vec { return r3.Sub(v, r3.Scale(r3.Dot(v, d), d)) }

// square removes what rounding has left of d in p, for unit p nearly
// perpendicular to the unit direction d, and returns p at length 1.
func square(p, d r3.Vec) r3.Vec {
	p = reject(p, d)
	return r3.Scale(1/r3.Norm(p), p)
}

// wrap returns the angle between -pi and pi that differs from a by whole turns.
func wrap(a float64) float64 { return math.Remainder(a, 2*math.Pi) }

// noSine is a length of a cross product or remainder of unit vectors that says
// no more than that they are parallel.
const noSine = 1e-20

// epsilon is the distance from 1 to the next float64.
const epsilon = 0x1p-52
