// Package sheet is the property sheet at the right: what is selected, in
// numbers, with the controls that change it. One file a screen.
package sheet

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/widget"

	"pintle/app/ui/desk"
	"pintle/app/ui/paper"
	"pintle/app/ui/style"
)

// Callbacks are what a sheet asks the window for: things that need a dialog.
type Callbacks struct {
	OpenFile       func()
	OpenDemo       func(name string)
	SaveDocument   func()
	ExportSpec     func()
	ExportEnvelope func()
	AcceptAbove    func()
}

// Sheet shows the desk's selection. It is built anew whenever what it shows
// changes.
type Sheet struct {
	desk *desk.Desk
	cb   Callbacks
	box  *fyne.Container
	roll *container.Scroll
}

// New returns the sheet of a desk.
func New(d *desk.Desk, cb Callbacks) *Sheet {
	s := &Sheet{desk: d, cb: cb, box: container.NewVBox()}
	s.roll = container.NewVScroll(paper.Inset(18, 14, 18, 18, s.box))
	return s
}

// Object returns what to put into the window.
func (s *Sheet) Object() fyne.CanvasObject { return s.roll }

// Update shows the desk as it is, unless focused is one of the sheet's entries
// in the middle of being typed in: it would lose what was typed.
func (s *Sheet) Update(focused fyne.Focusable) {
	if f, ok := focused.(*field); ok && f.Text != f.was {
		return
	}
	b := &builder{sheet: s, desk: s.desk}
	switch {
	case s.desk.Session() == nil:
		b.welcome()
	case s.desk.Step() == desk.StepModel:
		b.model()
	case s.desk.Step() == desk.StepHandover:
		b.handover()
	case s.desk.Reviewing():
		b.review()
	case s.hasJoint():
		if s.desk.Step() == desk.StepMotion {
			b.motion()
		} else {
			b.joint()
		}
	case s.desk.Step() == desk.StepMotion:
		b.add(paper.Title("Motion"), paper.Para("Choose a joint at the left, or click a part that a joint carries.", style.Faded))
	default:
		b.pick()
	}
	s.box.Objects = b.objects
	s.box.Refresh()
}

func (s *Sheet) hasJoint() bool {
	_, _, ok := s.desk.Joint()
	return ok
}

// builder collects a sheet's objects from top to bottom.
type builder struct {
	sheet   *Sheet
	desk    *desk.Desk
	objects []fyne.CanvasObject
	told    bool // why the motion is not known stands above
}

func (b *builder) add(o ...fyne.CanvasObject) { b.objects = append(b.objects, o...) }

func (b *builder) section(title string) { b.add(paper.Section(title)) }

func (b *builder) row(label, value string) *paper.Row { return b.toned(label, value, style.Ink) }

func (b *builder) toned(label, value string, tone style.Tone) *paper.Row {
	r := paper.NewRow(label, value, tone)
	b.add(r)
	return r
}

// buttons puts buttons side by side, all equally wide.
func (b *builder) buttons(list ...fyne.CanvasObject) {
	b.add(paper.Gap(2), container.NewGridWithColumns(len(list), list...))
}

// labelled puts a control at the right of its label.
func (b *builder) labelled(label string, control fyne.CanvasObject) {
	l := container.NewCenter(paper.Plain(label, style.Faded))
	b.add(container.NewBorder(nil, nil, paper.Fixed(104, container.NewHBox(l)), nil, control))
}

// choice is a select with a current value.
func choice(options []string, current string, chosen func(string)) *widget.Select {
	s := widget.NewSelect(options, nil)
	s.Selected = current
	s.OnChanged = func(v string) {
		if v != current {
			chosen(v)
		}
	}
	return s
}

// entry is a one-line field that hands its text on at Return or when the
// keyboard leaves it.
func entry(text string, done func(string)) *field {
	e := &field{done: done, was: text}
	e.ExtendBaseWidget(e)
	e.Text = text
	e.OnSubmitted = func(string) { e.commit() }
	return e
}

type field struct {
	widget.Entry
	done func(string)
	was  string
}

// FocusLost hands the text on.
func (f *field) FocusLost() {
	f.Entry.FocusLost()
	f.commit()
}

func (f *field) commit() {
	if f.Text != f.was {
		f.was = f.Text
		f.done(f.Text)
	}
}
