// Package desk is the window's state: what is open, what is selected and
// picked, where the joints stand, what is being computed. It shows nothing
// itself, so a test can do all that a user does without a display. A Desk
// belongs to one goroutine, the window's; long work runs on the job runner
// and comes back through it.
package desk

import (
	"context"
	"errors"
	"fmt"

	"pintle/app/doc"
	"pintle/app/job"
	"pintle/viewport"
)

// Step is a step of the work.
type Step int

// The steps, in the order of the work.
const (
	StepModel Step = iota
	StepJoints
	StepMotion
	StepHandover
)

// Desk is the window's state. Make one with New.
type Desk struct {
	// OnChange is called after every change of what is to be seen.
	OnChange func()
	// OnProblem is called with what went wrong, one sentence.
	OnProblem func(error)
	// OnOpened is called when another model is on the desk.
	OnOpened func()
	// OnGrab is called when a drag in the drawing begins to swing a proposed joint.
	OnGrab func()
	// OnLook is called when another proposed joint, or another reading of it, is
	// looked at.
	OnLook func()

	runner  *job.Runner
	history *doc.History
	session *doc.Session // nil while no model is open
	path    string       // of the document, "" while it was never saved
	title   string       // what is open
	guide   []string     // the demo's guide to the first hinge

	step  Step
	part  int    // selected part, or -1
	joint string // selected joint, or ""

	mode    viewport.PickMode
	picks   []viewport.Hit
	hover   viewport.Hit
	live    Live
	given   doc.JointOptions // what the user has chosen of the hinge to be made
	aim     Aim
	shows   Shows
	values  map[string][]float64 // joint name -> its values
	freedom int                  // of the selected joint: the value that ruler and drags move
	task    *Task
	liveJob *job.Latest[Live]

	revision, swings uint64
	proofs           proofs
	stance           stance
	holding          holding
	loopReach        loopReach
	review           *review // nil while no joints were looked for
}

// Shows is how the model is shown.
type Shows struct {
	Wire, SeeThrough, Isolate, Night bool
}

// Task is long work that the user waits for.
type Task struct {
	What string
	Done float64 // 0 to 1
	job  *job.Job
	gone bool // given up: whatever comes of it is not wanted
}

// CancelTask gives up the work that the user waits for. It answers at once,
// however long the work takes to stop.
func (d *Desk) CancelTask() {
	t := d.task
	if t == nil {
		return
	}
	t.gone, d.task = true, nil
	if t.job != nil {
		t.job.Cancel()
	}
	d.changed()
}

// New returns an empty desk whose long work runs on r.
func New(r *job.Runner) *Desk {
	d := &Desk{
		runner: r, history: doc.NewHistory(doc.Document{}), part: -1, mode: viewport.PickPatch,
		hover: noHit(), values: map[string][]float64{}, liveJob: job.NewLatest[Live](r), proofs: newProofs(r),
		stance: newStance(r), holding: newHolding(r),
	}
	d.history.OnChange(d.follow)
	return d
}

func noHit() viewport.Hit { return viewport.Hit{Part: -1, Triangle: -1, Vertex: -1, Edge: -1} }

// Revision counts the changes of all but where the joints stand and what the
// pointer is on: while it stays, only drawing and strip have to follow.
func (d *Desk) Revision() uint64 { return d.revision }

// Swings counts the changes of where the joints stand.
func (d *Desk) Swings() uint64 { return d.swings }

// changed tells the window.
func (d *Desk) changed() {
	d.revision++
	d.moved()
}

// moved tells the window that joints or pointer have moved.
func (d *Desk) moved() {
	d.followStance()
	d.followHolding()
	if d.OnChange != nil {
		d.OnChange()
	}
}

// problem tells the user, unless the work was merely cancelled.
func (d *Desk) problem(err error) {
	if err != nil && !errors.Is(err, context.Canceled) && d.OnProblem != nil {
		d.OnProblem(err)
	}
}

// follow brings session and selection after the document.
func (d *Desk) follow() {
	if d.session == nil {
		return
	}
	s, err := d.session.With(d.history.Current())
	if err != nil { // every edit was validated before it came into the history
		d.problem(fmt.Errorf("showing the document: %w", err))
		return
	}
	old := d.session
	d.session = s
	d.keepPicks(old)
	if d.joint != "" && s.Doc.JointIndex(d.joint) < 0 {
		d.joint = ""
	}
	if d.part >= len(s.Parts) {
		d.part = -1
	}
	if d.review != nil && !d.review.found.Fits(s) {
		d.review = nil
	}
	d.proofs.follow(d)
	d.changed()
}

// do changes the document by f, as one step of undo.
func (d *Desk) do(label string, f func(s *doc.Session) (doc.Document, error)) bool {
	if d.session == nil {
		return false
	}
	next, err := f(d.session)
	if err != nil {
		d.problem(fmt.Errorf("%s: %w", label, err))
		return false
	}
	if err := next.Validate(); err != nil {
		d.problem(fmt.Errorf("%s: %w", label, err))
		return false
	}
	return d.history.Do(label, func(doc.Document) doc.Document { return next })
}

// run starts work that the user waits for; one at a time. what stands beside
// the progress.
func run[T any](d *Desk, what string, work job.Work[T], done func(T)) {
	d.CancelTask()
	t := &Task{What: what}
	d.task = t
	t.job = job.Start(d.runner, what, work, job.Callbacks[T]{
		Progress: func(p float64, now string) {
			if t.gone {
				return
			}
			t.Done = p
			if now != "" {
				t.What = now
			}
			d.changed()
		},
		Result: func(v T, err error) {
			if t.gone {
				return
			}
			d.task = nil
			if err != nil {
				d.problem(err)
			} else {
				done(v)
			}
			d.changed()
		},
	})
	d.changed()
}

// Task returns the work that the user waits for, or nil.
func (d *Desk) Task() *Task { return d.task }

// Session returns the document with its model, nil while nothing is open.
func (d *Desk) Session() *doc.Session { return d.session }

// Title names what is open.
func (d *Desk) Title() string { return d.title }

// Guide is the demo's guide to the first hinge, empty for the user's models.
func (d *Desk) Guide() []string { return d.guide }

// Path returns where the document is saved, "" if nowhere yet.
func (d *Desk) Path() string { return d.path }

// Dirty reports whether there are unsaved changes.
func (d *Desk) Dirty() bool { return d.session != nil && d.history.Dirty() }

// Step returns the step of the work.
func (d *Desk) Step() Step { return d.step }

// SetStep goes to a step of the work.
func (d *Desk) SetStep(s Step) {
	if d.step != s {
		d.step = s
		d.aim = Aim{}
		if s == StepMotion && d.joint == "" && d.session != nil && len(d.session.Doc.Joints) > 0 {
			d.SelectJoint(d.session.Doc.Joints[0].Name)
		}
		d.changed()
	}
}

// Shows returns how the model is shown.
func (d *Desk) Shows() Shows { return d.shows }

// SetShows changes how the model is shown.
func (d *Desk) SetShows(s Shows) {
	d.shows = s
	d.changed()
}

// Undo takes the last change back.
func (d *Desk) Undo() { d.history.Undo() }

// Redo does it again.
func (d *Desk) Redo() { d.history.Redo() }

// CanUndo returns what Undo would take back.
func (d *Desk) CanUndo() (string, bool) { return d.history.UndoLabel() }

// CanRedo returns what Redo would do again.
func (d *Desk) CanRedo() (string, bool) { return d.history.RedoLabel() }

// Part returns the selected part, or -1.
func (d *Desk) Part() int { return d.part }

// SelectPart selects a part by its place in the session, -1 for none.
func (d *Desk) SelectPart(i int) {
	if d.session == nil || i >= len(d.session.Parts) {
		i = -1
	}
	d.part = i
	if i >= 0 {
		d.joint = ""
	}
	d.changed()
}

// SelectJoint selects a joint by name, "" for none.
func (d *Desk) SelectJoint(name string) {
	if d.session == nil || d.session.Doc.JointIndex(name) < 0 {
		name = ""
	}
	if d.joint != name {
		d.freedom = 0
	}
	d.joint = name
	d.aim = Aim{}
	if name != "" {
		d.part = -1
		d.forgetPicks()
		d.EndReview()
	}
	d.proofs.follow(d)
	d.changed()
}

// Joint returns the selected joint and its balloon number.
func (d *Desk) Joint() (j doc.Joint, number int, ok bool) {
	if d.session == nil || d.joint == "" {
		return doc.Joint{}, 0, false
	}
	i := d.session.Doc.JointIndex(d.joint)
	if i < 0 {
		return doc.Joint{}, 0, false
	}
	return d.session.Doc.Joints[i], i + 1, true
}
