// Package ui is the window: it ties the desk to the widgets.
package ui

import (
	"path/filepath"
	"strings"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"gonum.org/v1/gonum/spatial/r3"

	"pintle/app/doc"
	"pintle/app/job"
	"pintle/app/ui/desk"
	"pintle/app/ui/frame"
	"pintle/app/ui/head"
	"pintle/app/ui/outline"
	"pintle/app/ui/sheet"
	"pintle/app/ui/strip"
	"pintle/app/ui/style"
	"pintle/app/ui/toolbar"
	"pintle/fit/mesh"
	"pintle/viewport"
	"pintle/viewport/draft"
)

// Options say what the window opens with.
type Options struct {
	Path    string // a document or model, "" for none
	Demo    string // a demo's name, "" for none
	DataDir string // where recent files, recovery copies and demos are kept
	// Do runs a function on the window's thread, later; nil: fyne.Do. Tests
	// hand in a queue of their own.
	Do func(func())
}

// autosaveDelay is how long after a change the recovery copy is written.
const autosaveDelay = 2 * time.Second

// Shell is the window with all that it holds.
type Shell struct {
	app     fyne.App
	win     fyne.Window
	opts    Options
	runner  *job.Runner
	desk    *desk.Desk
	recent  doc.Recent
	rescue  *doc.Recovery
	saver   *doc.Autosaver
	view    *viewport.Viewport
	head    *head.Head
	outline *outline.Outline
	tools   *toolbar.Toolbar
	strip   *strip.Panel
	sheet   *sheet.Sheet
	wait    *waiting
	message *message
	places  frame.Places
	painter viewport.Painter
	noGL    error           // why there is no painter
	pending bool            // an update is on its way
	shown   uint64          // the desk's revision in the widgets
	swings  uint64          // the desk's swings in the drawing
	swing   *fyne.Animation // of the proposal looked at
	review  bool            // proposals were looked through when the window was last updated
	backed  *doc.Session    // what the autosaver keeps a copy of, nil for none
	up      mesh.Up         // the axis that points up in the drawing
	closing bool
}

// NewShell makes the window; Run the app afterwards. Pictures come from the
// painter that SetPainter hands in once there is one.
func NewShell(a fyne.App, o Options) *Shell {
	if o.Do == nil {
		o.Do = fyne.Do
	}
	s := &Shell{app: a, opts: o, win: a.NewWindow("Pintle")}
	s.runner = job.NewRunner(o.Do)
	s.desk = desk.New(s.runner)
	s.recent = doc.NewRecent(o.DataDir)
	s.openRescue()
	a.Settings().SetTheme(style.New(false))
	s.build()
	s.wire()
	s.win.SetPadded(false)
	s.win.Resize(fyne.NewSize(1440, 900))
	s.win.SetMaster()
	s.win.SetCloseIntercept(s.askClose)
	s.win.SetOnDropped(func(_ fyne.Position, files []fyne.URI) { s.dropped(files) })
	s.update()
	return s
}

// Window returns the window.
func (s *Shell) Window() fyne.Window { return s.win }

// SetPainter gives the viewport what makes its pictures, or a sentence that
// says why there is none.
func (s *Shell) SetPainter(p viewport.Painter, problem error) {
	s.painter, s.noGL = p, problem
	if problem != nil {
		s.view.SetProblem(problem.Error() + ". The commands work without it: see pintle --help.")
		return
	}
	s.view.SetPainter(p)
}

// Start opens what the options name and offers what a crash left behind.
func (s *Shell) Start() {
	switch {
	case s.opts.Path != "":
		s.desk.Open(s.opts.Path)
	case s.opts.Demo != "":
		s.desk.OpenDemo(s.opts.Demo, filepath.Join(s.opts.DataDir, "demos"))
	}
	s.offerRecovery()
}

// Close stops all work.
func (s *Shell) Close() {
	s.runner.Close()
	if s.saver != nil {
		_ = s.saver.Close() // the document was saved or given up by now
	}
}

// build makes the widgets and lays them out.
func (s *Shell) build() {
	s.view = viewport.New()
	s.head = head.New(head.Callbacks{
		Step: func(i int) { s.desk.SetStep(desk.Step(i)) },
		Next: s.next, Undo: s.desk.Undo, Redo: s.desk.Redo, Menu: s.showMenu,
	})
	s.outline = outline.New()
	s.tools = toolbar.New(toolbar.Callbacks{
		Mode: s.desk.SetMode,
		Wire: func() { s.show(func(v *desk.Shows) { v.Wire = !v.Wire }) },
		SeeThrough: func() {
			s.show(func(v *desk.Shows) { v.SeeThrough = !v.SeeThrough })
		},
		Isolate:  func() { s.show(func(v *desk.Shows) { v.Isolate = !v.Isolate }) },
		Fit:      s.view.Fit,
		Straight: s.view.Straight,
		Along:    s.alongHinge,
		Find:     s.desk.FindJoints,
	})
	s.strip = strip.NewPanel()
	s.sheet = sheet.New(s.desk, sheet.Callbacks{
		OpenFile: s.askOpen, OpenDemo: s.openDemo, SaveDocument: s.save,
		ExportSpec: s.askSpec, ExportEnvelope: s.askEnvelope, AcceptAbove: s.acceptAbove,
	})
	s.wait = newWaiting(s.desk.CancelTask)
	s.message = newMessage()
	s.layOut()
}

// layOut puts the widgets into the window, in the colours of the theme.
func (s *Shell) layOut() {
	drawing := container.NewStack(
		container.NewBorder(s.tools.Object(), nil, nil, nil, s.view),
		s.message.object(), s.wait.object(),
	)
	s.places = frame.Places{
		Head: s.head.Object(), Left: s.outline.Object(), Drawing: drawing,
		Strip: s.strip.Object(), Right: s.sheet.Object(),
	}
	s.win.SetContent(frame.New(s.places))
}

// wire ties events to the desk.
func (s *Shell) wire() {
	s.desk.OnChange = s.later
	s.desk.OnProblem = s.problem
	s.desk.OnOpened = s.opened
	s.desk.OnLook = s.look
	s.desk.OnGrab = s.stopSwing
	s.view.Patch = doc.PatchAt
	s.view.OnHover = s.desk.Hover
	s.view.OnPick = func(h viewport.Hit, _ fyne.KeyModifier) { s.desk.Click(h) }
	s.view.TakeKey = s.takeReviewKey
	s.view.OnKey = s.key
	s.view.OnContext = s.partMenu
	s.view.OnGrab = s.desk.Grab
	s.view.OnProblem = s.problem
	s.outline.OnChoose = s.choose
	s.strip.OnValue = s.stripValue
	s.strip.OnZero = s.stripZero
	s.strip.OnFreedom = s.desk.SetFreedom
	s.shortcuts()
}

func (s *Shell) show(f func(*desk.Shows)) {
	v := s.desk.Shows()
	f(&v)
	s.desk.SetShows(v)
}

// later updates the window once, however many changes come together.
func (s *Shell) later() {
	if s.pending {
		return
	}
	s.pending = true
	s.opts.Do(s.update)
}

// update shows the desk as it is.
func (s *Shell) update() {
	s.pending = false
	if s.closing {
		return
	}
	s.updateStrip()
	s.view.SetPickMode(s.desk.Mode())
	if s.swings == s.desk.Swings() {
		s.showScene()
	} else {
		s.swings = s.desk.Swings()
		s.view.MoveScene(s.desk.Scene())
	}
	if s.shown == s.desk.Revision() && s.shown != 0 {
		return
	}
	s.shown = s.desk.Revision()
	s.followReview()
	s.head.Set(headView(s.desk))
	s.outline.Set(outlineGroups(s.desk))
	s.tools.Set(toolbarView(s.desk))
	s.sheet.Update(s.win.Canvas().Focused())
	task := s.desk.Task()
	if task != nil && !s.wait.root.Visible() {
		s.message.root.Hide() // it told of what came before, and the plate would lie over it
	}
	s.wait.set(task)
	s.backUp()
	s.win.SetTitle(title(s.desk))
}

// showScene shows the drawing, turned upright anew where another axis points up.
func (s *Shell) showScene() {
	if session := s.desk.Session(); session != nil && session.Model.Up != s.up {
		s.up = session.Model.Up
		s.view.Reset(s.desk.Scene(), s.up)
		return
	}
	s.view.SetScene(s.desk.Scene())
}

func title(d *desk.Desk) string {
	if d.Title() == "" {
		return "Pintle"
	}
	return d.Title() + " – Pintle"
}

func (s *Shell) updateStrip() {
	v, ok := stripView(s.desk)
	strip := s.places.Strip
	if ok {
		s.strip.Set(v)
	}
	if ok != strip.Visible() {
		if ok {
			strip.Show()
		} else {
			s.strip.Stop()
			strip.Hide()
		}
		s.win.Content().Refresh()
		s.win.SetContent(s.win.Content()) // lay out with or without the strip
	}
}

// next does the head's primary button.
func (s *Shell) next() {
	session := s.desk.Session()
	if session == nil {
		return
	}
	switch s.desk.Step() {
	case desk.StepModel:
		s.desk.SetStep(desk.StepJoints)
		if len(session.Doc.Joints) == 0 {
			s.desk.FindJoints()
		}
	case desk.StepJoints:
		switch {
		case s.desk.Reviewing():
			s.nextInReview()
		case len(s.desk.Picks()) > 0:
			s.desk.MakeHinge()
		case len(session.Doc.Joints) == 0:
			s.desk.FindJoints()
		default:
			s.desk.SetStep(desk.StepMotion)
		}
	case desk.StepMotion:
		s.desk.SetStep(desk.StepHandover)
	case desk.StepHandover:
		s.askSpec()
	}
}

// choose selects what a line of the outline stands for.
func (s *Shell) choose(key string) {
	if s.chooseFound(key) {
		return
	}
	if name, ok := strings.CutPrefix(key, jointKey); ok {
		s.desk.SelectJoint(name)
		if s.desk.Step() == desk.StepModel {
			s.desk.SetStep(desk.StepJoints)
		}
		return
	}
	if name, ok := strings.CutPrefix(key, partKey); ok && s.desk.Session() != nil {
		s.desk.SelectPart(s.desk.Session().Doc.PartIndex(name))
	}
}

// alongHinge turns the view so that the selected hinge is seen end on and its
// motion in true shape.
func (s *Shell) alongHinge() {
	if j, _, ok := s.desk.Joint(); ok {
		var points []r3.Vec
		for _, p := range s.desk.Session().Parts {
			if p.Name == j.Child || p.Name == j.Parent {
				points = append(points, draft.BoxCorners(p.Mesh.Bounds())...)
			}
		}
		v := s.view.View()
		c := s.view.Camera().From(j.Frame.Hinge)
		s.view.Go(c.Fit(points, float64(v.Width)/float64(max(v.Height, 1)), draft.DefaultMargin))
	}
}

func (s *Shell) opened() {
	if session := s.desk.Session(); session != nil {
		s.up = session.Model.Up
		s.view.Reset(s.desk.Scene(), s.up)
	}
	if p := s.desk.Path(); p != "" {
		s.remember(p)
	}
}
