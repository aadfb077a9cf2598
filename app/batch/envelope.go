package batch

import (
	"fmt"
	"math"
	"path/filepath"

	"pintle/app/doc"
	"pintle/app/doc/wire"
	"pintle/app/handover"
	"pintle/fit/mesh"
	"pintle/kinematics"
	"pintle/kinematics/sweep"
)

type envelopeCommand struct {
	hingeFlags
	Output     string `short:"o" required:"" help:"The mesh file to write: .stl, .obj or .glb." placeholder:"FILE"`
	Resolution int    `help:"Cells across the part's profile; 0: ${default_resolution}." placeholder:"N"`
}

// envelopeAnswer is the command's JSON.
type envelopeAnswer struct {
	File      string      `json:"file"`
	Output    string      `json:"output"`
	Unit      mesh.Unit   `json:"unit"`
	Moving    []string    `json:"moving"`
	Axis      axisAnswer  `json:"axis"`
	Range     rangeAnswer `json:"range"`
	RangeFrom string      `json:"range_from"` // "flag", "limits", "contact" or "full turn"
	Volume    wire.Num    `json:"volume"`
	Area      wire.Num    `json:"area"`
	Error     wire.Num    `json:"error"` // of the volume
	Triangles int         `json:"triangles"`
	Notes     []string    `json:"notes"`
}

// Run sweeps the moving parts over the range and writes the solid.
func (c *envelopeCommand) Run(r *run) error {
	if err := handover.CheckMeshPath(c.Output); err != nil {
		return usageError{err}
	}
	h, err := c.open(r)
	if err != nil {
		return err
	}
	over, from, err := c.over(r, h)
	if err != nil {
		return fmt.Errorf("%s: %w", filepath.Base(c.File), err)
	}
	meshes := make([]*mesh.Mesh, len(h.input.Moving))
	a := envelopeAnswer{File: c.File, Output: c.Output, Unit: h.session.Model.Unit, RangeFrom: from, Notes: []string{}}
	for i, p := range h.input.Moving {
		meshes[i] = h.input.Parts[p].Mesh
		a.Moving = append(a.Moving, h.input.Parts[p].Name)
	}
	e, err := sweep.Hinge(r.ctx, meshes, h.input.Axis, over, sweep.Options{Resolution: c.Resolution})
	if err != nil {
		return fmt.Errorf("%s: %w", filepath.Base(c.File), err)
	}
	err = handover.WriteMesh(c.Output, handover.MeshFile{
		Name: "envelope of " + a.Moving[0], Mesh: e.Mesh, Unit: h.session.Model.Unit, Up: h.session.Model.Up,
	})
	if err != nil {
		return err
	}
	a.Axis = axisAnswer{Origin: wire.Vec(h.input.Axis.Point), Direction: wire.Vec(h.input.Axis.Dir)}
	a.Range = rangeAnswer{Lower: wire.Deg(over.Lower), Upper: wire.Deg(over.Upper)}
	a.Volume, a.Area, a.Error = wire.Num(e.Volume), wire.Num(e.Area), wire.Num(e.Error)
	a.Triangles = len(e.Mesh.Triangles())
	a.Notes = append(a.Notes, e.Notes...)
	if c.JSON {
		return r.printJSON(a)
	}
	return r.print(a.text())
}

// over returns the range to sweep: as given, else the joint's limits, else
// between the contacts, else a full turn.
func (c *envelopeCommand) over(r *run, h *hinge) (over kinematics.Range, from string, err error) {
	full := kinematics.Range{Lower: -math.Pi, Upper: math.Pi}
	switch {
	case c.Range != "":
		return h.input.Range, "flag", nil
	case limited(h.joint):
		limits, _ := h.joint.Limit(0)
		return limits, "limits", nil
	case len(h.input.Still) == 0:
		return full, "full turn", nil
	}
	in := h.input
	in.Housings = []doc.PartHousing{} // no runout
	m, err := doc.ComputeMotion(r.ctx, in, nil)
	if err != nil {
		return full, "", err
	}
	if m.Free.Lower == nil || m.Free.Upper == nil || m.FreeRange().Span() >= 2*math.Pi {
		return full, "full turn", nil
	}
	return m.FreeRange(), "contact", nil
}

// limited reports whether the joint has limits both ways.
func limited(j *doc.Joint) bool {
	if j == nil {
		return false
	}
	r, ok := j.Limit(0)
	return ok && !math.IsInf(r.Span(), 0)
}

func (a envelopeAnswer) text() string {
	var p pairs
	p.add("range", "%s to %s (%s)", angle(float64(a.Range.Lower)), angle(float64(a.Range.Upper)), map[string]string{
		"flag": "as given", "limits": "the joint's limits", "contact": "between the contacts", "full turn": "a full turn: nothing stops it",
	}[a.RangeFrom])
	p.add("volume", "%s ± %s", power(float64(a.Volume), a.Unit, "³"), power(float64(a.Error), a.Unit, "³"))
	p.add("area", "%s", power(float64(a.Area), a.Unit, "²"))
	p.add("written", "%s, %d triangles", a.Output, a.Triangles)
	out := p.String()
	for _, n := range a.Notes {
		out += "note: " + n + "\n"
	}
	return out
}
