package ui

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/storage"

	"pintle/app/doc"
	"pintle/app/ui/desk"
	"pintle/app/ui/paper"
	"pintle/app/ui/style"
)

// readable are the endings of what can be opened.
func readable() []string {
	return []string{doc.Extension, ".glb", ".gltf", ".obj", ".stl", ".ply"}
}

// askOpen lets the user choose a document or model.
func (s *Shell) askOpen() {
	d := dialog.NewFileOpen(func(r fyne.URIReadCloser, err error) {
		if err != nil {
			s.problem(fmt.Errorf("choosing a file: %w", err))
			return
		}
		if r == nil {
			return
		}
		path := r.URI().Path()
		_ = r.Close() // only its path is wanted
		s.openPath(path)
	}, s.win)
	d.SetFilter(storage.NewExtensionFileFilter(readable()))
	d.Resize(fyne.NewSize(900, 620))
	d.Show()
}

// askFolder lets the user choose a folder that holds one part a file.
func (s *Shell) askFolder() {
	d := dialog.NewFolderOpen(func(u fyne.ListableURI, err error) {
		switch {
		case err != nil:
			s.problem(fmt.Errorf("choosing a folder: %w", err))
		case u != nil:
			s.openPath(u.Path())
		}
	}, s.win)
	d.Resize(fyne.NewSize(900, 620))
	d.Show()
}

// openPath opens a file unless unsaved work would be lost without a word.
func (s *Shell) openPath(path string) {
	s.guard("Open another file?", func() { s.desk.Open(path) })
}

func (s *Shell) openDemo(name string) {
	s.guard("Open the demo?", func() { s.desk.OpenDemo(name, filepath.Join(s.opts.DataDir, "demos")) })
}

// dropped opens the first file dropped on the window.
func (s *Shell) dropped(files []fyne.URI) {
	if len(files) > 0 {
		s.openPath(files[0].Path())
	}
}

// guard runs f, after asking where there are unsaved changes.
func (s *Shell) guard(question string, f func()) {
	if !s.desk.Dirty() {
		f()
		return
	}
	s.ask(question, "The document has changes that are not saved. They would be lost.", "Lose them", "Go back", func(yes bool) {
		if yes {
			f()
		}
	})
}

// ask puts a question with two worded answers.
func (s *Shell) ask(title, text, yes, no string, then func(bool)) {
	body := paper.Fixed(420, paper.Inset(0, 4, 0, 10, paper.Para(text, style.Ink)))
	dialog.ShowCustomConfirm(title, yes, no, body, then, s.win)
}

// save writes the document, asking for a place the first time.
func (s *Shell) save() {
	err := s.desk.Save()
	if errors.Is(err, desk.ErrNoPath) {
		s.askSaveAs()
		return
	}
	s.saved(err)
}

func (s *Shell) saved(err error) {
	if err != nil {
		s.problem(err)
		return
	}
	if p := s.desk.Path(); p != "" {
		s.remember(p)
	}
	if s.saver != nil {
		s.saver.Saved()
	}
	s.message.show("Saved "+filepath.Base(s.desk.Path())+".", false)
}

// askSaveAs lets the user choose where to save.
func (s *Shell) askSaveAs() {
	if s.desk.Session() == nil {
		return
	}
	name := strings.TrimSuffix(s.desk.Title(), filepath.Ext(s.desk.Title())) + doc.Extension
	s.askPath("Save the document", name, func(path string) { s.saved(s.desk.SaveAs(path)) })
}

// askSpec writes the joint spec to where the user chooses.
func (s *Shell) askSpec() {
	session := s.desk.Session()
	if session == nil || len(session.Doc.Joints) == 0 {
		return
	}
	name := strings.TrimSuffix(s.desk.Title(), filepath.Ext(s.desk.Title())) + ".joints.json"
	s.askPath("Write the joint spec", name, func(path string) {
		s.desk.WriteSpec(path, func() { s.message.show("Wrote "+filepath.Base(path)+".", false) })
	})
}

// askEnvelope writes the envelope's mesh to where the user chooses.
func (s *Shell) askEnvelope() {
	e := s.desk.Envelope()
	if e == nil {
		return
	}
	s.askPath("Export the envelope", e.Joint+" envelope.stl", func(path string) {
		s.desk.WriteEnvelope(path, func() { s.message.show("Wrote "+filepath.Base(path)+".", false) })
	})
}

// remember puts a path among the recent files.
func (s *Shell) remember(path string) {
	if err := s.recent.Add(path); err != nil {
		s.problem(fmt.Errorf("keeping the list of recent files: %w", err))
	}
}

// openRescue begins keeping a recovery copy. Without one the work goes on.
func (s *Shell) openRescue() {
	r, err := doc.OpenRecovery(filepath.Join(s.opts.DataDir, "recovery"))
	if err != nil {
		return
	}
	s.rescue = r
	s.saver = doc.NewAutosaver(r, autosaveDelay, func(err error) { s.opts.Do(func() { s.problem(err) }) })
}

// backUp hands the present state to the autosaver: once for each, and that
// there is nothing to keep once it is saved, undone or given up.
func (s *Shell) backUp() {
	var unsaved *doc.Session
	if s.desk.Dirty() {
		unsaved = s.desk.Session()
	}
	if s.saver == nil || unsaved == s.backed {
		return
	}
	s.backed = unsaved
	if unsaved == nil {
		s.saver.Saved()
		return
	}
	s.saver.Changed(unsaved.Doc, s.desk.Path())
}

// offerRecovery asks about documents that a crash left behind.
func (s *Shell) offerRecovery() {
	if s.rescue == nil {
		return
	}
	left, problems := s.rescue.Leftovers()
	for _, p := range problems {
		s.problem(p)
	}
	if len(left) == 0 {
		return
	}
	l := left[0] // the newest
	for _, other := range left[1:] {
		_ = other.Release() // offered another time
	}
	what := "It was never saved to a file."
	if l.Path != "" {
		what = "It belongs to " + filepath.Base(l.Path) + "."
	}
	s.ask("Unsaved work is still here", "Pintle ended before the last changes were saved. "+what, "Recover", "Discard", func(yes bool) {
		if yes {
			s.desk.Recover(l, func() { s.takeOver(l) })
			return
		}
		if err := l.Discard(); err != nil {
			s.problem(err)
		}
	})
}

// takeOver deletes what a crash left behind once this run keeps a copy itself.
func (s *Shell) takeOver(l doc.Leftover) {
	s.backUp()
	if s.saver.Flush() != nil {
		return // the saver has said why
	}
	if err := l.Discard(); err != nil {
		s.problem(err)
	}
}

// askClose closes the window, after asking where there are unsaved changes.
func (s *Shell) askClose() {
	s.guard("Quit without saving?", func() {
		s.closing = true
		if s.saver != nil {
			s.saver.Saved()
		}
		s.win.Close()
	})
}

// shortPath is the file's name with its folder.
func shortPath(p string) string {
	home, err := os.UserHomeDir()
	if err == nil && strings.HasPrefix(p, home+string(filepath.Separator)) {
		return "~" + strings.TrimPrefix(p, home)
	}
	return p
}
