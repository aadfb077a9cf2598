// Package toolbar is the line above the drawing: what a click picks, how the
// model is shown, from where it is seen.
package toolbar

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/layout"

	"pintle/app/ui/paper"
	"pintle/app/ui/style"
	"pintle/viewport"
	"pintle/viewport/draft"
)

// View is what the toolbar shows.
type View struct {
	Mode       viewport.PickMode
	Wire       bool
	SeeThrough bool
	CanIsolate bool
	Isolated   bool
	CanFind    bool
}

// Callbacks are what the toolbar can ask for.
type Callbacks struct {
	Mode       func(viewport.PickMode)
	Wire       func()
	SeeThrough func()
	Isolate    func()
	Fit        func()
	Straight   func(draft.Straight)
	Along      func() // look along the selected hinge
	Find       func() // look for joints
}

// Toolbar is the line above the drawing.
type Toolbar struct {
	modes                            map[viewport.PickMode]*paper.Button
	wire, seeThrough, isolate, along *paper.Button
	find                             *paper.Button
	root                             fyne.CanvasObject
}

func modes() []viewport.PickMode {
	return []viewport.PickMode{
		viewport.PickPart, viewport.PickPoint, viewport.PickEdge, viewport.PickLoop, viewport.PickPatch,
	}
}

// New returns the toolbar.
func New(cb Callbacks) *Toolbar {
	t := &Toolbar{modes: map[viewport.PickMode]*paper.Button{}}
	row := container.NewHBox(caption("click picks"))
	for _, m := range modes() {
		b := paper.NewButton(m.String(), paper.Toggle, func() { cb.Mode(m) })
		t.modes[m] = b
		row.Add(b)
	}
	t.wire = paper.NewButton("mesh lines", paper.Toggle, cb.Wire)
	t.seeThrough = paper.NewButton("see-through", paper.Toggle, cb.SeeThrough)
	t.isolate = paper.NewButton("only this joint", paper.Toggle, cb.Isolate)
	row.Add(gap())
	row.Add(caption("show"))
	row.Add(t.wire)
	row.Add(t.seeThrough)
	row.Add(t.isolate)
	views := container.NewHBox(caption("view"), paper.NewButton("fit", paper.Quiet, cb.Fit))
	for _, v := range []draft.Straight{draft.Front, draft.Right, draft.Back, draft.Left, draft.Top, draft.Bottom, draft.Axonometric} {
		name := v.String()
		if v == draft.Axonometric {
			name = "corner"
		}
		views.Add(paper.NewButton(name, paper.Quiet, func() { cb.Straight(v) }))
	}
	t.along = paper.NewButton("along the hinge", paper.Quiet, cb.Along)
	views.Add(t.along)
	t.find = paper.NewButton("find joints", paper.Quiet, cb.Find)
	row.Add(gap())
	row.Add(t.find)
	t.root = paper.Inset(10, 4, 10, 0, container.New(layout.NewVBoxLayout(),
		container.NewHBox(row, layout.NewSpacer()), container.NewHBox(views, layout.NewSpacer())))
	return t
}

func caption(s string) fyne.CanvasObject {
	return paper.Inset(4, 0, 4, 0, container.NewCenter(paper.Small(s, style.Faded)))
}

func gap() fyne.CanvasObject {
	r := canvas.NewRectangle(nil)
	r.SetMinSize(fyne.NewSize(10, 1))
	return r
}

// Object returns what to put into the window.
func (t *Toolbar) Object() fyne.CanvasObject { return t.root }

// Set shows a view.
func (t *Toolbar) Set(v View) {
	for m, b := range t.modes {
		b.SetOn(m == v.Mode)
	}
	t.wire.SetOn(v.Wire)
	t.seeThrough.SetOn(v.SeeThrough)
	t.isolate.SetOn(v.Isolated)
	t.isolate.SetEnabled(v.CanIsolate)
	t.along.SetEnabled(v.CanIsolate)
	t.find.SetEnabled(v.CanFind)
}
