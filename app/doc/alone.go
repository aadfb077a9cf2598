package doc

import (
	"context"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/app/job"
	"pintle/kinematics"
	"pintle/kinematics/contact"
)

// Alone is how far each freedom of a joint goes by itself, with its others as
// modelled. Part numbers in Free are those of the Moving and Still lists.
type Alone struct {
	Kind          kinematics.Kind
	Free          []contact.Result // one for each freedom
	Moving, Still []int
}

// Alone finds how far each freedom of a joint goes by itself, with everything
// below it, all other joints as modelled. What lies off these ways is not looked
// at: for where a joint leans see Region. It fails where everything moves and
// when ctx is done.
func (s *Session) Alone(ctx context.Context, j Joint, progress job.Progress) (*Alone, error) {
	a := &Alone{Kind: j.Kind}
	a.Moving, a.Still = s.MovingParts(j)
	if len(a.Still) == 0 {
		return nil, ErrNothingStill
	}
	moving, still := bodies(s.Parts, a.Moving), bodies(s.Parts, a.Still)
	k := kinematics.Joint{Kind: j.Kind, Frame: j.Frame, Pitch: j.Pitch}
	twists := k.Twists()
	for i, w := range twists {
		tell(progress, float64(i)/float64(len(twists)), "Seeking contact")
		by, over := alongOf(j, w)
		free, err := freeBy(ctx, moving, still, by, over, nil)
		if err != nil {
			return nil, fmt.Errorf("joint %q, %s: %w", j.Name, j.Kind.Freedom(i), err)
		}
		a.Free = append(a.Free, free)
	}
	tell(progress, 1, "Done")
	return a, nil
}

// alongOf returns the motion of one freedom from where the model stands, and how
// far contact is sought.
func alongOf(j Joint, w kinematics.Twist) (contact.Motion, kinematics.Range) {
	switch {
	case j.Kind == kinematics.Helical:
		return contact.Screw(j.Frame.Axis(), j.Pitch), kinematics.Unlimited()
	case w.Angular == r3.Vec{}:
		return contact.Slider(kinematics.Axis{Point: j.Frame.Origin, Dir: w.Linear}), kinematics.Unlimited()
	}
	return contact.Hinge(kinematics.Axis{Point: j.Frame.Origin, Dir: w.Angular}), FullTurn()
}

// Range returns how far freedom i goes by itself, with infinite ends where
// nothing stops it.
func (a *Alone) Range(i int) kinematics.Range {
	r := kinematics.Unlimited()
	if i < len(a.Free) {
		if e := a.Free[i].Lower; e != nil {
			r.Lower = e.Value
		}
		if e := a.Free[i].Upper; e != nil {
			r.Upper = e.Value
		}
	}
	return r
}

// AloneFindings returns the limits that reach past a contact of their freedom by
// itself.
func (s *Session) AloneFindings(j Joint, a *Alone) []Finding {
	w := findingWriter{session: s, joint: j}
	for i, free := range a.Free {
		limit, ok := j.Limit(i)
		if !ok {
			continue
		}
		f := j.Kind.Freedom(i)
		for _, end := range []struct {
			name  string
			limit float64
			sign  float64
			event *contact.Event
		}{{"lower", limit.Lower, -1, free.Lower}, {"upper", limit.Upper, 1, free.Upper}} {
			if end.event == nil || math.IsInf(end.limit, 0) || end.sign*(end.limit-end.event.Value) <= 0 {
				continue
			}
			moving, still := s.Parts[a.Moving[end.event.Moving]].Name, s.Parts[a.Still[end.event.Still]].Name
			w.add(Finding{
				Severity: Stop, Kind: RangeBlocked, Value: end.limit, Limit: end.event.Value, Unit: unitOf(f),
				Parts: []string{moving, still}, Points: []r3.Vec{end.event.Point},
				Text: fmt.Sprintf("the %s limit of %s of the %s cannot be reached: %s meets %s at %s; bring the limit in or cut the parts free",
					end.name, w.valueText(f, end.limit), f, moving, still, w.valueText(f, end.event.Value)),
			})
		}
	}
	return w.list
}

// proveSeveral is Prove for a joint of several freedoms: each is held against
// its contacts by itself, and where it leans the lean against its region.
func (s *Session) proveSeveral(ctx context.Context, j Joint, progress job.Progress) ([]Finding, error) {
	list := s.Findings(j, nil)
	a, err := s.Alone(ctx, j, job.Stage(progress, 0, 0.2))
	switch {
	case ctx.Err() != nil:
		return nil, ctx.Err()
	case err != nil:
		return append(list, Finding{
			Severity: Check, Kind: MotionUnproven, Joint: j.Name, Limit: math.NaN(),
			Text: fmt.Sprintf("its motion could not be computed: %v", err),
		}), nil
	}
	list = append(list, s.AloneFindings(j, a)...)
	if !j.Kind.Leans() {
		return append(list, Finding{
			Severity: Note, Kind: MotionUnproven, Joint: j.Name, Limit: math.NaN(), Text: unprovenText(j.Kind.Freedoms()),
		}), nil
	}
	r, err := s.Region(ctx, j, job.Stage(progress, 0.2, 1))
	switch {
	case ctx.Err() != nil:
		return nil, ctx.Err()
	case err != nil:
		return append(list, Finding{
			Severity: Check, Kind: MotionUnproven, Joint: j.Name, Limit: math.NaN(),
			Text: fmt.Sprintf("its region could not be computed: %v", err),
		}), nil
	}
	return append(list, s.RegionFindings(j, r)...), nil
}
