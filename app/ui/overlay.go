package ui

import (
	"image/color"
	"strings"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"pintle/app/handover"
	"pintle/app/ui/desk"
	"pintle/app/ui/paper"
	"pintle/app/ui/style"
)

// waiting is the plate over the drawing while long work runs.
type waiting struct {
	what *canvas.Text
	bar  *widget.ProgressBar
	root *fyne.Container
}

func newWaiting(cancel func()) *waiting {
	w := &waiting{what: paper.Plain("", style.Ink), bar: widget.NewProgressBar()}
	stop := paper.NewButton("Cancel", paper.Outlined, cancel)
	body := container.NewBorder(nil, nil, nil, container.NewCenter(stop), container.NewVBox(w.what, w.bar))
	plate := canvas.NewRectangle(theme.Color(style.Panel))
	plate.StrokeColor, plate.StrokeWidth, plate.CornerRadius = theme.Color(style.Ink), 1, 2
	w.root = container.NewVBox(layout.NewSpacer(),
		container.NewCenter(paper.Fixed(460, container.NewStack(plate, paper.Inset(16, 12, 16, 12, body)))),
		paper.Gap(40))
	w.root.Hide()
	return w
}

func (w *waiting) object() fyne.CanvasObject { return w.root }

func (w *waiting) set(t *desk.Task) {
	if t == nil {
		w.root.Hide()
		return
	}
	w.what.Text = t.What
	w.what.Refresh()
	w.bar.SetValue(t.Done)
	w.root.Show()
}

// message is a line over the drawing that goes away by itself; a problem stays
// until it is clicked away or replaced.
type message struct {
	text  *widget.Label
	plate *canvas.Rectangle
	root  *fyne.Container
	timer *time.Timer
}

// messageTime is how long a message that is no problem stays.
const messageTime = 4 * time.Second

func newMessage() *message {
	m := &message{text: widget.NewLabel(""), plate: canvas.NewRectangle(color.Transparent)}
	m.text.Wrapping = fyne.TextWrapWord
	m.plate.CornerRadius, m.plate.StrokeWidth = 2, 1
	shut := paper.NewButton("Close", paper.Quiet, func() { m.root.Hide() })
	body := container.NewBorder(nil, nil, nil, container.NewCenter(shut), m.text)
	m.root = container.NewVBox(layout.NewSpacer(),
		container.NewCenter(paper.Fixed(560, container.NewStack(m.plate, paper.Inset(12, 4, 6, 4, body)))),
		paper.Gap(24))
	m.root.Hide()
	return m
}

func (m *message) object() fyne.CanvasObject { return m.root }

// show shows a sentence.
func (m *message) show(text string, problem bool) {
	if m.timer != nil {
		m.timer.Stop()
	}
	m.text.SetText(text)
	m.plate.FillColor = theme.Color(style.Panel)
	m.plate.StrokeColor = theme.Color(style.Ink)
	if problem {
		m.plate.StrokeColor = theme.Color(style.Stop)
	}
	m.plate.Refresh()
	m.root.Show()
	if !problem {
		m.timer = time.AfterFunc(messageTime, func() { fyne.Do(m.root.Hide) })
	}
}

// problem shows what went wrong in one sentence.
func (s *Shell) problem(err error) {
	text := strings.TrimSpace(err.Error())
	if text == "" {
		return
	}
	s.message.show(text, true)
}

// about says what the program is and what it is not for.
func (s *Shell) about() {
	body := container.NewVBox(
		paper.Title("Pintle"),
		paper.Para("Joints for mechanical models, by measurement: find, fit, orient, limit, prove by motion, hand over.", style.Ink),
		paper.Para(handover.Safety, style.Ink),
		paper.Small("Version "+s.app.Metadata().Version+", MIT licence", style.Faded),
	)
	d := dialog.NewCustom("About", "Close", paper.Fixed(420, body), s.win)
	d.Show()
}

// askPath asks for a folder and a file name, and whether an existing file may
// be replaced, before anything is written.
func (s *Shell) askPath(what, name string, use func(path string)) {
	d := newPathDialog(s.win, what, s.startFolder(), name, use)
	d.show()
}
