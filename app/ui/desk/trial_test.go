package desk

import (
	"testing"
)

func TestTheReadingLookedAtIsTriedOnceInTheBackground(t *testing.T) {
	b := newBench(t)
	b.look("tern-arm")
	first, ok := b.FoundTrial()
	if !ok || !first.Busy {
		t.Fatalf("as the review opens: %+v", first)
	}
	settled := func() bool { v, _ := b.FoundTrial(); return !v.Busy }
	b.until("the first is tried", settled)
	first, _ = b.FoundTrial()
	if first.Err != nil || first.Words == "" || first.Blocked {
		t.Errorf("the first: %+v", first)
	}
	// Stepping on faster than trials end leaves only the last one running.
	n := len(b.Review().Rows)
	for range n - 1 {
		b.LookOn(1)
	}
	if v, _ := b.FoundTrial(); !v.Busy || v.Words != "" {
		t.Errorf("the last while it is tried: %+v", v)
	}
	b.until("the last is tried", settled)
	if got := len(b.review.trials.known); got > n || got < 2 {
		t.Errorf("%d trials are known of %d proposals", got, n)
	}
	// Back at the first it is still known, and nothing runs.
	b.LookOn(1)
	if v, _ := b.FoundTrial(); v.Busy || v.Words != first.Words {
		t.Errorf("back at the first: %+v", v)
	}
	if b.review.trials.busy {
		t.Error("something is tried that is known")
	}
	b.EndReview()
	if _, ok := b.FoundTrial(); ok {
		t.Error("there is a trial outside the review")
	}
	if len(b.problems) > 0 {
		t.Error(b.problems)
	}
}

func TestEachReadingHasItsOwnTrial(t *testing.T) {
	b := newBench(t)
	r := b.look("tern-arm")
	for _, row := range r.Rows {
		b.LookAt(row.Number)
		for k := range row.Choices {
			b.Choose(k)
			b.until("it is tried", func() bool { v, _ := b.FoundTrial(); return !v.Busy })
			v, _ := b.FoundTrial()
			c, _ := b.FoundChoice()
			want, err := b.Session().Try(t.Context(), b.review.found, row.Proposal, k, nil)
			if (err == nil) != (v.Err == nil) || v.Words != want.Words || v.Freedom != want.Freedom {
				t.Errorf("%s, %s: %q, want %q", row.Title(), c.Kind, v.Words, want.Words)
			}
		}
	}
}
