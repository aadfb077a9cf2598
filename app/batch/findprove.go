package batch

import (
	"context"
	"errors"

	"pintle/app/doc"
	"pintle/app/doc/wire"
	"pintle/kinematics"
)

// foundMotion is what moving a joint a little both ways shows.
type foundMotion struct {
	// Free is how far it goes, within what was searched: degrees, or model units
	// where it slides; null where nothing moves.
	Free      *[2]wire.Num `json:"free"`
	Blocked   bool         `json:"blocked"`
	StoppedBy []foundStop  `json:"stopped_by"`
	Words     string       `json:"words"`
}

// foundStop is a contact.
type foundStop struct {
	At   wire.Num `json:"at"`   // as Free; 0 for what touches as modelled and blocks both ways
	Part string   `json:"part"` // the still one
	By   string   `json:"by"`   // the moving one
}

// prove moves every joint of the answer by its best axis. A joint that cannot be
// tried says why; it fails only when ctx is done.
func (a *findAnswer) prove(ctx context.Context, s *doc.Session, found doc.Proposals, least float64) error {
	a.proven = true
	sure, doubtful := 0, 0
	for _, p := range found.List {
		list, n := a.Joints, &sure
		if p.Confidence < least {
			list, n = a.Doubtful, &doubtful
		}
		t, err := s.Try(ctx, found, p, 0, nil)
		if ctx.Err() != nil {
			return ctx.Err()
		}
		list[*n].Motion = newFoundMotion(t, err)
		*n++
	}
	return nil
}

func newFoundMotion(t doc.Trial, err error) *foundMotion {
	if err != nil {
		for inner := err; inner != nil; inner = errors.Unwrap(inner) {
			err = inner
		}
		return &foundMotion{StoppedBy: []foundStop{}, Words: err.Error()}
	}
	num := func(v float64) wire.Num {
		if t.Freedom.Turns {
			v = kinematics.Degrees(v)
		}
		return wire.Num(v)
	}
	r := t.Range()
	m := &foundMotion{Free: &[2]wire.Num{num(r.Lower), num(r.Upper)}, Blocked: t.Blocked, StoppedBy: []foundStop{}, Words: t.Words}
	for _, list := range [][]doc.TrialStop{t.Presses, t.Stops} {
		for _, e := range list {
			m.StoppedBy = append(m.StoppedBy, foundStop{num(e.Value), e.Meets, e.Part})
		}
	}
	return m
}
