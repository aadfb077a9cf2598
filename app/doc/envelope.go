package doc

import (
	"context"
	"fmt"
	"slices"

	"pintle/app/job"
	"pintle/fit/mesh"
	"pintle/kinematics"
	"pintle/kinematics/sweep"
)

// EnvelopeOptions steer Session.Envelope. The zero value sweeps one joint over
// its limits.
type EnvelopeOptions struct {
	// Limb moves the joints below over their limits too, each independently of
	// the others; else they stay as modelled.
	Limb bool
	// Tip, if not empty, is the part that the limb ends at: only the joints
	// between the joint and this part move. It is left out without Limb.
	Tip string
	// Ranges take the place of the limits of the joints named.
	Ranges map[string][]kinematics.Range
	// Resolution is as in sweep.Options.
	Resolution int
	// NoCarving leaves out what still parts reach into the envelope.
	NoCarving bool
	// Tolerance is as in sweep.CarveOptions.
	Tolerance float64
}

// Envelope is what the moving parts of a joint or a limb pass through.
type Envelope struct {
	sweep.Envelope
	Joint         string
	Over          []Swept // the joints that move, the first one first
	Moving, Still []int   // numbers of parts, rising
	// Carving is where still parts reach in, its parts in the order of Still; nil
	// where it was not asked for or nothing is still.
	Carving *sweep.Carving
}

// Swept is a joint that moves in an envelope, with the ranges of its values.
type Swept struct {
	Joint string
	Kind  kinematics.Kind
	Over  []kinematics.Range
}

// Envelope sweeps what a joint moves over its limits: the joint alone, or with
// all the joints below it. A turn without limits goes all round; slides and
// screws need limits. Couplings and closed loops are left out of account, which
// a note says: with joints free of one another the solid can only be larger.
func (s *Session) Envelope(ctx context.Context, joint string, o EnvelopeOptions, progress job.Progress) (*Envelope, error) {
	i, err := s.Doc.mustJoint(joint)
	if err != nil {
		return nil, err
	}
	return s.EnvelopeOf(ctx, s.Doc.Joints[i], o, progress)
}

// EnvelopeOf is Envelope for a joint that may not be in the document yet. Its
// limb is that of the document's joint of the same name.
func (s *Session) EnvelopeOf(ctx context.Context, j Joint, o EnvelopeOptions, progress job.Progress) (*Envelope, error) {
	e := &Envelope{Joint: j.Name}
	e.Moving, e.Still = s.MovingParts(j)
	root, err := s.envelopeLink(j, o, e)
	if err != nil {
		return nil, fmt.Errorf("the envelope of joint %q: %w", j.Name, err)
	}
	if err := e.compute(ctx, s.Parts, root, o, progress); err != nil {
		return nil, fmt.Errorf("the envelope of joint %q: %w", j.Name, err)
	}
	return e, nil
}

// SweepParts sweeps parts about a hinge over a range. It needs no document.
func SweepParts(ctx context.Context, parts []mesh.Part, moving, still []int, axis kinematics.Axis, over kinematics.Range, o EnvelopeOptions, progress job.Progress) (*Envelope, error) {
	axis, err := kinematics.NewAxis(axis.Point, axis.Dir)
	if err != nil {
		return nil, err
	}
	e := &Envelope{Moving: moving, Still: still}
	root := sweep.Link{Bodies: meshes(parts, moving), Over: []kinematics.Range{over}, Joint: kinematics.Joint{
		Kind: kinematics.Revolute, Frame: kinematics.Frame{Origin: axis.Point, Hinge: axis.Dir, Reach: kinematics.Perpendicular(axis.Dir)},
	}}
	e.sweeps(root)
	if err := e.compute(ctx, parts, root, o, progress); err != nil {
		return nil, err
	}
	return e, nil
}

// compute sweeps the link and finds what to carve.
func (e *Envelope) compute(ctx context.Context, parts []mesh.Part, root sweep.Link, o EnvelopeOptions, progress job.Progress) error {
	share := 0.85
	if o.NoCarving || len(e.Still) == 0 {
		share = 1
	}
	swept, err := sweep.Limb(ctx, root, sweep.Options{Resolution: o.Resolution, Progress: job.Stage(progress, 0, share)})
	if err != nil {
		return err
	}
	swept.Notes = append(e.Notes, swept.Notes...)
	e.Envelope = swept
	if share == 1 {
		return nil
	}
	c, err := sweep.Carve(ctx, swept, meshes(parts, e.Moving), meshes(parts, e.Still), sweep.CarveOptions{
		Tolerance: o.Tolerance, Progress: job.Stage(progress, share, 1),
	})
	e.Carving = &c
	return err
}

func meshes(parts []mesh.Part, list []int) []*mesh.Mesh {
	out := make([]*mesh.Mesh, len(list))
	for i, p := range list {
		out[i] = parts[p].Mesh
	}
	return out
}

// envelopeLink returns what is swept and notes in e which joints move.
func (s *Session) envelopeLink(j Joint, o EnvelopeOptions, e *Envelope) (sweep.Link, error) {
	if j.Closes {
		return sweep.Link{}, fmt.Errorf("it closes a loop and carries nothing of its own: choose another joint of the loop")
	}
	root := sweep.Link{Bodies: meshes(s.Parts, e.Moving), Joint: s.Doc.kinematic(j), Over: o.Ranges[j.Name]}
	if !o.Limb {
		e.sweeps(root)
		return root, nil
	}
	t, err := s.Tree()
	if err != nil {
		return root, err
	}
	i := s.Doc.JointIndex(j.Name)
	if i < 0 {
		return root, fmt.Errorf("it is not in the document, so it carries no limb")
	}
	moves := func(int) bool { return true }
	if o.Tip != "" {
		tip := s.Doc.PartIndex(o.Tip)
		if tip < 0 {
			return root, fmt.Errorf("there is no part %q for the limb to end at", o.Tip)
		}
		chain := t.Chain(tip)
		if !slices.Contains(chain, i) {
			return root, fmt.Errorf("part %q does not hang on it, so its limb cannot end there", o.Tip)
		}
		moves = func(k int) bool { return slices.Contains(chain, k) }
	}
	root = s.limbLink(t, i, o, moves, e)
	root.Joint = s.Doc.kinematic(j)
	e.dependencies(s, t)
	return root, nil
}

// limbLink returns joint k of the tree with all that hangs on it. Joints that
// do not move stay as modelled.
func (s *Session) limbLink(t *kinematics.Tree, k int, o EnvelopeOptions, moves func(int) bool, e *Envelope) sweep.Link {
	j := t.Joint(k)
	l := sweep.Link{Joint: j, Over: o.Ranges[j.Name]}
	if j.Child < len(s.Parts) { // not the stand-in of a joint that closes a loop
		l.Bodies = append(l.Bodies, s.Parts[j.Child].Mesh)
	}
	if !moves(k) {
		l.Over = make([]kinematics.Range, j.Kind.Freedoms())
		l.Joint.Cone = nil
	} else if j.Kind != kinematics.Fixed {
		e.sweeps(l)
	}
	for _, n := range t.Next(k) {
		if t.Joint(n).Child < len(s.Parts) {
			l.Next = append(l.Next, s.limbLink(t, n, o, moves, e))
		}
	}
	return l
}

// sweeps notes a joint that moves.
func (e *Envelope) sweeps(l sweep.Link) {
	over := l.Over
	if over == nil {
		for i := range max(l.Joint.Kind.Freedoms(), 0) {
			over = append(over, l.Joint.Limit(i))
		}
	}
	e.Over = append(e.Over, Swept{Joint: l.Joint.Name, Kind: l.Joint.Kind, Over: over})
}

// dependencies notes which of the joints that move do not move as they please.
func (e *Envelope) dependencies(s *Session, t *kinematics.Tree) {
	in := func(name string) bool {
		return slices.ContainsFunc(e.Over, func(w Swept) bool { return w.Joint == name })
	}
	for _, c := range s.Doc.Couplings {
		if in(c.Follower.Joint) && in(c.Driver.Joint) {
			e.Notes = append(e.Notes, fmt.Sprintf("Joint %q follows %q, but was swept as if it were free: the solid may be larger than what is passed through.", c.Follower.Joint, c.Driver.Joint))
		}
	}
	for _, j := range s.Doc.Joints {
		if !j.Closes {
			continue
		}
		ring := s.ringJoints(t, s.Doc.JointIndex(j.Name))
		n := 0
		for _, k := range ring {
			if in(s.Doc.Joints[k].Name) {
				n++
			}
		}
		if n > 1 {
			e.Notes = append(e.Notes, fmt.Sprintf("Joints of the loop that %q closes were swept as if it were open: the solid may be larger than what is passed through.", j.Name))
		}
	}
}
