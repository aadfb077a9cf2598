package ui

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"fyne.io/fyne/v2/test"
	"fyne.io/fyne/v2/widget"

	"pintle/app/doc"
)

// leave puts a recovery copy into the folder as a crash does: with a lock that
// nobody holds.
func leave(t *testing.T, dir, name string, d doc.Document, age time.Duration) {
	t.Helper()
	elsewhere := t.TempDir()
	r, err := doc.OpenRecovery(elsewhere)
	if err != nil {
		t.Fatal(err)
	}
	if err := r.Write(d, ""); err != nil {
		t.Fatal(err)
	}
	copies, err := filepath.Glob(filepath.Join(elsewhere, "*.recovery"))
	if err != nil || len(copies) != 1 {
		t.Fatalf("recovery copies %v, %v", copies, err)
	}
	to := filepath.Join(dir, name+".recovery")
	if err := os.Rename(copies[0], to); err != nil {
		t.Fatal(err)
	}
	when := time.Now().Add(-age)
	if err := os.Chtimes(to, when, when); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, name+".lock"), nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := r.Close(); err != nil {
		t.Fatal(err)
	}
}

// press taps the button of the open dialog that bears a word.
func (s *stage) press(word string) {
	s.t.Helper()
	for _, o := range test.LaidOutObjects(s.win.Canvas().Overlays().Top()) {
		if b, ok := o.(*widget.Button); ok && b.Text == word {
			test.Tap(b)
			return
		}
	}
	s.t.Fatalf("no dialog has a button %q", word)
}

func TestTheNewestLeftoverIsRecoveredOnce(t *testing.T) {
	s := newStage(t)
	s.open()
	named := func(name string) doc.Document {
		d, err := s.desk.Session().Doc.RenamePart("forearm", name)
		if err != nil {
			t.Fatal(err)
		}
		return d
	}
	dir := filepath.Join(s.opts.DataDir, "recovery")
	leave(t, dir, "older", named("older arm"), time.Hour)
	leave(t, dir, "newer", named("newer arm"), time.Minute)

	s.offerRecovery()
	s.press("Recover")
	s.until("the recovery", func() bool { return s.desk.Title() == "recovered" && s.desk.Task() == nil })
	if s.desk.Session().Doc.PartIndex("newer arm") < 0 || !s.desk.Dirty() {
		t.Error("the newest work was not recovered, or counts as saved")
	}
	exists := func(pattern string) bool {
		found, err := filepath.Glob(filepath.Join(dir, pattern))
		return err == nil && len(found) > 0
	}
	if exists("newer.*") {
		t.Error("the recovered copy stays, and would be offered again")
	}
	if !exists("older.recovery") || !exists("[0-9]*.recovery") {
		t.Error("the other copy, or this run's own, is not on disk")
	}
}

// A copy stays on disk only while there is something that is on no disk.
func TestNoCopyStaysOfWhatIsUndoneOrGivenUp(t *testing.T) {
	s := newStage(t)
	s.open()
	copies := func() int {
		_ = s.saver.Flush()
		found, err := filepath.Glob(filepath.Join(s.opts.DataDir, "recovery", "*.recovery"))
		if err != nil {
			t.Fatal(err)
		}
		return len(found)
	}
	rename := func() {
		s.desk.SelectPart(0)
		s.desk.RenamePart("foot")
		s.update()
	}
	rename()
	if n := copies(); n != 1 {
		t.Errorf("%d copies of unsaved work", n)
	}
	s.desk.Undo()
	s.update()
	if n := copies(); n != 0 {
		t.Errorf("%d copies of what was undone", n)
	}
	rename()
	copies()
	s.openDemo("drawbridge")
	s.press("Lose them")
	s.until("the other demo", func() bool { return s.desk.Title() == "drawbridge.obj" && s.desk.Task() == nil })
	s.update()
	if n := copies(); n != 0 {
		t.Errorf("%d copies of what the user gave up", n)
	}
}
