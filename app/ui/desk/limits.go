package desk

import (
	"context"
	"fmt"

	"pintle/app/doc"
	"pintle/app/job"
	"pintle/kinematics"
	"pintle/kinematics/contact"
)

// holding is what is known of the limits that hold for the selected joint.
type holding struct {
	worker  *job.Latest[*doc.Holding]
	of      holdingOf
	known   *doc.Holding
	margins map[string]contact.Margin // by joint, where the user has chosen one
}

// holdingOf says what the limits depend on.
type holdingOf struct {
	motion *doc.Motion
	limits kinematics.Range
	margin contact.Margin
}

func newHolding(r *job.Runner) holding {
	return holding{worker: job.NewLatest[*doc.Holding](r), margins: map[string]contact.Margin{}}
}

// followHolding starts what is missing, once the stance is there that it is
// asked of.
func (d *Desk) followHolding() {
	h := &d.holding
	j, _, ok := d.Joint()
	x, m := d.stance.known, d.proofs.known[j.Name].motion
	if !ok || m == nil {
		h.worker.Drop()
		h.of, h.known = holdingOf{}, nil
		return
	}
	of := holdingOf{motion: m, margin: d.Margin()}
	of.limits, _ = j.Limit(0)
	if x == nil || of == h.of {
		return
	}
	if of.motion != h.of.motion {
		h.known = nil
	}
	h.of = of
	s := d.session
	h.worker.Submit(func(ctx context.Context, progress job.Progress) (*doc.Holding, error) {
		at := x
		if at.Motion != nil { // limits count from the pose as modelled
			var err error
			if at, err = s.Stance(ctx, j.Name, nil, doc.MotionOptions{}, progress); err != nil {
				return nil, err
			}
		}
		return at.Limits(ctx, j, m, of.margin)
	}, job.Callbacks[*doc.Holding]{Result: func(found *doc.Holding, err error) {
		h.known = found
		if err != nil {
			d.problem(fmt.Errorf("the limits of %s: %w", j.Name, err))
		}
		d.changed()
	}})
}

// Margin returns what limits taken from contact are to keep, for the selected
// joint: what was chosen, else the usual.
func (d *Desk) Margin() contact.Margin {
	if m, ok := d.holding.margins[d.joint]; ok {
		return m
	}
	if d.session == nil {
		return contact.Margin{}
	}
	if m := d.proofs.known[d.joint].motion; m != nil {
		return m.DefaultMargin()
	}
	return contact.Margin{}
}

// SetMargin chooses what limits taken from contact are to keep, for the selected
// joint.
func (d *Desk) SetMargin(m contact.Margin) {
	if d.joint != "" {
		d.holding.margins[d.joint] = m
		d.changed()
	}
}

// Holding returns which limits hold for the selected joint and why, nil while
// that is not known.
func (d *Desk) Holding() *doc.Holding { return d.holding.known }

// TakeLimits gives the selected joint the limits that keep the margin. It
// returns whether there are any.
func (d *Desk) TakeLimits() bool {
	h := d.holding.known
	if h == nil || h.Margin != d.Margin() {
		return false
	}
	r, ok := h.Range()
	if ok {
		d.SetLimits(&r)
	}
	return ok
}
