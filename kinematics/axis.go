package kinematics

import (
	"fmt"

	"gonum.org/v1/gonum/spatial/r3"
)

// NewAxis returns the directed line through point along dir, which may have
// any length. It returns a *VectorError where point is not finite or dir gives
// no direction.
func NewAxis(point, dir r3.Vec) (Axis, error) {
	if !Finite(point) {
		return Axis{}, &VectorError{What: "axis point", Value: point, Length: nan(), Min: minLength}
	}
	d, err := Unit(dir, "axis direction")
	if err != nil {
		return Axis{}, err
	}
	return Axis{Point: point, Dir: d}, nil
}

// AxisThrough returns the directed line from a to b. It returns an error where
// the points coincide or are not finite.
func AxisThrough(a, b r3.Vec) (Axis, error) {
	x, err := NewAxis(a, r3.Sub(b, a))
	if err != nil {
		return Axis{}, fmt.Errorf("axis through %s and %s: %w", vecText(a), vecText(b), err)
	}
	return x, nil
}

// At returns the point at the signed distance s from Point along the axis.
func (a Axis) At(s float64) r3.Vec { return r3.Add(a.Point, r3.Scale(s, a.Dir)) }

// Along returns the signed distance along the axis from Point to the foot of p.
func (a Axis) Along(p r3.Vec) float64 { return r3.Dot(r3.Sub(p, a.Point), a.Dir) }

// Foot returns the point of the axis that is nearest to p.
func (a Axis) Foot(p r3.Vec) r3.Vec { return a.At(a.Along(p)) }

// Offset returns the vector from the axis to p, perpendicular to the axis.
func (a Axis) Offset(p r3.Vec) r3.Vec {
	// Twice, so that a point far along the axis leaves no residue.
	return reject(reject(r3.Sub(p, a.Point), a.Dir), a.Dir)
}

// Distance returns the distance of p from the axis.
func (a Axis) Distance(p r3.Vec) float64 { return r3.Norm(a.Offset(p)) }

// Reversed returns the same line with the opposite direction.
func (a Axis) Reversed() Axis { return Axis{Point: a.Point, Dir: opposite(a.Dir)} }
