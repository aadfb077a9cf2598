package paper

import (
	"image/color"
	"strconv"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/widget"

	"pintle/app/ui/style"
)

var (
	_ fyne.Tappable     = (*Tab)(nil)
	_ fyne.Focusable    = (*Tab)(nil)
	_ desktop.Hoverable = (*Tab)(nil)
)

// Tab is one step of the work: its number and its name.
type Tab struct {
	widget.BaseWidget
	touch
	Number   int
	Text     string
	OnTapped func()

	on bool
}

// NewTab returns a step's tab.
func NewTab(number int, text string, tapped func()) *Tab {
	t := &Tab{Number: number, Text: text, OnTapped: tapped}
	t.touch = touch{redraw: t.Refresh, press: t.pressed}
	t.ExtendBaseWidget(t)
	return t
}

// SetOn shows the tab as the current step.
func (t *Tab) SetOn(on bool) {
	if t.on != on {
		t.on = on
		t.Refresh()
	}
}

func (t *Tab) pressed() {
	if t.OnTapped != nil {
		t.OnTapped()
	}
}

// CreateRenderer draws the tab as a sheet's index tab.
func (t *Tab) CreateRenderer() fyne.WidgetRenderer {
	r := &tabRenderer{
		t: t, sheet: canvas.NewRectangle(color.Transparent), edge: canvas.NewRectangle(color.Transparent),
		word: Plain("", style.Ink),
	}
	r.word.Alignment = fyne.TextAlignCenter
	r.Refresh()
	return r
}

type tabRenderer struct {
	t           *Tab
	sheet, edge *canvas.Rectangle
	word        *canvas.Text
}

func (r *tabRenderer) MinSize() fyne.Size {
	w := fyne.MeasureText(r.label(), normal, fyne.TextStyle{Bold: true}).Width
	return fyne.NewSize(w+34, 30)
}

func (r *tabRenderer) label() string { return strconv.Itoa(r.t.Number) + "  " + r.t.Text }

func (r *tabRenderer) Layout(s fyne.Size) {
	r.sheet.Resize(fyne.NewSize(s.Width, s.Height+1)) // over the hairline below
	r.edge.Resize(fyne.NewSize(s.Width, 3))
	h := r.word.MinSize().Height
	r.word.Move(fyne.NewPos(0, (s.Height-h)/2+1))
	r.word.Resize(fyne.NewSize(s.Width, h))
}

func (r *tabRenderer) Refresh() {
	r.sheet.FillColor, r.edge.FillColor = color.Transparent, color.Transparent
	r.sheet.StrokeWidth = 0
	tone := style.Faded
	switch {
	case r.t.on:
		r.sheet.FillColor, r.edge.FillColor, tone = ink(style.Paper), ink(style.Accent), style.Ink
	case r.t.hovered:
		r.sheet.FillColor = hoverTint()
	}
	if r.t.focused {
		r.sheet.StrokeColor, r.sheet.StrokeWidth = ink(style.Reach), 1
	}
	r.word.Text, r.word.Color = r.label(), ink(tone)
	r.word.TextStyle = fyne.TextStyle{Bold: r.t.on}
	for _, o := range r.Objects() {
		o.Refresh()
	}
}

func (r *tabRenderer) Objects() []fyne.CanvasObject {
	return []fyne.CanvasObject{r.sheet, r.edge, r.word}
}
func (r *tabRenderer) Destroy() {}
