package paper

import (
	"math"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/test"

	"pintle/app/ui/style"
)

// thick returns the widest line that a widget shows in a tone.
func thick(t *testing.T, w fyne.Widget, tone style.Tone) *canvas.Line {
	t.Helper()
	var best *canvas.Line
	for _, o := range test.WidgetRenderer(w).Objects() {
		if l, ok := o.(*canvas.Line); ok && l.StrokeColor == ink(tone) && (best == nil || l.StrokeWidth > best.StrokeWidth) {
			best = l
		}
	}
	if best == nil {
		t.Fatal("there is no bar")
	}
	return best
}

func TestGaugeBarIsAsLongAsItsShare(t *testing.T) {
	length := func(share float64) float32 {
		g := NewGauge(share, style.Good)
		show(t, g, 300, 40)
		l := thick(t, g, style.Good)
		return l.Position2.X - l.Position1.X
	}
	whole := length(1)
	for _, share := range []float64{0, 0.25, 0.5, 0.97} {
		if got := length(share); math.Abs(float64(got-whole*float32(share))) > 0.01 {
			t.Errorf("at %v the bar is %v long, of %v", share, got, whole)
		}
	}
	if got := length(1.5); got != whole {
		t.Errorf("beyond 1 the bar is %v long, want %v", got, whole)
	}
}

func TestGaugeSaysItsNumber(t *testing.T) {
	g := NewGauge(0.974, style.Good)
	show(t, g, 300, 40)
	if all := textsIn(g); len(all) != 4 || all[0].Text != "0.97" {
		t.Errorf("it says %d texts", len(all))
	}
}

func TestLineShowsALevelOnlyWhereThereIsOne(t *testing.T) {
	l := NewLine(Item{Text: "elbow", Note: "0.50", NoteTone: style.Check, Level: 0.5}, nil)
	show(t, l, 240, 27)
	bar := thick(t, l, style.Check)
	if got, want := bar.Position2.X-bar.Position1.X, (levelWidth-2)/2; math.Abs(float64(got-want)) > 0.01 {
		t.Errorf("half a level is %v long, want %v", got, want)
	}
	if bar.Position2.X > 240-14 {
		t.Error("the level runs into the note")
	}
	l.Set(Item{Text: "elbow", Note: "accepted", NoteTone: style.Check})
	for _, o := range test.WidgetRenderer(l).Objects() {
		if x, ok := o.(*canvas.Line); ok && x.StrokeColor == ink(style.Check) {
			t.Error("a line without a level shows one")
		}
	}
}
