package paper

import (
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"pintle/app/ui/style"
)

// Section returns a small bold head over a hairline, as on a data sheet.
func Section(title string) fyne.CanvasObject {
	head := label(title, style.Faded, small, fyne.TextStyle{Bold: true})
	return container.NewVBox(Gap(6), head, Rule())
}

// Rule returns a hairline across.
func Rule() *canvas.Line {
	l := canvas.NewLine(ink(style.Rule))
	l.StrokeWidth = 1
	return l
}

// Gap returns h units of vertical space.
func Gap(h float32) fyne.CanvasObject {
	r := canvas.NewRectangle(color.Transparent)
	r.SetMinSize(fyne.NewSize(1, h))
	return r
}

// Row is one property: a faded label at the left, the value set right in
// figures. Values too long for the row lose their middle of the label first.
type Row struct {
	widget.BaseWidget
	label, value string
	tone         style.Tone
	swatch       style.Tone
}

// NewRow returns a row with its value in a tone.
func NewRow(label, value string, tone style.Tone) *Row {
	r := &Row{label: label, value: value, tone: tone}
	r.ExtendBaseWidget(r)
	return r
}

// WithSwatch puts a short line of that colour before the label.
func (r *Row) WithSwatch(t style.Tone) *Row {
	r.swatch = t
	return r
}

// Set changes the value and its tone.
func (r *Row) Set(value string, tone style.Tone) {
	if r.value == value && r.tone == tone {
		return
	}
	r.value, r.tone = value, tone
	r.Refresh()
}

// CreateRenderer draws label and value on one base line.
func (r *Row) CreateRenderer() fyne.WidgetRenderer {
	rr := &rowRenderer{
		r: r, label: Plain("", style.Faded), value: Number("", style.Ink),
		swatch: canvas.NewLine(color.Transparent),
	}
	rr.swatch.StrokeWidth = 2
	rr.value.Alignment = fyne.TextAlignTrailing
	rr.Refresh()
	return rr
}

type rowRenderer struct {
	r            *Row
	label, value *canvas.Text
	swatch       *canvas.Line
}

func (rr *rowRenderer) MinSize() fyne.Size { return fyne.NewSize(120, 21) }

func (rr *rowRenderer) Layout(s fyne.Size) {
	vw := fyne.MeasureText(rr.r.value, rr.value.TextSize, rr.value.TextStyle).Width
	x := float32(0)
	if rr.r.swatch != "" {
		x = 28
		rr.swatch.Position1 = fyne.NewPos(0, s.Height/2)
		rr.swatch.Position2 = fyne.NewPos(20, s.Height/2)
	}
	room := s.Width - vw - x - 8
	rr.label.Text = fitted(rr.r.label, max(room, 20), rr.label.TextSize, rr.label.TextStyle)
	rr.value.Text = fitted(rr.r.value, s.Width-x, rr.value.TextSize, rr.value.TextStyle)
	lh, vh := rr.label.MinSize().Height, rr.value.MinSize().Height
	rr.label.Move(fyne.NewPos(x, (s.Height-lh)/2))
	rr.label.Resize(fyne.NewSize(room, lh))
	rr.value.Move(fyne.NewPos(0, (s.Height-vh)/2))
	rr.value.Resize(fyne.NewSize(s.Width, vh))
}

func (rr *rowRenderer) Refresh() {
	rr.label.Color = ink(style.Faded)
	rr.value.Color = ink(rr.r.tone)
	rr.swatch.StrokeColor = color.Transparent
	if rr.r.swatch != "" {
		rr.swatch.StrokeColor = ink(rr.r.swatch)
		rr.label.Color = ink(style.Ink)
	}
	rr.Layout(rr.r.Size())
	rr.label.Refresh()
	rr.value.Refresh()
	rr.swatch.Refresh()
}

func (rr *rowRenderer) Objects() []fyne.CanvasObject {
	return []fyne.CanvasObject{rr.swatch, rr.label, rr.value}
}
func (rr *rowRenderer) Destroy() {}

// Para is wrapped text in a tone.
func Para(s string, tone style.Tone) fyne.CanvasObject {
	t := widget.NewRichText(&widget.TextSegment{Text: s, Style: widget.RichTextStyle{
		ColorName: tone, SizeName: "text",
	}})
	t.Wrapping = fyne.TextWrapWord
	return Inset(-theme.InnerPadding(), -4, -theme.InnerPadding(), -4, t)
}

// Note is a boxed remark with a coloured edge: a finding or a hint.
func Note(s string, edge style.Tone) fyne.CanvasObject {
	bar := canvas.NewRectangle(ink(edge))
	bar.SetMinSize(fyne.NewSize(4, 1))
	sheet := canvas.NewRectangle(ink(style.Paper))
	sheet.StrokeColor, sheet.StrokeWidth, sheet.CornerRadius = ink(edge), 1, 2
	return container.NewStack(sheet, container.NewBorder(nil, nil, bar, nil, Inset(10, 6, 8, 6, Para(s, style.Ink))))
}

// Fixed gives an object a fixed width and its natural height.
func Fixed(width float32, o fyne.CanvasObject) fyne.CanvasObject {
	return container.New(fixedWidth(width), o)
}

type fixedWidth float32

func (w fixedWidth) MinSize(o []fyne.CanvasObject) fyne.Size {
	h := float32(0)
	for _, c := range o {
		h = max(h, c.MinSize().Height)
	}
	return fyne.NewSize(float32(w), h)
}

func (w fixedWidth) Layout(o []fyne.CanvasObject, s fyne.Size) {
	for _, c := range o {
		c.Resize(s)
		c.Move(fyne.NewPos(0, 0))
	}
}

// Inset keeps clear space round an object.
func Inset(left, top, right, bottom float32, o fyne.CanvasObject) fyne.CanvasObject {
	return container.New(inset{left, top, right, bottom}, o)
}

type inset struct{ left, top, right, bottom float32 }

func (i inset) MinSize(o []fyne.CanvasObject) fyne.Size {
	s := o[0].MinSize()
	return s.Add(fyne.NewSize(i.left+i.right, i.top+i.bottom))
}

func (i inset) Layout(o []fyne.CanvasObject, s fyne.Size) {
	o[0].Move(fyne.NewPos(i.left, i.top))
	o[0].Resize(fyne.NewSize(max(0, s.Width-i.left-i.right), max(0, s.Height-i.top-i.bottom)))
}
