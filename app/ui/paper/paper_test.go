package paper

import (
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/test"

	"pintle/app/ui/style"
)

func show(t *testing.T, o fyne.CanvasObject, w, h float32) {
	t.Helper()
	test.NewTempApp(t).Settings().SetTheme(style.New(false))
	win := test.NewTempWindow(t, o)
	win.SetPadded(false)
	win.Resize(fyne.NewSize(w, h))
}

func TestButtonPressesByMouseAndKeys(t *testing.T) {
	n := 0
	b := NewButton("Make hinge", Primary, func() { n++ })
	show(t, b, 120, 30)
	test.Tap(b)
	b.TypedKey(&fyne.KeyEvent{Name: fyne.KeyReturn})
	b.TypedRune(' ')
	b.TypedRune('x')
	if n != 3 {
		t.Errorf("pressed %d times, want 3", n)
	}
	b.SetEnabled(false)
	test.Tap(b)
	b.TypedRune(' ')
	if n != 3 {
		t.Error("a disabled button was pressed")
	}
}

func TestToggleKeepsItsSize(t *testing.T) {
	b := NewButton("see-through", Toggle, nil)
	show(t, b, 200, 30)
	off := b.MinSize()
	b.SetOn(true)
	if on := b.MinSize(); on != off {
		t.Errorf("size %v while off, %v while on", off, on)
	}
}

// textsIn collects the words that a widget shows.
func textsIn(w fyne.Widget) []*canvas.Text {
	var all []*canvas.Text
	for _, o := range test.WidgetRenderer(w).Objects() {
		if x, ok := o.(*canvas.Text); ok && x.Text != "" {
			all = append(all, x)
		}
	}
	return all
}

func TestRowNeverOverlapsItsOwnValue(t *testing.T) {
	for _, width := range []float32{120, 180, 270, 400} {
		r := NewRow("one sigma of the axis direction", "-0.1325  0.1700  0.9765", style.Ink)
		show(t, r, width, 21)
		x := textsIn(r)
		if len(x) != 2 {
			t.Fatalf("row shows %d texts, want 2", len(x))
		}
		labelEnd := x[0].Position().X + fyne.MeasureText(x[0].Text, x[0].TextSize, x[0].TextStyle).Width
		valueStart := x[1].Position().X + x[1].Size().Width - fyne.MeasureText(x[1].Text, x[1].TextSize, x[1].TextStyle).Width
		if width >= 270 && labelEnd > valueStart {
			t.Errorf("at width %v the label ends at %v, behind the value's start %v", width, labelEnd, valueStart)
		}
		if fyne.MeasureText(x[1].Text, x[1].TextSize, x[1].TextStyle).Width > width {
			t.Errorf("at width %v the value %q is wider than the row", width, x[1].Text)
		}
	}
}

func TestFittedShortensWithEllipsis(t *testing.T) {
	test.NewTempApp(t).Settings().SetTheme(style.New(false))
	st := fyne.TextStyle{}
	if got := fitted("wrist", 400, normal, st); got != "wrist" {
		t.Errorf("a word with room became %q", got)
	}
	got := fitted(strings.Repeat("long ", 30), 80, normal, st)
	if !strings.HasSuffix(got, "…") || fyne.MeasureText(got, normal, st).Width > 80 {
		t.Errorf("fitted gave %q", got)
	}
}

func TestLineNameAndNoteDoNotMeet(t *testing.T) {
	l := NewLine(Item{Text: "finger 3 with a long name", Note: "no evidence", Depth: 9, Balloon: 7, Selected: true}, nil)
	show(t, l, 240, lineHeight)
	var name, note *canvas.Text
	for _, x := range textsIn(l) {
		switch {
		case strings.HasPrefix(x.Text, "finger"):
			name = x
		case x.Text == "no evidence":
			note = x
		}
	}
	if name == nil || note == nil {
		t.Fatal("name or note is not shown")
	}
	end := name.Position().X + fyne.MeasureText(name.Text, name.TextSize, name.TextStyle).Width
	if end > note.Position().X {
		t.Errorf("the name ends at %v, behind the note's start %v", end, note.Position().X)
	}
}

func TestLineTellsOfHoverAndTap(t *testing.T) {
	taps, in := 0, false
	l := NewLine(Item{Text: "pedestal"}, func() { taps++ })
	l.OnHover = func(b bool) { in = b }
	show(t, l, 240, lineHeight)
	test.Tap(l)
	l.MouseIn(nil)
	if taps != 1 || !in {
		t.Errorf("taps %d, hovered %v", taps, in)
	}
	l.MouseOut()
	if in {
		t.Error("still hovered after the mouse left")
	}
}
