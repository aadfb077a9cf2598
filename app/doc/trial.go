package doc

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"pintle/app/job"
	"pintle/kinematics"
	"pintle/kinematics/contact"
)

// How far a proposed joint is tried, and how little counts as none (common
// practice, no published source).
const (
	tryTurn      = 15 * math.Pi / 180
	trySlide     = 0.1 // of the child's diagonal
	blockedTurn  = 0.1 * math.Pi / 180
	blockedSlide = 0.001 // of the child's diagonal
	surelyJoined = 0.5   // confidence from which a proposal closes a loop
)

// Trial is what trying a proposed joint by exact contact shows: how far its child
// goes, with all that hangs on it, before it meets anything that it does not meet
// as modelled. Of several freedoms the first is tried alone. Part numbers in Free
// are those of the Moving and Still lists.
type Trial struct {
	Freedom  kinematics.Freedom // of what was tried: radians where it turns, else model units
	Searched kinematics.Range
	Free     contact.Result
	// Parts that would move and those that would stand still. Followers are in
	// neither: they would be taken along by another joint of a loop.
	Moving, Still, Followers []int
	// Blocked is true where the child goes less than 0.1 degrees either way, or a
	// thousandth of its size where it slides, and where both ways would drive it
	// into what it touches.
	Blocked bool
	Stops   []TrialStop // at most one at either end, the lower first
	Presses []TrialStop // what touches as modelled and would be driven together both ways
	Words   string
}

// TrialStop is a contact that a trial meets.
type TrialStop struct {
	Value       float64 // radians, or model units
	Part, Meets string  // what moves, and the still part that it meets
}

// Range returns how far the child goes, within what was searched.
func (t Trial) Range() kinematics.Range {
	r := t.Searched
	if e := t.Free.Lower; e != nil {
		r.Lower = e.Value
	}
	if e := t.Free.Upper; e != nil {
		r.Upper = e.Value
	}
	return r
}

// ErrNothingMoves is the error of trying a choice that holds its parts together.
var ErrNothingMoves = errors.New("it is fixed: nothing moves")

// Try moves the parts of a proposal a little either way by one of its choices,
// all others as modelled, and tells what they meet. Parts that another joint of a
// loop would take along are left out of account. It fails where there is no such
// choice, where the parts have changed since the proposals were made, where the
// choice has no freedom, where everything moves, and when ctx is done.
func (s *Session) Try(ctx context.Context, all Proposals, p Proposal, choice int, progress job.Progress) (Trial, error) {
	if !all.Fits(s) {
		return Trial{}, fmt.Errorf("trying %s: the parts have changed since it was found; look for joints again", p.Name)
	}
	j, err := s.ProposedJoint(p, choice)
	if err != nil {
		return Trial{}, fmt.Errorf("trying a joint: %w", err)
	}
	t, err := s.try(ctx, all, p, j, progress)
	if err != nil {
		return Trial{}, fmt.Errorf("trying %s: %w", p.Name, err)
	}
	return t, nil
}

func (s *Session) try(ctx context.Context, all Proposals, p Proposal, j Joint, progress job.Progress) (Trial, error) {
	k := kinematics.Joint{Kind: j.Kind, Frame: j.Frame, Pitch: j.Pitch}
	twists := k.Twists()
	if len(twists) == 0 {
		return Trial{}, ErrNothingMoves
	}
	t := Trial{Freedom: j.Kind.Freedom(0)}
	t.Moving, t.Still, t.Followers = s.movedBy(all, p)
	if len(t.Still) == 0 {
		return Trial{}, ErrNothingStill
	}
	far, least := tryTurn, blockedTurn
	if !t.Freedom.Turns {
		size := s.Parts[p.Child].Mesh.Diagonal()
		far, least = trySlide*size, blockedSlide*size
	}
	t.Searched = kinematics.Range{Lower: -far, Upper: far}
	by, _ := alongOf(j, twists[0])
	free, err := freeBy(ctx, bodies(s.Parts, t.Moving), bodies(s.Parts, t.Still), by, t.Searched, progress)
	if err != nil {
		return Trial{}, err
	}
	t.Free = free
	for _, e := range []*contact.Event{free.Lower, free.Upper} {
		if e != nil {
			t.Stops = append(t.Stops, TrialStop{e.Value, s.Parts[t.Moving[e.Moving]].Name, s.Parts[t.Still[e.Still]].Name})
		}
	}
	// Contact does not count what touches as modelled, since facets of a true fit
	// may seem to be in the way. A fit that turning would press on both ways is none.
	for _, r := range free.Rest {
		if stop := (TrialStop{0, s.Parts[t.Moving[r.Moving]].Name, s.Parts[t.Still[r.Still]].Name}); r.Kind == contact.Touch &&
			r.Blocks == "both" && !slices.Contains(t.Presses, stop) {
			t.Presses = append(t.Presses, stop)
		}
	}
	r := t.Range()
	t.Blocked = len(t.Presses) > 0 || r.Lower > -least && r.Upper < least
	t.Words = t.word(findingWriter{session: s}, s.Parts[p.Child].Name)
	return t, nil
}

// freeBy returns how far bodies go by a motion before they meet still ones,
// within a range.
func freeBy(ctx context.Context, moving, still []contact.Body, by contact.Motion, over kinematics.Range, progress job.Progress) (contact.Result, error) {
	tell(progress, 0, "Seeking contact")
	scene, err := contact.NewScene(ctx, moving, still, by, contact.Options{Progress: job.Stage(progress, 0, 0.5)})
	if err != nil {
		return contact.Result{}, err
	}
	free, err := scene.FreeRange(ctx, over)
	tell(progress, 1, "Done")
	return free, err
}

// movedBy divides the parts into those that a proposal moves, those that stand
// still, and those of the latter that another joint holds to what moves: they
// close a loop and would follow.
func (s *Session) movedBy(all Proposals, p Proposal) (moving, still, followers []int) {
	moves := make([]bool, len(s.Parts))
	for _, i := range p.Moves {
		moves[i] = true
	}
	follows := make([]bool, len(s.Parts))
	join := func(a, b int) {
		if a < 0 || b < 0 || moves[a] == moves[b] {
			return
		}
		if moves[b] {
			a, b = b, a
		}
		follows[b] = b != p.Parent
	}
	for _, q := range all.List {
		if q.Confidence >= surelyJoined {
			join(q.Parent, q.Child)
		}
	}
	for _, j := range s.Doc.Joints {
		join(s.Doc.PartIndex(j.Parent), s.Doc.PartIndex(j.Child))
	}
	for _, f := range all.Fixed { // what is fastened to a follower follows too
		if !moves[f.Part] && f.To >= 0 && follows[f.To] {
			follows[f.Part] = f.Part != p.Parent
		}
	}
	for i := range s.Parts {
		switch {
		case moves[i]:
			moving = append(moving, i)
		case follows[i]:
			followers = append(followers, i)
		default:
			still = append(still, i)
		}
	}
	return moving, still, followers
}

// word tells what a trial shows, without a full stop.
func (t Trial) word(w findingWriter, child string) string {
	verb := "turns"
	if !t.Freedom.Turns {
		verb = "slides"
	}
	far := w.valueText(t.Freedom, t.Searched.Upper)
	if t.Freedom.Turns {
		far = digits(math.Round(kinematics.Degrees(t.Searched.Upper)), 2) + "°"
	}
	stops := make([]string, len(t.Stops))
	for i, e := range t.Stops {
		stops[i] = "at " + w.valueText(t.Freedom, e.Value) + " by " + e.Meets
		if e.Part != child {
			stops[i] += ", which " + e.Part + " meets"
		}
	}
	switch {
	case len(t.Presses) > 0 && t.Presses[0].Part == child:
		return "blocked as modelled: it would press into " + t.Presses[0].Meets + ", which it touches, both ways"
	case len(t.Presses) > 0:
		return "blocked as modelled: " + t.Presses[0].Part + " would press into " + t.Presses[0].Meets + ", which it touches, both ways"
	case len(stops) == 0:
		return verb + " " + far + " both ways without new contact"
	case t.Blocked:
		return "blocked as modelled: stopped " + strings.Join(stops, " and ")
	case len(stops) == 2:
		return "stopped " + strings.Join(stops, " and ")
	}
	return "stopped " + stops[0] + "; " + verb + " " + far + " the other way"
}
