package doc

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/kinematics"
)

// Standing says what a document makes of a proposal.
type Standing int

// The standings of a proposal.
const (
	Undecided Standing = iota // it can be accepted
	InPlace                   // the document has this joint
	Agrees                    // the document has a joint of the same pair about the same axis
	Differs                   // the document has another joint there, which is kept
)

// Reading is a proposal held against the document.
type Reading struct {
	Standing Standing
	Joint    string // the joint that the document has there, "" for none
	Closes   bool   // accepting it closes a loop
	// How far that joint's hinge is from the best choice: between the directions
	// in radians, and of the choice's point from the hinge in model units; NaN
	// where it joins other parts.
	Angle, Offset float64
}

// How near a hinge must be to a proposed one to agree with it: what a rigger
// would not see.
const (
	agreeAngle  = 0.5 * math.Pi / 180
	agreeOffset = 0.005 // of the child's diagonal
	sameLine    = 1e-9  // radians, and of the child's diagonal
)

// Read holds a proposal against the document. Joints of the user's own are
// never replaced.
func (s *Session) Read(p Proposal) Reading {
	r := Reading{Angle: math.NaN(), Offset: math.NaN()}
	parent, child := s.Parts[p.Parent].Name, s.Parts[p.Child].Name
	for _, j := range s.Doc.Joints {
		if j.Parent == parent && j.Child == child || j.Parent == child && j.Child == parent {
			return s.compare(p, j)
		}
	}
	switch k := s.Doc.JointOf(child); {
	case k < 0:
	case p.Loop, p.InLoop: // the loop is cut at either joint of its child
		r.Closes = true
	default:
		r.Standing, r.Joint = Differs, s.Doc.Joints[k].Name
	}
	return r
}

// compare holds a proposal against the joint that the document has between the
// same parts: the choice that it was made by where there is one, else the best.
func (s *Session) compare(p Proposal, j Joint) Reading {
	size := s.Parts[p.Child].Mesh.Diagonal()
	r := Reading{Joint: j.Name, Angle: math.NaN(), Offset: math.NaN()}
	for _, c := range p.Choices {
		angle, offset := lineError(j.Frame.Axis(), c.Frame.Axis())
		if math.IsNaN(r.Angle) {
			r.Angle, r.Offset = angle, offset
		}
		if j.Kind == c.Kind && angle <= sameLine && offset <= sameLine*size {
			r.Standing, r.Angle, r.Offset = InPlace, angle, offset
			return r
		}
	}
	r.Standing = Differs
	if r.Angle <= agreeAngle && (r.Offset <= agreeOffset*size || j.Kind == kinematics.Prismatic) {
		r.Standing = Agrees
	}
	return r
}

// lineError returns the angle between two lines without regard to sense, and
// the distance of b's point from a.
func lineError(a, b kinematics.Axis) (angle, offset float64) {
	angle = kinematics.Angle(a.Dir, b.Dir)
	return min(angle, math.Pi-angle), a.Distance(b.Point)
}

// ErrTaken is the error of accepting a proposal where the document has a joint
// already.
var ErrTaken = errors.New("the child part has a joint already: remove that one first")

// ProposedJoint returns the joint that accepting a choice of a proposal makes,
// with a name that is free. It fails where there is no such choice.
func (s *Session) ProposedJoint(p Proposal, choice int) (Joint, error) {
	if choice < 0 || choice >= len(p.Choices) {
		return Joint{}, fmt.Errorf("%s has no choice %d", p.Name, choice+1)
	}
	c := p.Choices[choice]
	return Joint{
		Name: s.Doc.FreeJointName(p.Name), Kind: c.Kind, Pitch: c.Pitch,
		Parent: s.Parts[p.Parent].Name, Child: s.Parts[p.Child].Name,
		Picks: c.Picks, Recipe: c.Recipe, Datum: c.Datum, Spec: c.Spec, Frame: c.Frame,
		Letters: kinematics.DenavitHartenberg(),
	}, nil
}

// Accept returns the document with the joint of a proposal's choice, every frame
// built anew, and parts that are fixed to what it joins riding where they belong.
func (s *Session) Accept(all Proposals, p Proposal, choice int) (Document, error) {
	if s.Read(p).Standing != Undecided {
		return s.Doc, ErrTaken
	}
	j, err := s.ProposedJoint(p, choice)
	if err != nil {
		return s.Doc, err
	}
	d, err := s.Doc.AddJoint(j)
	if err != nil && (p.Loop || p.InLoop) {
		j.Closes = true
		if d, err = s.Doc.AddJoint(j); err == nil {
			d, _ = d.hungShorter(j.Name)
		}
	}
	if err != nil {
		return s.Doc, err
	}
	return s.settle(all, d)
}

// acceptLoop returns the session with the joint of a proposal that closes a loop
// which can then move; ok is false where it cannot, as after a chance find.
func (s *Session) acceptLoop(j Joint) (next *Session, ok bool) {
	d, err := s.Doc.AddJoint(j)
	if err != nil {
		j.Closes = true
		if d, err = s.Doc.AddJoint(j); err != nil {
			return nil, false
		}
	}
	name := j.Name
	if j.Closes {
		d, name = d.hungShorter(j.Name)
	}
	if next, err = s.With(d); err != nil {
		return nil, false
	}
	all, err := next.Linkages()
	if err != nil {
		return nil, false
	}
	i := all.LinkageOf(name)
	return next, i < 0 || all.List[i].Problem == nil
}

// AcceptAbove returns the document with the joints of all undecided proposals
// of at least that confidence, and how many these are. choice says which choice
// of proposal i is taken, -1 for none; nil takes the best of all. A proposal
// that would make a ring with joints of the user's own is left out, and so is
// one that closes a loop which could not move.
func (s *Session) AcceptAbove(all Proposals, least float64, choice func(i int) int) (Document, int, error) {
	now, n := s, 0
	for _, i := range loopsLast(all.List) {
		p := all.List[i]
		c := 0
		if choice != nil {
			c = choice(i)
		}
		if c < 0 || !(p.Confidence >= least) || now.Read(p).Standing != Undecided {
			continue
		}
		j, err := now.ProposedJoint(p, c)
		if err != nil {
			return s.Doc, 0, err
		}
		if p.Loop || now.Read(p).Closes {
			if next, ok := now.acceptLoop(j); ok {
				now, n = next, n+1
			}
			continue
		}
		d, err := now.Doc.AddJoint(j)
		if err != nil {
			continue // a ring
		}
		if now, err = now.With(d); err != nil {
			return s.Doc, 0, err
		}
		n++
	}
	if n == 0 {
		return s.Doc, 0, nil
	}
	d, err := s.settle(all, now.Doc)
	return d, n, err
}

// loopsLast returns the numbers of the proposals, those that close loops last.
func loopsLast(list []Proposal) []int {
	var tree, loops []int
	for i, p := range list {
		if p.Loop {
			loops = append(loops, i)
		} else {
			tree = append(tree, i)
		}
	}
	return append(tree, loops...)
}

// surelyFixed is the confidence from which a part is held to what it was found
// to be fixed to.
const surelyFixed = 0.5

// settle builds all frames and gives a fixed joint to each part that was found
// to be fixed to another one and would not ride on it by itself.
func (s *Session) settle(all Proposals, d Document) (Document, error) {
	next, err := s.With(d)
	if err != nil {
		return s.Doc, err
	}
	riders := next.Riders()
	for _, f := range all.Fixed {
		part, to := s.Parts[f.Part].Name, s.Parts[f.To].Name
		if f.Confidence < surelyFixed || d.inTree(part) || !d.inTree(to) || riders[f.Part] == f.To {
			continue
		}
		if d, err = d.AddJoint(s.fixedJoint(d, f.Part, to)); err != nil {
			return s.Doc, err
		}
	}
	return s.rebuilt(d)
}

// inTree reports whether a joint carries the part or hangs on it.
func (d Document) inTree(part string) bool {
	for _, j := range d.Joints {
		if j.Child == part || j.Parent == part {
			return true
		}
	}
	return false
}

// fixedJoint holds a part to another one.
func (s *Session) fixedJoint(d Document, part int, to string) Joint {
	p := s.Parts[part]
	at, ok := centroid(p.Mesh)
	if !ok {
		b := p.Mesh.Bounds()
		at = r3.Scale(0.5, r3.Add(b.Min, b.Max))
	}
	return Joint{
		Name: d.FreeJointName(p.Name), Kind: kinematics.Fixed, Parent: to, Child: p.Name,
		Spec:    kinematics.FrameSpec{Datum: kinematics.Axis{Point: at, Dir: r3.Vec{Z: 1}}},
		Frame:   kinematics.Frame{Origin: at, Hinge: r3.Vec{Z: 1}, Reach: r3.Vec{X: 1}},
		Letters: kinematics.DenavitHartenberg(),
	}
}
