package kinematics

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// DHRow places one Denavit-Hartenberg frame against the one before it in the
// proximal form: turn Alpha about X and shift A along it, then turn Theta about
// Z and shift D along it. Source: J. J. Craig, Introduction to Robotics, ch. 3.
type DHRow struct {
	A     float64 // common normal, model units, never negative
	Alpha float64 // radians
	D     float64 // offset along the joint axis, model units
	Theta float64 // radians, with all joints as modelled
}

// Transform returns the pose of the frame in the one before it.
func (r DHRow) Transform() Transform {
	ca, sa := math.Cos(r.Alpha), math.Sin(r.Alpha)
	ct, st := math.Cos(r.Theta), math.Sin(r.Theta)
	return Transform{
		X: r3.Vec{X: ct, Y: st * ca, Z: st * sa},
		Y: r3.Vec{X: -st, Y: ct * ca, Z: ct * sa},
		Z: r3.Vec{Y: -sa, Z: ca},
		T: r3.Vec{X: r.A, Y: -r.D * sa, Z: r.D * ca},
	}
}

// DHFrames returns the frames of the Denavit-Hartenberg convention for a chain
// of joint axes, base first, and the rows that lead from each frame to the next
// (one fewer). Frame i has its hinge (Z) along axis i and its reach (X) along
// the common normal to axis i+1, with its origin at the foot of that normal.
// Where the convention leaves a choice: the foot on parallel axes keeps D at 0
// (on the first axis it is the axis' point), the normal of axes that meet is
// their cross product, and of coincident axes the normal before it; the last
// frame repeats the normal before it, which makes its Theta and D zero.
// Axes whose directions differ by no more than parallel radians count as
// parallel. It returns an error for an axis that is not finite.
func DHFrames(axes []Axis, parallel float64) ([]Frame, []DHRow, error) {
	chain := make([]Axis, len(axes))
	for i, a := range axes {
		var err error
		if chain[i], err = NewAxis(a.Point, a.Dir); err != nil {
			return nil, nil, fmt.Errorf("axis %d: %w", i+1, err)
		}
	}
	frames := make([]Frame, len(chain))
	for i, a := range chain {
		frames[i] = Frame{Origin: a.Point, Hinge: a.Dir, Reach: Perpendicular(a.Dir)}
		if i > 0 {
			// The normal before it stands on this axis too, but for what the parallel
			// threshold forgave.
			frames[i].Origin = a.Foot(frames[i-1].Origin)
			if r, sine := perpendicularPart(frames[i-1].Reach, a.Dir); sine >= minSine {
				frames[i].Reach = r
			}
			if n := CommonNormal(chain[i-1], a, parallel); !n.Parallel {
				frames[i].Origin = n.FootB
			}
		}
		if i == len(chain)-1 {
			break
		}
		n := CommonNormal(a, chain[i+1], parallel)
		switch {
		case n.Parallel && n.Meeting: // keep the normal before it
		case n.Parallel:
			frames[i].Reach = n.Dir
		default:
			frames[i].Reach, frames[i].Origin = n.Dir, n.FootA
		}
	}
	rows := make([]DHRow, 0, max(0, len(frames)-1))
	for i := 1; i < len(frames); i++ {
		rows = append(rows, dhRow(frames[i-1], frames[i]))
	}
	return frames, rows, nil
}

// dhRow reads the four numbers off two neighbouring frames.
func dhRow(f, g Frame) DHRow {
	w := r3.Sub(g.Origin, f.Origin)
	return DHRow{
		A:     r3.Dot(w, f.Reach),
		Alpha: SignedAngle(f.Hinge, g.Hinge, f.Reach),
		D:     r3.Dot(w, g.Hinge),
		Theta: SignedAngle(f.Reach, g.Reach, g.Hinge),
	}
}
