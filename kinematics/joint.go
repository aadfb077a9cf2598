package kinematics

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// Kind names how a joint lets its child part move.
type Kind string

// The joint kinds, with the motion they allow relative to the joint frame. At
// value 0 every joint stands as modelled; values are right-handed about and
// along Hinge.
const (
	Fixed     Kind = "fixed"     // none
	Revolute  Kind = "revolute"  // turns about Hinge; value in radians
	Prismatic Kind = "prismatic" // slides along Hinge; value in model units
	Helical   Kind = "screw"     // turns about Hinge and travels Pitch per radian; value in radians
)

// Kinds returns the joint kinds in a fixed order.
func Kinds() []Kind { return []Kind{Fixed, Revolute, Prismatic, Helical} }

// Freedoms returns how many joint values the kind takes, or -1 for an unknown
// kind.
func (k Kind) Freedoms() int {
	switch k {
	case Fixed:
		return 0
	case Revolute, Prismatic, Helical:
		return 1
	}
	return -1
}

// Turns reports whether the kind's value is an angle.
func (k Kind) Turns() bool { return k == Revolute || k == Helical }

// Range is a closed interval of joint values: radians for a revolute joint,
// model units for a prismatic one. Zero is the pose as modelled.
type Range struct {
	Lower, Upper float64
}

// Check returns an error where an end is NaN or the ends are the wrong way
// round. Infinite ends are allowed.
func (r Range) Check() error {
	if !(r.Lower <= r.Upper) {
		return fmt.Errorf("range from %g to %g: give a lower end that is not above the upper one", r.Lower, r.Upper)
	}
	return nil
}

// Clamp returns the value of the range nearest to v; NaN stays NaN.
func (r Range) Clamp(v float64) float64 { return math.Min(math.Max(v, r.Lower), r.Upper) }

// Contains reports whether v lies in the range, its ends included.
func (r Range) Contains(v float64) bool { return r.Lower <= v && v <= r.Upper }

// Span returns the length of the range.
func (r Range) Span() float64 { return r.Upper - r.Lower }

// Reversed returns the range as seen when the joint's positive sense is
// reversed.
func (r Range) Reversed() Range { return Range{Lower: 0 - r.Upper, Upper: 0 - r.Lower} }

// Joint lets a child part move against its parent. Parts are indexes into
// the model's parts; Parent is -1 for the world.
type Joint struct {
	Name   string
	Kind   Kind
	Parent int
	Child  int
	Frame  Frame
	Limits *Range  // nil: not limited
	Pitch  float64 // screw: model units of travel per radian
}

// Motion returns the motion of the child part from where it is modelled,
// against a parent that stands as modelled, at a joint value. A fixed joint
// ignores the value; a kind that Check refuses does not move.
func (j *Joint) Motion(value float64) Transform {
	switch j.Kind {
	case Revolute:
		return Rotation(j.Frame.Axis(), value)
	case Prismatic:
		return Translation(r3.Scale(value, j.Frame.Hinge))
	case Helical:
		x := Rotation(j.Frame.Axis(), value)
		x.T = r3.Add(x.T, r3.Scale(value*j.Pitch, j.Frame.Hinge))
		return x
	}
	return Identity()
}

// Twist returns the velocity of the child part per unit of joint value, with
// the parent as modelled; it is the same at every value.
func (j *Joint) Twist() Twist {
	switch j.Kind {
	case Revolute:
		return j.Frame.Axis().Twist(0)
	case Prismatic:
		return Twist{Linear: j.Frame.Hinge}
	case Helical:
		return j.Frame.Axis().Twist(j.Pitch)
	}
	return Twist{}
}

// Clamp returns the value within the joint's limits nearest to v.
func (j *Joint) Clamp(v float64) float64 {
	if j.Limits == nil {
		return v
	}
	return j.Limits.Clamp(v)
}

// Flipped returns the joint with its hinge reversed and its limits to match:
// value -v of the flipped joint is value v of j.
func (j Joint) Flipped() Joint {
	j.Frame = j.Frame.Flipped()
	if j.Limits != nil {
		r := j.Limits.Reversed()
		j.Limits = &r
	}
	return j
}

// Check returns a *JointError where the kind is unknown, or the frame, the
// limits or the pitch have no meaning.
func (j *Joint) Check() error { return j.check(-1) }

// check is Check for joint i of a tree.
func (j *Joint) check(i int) error {
	refuse := func(err error, format string, args ...any) error {
		return &JointError{Joint: j.label(i), Reason: fmt.Sprintf(format, args...), Err: err}
	}
	if j.Kind.Freedoms() < 0 {
		return refuse(nil, "kind %q is not known: give one of %v", j.Kind, Kinds())
	}
	if err := j.Frame.Check(); err != nil {
		return refuse(err, "its frame is wrong")
	}
	if j.Limits != nil {
		if err := j.Limits.Check(); err != nil {
			return refuse(err, "its limits are wrong")
		}
	}
	if !finite(j.Pitch) {
		return refuse(nil, "pitch %g is not finite: give the travel per radian", j.Pitch)
	}
	return nil
}

// label names the joint in an error; i is its index, -1 where unknown.
func (j *Joint) label(i int) string {
	switch {
	case j.Name != "":
		return fmt.Sprintf("joint %q", j.Name)
	case i >= 0:
		return fmt.Sprintf("joint %d (without name)", i)
	}
	return "joint without name"
}
