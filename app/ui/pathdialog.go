package ui

import (
	"os"
	"path/filepath"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/storage"
	"fyne.io/fyne/v2/widget"

	"pintle/app/ui/paper"
	"pintle/app/ui/style"
)

// pathDialog asks where to write. Fyne's own save dialog empties an existing
// file before anyone has agreed, so this one asks for folder and name only.
type pathDialog struct {
	win          fyne.Window
	what         string
	folder, name *widget.Entry
	use          func(string)
}

func newPathDialog(win fyne.Window, what, folder, name string, use func(string)) *pathDialog {
	d := &pathDialog{win: win, what: what, folder: widget.NewEntry(), name: widget.NewEntry(), use: use}
	d.folder.Text, d.name.Text = folder, name
	return d
}

func (d *pathDialog) show() {
	choose := paper.NewButton("Choose", paper.Outlined, d.chooseFolder)
	row := func(label string, o fyne.CanvasObject) fyne.CanvasObject {
		return container.NewBorder(nil, nil, paper.Fixed(70, container.NewCenter(paper.Plain(label, style.Faded))), nil, o)
	}
	body := container.NewVBox(
		row("folder", container.NewBorder(nil, nil, nil, choose, d.folder)),
		row("name", d.name), paper.Gap(4))
	dialog.ShowCustomConfirm(d.what, "Write", "Cancel", paper.Fixed(560, body), func(yes bool) {
		if yes {
			d.confirm()
		}
	}, d.win)
	d.win.Canvas().Focus(d.name)
}

func (d *pathDialog) chooseFolder() {
	f := dialog.NewFolderOpen(func(u fyne.ListableURI, err error) {
		if err == nil && u != nil {
			d.folder.SetText(u.Path())
		}
	}, d.win)
	if u, err := storage.ListerForURI(storage.NewFileURI(d.folder.Text)); err == nil {
		f.SetLocation(u)
	}
	f.Show()
}

// confirm hands the path on, after asking where a file would be replaced.
func (d *pathDialog) confirm() {
	if d.name.Text == "" {
		return
	}
	path := filepath.Join(d.folder.Text, d.name.Text)
	if _, err := os.Stat(path); err != nil {
		d.use(path)
		return
	}
	dialog.ShowConfirm("Replace the file?", filepath.Base(path)+" is there already.", func(yes bool) {
		if yes {
			d.use(path)
		}
	}, d.win)
}

// startFolder is where a dialog begins: beside the document, else beside the
// user's model, else at home.
func (s *Shell) startFolder() string {
	if p := s.desk.Path(); p != "" {
		return filepath.Dir(p)
	}
	if session := s.desk.Session(); session != nil && len(s.desk.Guide()) == 0 {
		return filepath.Dir(session.Doc.Model.Path)
	}
	if home, err := os.UserHomeDir(); err == nil {
		return home
	}
	return "."
}
