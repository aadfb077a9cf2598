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
	_ fyne.Tappable     = (*Line)(nil)
	_ desktop.Hoverable = (*Line)(nil)
	_ fyne.Focusable    = (*Line)(nil)
)

// Item is what a Line of an outline shows.
type Item struct {
	Text     string
	Note     string     // at the right edge
	NoteTone style.Tone // Faded when empty
	Depth    int        // indent
	Balloon  int        // joint number, 0 for none
	Level    float64    // a share up to 1, as a small ruler before the note; 0 for none
	Selected bool
	Faint    bool // hidden part, rejected joint
}

// Line is one line of the outline at the left: indent, balloon, name, note.
type Line struct {
	widget.BaseWidget
	touch
	OnTapped func()
	OnHover  func(in bool)

	item Item
}

// NewLine returns an outline line.
func NewLine(it Item, tapped func()) *Line {
	l := &Line{item: it, OnTapped: tapped}
	l.touch = touch{redraw: l.Refresh, press: l.pressed}
	l.ExtendBaseWidget(l)
	return l
}

// Set shows another item.
func (l *Line) Set(it Item) {
	if l.item != it {
		l.item = it
		l.Refresh()
	}
}

// Item returns what the line shows.
func (l *Line) Item() Item { return l.item }

func (l *Line) pressed() {
	if l.OnTapped != nil {
		l.OnTapped()
	}
}

// MouseIn tints the line and tells the owner.
func (l *Line) MouseIn(e *desktop.MouseEvent) {
	l.touch.MouseIn(e)
	l.tell(true)
}

// MouseOut ends the tint and tells the owner.
func (l *Line) MouseOut() {
	l.touch.MouseOut()
	l.tell(false)
}

func (l *Line) tell(in bool) {
	if l.OnHover != nil {
		l.OnHover(in)
	}
}

// CreateRenderer draws the line.
func (l *Line) CreateRenderer() fyne.WidgetRenderer {
	r := &lineRenderer{
		l: l, back: canvas.NewRectangle(color.Transparent), bar: canvas.NewRectangle(color.Transparent),
		ring: canvas.NewCircle(color.Transparent), digit: label("", style.Ink, small, fyne.TextStyle{}),
		name: Plain("", style.Ink), note: Small("", style.Faded), level: newLevel(),
	}
	r.ring.StrokeWidth = 1.2
	r.digit.Alignment = fyne.TextAlignCenter
	r.Refresh()
	return r
}

type lineRenderer struct {
	l          *Line
	back, bar  *canvas.Rectangle
	ring       *canvas.Circle
	digit      *canvas.Text
	name, note *canvas.Text
	level      *level
}

const lineHeight, indent, maxIndent float32 = 27, 12, 60

func (r *lineRenderer) MinSize() fyne.Size { return fyne.NewSize(140, lineHeight) }

func (r *lineRenderer) Layout(s fyne.Size) {
	it := r.l.item
	r.back.Resize(s)
	r.bar.Resize(fyne.NewSize(4, s.Height))
	x := 16 + min(indent*float32(it.Depth), maxIndent)
	if it.Balloon > 0 {
		const d = 18
		r.ring.Move(fyne.NewPos(x, (s.Height-d)/2))
		r.ring.Resize(fyne.NewSize(d, d))
		h := r.digit.MinSize().Height
		r.digit.Move(fyne.NewPos(x, (s.Height-h)/2))
		r.digit.Resize(fyne.NewSize(d, h))
		x += d + 7
	}
	nw := float32(0)
	if it.Note != "" {
		nw = fyne.MeasureText(it.Note, r.note.TextSize, r.note.TextStyle).Width
		h := r.note.MinSize().Height
		r.note.Move(fyne.NewPos(s.Width-nw-14, (s.Height-h)/2))
		r.note.Resize(fyne.NewSize(nw, h))
	}
	if it.Level > 0 {
		r.level.place(s.Width-nw-14-levelWidth-7, s.Height/2)
		nw += levelWidth + 7
	}
	room := max(30, s.Width-x-nw-24)
	r.name.Text = fitted(it.Text, room, r.name.TextSize, r.name.TextStyle)
	h := r.name.MinSize().Height
	r.name.Move(fyne.NewPos(x, (s.Height-h)/2))
	r.name.Resize(fyne.NewSize(room, h))
}

func (r *lineRenderer) Refresh() {
	it := r.l.item
	r.back.FillColor, r.bar.FillColor = color.Transparent, color.Transparent
	r.back.StrokeColor, r.back.StrokeWidth = color.Transparent, 0
	ringTone := style.Ink
	switch {
	case it.Selected:
		r.back.FillColor, r.bar.FillColor, ringTone = ink(style.Paper), ink(style.Accent), style.Accent
	case r.l.hovered:
		r.back.FillColor = hoverTint()
	}
	if r.l.focused {
		r.back.StrokeColor, r.back.StrokeWidth = ink(style.Reach), 1
	}
	tone := style.Ink
	if it.Faint {
		tone, ringTone = style.Faded, style.Faded
	}
	r.name.Color, r.name.TextStyle = ink(tone), fyne.TextStyle{Bold: it.Selected, Italic: it.Faint && !it.Selected}
	r.ring.StrokeColor, r.digit.Text = color.Transparent, ""
	if it.Balloon > 0 {
		r.ring.StrokeColor, r.digit.Text = ink(ringTone), strconv.Itoa(it.Balloon)
		r.digit.Color = ink(ringTone)
	}
	noteTone := it.NoteTone
	if noteTone == "" {
		noteTone = style.Faded
	}
	r.note.Text, r.note.Color = it.Note, ink(noteTone)
	r.level.set(it.Level, noteTone)
	r.Layout(r.l.Size())
	for _, o := range r.Objects() {
		o.Refresh()
	}
}

func (r *lineRenderer) Objects() []fyne.CanvasObject {
	return append([]fyne.CanvasObject{r.back, r.bar, r.ring, r.digit, r.name, r.note}, r.level.objects()...)
}
func (r *lineRenderer) Destroy() {}
