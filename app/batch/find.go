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
	"pintle/fit/mesh"
)

type findCommand struct {
	Model string  `arg:"" help:"A model or a document."`
	JSON  string  `name:"json" help:"Write JSON to this file, or to the output for -." placeholder:"FILE|-"`
	Least float64 `help:"Leave joints out whose confidence is less." default:"0.5" placeholder:"0..1"`
	modelFlags
}

// findAnswer is the command's JSON.
type findAnswer struct {
	File     string        `json:"file"`
	Unit     mesh.Unit     `json:"unit"`
	Ground   *string       `json:"ground"`
	Joints   []foundJoint  `json:"joints"`
	Doubtful []foundJoint  `json:"doubtful"` // confidence below the limit
	Fixed    []foundFixed  `json:"fixed"`
	Findings []findFinding `json:"findings"`
	Seconds  wire.Num      `json:"seconds"`
}

type foundJoint struct {
	Parent     string        `json:"parent"`
	Child      string        `json:"child"`
	Type       find.Kind     `json:"type"`
	Origin     wire.Vec      `json:"origin"`
	Axis       wire.Vec      `json:"axis"`
	Pitch      wire.Num      `json:"pitch"` // of a screw, else 0
	Confidence wire.Num      `json:"confidence"`
	Evidence   foundEvidence `json:"evidence"`
	Loop       bool          `json:"closes_loop"`
	RunnersUp  []foundAxis   `json:"runners_up"`
}

type foundFixed struct {
	Part       string   `json:"part"`
	To         string   `json:"to"`
	Confidence wire.Num `json:"confidence"`
	Words      string   `json:"words"`
}

type foundAxis struct {
	Type     find.Kind     `json:"type"`
	Origin   wire.Vec      `json:"origin"`
	Axis     wire.Vec      `json:"axis"`
	Score    wire.Num      `json:"score"`
	Evidence foundEvidence `json:"evidence"`
}

type foundEvidence struct {
	Words    string   `json:"words"`
	InParent int      `json:"circles_in_parent"`
	InChild  int      `json:"circles_in_child"`
	Radius   wire.Num `json:"largest_radius"`
	Gap      wire.Num `json:"gap"`
	Mating   wire.Num `json:"mating_area"`
	Slips    wire.Num `json:"mating_share_kept"` // null without mating faces
}

type findFinding struct {
	A    string `json:"a"`
	B    string `json:"b,omitempty"`
	Text string `json:"text"`
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
	a, err := c.find(r, s)
	if err != nil {
		return err
	}
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

func (c *findCommand) find(r *run, s *doc.Session) (findAnswer, error) {
	start := time.Now()
	res, err := find.Joints(r.ctx, s.Parts, find.Options{})
	if err != nil {
		return findAnswer{}, err
	}
	a := findAnswer{
		File: c.Model, Unit: s.Model.Unit, Seconds: wire.Num(time.Since(start).Seconds()),
		Joints: []foundJoint{}, Doubtful: []foundJoint{}, Fixed: []foundFixed{}, Findings: []findFinding{},
	}
	if res.Ground >= 0 {
		a.Ground = &s.Parts[res.Ground].Name
	}
	for _, j := range res.Joints {
		f := newFoundJoint(j, s.Parts)
		if j.Confidence >= c.Least {
			a.Joints = append(a.Joints, f)
		} else {
			a.Doubtful = append(a.Doubtful, f)
		}
	}
	for _, f := range res.Fixed {
		a.Fixed = append(a.Fixed, foundFixed{s.Parts[f.Part].Name, s.Parts[f.To].Name, wire.Num(f.Confidence), f.Words})
	}
	for _, f := range res.Findings {
		out := findFinding{A: s.Parts[f.A].Name, Text: f.Text}
		if f.B >= 0 {
			out.B = s.Parts[f.B].Name
		}
		a.Findings = append(a.Findings, out)
	}
	return a, nil
}

func newFoundJoint(j find.Candidate, parts []mesh.Part) foundJoint {
	f := foundJoint{
		Parent: parts[j.Parent].Name, Child: parts[j.Child].Name, Type: j.Kind,
		Origin: wire.Vec(j.Origin), Axis: wire.Vec(j.Axis), Pitch: wire.Num(j.Pitch), Confidence: wire.Num(j.Confidence), Loop: j.Loop,
		Evidence: newFoundEvidence(j.Evidence), RunnersUp: []foundAxis{},
	}
	for _, x := range j.RunnersUp {
		f.RunnersUp = append(f.RunnersUp, foundAxis{x.Kind, wire.Vec(x.Origin), wire.Vec(x.Axis), wire.Num(x.Score), newFoundEvidence(x.Evidence)})
	}
	return f
}

func newFoundEvidence(e find.Evidence) foundEvidence {
	return foundEvidence{
		Words: e.Words, InParent: e.InParent, InChild: e.InChild, Radius: wire.Num(e.Radius),
		Gap: wire.Num(e.Gap), Mating: wire.Num(e.Mating), Slips: wire.Num(e.Slips),
	}
}

func (a findAnswer) text() string {
	t := table{right: []bool{false, false, false, true}}
	t.row("parent", "child", "type", "confidence", "why")
	for _, list := range [][]foundJoint{a.Joints, a.Doubtful} {
		for _, j := range list {
			t.row(j.Parent, j.Child, string(j.Type), strconv.FormatFloat(float64(j.Confidence), 'f', 2, 64), j.Evidence.Words)
		}
	}
	text := t.String()
	for _, f := range a.Findings {
		text += f.Text + "\n"
	}
	return text
}
