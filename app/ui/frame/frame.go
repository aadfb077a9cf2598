// Package frame lays the window out: a head across the top, an outline at the
// left, the drawing in the middle with the motion strip below it, and the
// property sheet at the right.
package frame

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"

	"pintle/app/ui/style"
)

// Fixed sizes of the window's parts in Fyne units.
const (
	headHeight  float32 = 46
	leftWidth   float32 = 252
	rightWidth  float32 = 336
	stripHeight float32 = 186
)

// Places are the five parts of the window.
type Places struct {
	Head, Left, Drawing, Strip, Right fyne.CanvasObject
}

// New lays the places out with hairlines between them.
func New(p Places) fyne.CanvasObject {
	ground := func(tone style.Tone) *canvas.Rectangle { return canvas.NewRectangle(theme.Color(tone)) }
	hair := func() *canvas.Line {
		l := canvas.NewLine(theme.Color(style.Rule))
		l.StrokeWidth = 1
		return l
	}
	f := &layout{p: p, lines: [4]*canvas.Line{hair(), hair(), hair(), hair()}}
	f.panel, f.paper = ground(style.Panel), ground(style.Paper)
	objects := []fyne.CanvasObject{f.panel, f.paper, p.Drawing, p.Strip, p.Head, p.Left, p.Right}
	for _, l := range f.lines {
		objects = append(objects, l)
	}
	return container.New(f, objects...)
}

type layout struct {
	p            Places
	panel, paper *canvas.Rectangle
	lines        [4]*canvas.Line
}

func (f *layout) MinSize([]fyne.CanvasObject) fyne.Size { return fyne.NewSize(960, 600) }

func (f *layout) Layout(_ []fyne.CanvasObject, s fyne.Size) {
	place := func(o fyne.CanvasObject, x, y, w, h float32) {
		o.Move(fyne.NewPos(x, y))
		o.Resize(fyne.NewSize(max(w, 0), max(h, 0)))
	}
	midWidth := s.Width - leftWidth - rightWidth
	strip := float32(0)
	if f.p.Strip.Visible() {
		strip = stripHeight
	}
	below := s.Height - headHeight
	place(f.panel, 0, 0, s.Width, s.Height)
	place(f.paper, leftWidth, headHeight, midWidth, below)
	place(f.p.Head, 0, 0, s.Width, headHeight)
	place(f.p.Left, 0, headHeight, leftWidth, below)
	place(f.p.Right, s.Width-rightWidth, headHeight, rightWidth, below)
	place(f.p.Drawing, leftWidth, headHeight, midWidth, below-strip)
	place(f.p.Strip, leftWidth, s.Height-strip, midWidth, strip)

	rule := func(i int, x1, y1, x2, y2 float32) {
		f.lines[i].Position1, f.lines[i].Position2 = fyne.NewPos(x1, y1), fyne.NewPos(x2, y2)
		f.lines[i].Refresh()
	}
	rule(0, 0, headHeight, s.Width, headHeight)
	rule(1, leftWidth, headHeight, leftWidth, s.Height)
	rule(2, s.Width-rightWidth, headHeight, s.Width-rightWidth, s.Height)
	rule(3, leftWidth, s.Height-strip, s.Width-rightWidth, s.Height-strip)
}
