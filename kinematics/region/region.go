// Package region finds where the reach of a joint of several freedoms can point
// before parts meet: for a spherical joint how far it can lean to every side and
// twist at every lean, for a universal joint how far it can turn about its side
// at every turn about its hinge.
//
// Every limit is that of one turn about one axis through the joint's centre,
// which package contact finds exactly. Between the turns that are looked at
// limits are interpolated, and turns are added where that would be off.
//
// The reach leans by a polar angle from where it points as modelled, to an
// azimuth counted from the joint's side to its hinge (see kinematics.Kind.Lean).
// Angles are radians, points and lengths model units in model coordinates.
package region

import (
	"context"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/kinematics"
	"pintle/kinematics/contact"
)

// Input is what a free region is found for: bodies that move, those they may
// meet, and the joint's frame, whose origin is the centre.
type Input struct {
	Moving, Still []contact.Body
	Frame         kinematics.Frame
}

// Options guide the search. The zero value is ready to use.
type Options struct {
	// Error is how far an interpolated limit may be off in the middle between
	// two turns, in radians, before one is added there. Zero means a degree.
	Error float64
	// First is how many turns are looked at to begin with, spread evenly; zero
	// means 24. What is narrower than the space between them may be missed,
	// unless Certify says how far is safe. At most 3600.
	First int
	// Most is how many turns are looked at at most; zero means 720.
	Most int
	// Lean is how far limits are sought, in radians; zero means half a turn.
	Lean float64
	// Certify asks for Rim.Sure of a ball.
	Certify bool
	// Tolerance is that of contact.Options.
	Tolerance float64
	// Progress, if not nil, is called with the done share, 0 to 1.
	Progress func(done float64, what string)
}

// mostFirst bounds Options.First: turns a tenth of a degree apart.
const mostFirst = 3600

// filled returns the options with their defaults.
func (o Options) filled() (Options, error) {
	for _, v := range [3]float64{o.Error, o.Lean, float64(min(o.First, o.Most, 0))} {
		if !(v >= 0) || math.IsInf(v, 0) {
			return o, fmt.Errorf("option %g: give finite values that are not negative", v)
		}
	}
	if o.First > mostFirst {
		return o, fmt.Errorf("option First %d: give at most %d", o.First, mostFirst)
	}
	if o.Error == 0 {
		o.Error = math.Pi / 180
	}
	if o.First == 0 {
		o.First = 24
	}
	if o.Most == 0 {
		o.Most = 720
	}
	if o.Lean == 0 || o.Lean > math.Pi {
		o.Lean = math.Pi
	}
	o.First = max(o.First+o.First%2, 4)
	return o, nil
}

func (in *Input) check() error {
	if err := in.Frame.Check(); err != nil {
		return fmt.Errorf("the joint's frame: %w", err)
	}
	return nil
}

// about returns the axis through the centre along dir.
func (in *Input) about(dir r3.Vec) kinematics.Axis {
	return kinematics.Axis{Point: in.Frame.Origin, Dir: dir}
}

// leanAxis returns the axis about which the reach leans to an azimuth.
func (in *Input) leanAxis(azimuth float64) kinematics.Axis {
	h, s := kinematics.SwingOf(azimuth, 1)
	return in.about(r3.Add(r3.Scale(h, in.Frame.Hinge), r3.Scale(s, in.Frame.Side())))
}

// posed returns the moving bodies, put where x takes them.
func (in *Input) posed(x kinematics.Transform) []contact.Body {
	list := make([]contact.Body, len(in.Moving))
	for i, b := range in.Moving {
		if b.Pose != (kinematics.Transform{}) {
			b.Pose = x.Mul(b.Pose)
		} else {
			b.Pose = x
		}
		list[i] = b
	}
	return list
}

// turning returns the scene of a turn of the moving bodies, put where x takes
// them, about an axis.
func (in *Input) turning(ctx context.Context, x kinematics.Transform, axis kinematics.Axis, o Options) (*contact.Scene, error) {
	return contact.NewScene(ctx, in.posed(x), in.Still, contact.Hinge(axis), contact.Options{Tolerance: o.Tolerance})
}

func (o Options) report(done float64, what string) {
	if o.Progress != nil {
		o.Progress(done, what)
	}
}
