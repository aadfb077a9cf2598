package kinematics

import (
	"fmt"

	"gonum.org/v1/gonum/spatial/r3"
)

// Role names one of the three directions of a joint frame.
type Role string

// The roles.
const (
	RoleHinge Role = "hinge"
	RoleReach Role = "reach"
	RoleSide  Role = "side"
)

// ReferenceKind names what a role of the frame is aimed at.
type ReferenceKind string

// The references. An empty kind means FromDatum.
const (
	// FromDatum: the roll stays where the datum says it is. For the turn about
	// the hinge, which the datum leaves open, reach goes to the next joints, else
	// to the child part's centroid, else along a model axis (see DefaultReach).
	FromDatum ReferenceKind = "datum"
	// FromPoint: toward a picked point.
	FromPoint ReferenceKind = "point"
	// FromDirection: along a picked edge or the axis of another datum.
	FromDirection ReferenceKind = "direction"
	// FromJoint: along a direction of another joint's frame, toward its origin, or
	// along the common normal of the two hinges.
	FromJoint ReferenceKind = "joint"
	// FromWorld: along a model axis.
	FromWorld ReferenceKind = "world"
)

// Feature names what of another joint's frame is meant.
type Feature string

// The features. An empty feature means TheirReach.
const (
	TheirHinge  Feature = "hinge"
	TheirReach  Feature = "reach"
	TheirSide   Feature = "side"
	TheirOrigin Feature = "origin" // the point
	TheirNormal Feature = "normal" // common normal from this hinge to theirs
)

// Reference is what a role is aimed at. Only the fields of its kind count.
type Reference struct {
	Kind    ReferenceKind
	Point   r3.Vec  // FromPoint, model units
	Dir     r3.Vec  // FromDirection, of any length
	Joint   string  // FromJoint: its name
	Feature Feature // FromJoint
	World   Letter  // FromWorld: X, -X, Y, -Y, Z or -Z
}

// Aim turns the frame about one of its directions until Role points at At as
// nearly as the turn allows, and then by Angle more (radians, right-hand rule
// about that direction as built).
type Aim struct {
	Role  Role
	At    Reference
	Angle float64
}

// FrameSpec is the recipe of a joint frame, kept in the document so that the
// frame can be built again when a datum or a neighbour changes. The frame is
// built in three steps:
//
//  1. The hinge lies on Datum, with the datum's direction or, with Flip, the
//     opposite one. The origin is at Datum.Point plus Slide along the datum's
//     direction (not the flipped one, so that a flip moves nothing).
//  2. Reach turns the frame about the hinge. Its role is reach (default) or
//     side. The hinge stays on the datum to the last bit.
//  3. Roll turns the frame about the reach found in step 2. Its role is hinge
//     (default) or side. From the datum with angle 0 it leaves the hinge where it
//     is; any other roll takes the hinge off the datum on purpose.
//
// The zero value of Reach and Roll means "as the datum says".
type FrameSpec struct {
	Datum Axis // the fitted hinge line in model axes; Dir may have any length
	Flip  bool
	Slide float64 // model units
	Reach Aim
	Roll  Aim
}

// Origin returns where the recipe puts the joint's origin. It needs no other
// joint, so it can be had before any frame is built.
func (s FrameSpec) Origin() (r3.Vec, error) {
	a, err := s.axis()
	if err != nil {
		return r3.Vec{}, err
	}
	return a.Point, nil
}

// axis returns the hinge axis of step 1 with the joint's origin as its point.
func (s FrameSpec) axis() (Axis, error) {
	a, err := NewAxis(s.Datum.Point, s.Datum.Dir)
	if err != nil {
		return Axis{}, err
	}
	if !finite(s.Slide) {
		return Axis{}, &SpecError{Field: "slide", Value: fmt.Sprint(s.Slide), Reason: "give a finite length"}
	}
	if s.Slide != 0 {
		a.Point = a.At(s.Slide)
	}
	if s.Flip {
		a = a.Reversed()
	}
	return a, nil
}

// SlideTo returns the Slide that puts the origin at the foot of p on the datum
// axis. Datum.Dir must be of unit length.
func (s FrameSpec) SlideTo(p r3.Vec) float64 { return s.Datum.Along(p) }

// Flipped returns the recipe with the hinge reversed and the aimed roles where
// they were: the angle about the hinge, which is right-handed about the hinge
// as built, changes its sign.
func (s FrameSpec) Flipped() FrameSpec {
	s.Flip = !s.Flip
	if s.Reach.Angle != 0 {
		s.Reach.Angle = -s.Reach.Angle
	}
	return s
}

// Joints returns the names of the other joints that the recipe refers to, in
// the order of its steps.
func (s FrameSpec) Joints() []string {
	var names []string
	for _, r := range []Reference{s.Reach.At, s.Roll.At} {
		if r.Kind == FromJoint {
			names = append(names, r.Joint)
		}
	}
	return names
}

// String names the reference in words for a sentence.
func (r Reference) String() string {
	switch r.Kind {
	case FromPoint:
		return "point " + vecText(r.Point)
	case FromDirection:
		return "direction " + vecText(r.Dir)
	case FromWorld:
		return "model axis " + string(r.World)
	case FromJoint:
		feature := r.Feature
		if feature == "" {
			feature = TheirReach
		}
		return fmt.Sprintf("the %s of joint %q", feature, r.Joint)
	}
	return "the datum"
}
