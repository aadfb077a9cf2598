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

// MirrorJoint returns the joint of the same kind on the other side of the
// mirror plane through plane.Point with the unit normal plane.Dir. Its parts are
// those of j: the caller names the other side's. With sameSign its turn about the
// hinge of the same sign makes the mirrored motion; without it, of the opposite
// sign. Reach is the plain mirror image. MirrorValues gives the values that make
// the mirrored motion, and the limits follow that rule. A screw's pitch changes
// its sign: the mirror image of a right-handed thread is left-handed.
func (j Joint) MirrorJoint(plane Axis, sameSign bool) Joint {
	hinge := MirrorHinge(j.Frame.Axis(), plane, sameSign)
	reach := r3.Sub(j.Frame.Reach, r3.Scale(2*r3.Dot(j.Frame.Reach, plane.Dir), plane.Dir))
	j.Frame = Frame{Origin: hinge.Point, Hinge: hinge.Dir, Reach: reach}
	j.Pitch = 0 - j.Pitch
	limits := make([]Range, len(j.Limits))
	for i, r := range j.Limits {
		if limits[i] = r; j.Kind.mirrorSign(i, sameSign) < 0 {
			limits[i] = r.Reversed()
		}
	}
	if j.Limits != nil {
		j.Limits = limits
	}
	if j.Cone != nil {
		c := j.Cone.mirrored(sameSign)
		j.Cone = &c
	}
	return j
}

// MirrorValues returns the values of MirrorJoint that make the mirror image of
// the motion that a joint of kind k makes at the given ones.
func (k Kind) MirrorValues(values []float64, sameSign bool) []float64 {
	out := append([]float64(nil), values...)
	for i := range out {
		if k.mirrorSign(i, sameSign) < 0 {
			out[i] = 0 - out[i]
		}
	}
	return out
}

// mirrorSign is the sign of value i after mirroring. In the mirror a shift goes
// along the image of its direction, a turn about the image reversed. The image
// of reach is the new reach; with sameSign the image of the hinge is the new hinge
// reversed and that of the side is the new side, without it the other way round.
func (k Kind) mirrorSign(i int, sameSign bool) float64 {
	f := k.Freedom(i)
	sign := 1.0
	if f.Turns {
		sign = -1
	}
	if f.About == RoleHinge && sameSign || f.About == RoleSide && !sameSign {
		sign = -sign
	}
	return sign
}

// mirrored returns the cone in the mirror joint's frame, where the azimuth runs
// the other way: from -a with sameSign, from half a turn less a without it.
func (c Cone) mirrored(sameSign bool) Cone {
	n := len(c.Max)
	out := Cone{Max: make([]float64, n)}
	for i := range out.Max {
		out.Max[i] = c.Max[(n-i)%n]
	}
	if sameSign { // the side keeps its sense, the hinge not
		return out
	}
	return out.halfTurned()
}
