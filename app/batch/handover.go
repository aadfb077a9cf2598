package batch

import (
	"fmt"
	"path/filepath"

	"pintle/app/doc"
	"pintle/app/handover"
)

type handoverCommand struct {
	Document string `arg:"" help:"The document whose joints are handed over."`
	As       string `help:"What to write: spec (the joint spec, JSON)." enum:"spec" required:"" placeholder:"FORMAT"`
	Output   string `short:"o" required:"" help:"The file to write." placeholder:"FILE"`
	JSON     bool   `name:"json" help:"Print JSON."`
}

// handoverAnswer is the command's JSON.
type handoverAnswer struct {
	File     string        `json:"file"`
	Output   string        `json:"output"`
	As       string        `json:"as"`
	Joints   int           `json:"joints"`
	Worst    doc.Severity  `json:"worst"`
	Findings []doc.Finding `json:"findings"`
}

// Run proves every joint and writes the joint spec.
func (c *handoverCommand) Run(r *run) error {
	if !isDocument(c.Document) {
		return usageError{fmt.Errorf("%s: only a document (*%s) has joints to hand over", filepath.Base(c.Document), doc.Extension)}
	}
	s, err := r.open(c.Document, modelFlags{})
	if err != nil {
		return err
	}
	spec, err := handover.WriteSpec(r.ctx, c.Output, s, nil)
	if err != nil {
		return err
	}
	a := handoverAnswer{
		File: c.Document, Output: c.Output, As: c.As, Joints: len(spec.Joints), Worst: spec.Worst(),
		Findings: append([]doc.Finding{}, spec.Findings...),
	}
	for _, j := range spec.Joints {
		a.Findings = append(a.Findings, j.Findings...)
	}
	if a.Worst == doc.Stop {
		r.out.Code = ExitStop
	}
	if c.JSON {
		return r.printJSON(a)
	}
	text := fmt.Sprintf("%s: %s\n", c.Output, countOf(a.Joints, "joint"))
	text += jointTable(spec)
	for _, f := range a.Findings {
		about := ""
		if f.Joint != "" {
			about = f.Joint + ": "
		}
		text += fmt.Sprintf("%-5s  %s%s\n", f.Severity, about, f.Text)
	}
	return r.print(text)
}
