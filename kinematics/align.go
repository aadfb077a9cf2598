package kinematics

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// minKinship is the least cosine between two hinges (about 80 degrees apart)
// for one to say which sense the other should have.
const minKinship = 0.17

// AlignHinges returns which of a limb's frames to flip (see Frame.Flipped) so
// that their hinges turn in one sense along the limb, root first. Each hinge
// takes the sense of the earlier one that it is most nearly parallel to, the
// nearer one of equals; a hinge about perpendicular to all before it keeps its
// own. The first never flips.
func AlignHinges(frames []Frame) []bool {
	flip := make([]bool, len(frames))
	for i := range frames {
		best := 0.0
		for k := i - 1; k >= 0; k-- {
			c := r3.Dot(frames[i].Hinge, frames[k].Hinge)
			if flip[k] {
				c = -c
			}
			if math.Abs(c) > math.Abs(best)+1e-9 {
				best = c
			}
		}
		flip[i] = best < -minKinship
	}
	return flip
}

// MirrorHinge returns the hinge of the limb on the other side of the mirror
// plane through plane.Point with the unit normal plane.Dir. With sameSign a
// joint value of the same sign makes the mirrored motion; without it, of the
// opposite sign, and the direction is the plain mirror image.
func MirrorHinge(hinge, plane Axis, sameSign bool) Axis {
	m := Axis{
		Point: r3.Sub(hinge.Point, r3.Scale(2*plane.Along(hinge.Point), plane.Dir)),
		Dir:   r3.Sub(hinge.Dir, r3.Scale(2*r3.Dot(hinge.Dir, plane.Dir), plane.Dir)),
	}
	if sameSign { // a turning sense is an axial vector: its mirror image is reversed
		m.Dir = opposite(m.Dir)
	}
	return m
}
