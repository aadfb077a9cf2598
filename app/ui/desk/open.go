package desk

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"pintle/app/doc"
	"pintle/app/job"
	"pintle/assets"
	"pintle/fit/mesh"
	"pintle/viewport"
)

// Open reads a document or a model and puts it on the desk.
func (d *Desk) Open(path string) {
	name := filepath.Base(path)
	isDoc := strings.EqualFold(filepath.Ext(path), doc.Extension)
	run(d, "Opening "+name, func(ctx context.Context, p job.Progress) (*doc.Session, error) {
		if isDoc {
			return doc.Open(ctx, path, doc.OpenOptions{Progress: p})
		}
		return doc.OpenModel(ctx, path, doc.OpenOptions{Progress: p})
	}, func(s *doc.Session) {
		at := ""
		if isDoc {
			at = path
		}
		d.take(s, at, name, nil)
	})
}

// SetUnitAndUp says what one unit of the model means and which axis points up.
func (d *Desk) SetUnitAndUp(unit mesh.Unit, up mesh.Up) {
	d.do("model unit and up axis", func(s *doc.Session) (doc.Document, error) {
		next := s.Doc
		next.Model.Unit, next.Model.Up = unit, up
		return next, nil
	})
}

// OpenDemo writes a demo's model into dir, where documents about it can refer
// to it, and opens it.
func (d *Desk) OpenDemo(name, dir string) {
	var demo *assets.Demo
	var names []string
	for _, x := range assets.Demos() {
		names = append(names, x.Name)
		if x.Name == name {
			demo = &x
		}
	}
	if demo == nil {
		d.problem(fmt.Errorf("there is no demo %q; there are %s", name, strings.Join(names, ", ")))
		return
	}
	path := filepath.Join(dir, demo.Name+".obj")
	run(d, "Opening the demo "+name, func(ctx context.Context, p job.Progress) (*doc.Session, error) {
		if err := os.MkdirAll(dir, 0o755); err != nil {
			return nil, fmt.Errorf("a folder for the demo: %w", err)
		}
		if err := writeIfOther(path, demo.OBJ); err != nil {
			return nil, fmt.Errorf("the demo's model: %w", err)
		}
		return doc.OpenModel(ctx, path, doc.OpenOptions{Progress: p})
	}, func(s *doc.Session) {
		d.take(s, "", demo.Name+".obj", demo.Guide)
		d.SetStep(StepJoints)
	})
}

func writeIfOther(path string, content []byte) error {
	if old, err := os.ReadFile(path); err == nil && string(old) == string(content) {
		return nil
	}
	return os.WriteFile(path, content, 0o644)
}

// take puts a session on the desk, with nothing selected.
func (d *Desk) take(s *doc.Session, path, title string, guide []string) {
	d.session, d.path, d.title, d.guide = s, path, title, guide
	d.part, d.joint, d.hover, d.aim, d.review = -1, "", noHit(), Aim{}, nil
	d.mode = viewport.PickPatch
	clear(d.values)
	d.forgetPicks()
	d.step = StepModel
	if len(s.Doc.Joints) > 0 {
		d.step = StepJoints
	}
	d.history.Reset(s.Doc)
	if d.OnOpened != nil {
		d.OnOpened()
	}
	d.changed()
}

// Recover puts a document that a crash left behind on the desk, unsaved; done
// is called when it is there.
func (d *Desk) Recover(l doc.Leftover, done func()) {
	run(d, "Recovering", func(ctx context.Context, p job.Progress) (*doc.Session, error) {
		return doc.OpenDocument(ctx, l.Document, filepath.Dir(l.Path), doc.OpenOptions{Progress: p})
	}, func(s *doc.Session) {
		d.take(s, l.Path, "recovered", nil)
		d.history.Saved(^uint64(0)) // what was recovered is on no disk
		done()
	})
}

// ErrNoPath is the error of a save before there is a place to save to.
var ErrNoPath = errors.New("choose where to save the document")

// Save writes the document to where it was opened from.
func (d *Desk) Save() error {
	if d.path == "" {
		return ErrNoPath
	}
	return d.SaveAs(d.path)
}

// SaveAs writes the document to path, with the ending added where it lacks.
func (d *Desk) SaveAs(path string) error {
	if d.session == nil {
		return nil
	}
	if !strings.EqualFold(filepath.Ext(path), doc.Extension) {
		path += doc.Extension
	}
	serial := d.history.Serial()
	if err := doc.Save(path, d.history.Current()); err != nil {
		return fmt.Errorf("saving %s: %w", filepath.Base(path), err)
	}
	d.path, d.title = path, filepath.Base(path)
	d.history.Saved(serial)
	d.changed()
	return nil
}
