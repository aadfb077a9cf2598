package kinematics

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"
)

// VectorError reports a vector that gives no direction.
type VectorError struct {
	What   string // what the vector was to be, for example "hinge"
	Value  r3.Vec
	Length float64 // NaN where a component is not finite
	Min    float64 // the least length that is accepted
}

func (e *VectorError) Error() string {
	if math.IsNaN(e.Length) {
		return fmt.Sprintf("%s %s is not finite: give three finite numbers", e.What, vecText(e.Value))
	}
	return fmt.Sprintf("%s %s has length %.3g, less than %.3g: give a direction that has a length",
		e.What, vecText(e.Value), e.Length, e.Min)
}

// AimError reports a reference that does not tell where to aim a role of a
// joint frame, because it leaves no part perpendicular to the axis that the
// frame is turned about.
type AimError struct {
	Role      Role    // the role that was to be aimed
	About     Role    // the role that the frame turns about
	Reference string  // what it was to be aimed at
	Sine      float64 // share of the reference that is perpendicular to About
	Min       float64 // the least share that is accepted
}

func (e *AimError) Error() string {
	return fmt.Sprintf("cannot aim %s at %s: it lies on or runs along the %s (sine %.3g, need %.3g), choose a reference off the %s",
		e.Role, e.Reference, e.About, e.Sine, e.Min, e.About)
}

// SpecError reports a frame recipe, or a part of one, that has no meaning.
type SpecError struct {
	Field  string // the field of the recipe
	Value  string
	Reason string // what is wrong and what would be right
}

func (e *SpecError) Error() string {
	return fmt.Sprintf("frame %s %q: %s", e.Field, e.Value, e.Reason)
}

// ReferenceError reports a frame recipe that refers to a joint that is not
// there.
type ReferenceError struct {
	Joint string // the joint that is missing
}

func (e *ReferenceError) Error() string {
	return fmt.Sprintf("the frame refers to joint %q, which does not exist: choose another reference", e.Joint)
}

// FrameError reports three directions that are not a right-handed joint frame.
type FrameError struct {
	What  string  // the condition that fails
	Value float64 // by how much
	Max   float64 // the most that is accepted
}

func (e *FrameError) Error() string {
	return fmt.Sprintf("not a joint frame: %s by %.3g, more than %.3g: build the frame from its datum again",
		e.What, e.Value, e.Max)
}

// RigidError reports three columns that are not a rotation.
type RigidError struct {
	What  string  // the condition that fails
	Value float64 // by how much, or the determinant of a reflection
	Max   float64 // the most that is accepted
}

func (e *RigidError) Error() string {
	return fmt.Sprintf("not a rigid motion: %s %.3g, limit %.3g: remove scale, shear and mirroring", e.What, e.Value, e.Max)
}

// JointError reports a joint that no tree can hold.
type JointError struct {
	Joint  string // name, or "joint 3" where it has none
	Reason string // what is wrong and what would be right
	Err    error  // the cause, or nil
}

func (e *JointError) Error() string {
	if e.Err != nil {
		return fmt.Sprintf("%s: %s: %v", e.Joint, e.Reason, e.Err)
	}
	return fmt.Sprintf("%s: %s", e.Joint, e.Reason)
}

// Unwrap returns the cause.
func (e *JointError) Unwrap() error { return e.Err }

// TwoParentsError reports a part that two joints carry.
type TwoParentsError struct {
	Part          int
	First, Second string // the joints
}

func (e *TwoParentsError) Error() string {
	return fmt.Sprintf("part %d is the child of %s and of %s: a part hangs on one joint, remove one of them",
		e.Part, e.First, e.Second)
}

// CycleError reports joints that form a ring, or frame recipes that refer to
// one another in a ring.
type CycleError struct {
	What   string   // what goes round: "joints" or "frame references"
	Joints []string // in the order of the ring
}

func (e *CycleError) Error() string {
	return fmt.Sprintf("%s form a ring (%s): break it at one of them", e.What, strings.Join(e.Joints, " -> "))
}

func vecText(v r3.Vec) string { return fmt.Sprintf("(%.6g, %.6g, %.6g)", v.X, v.Y, v.Z) }
