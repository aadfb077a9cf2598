// Package contact finds how far a part can turn about an axis, slide along it
// or do both as a screw before it meets another, exactly: contacts of corners,
// edges and faces are roots of g(t) = A cos t + B sin t + C for a hinge, of a
// linear g for a slider, and of one with terms in t and t cos t for a screw,
// whose roots are bracketed so that none is missed. Bounds in cylindrical
// coordinates about the axis, or in boxes along it, give lower bounds on the
// value, so that a best-first search over both parts' bounding-volume
// hierarchies finds the first contact to rounding, thin blades included.
//
// Parts of real models touch or overlap where they stand. What does is
// reported with its depth and does not make the free range zero; surfaces that
// the motion carries along themselves (turned ones for a hinge, those parallel
// to a slider, cylinders and threads for a screw) never collide by it, however they are
// tessellated.
//
// Points and lengths are in model coordinates. Values are radians by the
// right-hand rule about the axis, for a slider lengths along it, zero as
// modelled.
package contact

import (
	"context"
	"fmt"
	"math"
	"sync"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
	"pintle/kinematics"
	"pintle/kinematics/internal/task"
)

// Body is one rigid piece in model coordinates, as modelled or where Pose puts
// it: the pose at value zero of the motion. The zero Pose is as modelled.
type Body struct {
	Name string
	Mesh *mesh.Mesh
	Pose kinematics.Transform
}

// posed reports whether the body stands elsewhere than modelled.
func (b *Body) posed() bool {
	return b.Pose != (kinematics.Transform{}) && b.Pose != kinematics.Identity()
}

// DefaultTolerance is the modelling tolerance relative to the diagonal of all
// bodies: parts that overlap by no more touch.
const DefaultTolerance = 1e-6

// rounding is the tolerance that stands for none, in axis-frame units.
const rounding = 1e-12

// Options guide NewScene. The zero value is ready to use.
type Options struct {
	// Tolerance is how deep bodies may overlap without that being a contact, in
	// model units; it does not shift the angles of contacts that go deeper. Zero
	// means DefaultTolerance times the diagonal; a negative value means none
	// beyond rounding, so that bodies that graze or slide flush count as well.
	Tolerance float64
	// Progress, if not nil, is called with the done share of building, 0 to 1.
	Progress func(done float64, what string)
}

// Scene holds moving and still bodies, bounded about one axis, and what
// touches where they stand. It is immutable: its queries may run at once.
type Scene struct {
	frame     axisFrame
	motion    motion
	size      float64 // diagonal of all bodies, model units
	tolerance float64 // axis-frame units
	flush     float64 // overlap in distance or height up to which triangles pass
	moving    []*side
	still     []*side
	bodies    [2][]Body
	at        atRest

	// Worked out when first needed: the pairs of bodies of which anything counts.
	clearing, fitting func() []bodyPair
}

// EmptyError reports a side of a scene that has nothing to turn or to hit.
type EmptyError struct {
	Side string // "moving" or "still"
}

func (e *EmptyError) Error() string {
	return fmt.Sprintf("the %s side has no triangles: give it at least one part with faces", e.Side)
}

// NewScene expresses both groups of bodies about the axis of the motion by
// which the first moves against the second, and judges what touches at rest.
// Bodies without triangles are left out of account. It returns an error if the
// motion is not one of one freedom, if its axis has no direction or is not
// finite, if a side has no triangles at all, if the tolerance is not finite, or
// if ctx is done.
func NewScene(ctx context.Context, moving, still []Body, by Motion, o Options) (*Scene, error) {
	by, err := by.check()
	if err != nil {
		return nil, fmt.Errorf("contact scene: %w", err)
	}
	if math.IsNaN(o.Tolerance) || math.IsInf(o.Tolerance, 0) {
		return nil, fmt.Errorf("contact scene: tolerance %v is not finite: give a length in model units", o.Tolerance)
	}
	if err := checkBodies(moving, still); err != nil {
		return nil, fmt.Errorf("contact scene: %w", err)
	}
	bounds := boundsOf(moving, still)
	s := &Scene{frame: newAxisFrame(by, bounds), bodies: [2][]Body{moving, still}}
	s.motion = newMotion(by, s.frame.scale)
	s.tolerance = s.frame.scale * o.Tolerance
	s.size = r3.Norm(r3.Sub(bounds.Max, bounds.Min))
	if o.Tolerance == 0 {
		s.tolerance = s.frame.scale * DefaultTolerance * s.size
	}
	s.flush = s.tolerance
	if o.Tolerance < 0 {
		s.tolerance, s.flush = rounding, -rounding
	}
	s.clearing = sync.OnceValue(func() []bodyPair { return s.findCounting(false) })
	s.fitting = sync.OnceValue(func() []bodyPair { return s.findCounting(true) })
	if err := s.build(ctx, o.Progress); err != nil {
		return nil, err
	}
	if err := s.judgeRest(ctx); err != nil {
		return nil, fmt.Errorf("contacts at rest: %w", err)
	}
	report(o.Progress, 1, "contacts at rest")
	return s, nil
}

// inner returns a value of the motion in axis-frame units.
func (s *Scene) inner(value float64) float64 {
	if s.motion.slides() {
		return value * s.frame.scale
	}
	return value
}

// outer returns a value of the motion in model terms.
func (s *Scene) outer(value float64) float64 {
	if s.motion.slides() {
		return value / s.frame.scale
	}
	return value
}

func checkBodies(moving, still []Body) error {
	for i, group := range [2][]Body{moving, still} {
		tris := 0
		for _, b := range group {
			if b.Mesh != nil {
				tris += len(b.Mesh.Triangles())
			}
		}
		if tris == 0 {
			return &EmptyError{Side: [2]string{"moving", "still"}[i]}
		}
	}
	for i, group := range [2][]Body{moving, still} {
		for _, b := range group {
			if err := b.Pose.Check(rigid); b.posed() && err != nil {
				return fmt.Errorf("the pose of %s part %q: %w", [2]string{"moving", "still"}[i], b.Name, err)
			}
		}
	}
	for _, m := range moving {
		for _, s := range still {
			if m.Mesh == s.Mesh && m.Mesh != nil {
				return fmt.Errorf("part %q is on both sides: take it off one", m.Name)
			}
		}
	}
	return nil
}

func report(progress func(float64, string), done float64, what string) {
	if progress != nil {
		progress(done, what)
	}
}

// build makes the sides of all bodies, two at a time at most: each depends on
// its own mesh alone.
func (s *Scene) build(ctx context.Context, progress func(float64, string)) error {
	type reading struct {
		group, body int
		of          Body
	}
	var tasks []reading
	for g, group := range s.bodies {
		for b, body := range group {
			if body.Mesh != nil && len(body.Mesh.Triangles()) > 0 {
				tasks = append(tasks, reading{g, b, body})
			}
		}
	}
	sides := make([]*side, len(tasks))
	err := task.InTwo(len(tasks), func(i int) error {
		var err error
		sides[i], err = newSide(ctx, tasks[i].body, tasks[i].of.Mesh, s.frameOf(&tasks[i].of), s.motion, s.tolerance)
		return err
	}, func(done int) { report(progress, 0.8*float64(done)/float64(len(tasks)), "bounds about the axis") })
	if err != nil {
		return fmt.Errorf("building the contact scene: %w", err)
	}
	for i, t := range tasks {
		if t.group == 0 {
			s.moving = append(s.moving, sides[i])
		} else {
			s.still = append(s.still, sides[i])
		}
	}
	return nil
}

// rigid is how far the pose of a body may be off a rigid motion.
const rigid = 1e-9

// frameOf returns the axis frame in the coordinates of a body's mesh.
func (s *Scene) frameOf(b *Body) *axisFrame {
	if !b.posed() {
		return &s.frame
	}
	f, back := s.frame, b.Pose.Inverse()
	f.origin = back.Apply(f.origin)
	f.e1, f.e2, f.e3 = back.Turn(f.e1), back.Turn(f.e2), back.Turn(f.e3)
	return &f
}
