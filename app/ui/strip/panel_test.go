package strip

import (
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"pintle/app/ui/style"
)

func panelInWindow(t *testing.T, v View) (p *Panel, moved *[]float64) {
	t.Helper()
	test.NewTempApp(t).Settings().SetTheme(style.New(false))
	p, moved = NewPanel(), new([]float64)
	win := test.NewTempWindow(t, p.Object())
	win.Resize(fyne.NewSize(900, 186))
	p.Set(v)
	p.OnValue = func(x float64) { *moved = append(*moved, x) }
	return p, moved
}

func hinge(title string) View {
	lo, hi := -30.0, 120.0
	return View{Title: title, Data: Data{Lower: &lo, Upper: &hi}}
}

// What plays is one joint: the panel must not go on with another one, nor when
// it is hidden or replaced.
func TestPlayingEndsWithItsJoint(t *testing.T) {
	p, moved := panelInWindow(t, hinge("Motion of 1  shoulder"))
	later := func() { p.tick(p.lastTick.Add(100 * time.Millisecond)) }
	p.toggle()
	p.ticker.Stop() // the test ticks by itself
	*moved = nil
	later()
	if len(*moved) != 1 || (*moved)[0] <= 0 {
		t.Fatalf("playing moved the joint to %v", *moved)
	}
	v := hinge("Motion of 1  shoulder")
	v.Value = (*moved)[0]
	p.Set(v)
	later()
	if len(*moved) != 2 || !p.playing {
		t.Errorf("playing stopped where the same joint only moved: %v", *moved)
	}
	p.Set(hinge("Motion of 2  elbow"))
	later()
	if len(*moved) != 2 || p.playing || p.play.Text != "Play" {
		t.Errorf("playing went on with another joint: %v", *moved)
	}
	p.toggle()
	p.Stop()
	p.Stop()
	*moved = nil
	later()
	if len(*moved) != 0 {
		t.Errorf("a stopped panel moved the joint: %v", *moved)
	}
}

func TestStepButtonsSpeakOfDegreesForHingesOnly(t *testing.T) {
	p, moved := panelInWindow(t, hinge("Motion of 1  shoulder"))
	test.Tap(p.more)
	if p.more.Text != "+1°" || len(*moved) != 1 || (*moved)[0] != 1 {
		t.Errorf("%q went to %v", p.more.Text, *moved)
	}
	p.Set(View{Title: "Motion of 3  strut", Data: Data{Slider: true, Unit: "mm"}})
	if p.more.Text != "+" || p.less.Text != "−" {
		t.Errorf("a slider's steps are %q and %q", p.less.Text, p.more.Text)
	}
}

func TestAdvanceTurnsRoundOrEnds(t *testing.T) {
	for _, c := range []struct {
		v, direction, share float64
		toAndFro            bool
		want, next          float64
		done                bool
	}{
		{0, 1, 0.1, true, 10, 1, false},
		{95, 1, 0.1, true, 100, -1, false},
		{95, 1, 0.1, false, 100, 1, true},
		{5, -1, 0.1, true, 0, 1, false},
		{-50, 1, 0.1, true, 0, 1, false}, // outside: back to the end
	} {
		v, direction, done := advance(c.v, c.direction, 0, 100, c.share, c.toAndFro)
		if v != c.want || direction != c.next || done != c.done {
			t.Errorf("advance(%v, %v) = %v, %v, %v", c.v, c.direction, v, direction, done)
		}
	}
	if _, _, done := advance(5, 1, 7, 7, 0.1, true); !done {
		t.Error("playing over a range of no length does not end")
	}
}

// A joint of several freedoms has a button for each; choosing one is told, and
// playing ends, since the ruler then means another motion.
func TestFreedomsAreChosenByButtons(t *testing.T) {
	v := hinge("Motion of 2  ball")
	v.Freedoms, v.Note = []string{"swing about hinge", "swing about side", "twist about reach"}, "leans 3.0°"
	p, _ := panelInWindow(t, v)
	var chosen []int
	p.OnFreedom = func(i int) { chosen = append(chosen, i) }
	if len(p.freeChoice) != 3 || !p.freeChoice[0].On || p.freeChoice[1].On || p.note.Text != v.Note {
		t.Fatalf("%d buttons, note %q", len(p.freeChoice), p.note.Text)
	}
	test.Tap(p.freeChoice[0])
	test.Tap(p.freeChoice[2])
	if len(chosen) != 1 || chosen[0] != 2 {
		t.Errorf("chosen %v", chosen)
	}
	p.toggle()
	v.Freedom = 2
	p.Set(v)
	if p.playing || !p.freeChoice[2].On || p.freeChoice[0].On {
		t.Errorf("playing %v goes on", p.playing)
	}
	p.Set(hinge("Motion of 1  shoulder"))
	if len(p.freeChoice) != 0 || len(p.freedoms.Objects) != 0 || p.note.Text != "" {
		t.Error("a hinge shows another joint's freedoms")
	}
}
