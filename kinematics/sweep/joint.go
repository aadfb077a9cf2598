package sweep

import (
	"context"
	"fmt"
	"math"

	"pintle/fit/mesh"
	"pintle/kinematics"
)

// Link is a rigid piece of a limb: bodies that a joint carries, and the links
// whose joints they carry in turn. Everything stands as modelled, in model
// coordinates.
type Link struct {
	Bodies []*mesh.Mesh // may be empty where Next is not
	Joint  kinematics.Joint
	// Over are the ranges of the joint's values, in their order. Where there are
	// none the joint's own limits hold; its cone holds either way.
	Over []kinematics.Range
	Next []Link
}

// Joint returns the solid that the bodies pass through when the joint takes all
// values in the ranges, or in its own limits where over is nil, and within its
// cone. A turn without limits is a full turn; slides and screws need limits. A
// universal joint's reach must lean by less than half a turn.
//
// Revolute, prismatic, cylindric, universal and planar joints are turns and
// slides one after another, as Hinge and Slide make them; so is a ball joint
// that twists all round in a round cone. Screws and other swings are found on a
// grid of distances. What else holds is as for Hinge.
func Joint(ctx context.Context, bodies []*mesh.Mesh, j kinematics.Joint, over []kinematics.Range, o Options) (Envelope, error) {
	return Limb(ctx, Link{Bodies: bodies, Joint: j, Over: over}, o)
}

// Limb returns the solid that a link and all links on it pass through when
// every joint takes all values in its range, each independently of the others:
// the sweep, by each joint, of its bodies and the sweeps of what they carry. What
// it costs grows with the number of freedoms. It fails as Joint does.
func Limb(ctx context.Context, root Link, o Options) (Envelope, error) {
	what := "sweeping a limb"
	if len(root.Next) == 0 {
		what = fmt.Sprintf("sweeping a %s joint", root.Joint.Kind)
	}
	n, err := root.node()
	if err != nil {
		return Envelope{}, fmt.Errorf("%s: %w", what, err)
	}
	if k := len(n.stages); k == 0 || !moves(n.stages[k-1]) {
		// Whatever there is becomes one solid.
		n.stages = append(n.stages, turn{axis: root.Joint.Frame.Axis()})
	}
	return sweepOf(ctx, what, n, o)
}

func (l *Link) node() (node, error) {
	n := node{bodies: l.Bodies}
	if err := l.Joint.Check(); err != nil {
		return n, err
	}
	stages, err := stagesOf(l.Joint, l.Over)
	if err != nil {
		if l.Joint.Name != "" {
			err = fmt.Errorf("joint %q: %w", l.Joint.Name, err)
		}
		return n, err
	}
	n.stages = stages
	for i := range l.Next {
		next, err := l.Next[i].node()
		if err != nil {
			return n, err
		}
		n.next = append(n.next, next)
	}
	return n, nil
}

// stagesOf takes a joint's motion over the ranges apart, first motion first.
func stagesOf(j kinematics.Joint, over []kinematics.Range) ([]stage, error) {
	if over != nil {
		j.Limits = over
		if len(over) != j.Kind.Freedoms() {
			return nil, fmt.Errorf("%d ranges for a %s joint, want %d", len(over), j.Kind, j.Kind.Freedoms())
		}
		if err := j.Kind.CheckLimits(over, j.Cone); err != nil {
			return nil, err
		}
	}
	f := j.Frame
	side := kinematics.Axis{Point: f.Origin, Dir: f.Side()}
	reach := kinematics.Axis{Point: f.Origin, Dir: f.Reach}
	var b builder
	switch j.Kind {
	case kinematics.Fixed:
	case kinematics.Revolute:
		b.turn(f.Axis(), j.Limit(0))
	case kinematics.Prismatic:
		b.slide(f.Axis(), j.Limit(0))
	case kinematics.Helical:
		b.drift(j, j.Limit(0))
	case kinematics.Cylindric:
		b.slide(f.Axis(), j.Limit(1))
		b.turn(f.Axis(), j.Limit(0))
	case kinematics.Universal:
		if j.Cone != nil {
			b.drift(j, leaning(j, 0), leaning(j, 1))
			break
		}
		b.turn(side, j.Limit(1))
		b.turn(f.Axis(), j.Limit(0))
	case kinematics.Spherical:
		b.ball(j, f.Axis(), reach)
	case kinematics.Planar:
		b.turn(f.Axis(), j.Limit(2))
		b.slide(side, j.Limit(1))
		b.slide(reach, j.Limit(0))
	default:
		return nil, fmt.Errorf("a joint of kind %q cannot be swept", j.Kind)
	}
	return b.stages, b.err
}

// builder collects stages up to the first error.
type builder struct {
	stages []stage
	err    error
}

func (b *builder) add(s stage, still bool, at kinematics.Transform, err error) {
	switch {
	case b.err != nil:
	case err != nil:
		b.err = err
	case !still:
		b.stages = append(b.stages, s)
	case at != kinematics.Identity():
		b.stages = append(b.stages, hold{at})
	}
}

func (b *builder) turn(axis kinematics.Axis, over kinematics.Range) {
	s, err := newTurn(axis, over)
	b.add(s, over.Span() == 0, kinematics.Rotation(axis, over.Lower), err)
}

func (b *builder) slide(axis kinematics.Axis, over kinematics.Range) {
	s, err := newSlide(axis.Dir, over)
	x := kinematics.Identity()
	if over.Span() == 0 {
		x.T = kinematics.Axis{Dir: axis.Dir}.At(over.Lower)
	}
	b.add(s, over.Span() == 0, x, err)
}

func (b *builder) drift(j kinematics.Joint, values ...kinematics.Range) {
	s, err := newDrift(j, values)
	still := true
	at := make([]float64, len(values))
	for i, r := range values {
		still = still && r.Span() == 0
		at[i] = r.Lower
	}
	x := kinematics.Identity()
	if still && err == nil {
		j.Clamp(at)
		x = j.Motion(at...)
	}
	b.add(s, still, x, err)
}

// ball adds the stages of a spherical joint: it twists about the reach and then
// swings. Where the twist goes all round and the cone is round, a swing is a
// turn of the reach's azimuth, a lean about the hinge and another turn.
func (b *builder) ball(j kinematics.Joint, hinge, reach kinematics.Axis) {
	twist, free := j.Limit(2), kinematics.Unlimited()
	around := twist.Span() >= 2*math.Pi
	round := j.Cone == nil || len(j.Cone.Max) == 1
	lean := math.Pi
	if j.Cone != nil {
		lean = j.Cone.Max[0]
	}
	unbounded := true
	for i := range 2 {
		r := j.Limit(i)
		unbounded = unbounded && r.Lower <= -lean && r.Upper >= lean
	}
	b.turn(reach, twist)
	switch {
	case round && unbounded && (around || lean >= math.Pi):
		if !around {
			b.turn(reach, free)
		}
		b.turn(hinge, kinematics.Range{Upper: lean})
		b.turn(reach, free)
	default:
		b.drift(j, leaning(j, 0), leaning(j, 1))
	}
}

// leaning returns the range of one of the two leaning values of a joint, no
// wider than its cone, if any, can use.
func leaning(j kinematics.Joint, i int) kinematics.Range {
	most := math.Pi
	if j.Cone != nil {
		widest := 0.0
		for _, m := range j.Cone.Max {
			widest = max(widest, m)
		}
		if j.Kind == kinematics.Spherical || widest < math.Pi/2 {
			most = widest
		}
	}
	r := j.Limit(i)
	return kinematics.Range{Lower: max(r.Lower, min(-most, r.Upper)), Upper: min(r.Upper, max(most, r.Lower))}
}

// Screw returns the solid that the bodies pass through when they turn about the
// axis over the range and travel pitch along it per radian. What else holds is
// as for Joint; a range without an end is refused.
func Screw(ctx context.Context, bodies []*mesh.Mesh, axis kinematics.Axis, pitch float64, over kinematics.Range, o Options) (Envelope, error) {
	axis, err := kinematics.NewAxis(axis.Point, axis.Dir)
	if err != nil {
		return Envelope{}, fmt.Errorf("sweeping a screw joint: %w", err)
	}
	j := kinematics.Joint{Kind: kinematics.Helical, Pitch: pitch, Frame: kinematics.Frame{
		Origin: axis.Point, Hinge: axis.Dir, Reach: kinematics.Perpendicular(axis.Dir),
	}}
	return Joint(ctx, bodies, j, []kinematics.Range{over}, o)
}
