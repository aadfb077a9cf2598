package paper

import (
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/widget"

	"pintle/app/ui/style"
)

// Weight is how much a button asks for attention.
type Weight int

// The button weights: one Primary at a time on a screen.
const (
	Outlined Weight = iota
	Primary
	Quiet
	Toggle // a word that is bold while on
)

var (
	_ fyne.Tappable      = (*Button)(nil)
	_ fyne.Focusable     = (*Button)(nil)
	_ fyne.Disableable   = (*Button)(nil)
	_ desktop.Hoverable  = (*Button)(nil)
	_ desktop.Cursorable = (*Button)(nil)
)

// Button is a word that does something. It takes the keyboard: Tab reaches
// it, Space or Return presses it.
type Button struct {
	widget.DisableableWidget
	touch
	Text     string
	Weight   Weight
	On       bool // Toggle only
	OnTapped func()
}

// NewButton returns a button of the given weight.
func NewButton(text string, w Weight, tapped func()) *Button {
	b := &Button{Text: text, Weight: w, OnTapped: tapped}
	b.touch = touch{redraw: b.Refresh, press: b.pressed}
	b.ExtendBaseWidget(b)
	return b
}

// SetText changes the word.
func (b *Button) SetText(s string) {
	if b.Text != s {
		b.Text = s
		b.Refresh()
	}
}

// SetOn turns a toggle on or off without calling OnTapped.
func (b *Button) SetOn(on bool) {
	if b.On != on {
		b.On = on
		b.Refresh()
	}
}

// SetEnabled enables or disables the button.
func (b *Button) SetEnabled(on bool) {
	if on == !b.Disabled() {
		return
	}
	if on {
		b.Enable()
	} else {
		b.Disable()
	}
}

func (b *Button) pressed() {
	if !b.Disabled() && b.OnTapped != nil {
		b.OnTapped()
	}
}

// Cursor shows a pointer over an enabled button.
func (b *Button) Cursor() desktop.Cursor {
	if b.Disabled() {
		return desktop.DefaultCursor
	}
	return desktop.PointerCursor
}

// CreateRenderer draws a word in a box.
func (b *Button) CreateRenderer() fyne.WidgetRenderer {
	r := &buttonRenderer{b: b, box: canvas.NewRectangle(color.Transparent), word: Plain("", style.Ink)}
	r.word.Alignment = fyne.TextAlignCenter
	r.box.CornerRadius = 2
	r.Refresh()
	return r
}

type buttonRenderer struct {
	b    *Button
	box  *canvas.Rectangle
	word *canvas.Text
}

func (r *buttonRenderer) padding() (h, v float32) {
	if r.b.Weight == Toggle || r.b.Weight == Quiet {
		return 8, 4
	}
	return 14, 6
}

// MinSize leaves room for the bold word, so that a toggle does not jump.
func (r *buttonRenderer) MinSize() fyne.Size {
	h, v := r.padding()
	return fyne.MeasureText(r.b.Text, normal, fyne.TextStyle{Bold: true}).Add(fyne.NewSize(2*h, 2*v))
}

func (r *buttonRenderer) Layout(s fyne.Size) {
	r.box.Resize(s)
	h := r.word.MinSize().Height
	r.word.Resize(fyne.NewSize(s.Width, h))
	r.word.Move(fyne.NewPos(0, (s.Height-h)/2))
}

func (r *buttonRenderer) Refresh() {
	b := r.b
	fill, line, tone, bold := color.Color(color.Transparent), color.Color(color.Transparent), style.Ink, false
	switch b.Weight {
	case Primary:
		fill, line, tone, bold = ink(style.Accent), ink(style.Accent), style.OnInk, true
	case Outlined:
		fill, line = ink(style.Paper), ink(style.Ink)
	case Toggle:
		tone, bold = style.Faded, b.On
		if b.On {
			tone = style.Ink
		}
	}
	if b.Disabled() {
		fill, tone = color.Transparent, style.Faded
		if b.Weight == Outlined || b.Weight == Primary {
			line = ink(style.Rule)
		}
	} else if b.hovered {
		if b.Weight == Primary {
			line = ink(style.Ink)
		} else {
			fill = hoverTint()
		}
	}
	r.box.StrokeWidth = 1
	if b.focused {
		line, r.box.StrokeWidth = ink(style.Reach), 2
	}
	r.box.FillColor, r.box.StrokeColor = fill, line
	r.word.Text, r.word.Color = b.Text, ink(tone)
	r.word.TextStyle = fyne.TextStyle{Bold: bold}
	r.box.Refresh()
	r.word.Refresh()
}

func (r *buttonRenderer) Objects() []fyne.CanvasObject { return []fyne.CanvasObject{r.box, r.word} }
func (r *buttonRenderer) Destroy()                     {}

func hoverTint() color.Color {
	c := color.NRGBAModel.Convert(ink(style.Ink)).(color.NRGBA)
	c.A = 20
	return c
}
