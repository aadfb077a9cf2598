package desk

import (
	"context"

	"pintle/app/doc"
	"pintle/app/job"
)

// Trial is what trying the reading that is looked at shows.
type Trial struct {
	doc.Trial
	Err  error
	Busy bool // it is being computed
}

// trials tries what is looked at in the background, the newest first, and keeps
// what came of it for as long as its proposals are kept.
type trials struct {
	worker  *job.Latest[doc.Trial]
	known   map[tried]Trial
	running tried
	busy    bool
}

// tried says which reading of which proposal was tried.
type tried struct{ at, choice int }

func newTrials(r *job.Runner) *trials {
	return &trials{worker: job.NewLatest[doc.Trial](r), known: map[tried]Trial{}}
}

// follow starts what is missing of the reading looked at, and drops what is not
// looked at any more.
func (w *trials) follow(d *Desk) {
	r := d.review
	want := tried{r.at, r.choice[r.at]}
	if _, ok := w.known[want]; ok || !d.Reviewing() {
		w.drop()
		return
	}
	if w.busy && w.running == want {
		return
	}
	w.running, w.busy = want, true
	s, all, p := d.session, r.found, r.found.List[want.at]
	w.worker.Submit(func(ctx context.Context, progress job.Progress) (doc.Trial, error) {
		return s.Try(ctx, all, p, want.choice, progress)
	}, job.Callbacks[doc.Trial]{Result: func(t doc.Trial, err error) {
		w.known[want] = Trial{Trial: t, Err: err}
		w.busy = false
		if d.review == r {
			d.changed()
		}
	}})
}

func (w *trials) drop() {
	w.worker.Drop()
	w.busy = false
}

// FoundTrial returns what trying the reading that is looked at shows; false
// outside a review.
func (d *Desk) FoundTrial() (Trial, bool) {
	if !d.Reviewing() {
		return Trial{}, false
	}
	r := d.review
	at := tried{r.at, r.choice[r.at]}
	t, ok := r.trials.known[at]
	if !ok {
		t.Busy = r.trials.busy && r.trials.running == at
	}
	return t, true
}
