package kinematics

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// Normal is the common normal of two axes A and B.
type Normal struct {
	FootA, FootB r3.Vec
	Dir          r3.Vec  // unit, from A to B
	Distance     float64 // between the lines, never negative
	Twist        float64 // angle from A's to B's direction about Dir, radians, -pi to pi
	Parallel     bool    // the feet are then a choice: FootA is A's point
	Meeting      bool    // the lines meet (or are one line): Dir is then a choice
}

// CommonNormal returns the common normal of a and b. Lines whose directions
// differ by no more than parallel radians (or pi less that) count as parallel;
// 0 leaves it to rounding. Parallel lines take the foot at a.Point, so that no
// offset along the axis arises; lines that meet take the direction a.Dir x
// b.Dir; coincident lines take Perpendicular(a.Dir).
func CommonNormal(a, b Axis, parallel float64) Normal {
	w := r3.Sub(b.Point, a.Point)
	// Below this a distance is rounding of the two points.
	noise := 16 * epsilon * max(r3.Norm(a.Point), r3.Norm(b.Point), r3.Norm(w))
	n := r3.Cross(a.Dir, b.Dir)
	sine := r3.Norm(n)
	if math.Atan2(sine, math.Abs(r3.Dot(a.Dir, b.Dir))) <= max(parallel, 4*epsilon) {
		return parallelNormal(a, b, noise)
	}
	s2 := sine * sine
	out := Normal{
		FootA: a.At(r3.Dot(r3.Cross(w, b.Dir), n) / s2),
		FootB: b.At(r3.Dot(r3.Cross(w, a.Dir), n) / s2),
		Dir:   r3.Scale(1/sine, n),
	}
	out.Distance = r3.Dot(w, out.Dir)
	out.Meeting = math.Abs(out.Distance) <= noise
	switch {
	case out.Meeting:
		out.Distance = 0
	case out.Distance < 0:
		out.Distance = -out.Distance
		out.Dir = opposite(out.Dir)
	}
	out.Twist = SignedAngle(a.Dir, b.Dir, out.Dir)
	return out
}

func parallelNormal(a, b Axis, noise float64) Normal {
	off := opposite(b.Offset(a.Point))
	out := Normal{FootA: a.Point, FootB: r3.Add(a.Point, off), Parallel: true}
	out.Distance = r3.Norm(off)
	if dir, err := Unit(off, "common normal"); err != nil || out.Distance <= noise {
		out.Distance, out.Meeting, out.Dir = 0, true, Perpendicular(a.Dir)
	} else {
		out.Dir = square(dir, a.Dir)
	}
	out.Twist = SignedAngle(a.Dir, b.Dir, out.Dir)
	return out
}

// AxisError says how far a joint axis is from the datum axis it should lie on.
// Both are lines: their directions' signs do not matter.
type AxisError struct {
	Angle  float64 // between the lines, radians, 0 to pi/2
	Offset float64 // distance of the datum's point from the joint axis, model units
}

// AxisErrorOf compares the joint axis with the datum axis of its housing. The
// offset is measured at datum.Point, the housing's centre: the distance
// between the two infinite lines would be found anywhere along them and says
// little about the housing.
func AxisErrorOf(joint, datum Axis) AxisError {
	return AxisError{
		Angle:  math.Atan2(r3.Norm(r3.Cross(joint.Dir, datum.Dir)), math.Abs(r3.Dot(joint.Dir, datum.Dir))),
		Offset: joint.Distance(datum.Point),
	}
}

// Correction brings a joint onto the datum axis of its housing: tilt about the
// joint's origin, then move.
type Correction struct {
	Tilt r3.Vec // rotation vector, radians, perpendicular to the old hinge; applied about the joint's origin
	Move r3.Vec // of the joint's origin, model units, perpendicular to the datum axis
}

// CorrectionOf returns the least correction that brings the joint's hinge onto
// the datum axis. The hinge keeps its sense; where it is perpendicular to the
// datum axis it takes the datum's.
func CorrectionOf(joint Frame, datum Axis) Correction {
	goal := datum.Dir
	if r3.Dot(joint.Hinge, goal) < 0 {
		goal = opposite(goal)
	}
	c := Correction{Move: opposite(datum.Offset(joint.Origin))}
	n := r3.Cross(joint.Hinge, goal)
	if s := r3.Norm(n); s > noSine {
		c.Tilt = r3.Scale(math.Atan2(s, r3.Dot(joint.Hinge, goal))/s, n)
	}
	return c
}

// Apply returns the corrected frame.
func (c Correction) Apply(f Frame) Frame {
	angle := r3.Norm(c.Tilt)
	if angle > noSine {
		x := turn(r3.Scale(1/angle, c.Tilt), angle)
		f.Hinge, f.Reach = x.Turn(f.Hinge), x.Turn(f.Reach)
	}
	f.Origin = r3.Add(f.Origin, c.Move)
	return f
}
