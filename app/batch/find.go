package batch

import (
	"fmt"
	"os"
	"strconv"
	"time"

	"github.com/google/renameio/v2"

	"pintle/app/doc"
	"pintle/app/doc/wire"
	"pintle/fit/find"
)

type findCommand struct {
	Model  string  `arg:"" help:"A model, a folder with one part a file, or a document."`
	Output string  `name:"output" short:"o" help:"Write a document with the joints to this file; joints that the document has already stay as they are." placeholder:"DOC"`
	JSON   string  `name:"json" help:"Write JSON to this file, or to the output for -." placeholder:"FILE|-"`
	Split  string  `help:"Cut parts that are several pieces fused into one: auto cuts a model of one part, always every part, never none." enum:"auto,never,always" default:"auto" placeholder:"WHEN"`
	Least  float64 `help:"Leave joints out whose confidence is less." default:"0.5" placeholder:"0..1"`
	Prove  bool    `help:"Move each joint a little both ways and tell what its parts meet, by exact contact."`
	modelFlags
}

// Run finds the joints.
func (c *findCommand) Run(r *run) error {
	if !(c.Least >= 0 && c.Least <= 1) {
		return usageError{fmt.Errorf("--least %g: a confidence lies between 0 and 1", c.Least)}
	}
	s, err := r.open(c.Model, c.modelFlags)
	if err != nil {
		return err
	}
	start := time.Now()
	if s, err = s.Unfused(r.ctx, doc.Fused(c.Split), nil); err != nil {
		return err
	}
	found, err := s.Find(r.ctx, find.Options{}, nil)
	if err != nil {
		return err
	}
	a := newFindAnswer(s, found, c.Least)
	if c.Prove {
		if err := a.prove(r.ctx, s, found, c.Least); err != nil {
			return err
		}
	}
	a.File, a.Seconds = c.Model, wire.Num(time.Since(start).Seconds())
	if c.Output != "" {
		d, n, err := s.AcceptAbove(found, c.Least, nil)
		if err != nil {
			return fmt.Errorf("making the joints: %w", err)
		}
		if err := doc.Save(c.Output, d); err != nil {
			return err
		}
		a.Document = &findDocument{File: c.Output, Made: n, Joints: len(d.Joints)}
	}
	return c.give(r, a)
}

// give writes the answer to where it was asked for.
func (c *findCommand) give(r *run, a findAnswer) error {
	switch c.JSON {
	case "":
		return r.print(a.text())
	case "-":
		return r.printJSON(a)
	}
	text, err := wire.Marshal(a)
	if err != nil {
		return fmt.Errorf("writing the joints as JSON: %w", err)
	}
	if err := renameio.WriteFile(c.JSON, text, os.FileMode(0o644)); err != nil {
		return fmt.Errorf("writing the joints: %w", err)
	}
	return nil
}

func (a findAnswer) text() string {
	t := table{right: []bool{false, false, false, false, true}}
	head := []string{"joint", "parent", "child", "type", "confidence"}
	if a.proven {
		head = append(head, "motion")
	}
	t.row(append(head, "why")...)
	for _, list := range [][]foundJoint{a.Joints, a.Doubtful} {
		for _, j := range list {
			kind := string(j.Type)
			if j.Loop {
				kind += ", closes a loop"
			}
			cells := []string{j.Name, j.Parent, j.Child, kind, strconv.FormatFloat(float64(j.Confidence), 'f', 2, 64)}
			if j.Motion != nil {
				cells = append(cells, j.Motion.Words)
			}
			t.row(append(cells, j.Evidence.Words)...)
		}
	}
	text := t.String()
	for _, f := range a.Fixed {
		text += fmt.Sprintf("fixed  %s on %s: %s\n", f.Part, f.To, f.Words)
	}
	text += printFindings(a.Findings)
	if d := a.Document; d != nil {
		text += fmt.Sprintf("%s: %s made, %d in all\n", d.File, countOf(d.Made, "joint"), d.Joints)
	}
	return text
}
