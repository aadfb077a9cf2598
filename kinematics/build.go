package kinematics

import (
	"fmt"

	"gonum.org/v1/gonum/spatial/r3"
)

const (
	// minSine is the least share of a reference perpendicular to the axis of the
	// turn for it to set the turn: less is the rounding of a model in float32.
	minSine = 1e-6
	// minDefaultSine is the same for a reference that nobody picked. A neighbour
	// almost on the hinge line would set the turn by chance, so it is passed over.
	minDefaultSine = 0.02
)

// Surroundings is what a frame's recipe may look at. The zero value is empty.
type Surroundings struct {
	// Next holds the origins of the joints that the child part carries.
	Next []r3.Vec
	// Centroid is the centroid of the child part, or nil.
	Centroid *r3.Vec
	// Size is the model's box diagonal, 0 where it is not known: a point nearer to
	// the axis of a turn than a millionth of it is taken to lie on that axis.
	Size float64
	// Frame finds the built frame of another joint by name; nil finds none.
	Frame func(joint string) (Frame, bool)
}

// Build returns the frame of a recipe. It is a pure function of its arguments.
// It returns an *AimError where a reference is parallel to the axis it is to
// turn the frame about (or a picked point lies on it), a *ReferenceError for a
// joint that is not there, a *VectorError for a datum or direction without
// direction, and a *SpecError for words and numbers without meaning.
func Build(s FrameSpec, around Surroundings) (Frame, error) {
	hinge, err := s.axis()
	if err != nil {
		return Frame{}, fmt.Errorf("datum axis: %w", err)
	}
	f := Frame{Origin: hinge.Point, Hinge: hinge.Dir}
	if f.Reach, err = s.reach(hinge, around); err != nil {
		return Frame{}, fmt.Errorf("reach: %w", err)
	}
	angle, err := s.roll(f, around)
	if err != nil {
		return Frame{}, fmt.Errorf("roll: %w", err)
	}
	if angle != 0 {
		f.Hinge = square(turn(f.Reach, angle).Turn(f.Hinge), f.Reach)
	}
	return f, nil
}

// RollOf returns the roll that f has against the datum direction it was built
// on: the angle about its reach, -pi to pi, from the datum's direction (taken
// with the recipe's flip) to the hinge.
func (s FrameSpec) RollOf(f Frame) float64 {
	d := s.Datum.Dir
	if s.Flip {
		d = opposite(d)
	}
	return SignedAngle(d, f.Hinge, f.Reach)
}

// reach does step 2 of a recipe: the unit reach about the hinge.
func (s FrameSpec) reach(hinge Axis, around Surroundings) (r3.Vec, error) {
	aim := s.Reach
	if err := aim.check(RoleReach, RoleSide); err != nil {
		return r3.Vec{}, err
	}
	var d r3.Vec
	if aim.At.Kind == "" || aim.At.Kind == FromDatum {
		d, _ = DefaultReach(hinge, around)
	} else {
		var err error
		if d, err = aim.direction(hinge, RoleHinge, hinge, around); err != nil {
			return r3.Vec{}, err
		}
		if aim.Role == RoleSide { // side = hinge x reach, so reach = side x hinge
			d = square(r3.Cross(d, hinge.Dir), hinge.Dir)
		}
	}
	if aim.Angle != 0 {
		d = square(turn(hinge.Dir, aim.Angle).Turn(d), hinge.Dir)
	}
	return d, nil
}

// roll does step 3 of a recipe: the angle to turn f about its reach.
func (s FrameSpec) roll(f Frame, around Surroundings) (float64, error) {
	aim := s.Roll
	if err := aim.check(RoleHinge, RoleSide); err != nil {
		return 0, err
	}
	if aim.At.Kind == "" || aim.At.Kind == FromDatum {
		return aim.Angle, nil
	}
	d, err := aim.direction(Axis{Point: f.Origin, Dir: f.Reach}, RoleReach, f.Axis(), around)
	if err != nil {
		return 0, err
	}
	from := f.Hinge
	if aim.Role == RoleSide {
		from = f.Side()
	}
	return SignedAngle(from, d, f.Reach) + aim.Angle, nil
}

// check refuses roles that the turn cannot aim and angles that are not finite.
// An empty role stands for the first one, so it is allowed.
func (a Aim) check(first, second Role) error {
	if a.Role != "" && a.Role != first && a.Role != second {
		return &SpecError{
			Field: "role", Value: string(a.Role),
			Reason: fmt.Sprintf("this turn aims %s or %s", first, second),
		}
	}
	if !finite(a.Angle) {
		return &SpecError{Field: "angle", Value: fmt.Sprint(a.Angle), Reason: "give a finite angle"}
	}
	return nil
}

// role returns the role aimed by a turn about the role about.
func (a Aim) role(about Role) Role {
	switch {
	case a.Role != "":
		return a.Role
	case about == RoleHinge:
		return RoleReach
	default:
		return RoleHinge
	}
}

// direction returns the unit direction, perpendicular to turning.Dir, that the
// reference gives for a turn about that axis.
func (a Aim) direction(turning Axis, about Role, hinge Axis, around Surroundings) (r3.Vec, error) {
	v, err := a.At.vector(turning, hinge, around)
	if err != nil {
		return r3.Vec{}, err
	}
	d, sine := perpendicularPart(v, turning.Dir)
	if sine < minSine {
		return r3.Vec{}, &AimError{
			Role: a.role(about), About: about, Reference: a.At.String(), Sine: sine, Min: minSine,
		}
	}
	return d, nil
}

// vector returns the unit direction of the reference as it stands, seen from
// the turning axis.
func (r Reference) vector(turning, hinge Axis, around Surroundings) (r3.Vec, error) {
	switch r.Kind {
	case FromPoint:
		if !Finite(r.Point) {
			return r3.Vec{}, &VectorError{What: "picked point", Value: r.Point, Length: nan(), Min: minLength}
		}
		return around.toward(turning, r.Point), nil
	case FromDirection:
		return Unit(r.Dir, "picked direction")
	case FromWorld:
		v, ok := r.World.Vec()
		if !ok {
			return r3.Vec{}, &SpecError{Field: "world axis", Value: string(r.World), Reason: "give X, -X, Y, -Y, Z or -Z"}
		}
		return v, nil
	case FromJoint:
		return r.jointVector(turning, hinge, around)
	}
	return r3.Vec{}, &SpecError{
		Field: "reference", Value: string(r.Kind),
		Reason: "give datum, point, direction, joint or world",
	}
}

func (r Reference) jointVector(turning, hinge Axis, around Surroundings) (r3.Vec, error) {
	var f Frame
	found := false
	if around.Frame != nil {
		f, found = around.Frame(r.Joint)
	}
	if !found {
		return r3.Vec{}, &ReferenceError{Joint: r.Joint}
	}
	if err := f.Check(); err != nil {
		return r3.Vec{}, fmt.Errorf("joint %q: %w", r.Joint, err)
	}
	switch r.Feature {
	case TheirHinge:
		return f.Hinge, nil
	case TheirReach, "":
		return f.Reach, nil
	case TheirSide:
		return f.Side(), nil
	case TheirOrigin:
		return around.toward(turning, f.Origin), nil
	case TheirNormal:
		n := CommonNormal(hinge, f.Axis(), 0)
		if n.Parallel && n.Meeting { // one line: any normal would do, so none is meant
			return r3.Vec{}, nil
		}
		return n.Dir, nil
	}
	return r3.Vec{}, &SpecError{
		Field: "feature", Value: string(r.Feature),
		Reason: "give hinge, reach, side, origin or normal",
	}
}

// toward returns the unit direction from the axis' point to p, or zero where p
// lies on the axis as far as the numbers can tell.
func (s Surroundings) toward(a Axis, p r3.Vec) r3.Vec {
	noise := 16 * epsilon * max(r3.Norm(a.Point), r3.Norm(p))
	v, err := Unit(r3.Sub(p, a.Point), "")
	if err != nil || a.Distance(p) <= max(noise, minSine*s.Size) {
		return r3.Vec{}
	}
	return v
}

// DefaultReach returns the unit reach for a hinge that nothing else turns, and
// says in words what it points at: the next joint (the mean of several), else
// the child part's centroid, else the model axis that leans least along the
// hinge. A neighbour within about a degree of the hinge line is passed over.
func DefaultReach(hinge Axis, around Surroundings) (reach r3.Vec, target string) {
	if n := len(around.Next); n > 0 {
		var mean r3.Vec
		for _, p := range around.Next {
			mean = r3.Add(mean, r3.Scale(1/float64(n), r3.Sub(p, hinge.Point)))
		}
		if d, ok := defaultPart(mean, hinge.Dir); ok {
			if n == 1 {
				return d, "the next joint"
			}
			return d, "the middle of the next joints"
		}
	}
	if around.Centroid != nil {
		if d, ok := defaultPart(r3.Sub(*around.Centroid, hinge.Point), hinge.Dir); ok {
			return d, "the child part's centroid"
		}
	}
	return Perpendicular(hinge.Dir), "a model axis"
}

func defaultPart(v, d r3.Vec) (r3.Vec, bool) {
	u, err := Unit(v, "")
	if err != nil {
		return r3.Vec{}, false
	}
	p, sine := perpendicularPart(u, d)
	return p, sine >= minDefaultSine
}
