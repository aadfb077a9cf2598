package desk

import (
	"context"
	"fmt"

	"pintle/app/doc"
	"pintle/app/job"
	"pintle/fit/find"
	"pintle/viewport"
)

// FindJoints looks for joints, or goes back to those that were found while they
// hold for the parts there are.
func (d *Desk) FindJoints() {
	if d.session == nil {
		return
	}
	if d.CanResume() {
		d.openReview()
		return
	}
	d.FindAgain()
}

// FindAgain looks for joints.
func (d *Desk) FindAgain() {
	if d.session == nil {
		return
	}
	run(d, "Finding joints", lookIn(d.session), func(l look) {
		if d.cut(l) {
			d.takeFound(l.found)
		}
	})
}

// look is what a look for joints gives.
type look struct {
	before, session *doc.Session // session has the parts of a fused model
	found           doc.Proposals
}

// lookIn cuts a model that is one part into its pieces and looks for joints.
func lookIn(s *doc.Session) job.Work[look] {
	return func(ctx context.Context, p job.Progress) (look, error) {
		out := look{before: s}
		var err error
		if out.session, err = s.Unfused(ctx, doc.CutAuto, job.Stage(p, 0, 0.2)); err != nil {
			return out, err
		}
		start := 0.0
		if out.session != s {
			start = 0.3
			if err := out.session.PrepareRiders(ctx, job.Stage(p, 0.2, start)); err != nil {
				return out, err
			}
		}
		out.found, err = out.session.Find(ctx, find.Options{}, job.Stage(p, start, 1))
		return out, err
	}
}

// cut puts the pieces of a fused model on the desk, as a step of undo; false
// where another model is open by now.
func (d *Desk) cut(l look) bool {
	switch {
	case l.session == l.before:
		return true
	case d.session != l.before:
		return false
	}
	d.session = l.session // so that the history's state shares its meshes
	d.history.Do("split "+l.before.Parts[0].Name, func(doc.Document) doc.Document { return l.session.Doc })
	return true
}

// takeFound begins to look through what was found.
func (d *Desk) takeFound(found doc.Proposals) {
	if d.session == nil || !found.Fits(d.session) {
		return // another model is open by now, or its parts have changed
	}
	d.session = d.session.Noting(found.Findings)
	if d.review != nil {
		d.review.trials.drop()
	}
	d.review = &review{
		found: found, least: sureEnough, choice: map[int]int{}, rejected: map[int]bool{}, trials: newTrials(d.runner),
	}
	if len(found.List) == 0 {
		d.review = nil
		d.problem(fmt.Errorf("no joints were found: %s", d.whyNone(found)))
		return
	}
	d.openReview()
}

// whyNone says in words why nothing is proposed.
func (d *Desk) whyNone(found doc.Proposals) string {
	switch {
	case len(d.session.Parts) == 1:
		return "the model is one part whose pieces do not move against one another"
	case len(found.Findings) == 1:
		return found.Findings[0].Text
	}
	return "no two parts that are near each other show round geometry; pick a housing instead"
}

// openReview goes to the first proposal that is undecided.
func (d *Desk) openReview() {
	d.SelectJoint("")
	d.forgetPicks()
	clear(d.values)
	d.part, d.hover, d.aim = -1, noHit(), Aim{}
	d.step = StepJoints
	d.mode = viewport.PickPart
	d.review.open, d.review.at = true, -1
	if !d.nextOpen() {
		d.review.at = d.order()[0]
	}
	d.looked()
}

// CanResume reports whether proposals are there to go back to.
func (d *Desk) CanResume() bool {
	return d.review != nil && d.session != nil && d.review.found.Fits(d.session)
}

// Reviewing reports whether the user looks through proposals.
func (d *Desk) Reviewing() bool {
	return d.CanResume() && d.review.open && d.step == StepJoints
}

// EndReview leaves the proposals; FindJoints comes back to them.
func (d *Desk) EndReview() {
	if d.review == nil || !d.review.open {
		return
	}
	d.review.open, d.review.values = false, nil
	d.review.trials.drop()
	d.mode = viewport.PickPatch
	d.changed()
}
