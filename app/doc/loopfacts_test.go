package doc_test

import (
	"context"
	"errors"
	"math"
	"testing"

	"pintle/app/doc"
	"pintle/kinematics"
	"pintle/kinematics/loop"
)

// The drawbridge's strut is told for what it is, with the leaf's reach by the
// limits and, without them, the poses in which the strut could not lift it: foot,
// hinge and head in line.
func TestLoopFactsOfTheDrawbridge(t *testing.T) {
	s := drawbridge(t)
	list := must[[]doc.LoopFacts](t)(s.LoopFacts(context.Background(), nil))
	if len(list) != 1 || list[0].Kind != "strut" || list[0].Mobility.Freedoms != 1 || list[0].Mobility.Kutzbach != -2 || list[0].Misfit.Length > 1e-9 {
		t.Fatalf("facts %+v", list)
	}
	d := list[0].Drivers[0]
	near := func(what string, got, want float64) {
		t.Helper()
		if !(math.Abs(got-want) < 1e-6) {
			t.Errorf("%s %v, want %v", what, got, want)
		}
	}
	if d.Reach.Lower.Reason != loop.AtLimit || d.Reach.Upper.Reason != loop.AtLimit {
		t.Errorf("reach %+v", d.Reach)
	}
	near("from", d.Reach.Range.Lower, kinematics.Radians(-37))
	near("to", d.Reach.Range.Upper, kinematics.Radians(26))

	open := s.Doc
	for _, j := range s.Doc.Joints {
		open = must[doc.Document](t)(open.EditJoint(j.Name, func(j doc.Joint) doc.Joint { j.Limits = nil; return j }))
	}
	s = must[*doc.Session](t)(s.With(open))
	list = must[[]doc.LoopFacts](t)(s.LoopFacts(context.Background(), nil))
	d = list[0].Drivers[0]
	if d.Reach.Upper.Reason != loop.FullTurn {
		t.Errorf("reach %+v", d.Reach)
	}
	// The angle from foot to head about the hinge, as modelled.
	phi := math.Atan2(-40, 300) + kinematics.Radians(37) - math.Atan2(-196, 46)
	locks := 0
	for _, l := range d.Locks {
		if l.Joint.Joint == "strut slide" {
			near("foot, hinge and head in line", math.Remainder(phi+l.At, math.Pi), 0)
			locks++
		}
	}
	if locks != 2 {
		t.Errorf("the slide locks %d times a turn: %+v", locks, d.Locks)
	}

	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := s.LoopFacts(ctx, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
}
