package sheet

import (
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"pintle/app/job"
	"pintle/app/ui/desk"
	"pintle/app/ui/style"
)

// reviewing returns a sheet on the proposals for a demo.
func reviewing(t *testing.T, demo string) (*Sheet, *desk.Desk) {
	t.Helper()
	s, d, _ := reviewingUntil(t, demo)
	return s, d
}

// reviewingUntil is reviewing with what waits for background work.
func reviewingUntil(t *testing.T, demo string) (*Sheet, *desk.Desk, func(what string, ok func() bool)) {
	t.Helper()
	test.NewTempApp(t).Settings().SetTheme(style.New(false))
	queue := make(chan func(), 1<<14)
	r := job.NewRunner(func(f func()) { queue <- f })
	t.Cleanup(r.Close)
	d := desk.New(r)
	d.OnProblem = func(err error) { t.Error(err) }
	until := func(what string, ok func() bool) {
		for late := time.After(2 * time.Minute); !ok(); {
			select {
			case f := <-queue:
				f()
			case <-late:
				t.Fatal("still waiting: " + what)
			}
		}
	}
	d.OpenDemo(demo, t.TempDir())
	until("the demo", func() bool { return d.Session() != nil })
	d.FindJoints()
	until("the joints", d.Reviewing)
	s := New(d, Callbacks{AcceptAbove: d.AcceptAbove})
	w := test.NewTempWindow(t, s.Object())
	w.Resize(fyne.NewSize(336, 900))
	s.Update(nil)
	return s, d, until
}

func says(s *Sheet) string {
	s.Update(nil)
	return strings.Join(words(s.box), "\n")
}

func TestReviewSheetGivesReasonsAndChoices(t *testing.T) {
	s, d := reviewing(t, "tern-arm")
	for _, row := range d.Review().Rows {
		d.LookAt(row.Number)
		text := says(s)
		for _, want := range []string{row.Title(), "WHY", "circles about the axis", "held by", "Accept", "Reject", "stands still"} {
			if !strings.Contains(text, want) {
				t.Errorf("%s: the sheet does not say %q", row.Title(), want)
			}
		}
		if strings.Contains(text, "AXES TO CHOOSE FROM") != (len(row.Choices) > 1) {
			t.Errorf("%s: %d choices, the sheet says\n%s", row.Title(), len(row.Choices), text)
		}
		if w := s.box.MinSize().Width; w > 336-2*18 {
			t.Errorf("%s: the sheet is %v wide, more than there is room", row.Title(), w)
		}
	}
}

func TestReviewSheetFollowsWhatIsDecided(t *testing.T) {
	s, d := reviewing(t, "tern-arm")
	d.AcceptFound()
	d.LookAt(1)
	if text := says(s); !strings.Contains(text, "Accepted as joint "+d.Session().Doc.Joints[0].Name) {
		t.Errorf("after accepting it says\n%s", text)
	}
	d.LookAt(2)
	d.RejectFound()
	d.LookAt(2)
	if text := says(s); !strings.Contains(text, "Take back") || !strings.Contains(text, "Rejected.") {
		t.Errorf("after rejecting it says\n%s", text)
	}
	d.SetLeast(0)
	if text := says(s); !strings.Contains(text, "Accept all 6") {
		t.Errorf("six are left, it says\n%s", text)
	}
	d.EndReview()
	if text := says(s); !strings.Contains(text, "Back to the proposals") || !strings.Contains(text, "OR PICK ONE BY HAND") {
		t.Errorf("after the review it says\n%s", text)
	}
}

func TestReviewSheetSaysThatALoopCloses(t *testing.T) {
	s, d := reviewing(t, "drawbridge")
	r := d.Review()
	last := r.Rows[len(r.Rows)-1]
	for _, row := range r.Rows {
		if row.Number != last.Number {
			d.LookAt(row.Number)
			d.AcceptFound()
		}
	}
	d.LookAt(last.Number)
	if text := says(s); !strings.Contains(text, "Closes a loop") {
		t.Errorf("it says\n%s", text)
	}
}

func TestReviewSheetTellsWhatMovingMeets(t *testing.T) {
	s, d, until := reviewingUntil(t, "tern-arm")
	seen := map[string]bool{}
	for _, row := range d.Review().Rows {
		d.LookAt(row.Number)
		for k := range row.Choices {
			d.Choose(k)
			v, _ := d.FoundTrial()
			if text := says(s); v.Busy && !strings.Contains(text, "Seeing what it meets when it moves") {
				t.Errorf("while it is tried the sheet says\n%s", text)
			}
			until("it is tried", func() bool { v, _ = d.FoundTrial(); return !v.Busy })
			brief := "Moves both ways without new contact"
			switch {
			case v.Blocked:
				brief = "Blocked as modelled"
			case len(v.Stops) > 0:
				brief = "Moves, and meets something on its way"
			}
			seen[brief] = true
			if text := says(s); !strings.Contains(text, brief) || !strings.Contains(text, sentence(v.Words)) {
				t.Errorf("%s, reading %d: no %q, %q in\n%s", row.Title(), k, brief, v.Words, text)
			}
		}
	}
	if len(seen) < 2 {
		t.Errorf("all readings of the demo do alike: %v", seen)
	}
}
