package kinematics

import (
	"fmt"

	"gonum.org/v1/gonum/spatial/r3"
)

// Joint lets a child part move against its parent. Parts are indexes into
// the model's parts; Parent is -1 for the world.
type Joint struct {
	Name   string
	Kind   Kind
	Parent int
	Child  int
	Frame  Frame
	Limits []Range // one for each freedom (see Kind.Freedom), or none: not limited
	Cone   *Cone   // universal, spherical: how far the reach may lean; nil: not limited
	Pitch  float64 // screw: model units of travel per radian
}

// Motion returns the motion of the child part from where it is modelled,
// against a parent that stands as modelled, at the joint's values in the order
// of Kind.Freedom. Values that are not given are 0, more than the kind takes
// are ignored; a kind that Check refuses does not move.
func (j *Joint) Motion(values ...float64) Transform {
	f := &j.Frame
	switch j.Kind {
	case Revolute:
		return Rotation(f.Axis(), valueAt(values, 0))
	case Prismatic:
		return Translation(r3.Scale(valueAt(values, 0), f.Hinge))
	case Helical:
		x := Rotation(f.Axis(), valueAt(values, 0))
		x.T = r3.Add(x.T, r3.Scale(valueAt(values, 0)*j.Pitch, f.Hinge))
		return x
	case Cylindric:
		x := Rotation(f.Axis(), valueAt(values, 0))
		x.T = r3.Add(x.T, r3.Scale(valueAt(values, 1), f.Hinge))
		return x
	case Universal:
		return turn(f.Hinge, valueAt(values, 0)).Mul(turn(f.Side(), valueAt(values, 1))).around(f.Origin)
	case Spherical:
		swing := Twist{Angular: f.swing(valueAt(values, 0), valueAt(values, 1))}.Exp()
		return swing.Mul(turn(f.Reach, valueAt(values, 2))).around(f.Origin)
	case Planar:
		x := Rotation(f.Axis(), valueAt(values, 2))
		x.T = r3.Add(x.T, f.across(valueAt(values, 0), valueAt(values, 1)))
		return x
	}
	return Identity()
}

// valueAt returns value i, 0 where it is not given.
func valueAt(values []float64, i int) float64 {
	if i < len(values) {
		return values[i]
	}
	return 0
}

// swing returns the rotation vector of a spherical joint's two swings.
func (f *Frame) swing(s1, s2 float64) r3.Vec {
	return r3.Add(r3.Scale(s1, f.Hinge), r3.Scale(s2, f.Side()))
}

// across returns the vector x along the reach and y along the side.
func (f *Frame) across(x, y float64) r3.Vec {
	return r3.Add(r3.Scale(x, f.Reach), r3.Scale(y, f.Side()))
}

// around returns the rotation x, which leaves the model's origin where it is,
// made about the point o.
func (x Transform) around(o r3.Vec) Transform {
	x.T = r3.Sub(o, x.Turn(o))
	return x
}

// Twists returns the velocity of the child part per unit of each joint value,
// with the parent as modelled and the joint at the given values, in model
// axes: one for each freedom, d/dv_i X times the inverse of X for X = Motion.
func (j *Joint) Twists(values ...float64) []Twist {
	dst := make([]Twist, max(j.Kind.Freedoms(), 0))
	j.TwistsTo(dst, values...)
	return dst
}

// TwistsTo is Twists into the caller's slice; it allocates nothing and fills
// no more than dst holds.
func (j *Joint) TwistsTo(dst []Twist, values ...float64) {
	f := &j.Frame
	var t [MaxFreedoms]Twist
	switch j.Kind {
	case Revolute:
		t[0] = f.Axis().Twist(0)
	case Prismatic:
		t[0] = Twist{Linear: f.Hinge}
	case Helical:
		t[0] = f.Axis().Twist(j.Pitch)
	case Cylindric:
		t[0], t[1] = f.Axis().Twist(0), Twist{Linear: f.Hinge}
	case Universal:
		t[0] = f.Axis().Twist(0)
		t[1] = Axis{Point: f.Origin, Dir: turn(f.Hinge, valueAt(values, 0)).Turn(f.Side())}.Twist(0)
	case Spherical:
		t = f.ballTwists(valueAt(values, 0), valueAt(values, 1))
	case Planar:
		t[0], t[1] = Twist{Linear: f.Reach}, Twist{Linear: f.Side()}
		t[2] = Axis{Point: r3.Add(f.Origin, f.across(valueAt(values, 0), valueAt(values, 1))), Dir: f.Hinge}.Twist(0)
	}
	copy(dst, t[:max(j.Kind.Freedoms(), 0)])
}

// Flipped returns the joint with its hinge and side reversed, its reach kept
// and its limits to match: FlippedValues of the values of j make the same
// motion of the flipped joint.
func (j Joint) Flipped() Joint {
	j.Frame = j.Frame.Flipped()
	if j.Limits != nil {
		limits := make([]Range, len(j.Limits))
		for i, r := range j.Limits {
			if j.Kind.Freedom(i).About == RoleReach {
				limits[i] = r
			} else {
				limits[i] = r.Reversed()
			}
		}
		j.Limits = limits
	}
	if j.Cone != nil {
		c := j.Cone.halfTurned()
		j.Cone = &c
	}
	return j
}

// FlippedValues returns the joint values of the flipped joint that make the
// same motion: those about and along hinge and side change sign.
func (k Kind) FlippedValues(values []float64) []float64 {
	out := append([]float64(nil), values...)
	for i := range out {
		if k.Freedom(i).About != RoleReach {
			out[i] = 0 - out[i]
		}
	}
	return out
}

// Check returns a *JointError where the kind is unknown, or the frame, the
// limits, the cone or the pitch have no meaning.
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
	if err := j.Kind.CheckLimits(j.Limits, j.Cone); err != nil {
		return refuse(err, "its limits are wrong")
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
