package strip

import (
	"image/color"
	"math"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"pintle/app/ui/figures"
	"pintle/app/ui/style"
)

// Curve is a quantity over the joint value. At and Value have equal lengths;
// NaN values leave a gap.
type Curve struct {
	Name, Unit string
	At, Value  []float64
	// Here is a value and what was measured there, which the cursor tells in place of
	// the curve's own; nil for none.
	Here  *[2]float64
	Least *[2]float64 // where the curve's least value is marked, and the value; nil: nowhere
}

// Data is what a Ruler shows. Values along the ruler are degrees, or model
// units where Slider is set.
type Data struct {
	Lower, Upper *float64    // first contact either way, nil where free
	Limits       *[2]float64 // the joint's limits, nil where unlimited
	// Searched is where contacts were sought: the ruler reaches half as far again,
	// however far the flags are, and the band no further; nil: everywhere.
	Searched *[2]float64
	Curve    Curve
	Slider   bool
	Far      float64 // of a slider: how far the ruler reaches where nothing stops it; 0: 1
	Unit     string  // of a slider's values
}

var (
	_ fyne.Draggable     = (*Ruler)(nil)
	_ fyne.Focusable     = (*Ruler)(nil)
	_ desktop.Mouseable  = (*Ruler)(nil)
	_ desktop.Cursorable = (*Ruler)(nil)
	_ fyne.Scrollable    = (*Ruler)(nil)
)

// Ruler shows a joint's range as a ruler with a cursor. Dragging, the arrow
// keys (with Page keys for ten steps) and the wheel move the cursor.
type Ruler struct {
	widget.BaseWidget
	OnValue func(v float64) // the user moved the cursor

	data    Data
	value   float64
	focused bool
}

// NewRuler returns an empty ruler.
func NewRuler(onValue func(float64)) *Ruler {
	r := &Ruler{OnValue: onValue}
	r.ExtendBaseWidget(r)
	return r
}

// SetData replaces what the ruler shows.
func (r *Ruler) SetData(d Data) {
	r.data = d
	r.Refresh()
}

// Value returns where the cursor stands.
func (r *Ruler) Value() float64 { return r.value }

// SetValue moves the cursor without calling OnValue.
func (r *Ruler) SetValue(v float64) {
	if v != r.value {
		r.value = v
		r.Refresh()
	}
}

func (r *Ruler) ends() (float64, float64) {
	lo, hi := -180.0, 180.0
	if r.data.Slider {
		lo, hi = -1, 1
		if far := r.data.Far; far > 0 {
			lo, hi = -far, far
		}
	}
	d := r.data
	if d.Lower != nil {
		lo = *d.Lower
	}
	if d.Upper != nil {
		hi = *d.Upper
	}
	if d.Limits != nil {
		lo, hi = min(lo, d.Limits[0]), max(hi, d.Limits[1])
		if d.Lower == nil && d.Upper == nil {
			lo, hi = d.Limits[0], d.Limits[1]
		}
	}
	if d.Searched != nil {
		lo, hi = 1.5*d.Searched[0], 1.5*d.Searched[1]
	}
	lo, hi = min(lo, r.value, 0), max(hi, r.value, 0)
	return around(lo, hi, !d.Slider)
}

func (r *Ruler) span() span {
	lo, hi := r.ends()
	const margin = 34
	return span{lo: lo, hi: hi, left: margin, width: max(1, r.Size().Width-2*margin)}
}

func (r *Ruler) moveTo(v float64) {
	if v == r.value {
		return
	}
	r.value = v
	r.Refresh()
	if r.OnValue != nil {
		r.OnValue(v)
	}
}

// MouseDown puts the cursor under the mouse and takes the keyboard.
func (r *Ruler) MouseDown(e *desktop.MouseEvent) {
	if c := fyne.CurrentApp().Driver().CanvasForObject(r); c != nil {
		c.Focus(r)
	}
	r.moveTo(r.span().value(e.Position.X))
}

// MouseUp does nothing; it completes desktop.Mouseable.
func (r *Ruler) MouseUp(*desktop.MouseEvent) {}

// Dragged moves the cursor along.
func (r *Ruler) Dragged(e *fyne.DragEvent) { r.moveTo(r.span().value(e.Position.X)) }

// DragEnd does nothing; it completes fyne.Draggable.
func (r *Ruler) DragEnd() {}

// Scrolled moves the cursor by single steps.
func (r *Ruler) Scrolled(e *fyne.ScrollEvent) {
	if e.Scrolled.DY != 0 {
		r.step(math.Copysign(1, float64(e.Scrolled.DY)))
	}
}

// Cursor shows that the ruler is dragged sideways.
func (r *Ruler) Cursor() desktop.Cursor { return desktop.HResizeCursor }

// FocusGained shows the focus ring.
func (r *Ruler) FocusGained() { r.focused = true; r.Refresh() }

// FocusLost hides the focus ring.
func (r *Ruler) FocusLost() { r.focused = false; r.Refresh() }

// TypedRune does nothing; it completes fyne.Focusable.
func (r *Ruler) TypedRune(rune) {}

// TypedKey moves the cursor: arrows by one step, Page keys by ten, Home and
// End to the ends of the free range.
func (r *Ruler) TypedKey(e *fyne.KeyEvent) {
	switch e.Name {
	case fyne.KeyLeft:
		r.step(-1)
	case fyne.KeyRight:
		r.step(1)
	case fyne.KeyPageDown:
		r.step(-10)
	case fyne.KeyPageUp:
		r.step(10)
	case fyne.KeyHome:
		r.toEnd(r.data.Lower)
	case fyne.KeyEnd:
		r.toEnd(r.data.Upper)
	}
}

func (r *Ruler) toEnd(v *float64) {
	if v != nil {
		r.moveTo(*v)
	}
}

func (r *Ruler) step(n float64) {
	unit := 1.0
	if lo, hi := r.ends(); r.data.Slider {
		unit = (hi - lo) / 200
	}
	lo, hi := r.ends()
	r.moveTo(min(max(r.value+n*unit, lo), hi))
}

// CreateRenderer draws ruler, range, curve and cursor.
func (r *Ruler) CreateRenderer() fyne.WidgetRenderer {
	return &rulerRenderer{r: r}
}

type rulerRenderer struct {
	r       *Ruler
	objects []fyne.CanvasObject
}

func (rr *rulerRenderer) MinSize() fyne.Size            { return fyne.NewSize(320, 118) }
func (rr *rulerRenderer) Objects() []fyne.CanvasObject  { return rr.objects }
func (rr *rulerRenderer) Destroy()                      {}
func (rr *rulerRenderer) Layout(fyne.Size)              { rr.draw() }
func (rr *rulerRenderer) Refresh()                      { rr.draw(); canvas.Refresh(rr.r) }
func (rr *rulerRenderer) add(o ...fyne.CanvasObject)    { rr.objects = append(rr.objects, o...) }
func (rr *rulerRenderer) baseline() float32             { return rr.r.Size().Height - 26 }
func (rr *rulerRenderer) tone(t style.Tone) color.Color { return theme.Color(t) }

func (rr *rulerRenderer) format(v float64, prec int) string {
	if rr.r.data.Slider {
		return figures.Fixed(v, prec) + " " + rr.r.data.Unit
	}
	return figures.Fixed(v, prec) + "°"
}

func (rr *rulerRenderer) line(x1, y1, x2, y2, w float32, t style.Tone) {
	l := canvas.NewLine(rr.tone(t))
	l.StrokeWidth = w
	l.Position1, l.Position2 = fyne.NewPos(x1, y1), fyne.NewPos(x2, y2)
	rr.add(l)
}

// text puts s with its middle (align 0), left (1) or right (-1) edge at x.
func (rr *rulerRenderer) text(s string, x, y float32, align int, t style.Tone, bold bool) {
	c := canvas.NewText(s, rr.tone(t))
	c.TextSize, c.TextStyle = 11, fyne.TextStyle{Bold: bold}
	w := fyne.MeasureText(s, c.TextSize, c.TextStyle)
	switch align {
	case 0:
		x -= w.Width / 2
	case -1:
		x -= w.Width
	}
	x = min(max(x, 0), max(0, rr.r.Size().Width-w.Width))
	c.Move(fyne.NewPos(x, y))
	c.Resize(w)
	rr.add(c)
}
