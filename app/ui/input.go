package ui

import (
	"math"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/widget"

	"pintle/app/ui/style"
	"pintle/assets"
	"pintle/viewport"
)

// fromStrip turns a value of the ruler into a joint value.
func (s *Shell) fromStrip(v float64) float64 {
	if j, _, ok := s.desk.Joint(); ok && !j.Kind.Freedom(s.desk.Freedom()).Turns {
		return v
	}
	return v * math.Pi / 180
}

// stripValue takes what the ruler was moved to.
func (s *Shell) stripValue(v float64) {
	if s.desk.Reviewing() {
		s.swungByHand(v)
		return
	}
	s.desk.SetValue(s.fromStrip(v))
}

// stripZero puts everything back to where the model stands.
func (s *Shell) stripZero() {
	if s.desk.Reviewing() {
		s.swungByHand(0)
		return
	}
	s.desk.AsModelled()
}

// key takes the keys that the drawing has no use for.
func (s *Shell) key(e *fyne.KeyEvent) {
	if s.takeReviewKey(e) {
		return
	}
	switch e.Name {
	case fyne.KeyEscape:
		s.desk.Escape()
	case fyne.KeyReturn, fyne.KeyEnter:
		s.desk.MakeHinge()
	case fyne.KeyDelete:
		s.desk.DropJoint()
	}
}

// shortcuts binds the desktop's usual ones. While an entry has the keyboard
// Fyne offers it undo first.
func (s *Shell) shortcuts() {
	c := s.win.Canvas()
	add := func(k fyne.KeyName, m fyne.KeyModifier, f func()) {
		c.AddShortcut(&desktop.CustomShortcut{KeyName: k, Modifier: m}, func(fyne.Shortcut) { f() })
	}
	ctrl := fyne.KeyModifierShortcutDefault
	add(fyne.KeyO, ctrl, s.askOpen)
	add(fyne.KeyS, ctrl, s.save)
	add(fyne.KeyS, ctrl|fyne.KeyModifierShift, s.askSaveAs)
	add(fyne.KeyZ, ctrl, s.desk.Undo)
	add(fyne.KeyZ, ctrl|fyne.KeyModifierShift, s.desk.Redo)
	add(fyne.KeyJ, ctrl, s.desk.FindJoints)
	add(fyne.KeyReturn, ctrl, s.acceptAbove)
	add(fyne.KeyQ, ctrl, s.askClose)
	c.AddShortcut(&fyne.ShortcutUndo{}, func(fyne.Shortcut) { s.desk.Undo() })
	c.AddShortcut(&fyne.ShortcutRedo{}, func(fyne.Shortcut) { s.desk.Redo() })
	c.SetOnTypedKey(s.key)
}

// showMenu opens the File menu.
func (s *Shell) showMenu(at fyne.Position) {
	open := s.desk.Session() != nil
	item := func(text string, f func(), enabled bool) *fyne.MenuItem {
		m := fyne.NewMenuItem(text, f)
		m.Disabled = !enabled
		return m
	}
	demos := fyne.NewMenuItem("Open a demo", nil)
	demos.ChildMenu = fyne.NewMenu("")
	for _, d := range assets.Demos() {
		demos.ChildMenu.Items = append(demos.ChildMenu.Items, fyne.NewMenuItem(d.Name, func() { s.openDemo(d.Name) }))
	}
	recent := fyne.NewMenuItem("Open recent", nil)
	recent.ChildMenu = fyne.NewMenu("")
	for _, p := range s.recent.List() {
		recent.ChildMenu.Items = append(recent.ChildMenu.Items, fyne.NewMenuItem(shortPath(p), func() { s.openPath(p) }))
	}
	recent.Disabled = len(recent.ChildMenu.Items) == 0
	night := item("Night theme", s.toggleNight, true)
	night.Checked = s.desk.Shows().Night
	m := fyne.NewMenu("",
		item("Open…", s.askOpen, true), item("Open a folder of parts…", s.askFolder, true), recent, demos,
		fyne.NewMenuItemSeparator(),
		item("Save", s.save, open), item("Save as…", s.askSaveAs, open),
		fyne.NewMenuItemSeparator(),
		item("Find joints", s.desk.FindJoints, open),
		item("Write joint spec…", s.askSpec, open), night,
		fyne.NewMenuItemSeparator(),
		item("About Pintle", s.about, true), item("Quit", s.askClose, true),
	)
	widget.ShowPopUpMenuAtPosition(m, s.win.Canvas(), at)
}

// partMenu opens the menu of what a right click was on.
func (s *Shell) partMenu(h viewport.Hit, at fyne.Position) {
	session := s.desk.Session()
	if session == nil {
		return
	}
	var items []*fyne.MenuItem
	if h.OK() && h.Part < len(session.Parts) {
		name := session.Parts[h.Part].Name
		items = append(items,
			fyne.NewMenuItem("Select part "+name, func() { s.desk.SelectPart(h.Part) }),
			fyne.NewMenuItem("Hide part "+name, func() { s.desk.HidePart(name, true) }))
		if i := session.Doc.JointOf(name); i >= 0 {
			joint := session.Doc.Joints[i].Name
			items = append(items, fyne.NewMenuItem("Select joint "+joint, func() { s.desk.SelectJoint(joint) }))
		}
	}
	for _, p := range session.Doc.Parts {
		if p.Hidden {
			items = append(items, fyne.NewMenuItem("Show part "+p.Name, func() { s.desk.HidePart(p.Name, false) }))
		}
	}
	if len(items) > 0 {
		widget.ShowPopUpMenuAtPosition(fyne.NewMenu("", items...), s.win.Canvas(), at)
	}
}

// toggleNight changes between the paper and the night theme.
func (s *Shell) toggleNight() {
	v := s.desk.Shows()
	v.Night = !v.Night
	s.app.Settings().SetTheme(style.New(v.Night))
	s.recolour()
	s.desk.SetShows(v)
}

// recolour builds the widgets anew: plain texts and rules keep the colour that
// they were made with.
func (s *Shell) recolour() {
	camera := s.view.Camera()
	s.strip.Stop()
	s.stopSwing()
	s.build()
	s.wire()
	s.shown = 0
	if s.painter != nil || s.noGL != nil {
		s.SetPainter(s.painter, s.noGL)
	}
	s.view.SetCamera(camera)
}
