// Package head is the window's top line: the steps of the work, what is open,
// and the one thing to do next.
package head

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/layout"

	"pintle/app/ui/paper"
	"pintle/app/ui/style"
)

// Steps are the names of the work's steps in order.
func Steps() []string { return []string{"Model", "Joints", "Motion", "Handover"} }

// View is what the head shows.
type View struct {
	Step  int    // index into Steps
	File  string // name of the document or model, "" for none
	State string // one line: counts, or what is being done
	Next  string // the primary button's word, "" for none
	// NextOff greys the primary button: the step's condition is not met yet.
	NextOff          bool
	CanUndo, CanRedo bool
}

// Callbacks are what the head can ask for.
type Callbacks struct {
	Step             func(int)
	Next, Undo, Redo func()
	Menu             func(at fyne.Position)
}

// Head is the top line.
type Head struct {
	tabs             []*paper.Tab
	file, state      *canvas.Text
	next, undo, redo *paper.Button
	root             fyne.CanvasObject
}

// New returns the top line.
func New(cb Callbacks) *Head {
	h := &Head{
		file: paper.Plain("", style.Ink), state: paper.Plain("", style.Faded),
		next: paper.NewButton("", paper.Primary, cb.Next),
		undo: paper.NewButton("Undo", paper.Outlined, cb.Undo),
		redo: paper.NewButton("Redo", paper.Outlined, cb.Redo),
	}
	tabs := container.NewHBox()
	for i, name := range Steps() {
		t := paper.NewTab(i+1, name, func() { cb.Step(i) })
		h.tabs = append(h.tabs, t)
		tabs.Add(t)
	}
	var menu *paper.Button
	menu = paper.NewButton("File", paper.Quiet, func() {
		at := fyne.CurrentApp().Driver().AbsolutePositionForObject(menu)
		cb.Menu(at.AddXY(0, menu.Size().Height))
	})
	mark := paper.Title("Pintle")
	left := container.NewHBox(paper.Inset(16, 0, 2, 0, container.NewCenter(mark)), container.NewCenter(menu), paper.Inset(6, 0, 14, 0, tabs))
	info := container.NewHBox(container.NewCenter(h.file), paper.Inset(10, 0, 0, 0, container.NewCenter(h.state)))
	right := container.NewHBox(container.NewCenter(h.next), container.NewCenter(h.undo), container.NewCenter(h.redo))
	h.root = container.NewBorder(nil, nil, left, paper.Inset(0, 0, 14, 0, right),
		container.New(layout.NewCustomPaddedLayout(0, 0, 0, 0), container.NewHScroll(info)))
	return h
}

// Object returns what to put into the window.
func (h *Head) Object() fyne.CanvasObject { return h.root }

// Set shows a view.
func (h *Head) Set(v View) {
	for i, t := range h.tabs {
		t.SetOn(i == v.Step)
	}
	set := func(t *canvas.Text, s string) {
		if t.Text != s {
			t.Text = s
			t.Refresh()
		}
	}
	set(h.file, v.File)
	set(h.state, v.State)
	h.next.SetText(v.Next)
	if v.Next == "" {
		h.next.Hide()
	} else {
		h.next.Show()
	}
	h.next.SetEnabled(!v.NextOff)
	h.undo.SetEnabled(v.CanUndo)
	h.redo.SetEnabled(v.CanRedo)
}
