package desk

import (
	"context"
	"fmt"
	"math"
	"strings"

	"pintle/app/doc"
	"pintle/app/job"
	"pintle/kinematics"
)

// Proof is what is known of a joint's motion.
type Proof struct {
	Motion   *doc.Motion // nil while it is computed or where it cannot be
	Alone    *doc.Alone  // in its place for a joint of several freedoms
	Findings []doc.Finding
	Err      error
	Busy     bool
	Done     float64
}

// State sums a joint's proof up.
type State int

// The states of a joint.
const (
	Open     State = iota // its motion is not known
	True                  // nothing to act on
	ToCheck               // a finding wants a look
	Stopped               // a finding forbids handing over
	Accepted              // the user has agreed to it, findings and all
	Held                  // nothing moves, and nothing is to be acted on
	Unproven              // nothing to act on in each freedom by itself; together they are not proven
)

// proofs computes the joints' motions one after the other, the selected one
// first, and keeps each until something that it was computed from changes.
type proofs struct {
	worker    *job.Latest[proven]
	known     map[string]entry
	running   string // the joint being computed, ""
	runningAt string // its inputs
	done      float64
	envelope  *Envelope
	region    *Region
	findings  map[string]findings // by joint
}

// findings are kept, since they are asked for at every move of the pointer and
// some take a fit.
type findings struct {
	session *doc.Session // of which they are
	of      proven
	list    []doc.Finding
}

// proven is what is computed of a joint: its motion, or each freedom by itself.
type proven struct {
	motion *doc.Motion
	alone  *doc.Alone
}

type entry struct {
	inputs string
	proven
	err error
}

// Envelope is the solid that a joint's moving parts pass through.
type Envelope struct {
	doc.Envelope
	inputs string
}

// inputsIn names everything in a session that the envelope depends on: the
// inputs of all joints that move in it.
func (e *Envelope) inputsIn(s *doc.Session) string {
	var b strings.Builder
	for _, w := range e.Over {
		if i := s.Doc.JointIndex(w.Joint); i >= 0 {
			b.WriteString(inputsOf(s, s.Doc.Joints[i]))
		}
		b.WriteByte(';')
	}
	return b.String()
}

func newProofs(r *job.Runner) proofs {
	return proofs{worker: job.NewLatest[proven](r), known: map[string]entry{}, findings: map[string]findings{}}
}

// inputsOf names everything that a joint's motion depends on or refers to.
// Meshes are shared while their pieces are the same, so their addresses stand
// for them.
func inputsOf(s *doc.Session, j doc.Joint) string {
	var b strings.Builder
	fmt.Fprint(&b, j.Kind, j.Pitch, j.Frame.Axis(), j.Frame.Reach)
	moving, still := s.MovingParts(j)
	for _, list := range [][]int{moving, still} {
		b.WriteByte('|')
		for _, p := range list {
			fmt.Fprintf(&b, "%d %q %p,", p, s.Parts[p].Name, s.Parts[p].Mesh)
		}
	}
	for _, p := range j.Picks {
		fmt.Fprint(&b, p.Source, len(p.Triangles), len(p.Loops), p.Loops)
	}
	b.WriteString(loopInputs(s, j))
	return b.String()
}

// follow drops what is out of date and starts what is missing.
func (p *proofs) follow(d *Desk) {
	s := d.session
	if s == nil {
		p.worker.Drop()
		p.known, p.running, p.envelope, p.region = map[string]entry{}, "", nil, nil
		return
	}
	inputs := map[string]string{}
	for _, j := range s.Doc.Joints {
		inputs[j.Name] = inputsOf(s, j)
	}
	for name := range p.findings {
		if _, ok := inputs[name]; !ok {
			delete(p.findings, name)
		}
	}
	for name, e := range p.known {
		if inputs[name] != e.inputs {
			delete(p.known, name)
		}
	}
	if e := p.envelope; e != nil && (e.inputsIn(s) != e.inputs || e.Joint != d.joint) {
		p.envelope = nil
	}
	if r := p.region; r != nil && (inputs[r.Joint] != r.inputs || r.Joint != d.joint) {
		p.region = nil
	}
	p.next(d, inputs)
}

func (p *proofs) next(d *Desk, inputs map[string]string) {
	want := ""
	for _, j := range d.session.Doc.Joints {
		if _, ok := p.known[j.Name]; !ok && (want == "" || j.Name == d.joint) {
			want = j.Name
		}
	}
	switch {
	case want == "":
		p.worker.Drop()
		p.running = ""
		return
	case p.running == want && p.runningAt == inputs[want]:
		return
	}
	p.running, p.runningAt, p.done = want, inputs[want], 0
	s, at := d.session, inputs[want]
	p.worker.Submit(func(ctx context.Context, progress job.Progress) (out proven, err error) {
		if j := s.Doc.Joints[s.Doc.JointIndex(want)]; j.Kind.Freedoms() > 1 {
			out.alone, err = s.Alone(ctx, j, progress)
			return out, err
		}
		out.motion, err = s.Motion(ctx, want, doc.MotionOptions{Samples: doc.MostSamples}, progress)
		return out, err
	}, job.Callbacks[proven]{
		Progress: func(done float64, _ string) {
			p.done = done
			d.moved() // the strip shows it; the sheet's open lists stay open
		},
		Result: func(found proven, err error) {
			p.known[want] = entry{inputs: at, proven: found, err: err}
			p.running = ""
			p.follow(d)
			d.changed()
		},
	})
}

// Proof returns what is known of a joint's motion.
func (d *Desk) Proof(name string) Proof {
	if d.session == nil {
		return Proof{}
	}
	i := d.session.Doc.JointIndex(name)
	if i < 0 {
		return Proof{}
	}
	e, ok := d.proofs.known[name]
	busy := !ok
	out := Proof{Motion: e.motion, Alone: e.alone, Err: e.err, Busy: busy}
	if busy && d.proofs.running == name {
		out.Done = d.proofs.done
	}
	out.Findings = d.findings(d.session.Doc.Joints[i], e.proven)
	return out
}

// findings returns what is worth acting on of a joint.
func (d *Desk) findings(j doc.Joint, of proven) []doc.Finding {
	f := d.proofs.findings[j.Name]
	if f.session != d.session || f.of != of {
		f = findings{session: d.session, of: of, list: d.session.Findings(j, of.motion)}
		if of.alone != nil {
			f.list = append(f.list, d.session.AloneFindings(j, of.alone)...)
		}
		d.proofs.findings[j.Name] = f
	}
	return f.list
}

// State sums a joint's proof up.
func (d *Desk) State(j doc.Joint) State {
	p := d.Proof(j.Name)
	worst := doc.Worst(p.Findings)
	if r := d.proofs.region; r != nil && r.Joint == j.Name && doc.Worst(d.session.RegionFindings(j, r.Region)) == doc.Stop {
		worst = doc.Stop
	}
	switch {
	case worst == doc.Stop:
		return Stopped
	case j.Kind == kinematics.Fixed && worst != doc.Check:
		return Held
	case j.Accepted:
		return Accepted
	case worst == doc.Check || p.Err != nil:
		return ToCheck
	case p.Alone != nil:
		return Unproven
	case p.Motion == nil:
		return Open
	}
	return True
}

// Envelope returns the selected joint's envelope, nil while there is none.
func (d *Desk) Envelope() *Envelope { return d.proofs.envelope }

// ClearEnvelope takes the envelope away.
func (d *Desk) ClearEnvelope() {
	d.proofs.envelope = nil
	d.changed()
}

// EnvelopeRanges are the ranges that the selected joint's envelope covers: its
// limits; of a joint of one freedom else its free range, or as far as that is
// shown. ok is false where a slide is not limited.
func (d *Desk) EnvelopeRanges() (over []kinematics.Range, ok bool) {
	j, _, ok := d.Joint()
	if !ok || j.Kind.Freedoms() < 1 || j.Closes {
		return nil, false
	}
	for i, f := range j.Kind.FreedomList() {
		r, limited := j.Limit(i)
		if m := d.Proof(j.Name).Motion; !limited && m != nil {
			r = m.Shown()
		}
		if math.IsInf(r.Span(), 0) {
			if !f.Turns || j.Kind == kinematics.Helical {
				return nil, false
			}
			r = kinematics.Range{Lower: max(r.Lower, -math.Pi), Upper: min(r.Upper, math.Pi)}
		}
		over = append(over, r)
	}
	return over, true
}

// MakeEnvelope computes the solid that the selected joint's moving parts pass
// through, and what still parts reach into it.
func (d *Desk) MakeEnvelope() { d.makeEnvelope(false) }

// MakeLimbEnvelope is MakeEnvelope with all joints below moving over their
// limits too.
func (d *Desk) MakeLimbEnvelope() { d.makeEnvelope(true) }

// CarriesJoints reports whether joints hang on the selected one, so that it has
// a limb.
func (d *Desk) CarriesJoints() bool {
	j, _, ok := d.Joint()
	if !ok {
		return false
	}
	for _, k := range d.session.Doc.Joints {
		if k.Parent == j.Child && !k.Closes && k.Kind.Freedoms() > 0 {
			return true
		}
	}
	return false
}

func (d *Desk) makeEnvelope(limb bool) {
	j, _, ok := d.Joint()
	over, has := d.EnvelopeRanges()
	if !ok || !has {
		return
	}
	s := d.session
	run(d, "Sweeping "+j.Name, func(ctx context.Context, progress job.Progress) (*Envelope, error) {
		o := doc.EnvelopeOptions{Limb: limb, Ranges: map[string][]kinematics.Range{j.Name: over}}
		e, err := s.EnvelopeOf(ctx, j, o, progress)
		if err != nil {
			return nil, err
		}
		out := &Envelope{Envelope: *e}
		out.inputs = out.inputsIn(s)
		return out, nil
	}, func(e *Envelope) {
		// The user may have gone on meanwhile.
		if j, _, ok := d.Joint(); ok && j.Name == e.Joint && e.inputs == e.inputsIn(d.session) {
			d.proofs.envelope = e
		}
	})
}
