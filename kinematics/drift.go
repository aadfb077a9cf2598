package kinematics

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// Drift says how far a point that should stay on a hinge, such as the centre
// of the hinge's housing, wanders while the joint runs through a range. The
// point moves on a circle about the hinge, so every figure is in closed form.
type Drift struct {
	Radius float64 // distance of the point from the hinge, model units
	Arc    float64 // length of its path over the range
	Chord  float64 // distance between its places at the two ends
	Spread float64 // largest distance between any two places
	// Max is the largest distance from where it is modelled, reached at joint
	// value At.
	Max, At float64
}

// DriftOf returns the drift of the point over the range of a revolute joint
// about the axis. The range need not contain 0, the pose as modelled. It is
// NaN throughout where the range is infinite or not a number.
func DriftOf(point r3.Vec, axis Axis, over Range) Drift {
	rho := axis.Distance(point)
	span := over.Span()
	if !finite(span) {
		return Drift{Radius: rho, Arc: nan(), Chord: nan(), Spread: nan(), Max: nan(), At: nan()}
	}
	chord := func(t float64) float64 { return 2 * rho * math.Abs(math.Sin(t/2)) }
	d := Drift{Radius: rho, Arc: rho * span, Chord: chord(span), Spread: chord(math.Min(span, math.Pi))}
	// The distance from the place as modelled grows up to half a turn away from
	// it, and from each whole turn.
	d.Max, d.At = chord(over.Lower), over.Lower
	if c := chord(over.Upper); c > d.Max {
		d.Max, d.At = c, over.Upper
	}
	if half := math.Pi + 2*math.Pi*math.Ceil((over.Lower-math.Pi)/(2*math.Pi)); over.Contains(half) {
		d.Max, d.At = 2*rho, half
	}
	return d
}

// Wobble returns the largest angle, in radians, by which a direction fixed to
// the child part leans from where it is modelled while the joint runs through
// the range. The direction may be the fitted axis of the joint's housing: a
// housing that is true to its hinge does not wobble.
func Wobble(dir r3.Vec, axis Axis, over Range) float64 {
	lean := Angle(dir, axis.Dir)
	// A unit direction turns on a circle of radius sin(lean); its chord c spans
	// the angle 2 asin(c/2).
	tip := r3.Add(axis.Point, dir)
	c := DriftOf(tip, axis, over).Max / r3.Norm(dir)
	if math.IsNaN(c) || lean == 0 {
		return 0 * c
	}
	return 2 * math.Asin(math.Min(1, c/2))
}
