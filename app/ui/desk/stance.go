package desk

import (
	"context"
	"fmt"
	"slices"
	"time"

	"pintle/app/doc"
	"pintle/app/job"
	"pintle/kinematics/contact"
)

// stance is what is known of the selected joint's motion with the others where
// they stand.
type stance struct {
	worker *job.Latest[*doc.Stance]
	of     stanceOf      // of which it is, or is being computed
	known  *doc.Stance   // the newest there is for the joint, nil for none
	soon   time.Duration // how long a frame waits for the clearance at its value
	at     float64       // value at which the clearance was asked for last
	near   contact.Proximity
	asked  bool
}

// stanceOf says what a stance depends on.
type stanceOf struct {
	session *doc.Session
	joint   string
	inputs  string
	others  []float64 // where the other joints stand
}

func newStance(r *job.Runner) stance {
	return stance{worker: job.NewLatest[*doc.Stance](r), soon: 25 * time.Millisecond}
}

// followStance starts what is missing: the newest wins, and until it is there
// the last one shows.
func (d *Desk) followStance() {
	w := &d.stance
	j, _, ok := d.Joint()
	e, proven := d.proofs.known[j.Name]
	if !ok || !proven || e.motion == nil || j.Closes {
		w.forget()
		return
	}
	of := stanceOf{session: d.session, joint: j.Name, inputs: w.of.inputs, others: d.othersThan(j)}
	if of.session != w.of.session || of.joint != w.of.joint {
		of.inputs = inputsOf(d.session, j)
		if of.joint != w.of.joint || of.inputs != w.of.inputs {
			w.forget()
		}
	}
	same := of.inputs == w.of.inputs && of.joint == w.of.joint && slices.Equal(of.others, w.of.others)
	w.of = of
	if same {
		return
	}
	s, values := d.session, map[string][]float64{}
	if of.others != nil {
		for name, v := range d.values {
			values[name] = slices.Clone(v)
		}
	}
	w.worker.Submit(func(ctx context.Context, progress job.Progress) (*doc.Stance, error) {
		return s.Stance(ctx, j.Name, values, doc.MotionOptions{Samples: doc.MostSamples}, progress)
	}, job.Callbacks[*doc.Stance]{Result: func(found *doc.Stance, err error) {
		if err != nil {
			d.problem(fmt.Errorf("the contacts of %s as the others stand: %w", j.Name, err))
		}
		w.known, w.asked, w.near = found, false, contact.Proximity{}
		if found != nil {
			w.near = found.AsModelled
		}
		d.changed()
	}})
}

func (w *stance) forget() {
	w.worker.Drop()
	w.of, w.known, w.asked, w.near = stanceOf{}, nil, false, contact.Proximity{}
}

// othersThan returns where all joints but the selected one stand, as they were
// given; nil where it is in a loop, which takes them along.
func (d *Desk) othersThan(j doc.Joint) []float64 {
	if _, ok := d.LoopOf(); ok {
		return nil
	}
	var list []float64
	for _, k := range d.session.Doc.Joints {
		if k.Name == j.Name {
			continue
		}
		v := make([]float64, max(k.Kind.Freedoms(), 0))
		copy(v, d.values[k.Name])
		list = append(list, v...)
	}
	return list
}

// Standing returns how the selected joint moves with the others where they
// stand, or else as modelled; nil where that is not known. asModelled is false
// where the others stand elsewhere.
func (d *Desk) Standing() (m *doc.Motion, asModelled bool) {
	if x := d.stance.known; x != nil && x.Motion != nil {
		return x.Motion, false
	}
	if d.session == nil {
		return nil, true
	}
	return d.Proof(d.joint).Motion, true
}

// Near returns where the selected joint's moving parts come nearest to the
// others as it stands. ok is false where that is not known, or where others move
// along with it.
func (d *Desk) Near() (p contact.Proximity, ok bool) {
	w := &d.stance
	if w.known == nil || d.takesAlong(d.joint) {
		return p, false
	}
	v := d.Value(d.joint)
	if w.asked && v == w.at {
		return w.near, w.near.Moving >= 0
	}
	ctx, cancel := context.WithTimeout(context.Background(), w.soon)
	defer cancel()
	p, err := w.known.ClearanceAt(ctx, v, w.near)
	if err != nil {
		return p, false
	}
	w.at, w.near, w.asked = v, p, true
	return p, p.Moving >= 0
}

// takesAlong reports whether other joints move with one: what follows it, and
// the joints of its loop.
func (d *Desk) takesAlong(joint string) bool {
	if _, ok := d.LoopOf(); ok {
		return true
	}
	return slices.ContainsFunc(d.session.Doc.Couplings, func(c doc.Coupling) bool {
		return c.Driver.Joint == joint || c.Follower.Joint == joint
	})
}
