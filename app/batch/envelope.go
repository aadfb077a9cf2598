package batch

import (
	"fmt"
	"math"
	"path/filepath"
	"strings"

	"pintle/app/doc"
	"pintle/app/doc/wire"
	"pintle/app/handover"
	"pintle/fit/mesh"
	"pintle/kinematics"
)

type envelopeCommand struct {
	File       string   `arg:"" help:"A document (with --joint) or a model (with --moving, --origin and --axis)."`
	Joint      string   `help:"The document's joint, of any kind." placeholder:"NAME"`
	Limb       bool     `help:"Move the joints below over their limits too."`
	Tip        string   `help:"With --limb: the part that the limb ends at; joints elsewhere stay as modelled." placeholder:"PART"`
	Moving     []string `help:"Parts of the model that turn, separated by commas." sep:"none" placeholder:"PART,..."`
	Still      []string `help:"Parts that they may meet; otherwise all others." sep:"none" placeholder:"PART,..."`
	Origin     string   `help:"A point of the hinge line, model units." placeholder:"X,Y,Z"`
	Axis       string   `help:"The hinge's direction, of any length; turns follow the right-hand rule about it." placeholder:"X,Y,Z"`
	Range      string   `help:"Degrees, or model units for slides, from the pose as modelled, one pair for each of the joint's values; otherwise its limits, else as far as a hinge turns freely." placeholder:"LO:HI,..."`
	JSON       bool     `name:"json" help:"Print JSON."`
	Output     string   `short:"o" required:"" help:"The mesh file to write: .stl, .obj or .glb." placeholder:"FILE"`
	Carve      string   `help:"A mesh file for what of still parts lies inside: the place to carve." placeholder:"FILE"`
	Resolution int      `help:"Cells across the part's profile; 0: ${default_resolution}." placeholder:"N"`
	Tolerance  float64  `help:"Depth inside the envelope that needs no carving, model units; 0: half of what its surface may be off." placeholder:"LENGTH"`
	modelFlags
}

// envelopeAnswer is the command's JSON.
type envelopeAnswer struct {
	File      string        `json:"file"`
	Output    string        `json:"output"`
	Unit      mesh.Unit     `json:"unit"`
	Moving    []string      `json:"moving"`
	Axis      *axisAnswer   `json:"axis"`  // of a single hinge
	Range     *rangeAnswer  `json:"range"` // of a single hinge
	RangeFrom string        `json:"range_from"`
	Joints    []sweptAnswer `json:"joints"`
	Volume    wire.Num      `json:"volume"`
	Area      wire.Num      `json:"area"`
	Error     wire.Num      `json:"error"`     // of the volume
	Deviation wire.Num      `json:"deviation"` // of the surface, a length
	Triangles int           `json:"triangles"`
	Carve     *carveAnswer  `json:"carve"` // null where nothing is still
	Notes     []string      `json:"notes"`
}

// sweptAnswer is a joint that moves.
type sweptAnswer struct {
	Joint  string          `json:"joint"`
	Kind   kinematics.Kind `json:"kind"`
	Values []valueAnswer   `json:"values"`
}

// valueAnswer is the range of a joint value: degrees or model units, null
// where it goes all round.
type valueAnswer struct {
	Freedom string   `json:"freedom"`
	Lower   wire.Num `json:"lower"`
	Upper   wire.Num `json:"upper"`
}

type carveAnswer struct {
	Output    string            `json:"output"` // empty: not written
	Area      wire.Num          `json:"area"`
	Depth     wire.Num          `json:"depth"`
	Tolerance wire.Num          `json:"tolerance"`
	Parts     []carvePartAnswer `json:"parts"` // that reach in, or touch at rest
}

type carvePartAnswer struct {
	Part      string   `json:"part"`
	Area      wire.Num `json:"area"`
	Depth     wire.Num `json:"depth"`
	Deepest   wire.Vec `json:"deepest"`
	Triangles []int32  `json:"triangles"`
	AtRest    wire.Num `json:"at_rest"`
	RestDepth wire.Num `json:"rest_depth"`
}

// Run sweeps the moving parts over the range and writes the solid.
func (c *envelopeCommand) Run(r *run) error {
	for _, path := range []string{c.Output, c.Carve} {
		if path == "" {
			continue
		}
		if err := handover.CheckMeshPath(path); err != nil {
			return usageError{err}
		}
	}
	if c.Tip != "" && !c.Limb {
		return usageError{fmt.Errorf("--tip %q: only a limb has a tip; give --limb", c.Tip)}
	}
	h, err := c.open(r)
	if err != nil {
		return err
	}
	e, from, err := c.sweep(r, h)
	if err != nil {
		return fmt.Errorf("%s: %w", filepath.Base(c.File), err)
	}
	a := c.answer(h, e, from)
	if err := c.write(c.Output, h, "envelope of "+a.Moving[0], e.Mesh); err != nil {
		return err
	}
	if c.Carve != "" && e.Carving != nil && e.Carving.Mesh != nil {
		if err := c.write(c.Carve, h, "to carve for "+a.Moving[0], e.Carving.Mesh); err != nil {
			return err
		}
		a.Carve.Output = c.Carve
	}
	if c.JSON {
		return r.printJSON(a)
	}
	return r.print(a.text())
}

func (c *envelopeCommand) write(path string, h *hinge, name string, m *mesh.Mesh) error {
	return handover.WriteMesh(path, handover.MeshFile{Name: name, Mesh: m, Unit: h.session.Model.Unit, Up: h.session.Model.Up})
}

// open opens the file and finds the joint or the hinge in it.
func (c *envelopeCommand) open(r *run) (*hinge, error) {
	f := hingeFlags{File: c.File, Joint: c.Joint, Moving: c.Moving, Still: c.Still, Origin: c.Origin, Axis: c.Axis, modelFlags: c.modelFlags}
	document := isDocument(c.File)
	if err := f.check(document); err != nil {
		return nil, usageError{err}
	}
	if !document && c.Limb {
		return nil, usageError{fmt.Errorf("--limb: %s is a model and has no joints; a document has", filepath.Base(c.File))}
	}
	s, err := r.open(c.File, c.modelFlags)
	if err != nil {
		return nil, err
	}
	h := &hinge{session: s}
	if document {
		return h, f.findJoint(h)
	}
	return h, f.fromModel(h)
}

// sweep sweeps, and says where the range came from.
func (c *envelopeCommand) sweep(r *run, h *hinge) (e *doc.Envelope, from string, err error) {
	o := doc.EnvelopeOptions{Limb: c.Limb, Tip: c.Tip, Resolution: c.Resolution, Tolerance: c.Tolerance}
	kind := kinematics.Revolute
	if h.joint != nil {
		kind = h.joint.Kind
	}
	over, err := c.ranges(kind)
	switch {
	case err != nil:
		return nil, "", err
	case over != nil:
		from = "flag"
	case h.joint != nil && (h.joint.Limits != nil || h.joint.Cone != nil || kind != kinematics.Revolute):
		from = "limits"
	default:
		var hinge kinematics.Range
		if hinge, from, err = c.turned(r, h); err != nil {
			return nil, "", err
		}
		over = []kinematics.Range{hinge}
	}
	if h.joint == nil {
		e, err = doc.SweepParts(r.ctx, h.input.Parts, h.input.Moving, h.input.Still, h.input.Axis, over[0], o, nil)
		return e, from, err
	}
	if over != nil {
		o.Ranges = map[string][]kinematics.Range{h.joint.Name: over}
	}
	e, err = h.session.Envelope(r.ctx, h.joint.Name, o, nil)
	return e, from, err
}

// ranges reads --range for a joint of the kind; nil where it is not given.
func (c *envelopeCommand) ranges(kind kinematics.Kind) ([]kinematics.Range, error) {
	if c.Range == "" {
		return nil, nil
	}
	texts := strings.Split(c.Range, ",")
	if n := max(kind.Freedoms(), 0); len(texts) != n {
		return nil, usageError{fmt.Errorf("--range %q: a %s joint has %d values; give as many pairs, separated by commas", c.Range, kind, n)}
	}
	out := make([]kinematics.Range, len(texts))
	for i, text := range texts {
		lo, hi, err := parsePair("range", text)
		if err != nil {
			return nil, err
		}
		out[i] = kinematics.Range{Lower: lo, Upper: hi}
		if kind.Freedom(i).Turns {
			out[i] = kinematics.Range{Lower: kinematics.Radians(lo), Upper: kinematics.Radians(hi)}
		}
		if err := out[i].Check(); err != nil {
			return nil, usageError{fmt.Errorf("--range %q: %w", c.Range, err)}
		}
	}
	return out, nil
}

// turned returns the range of a hinge without limits: between the contacts, else
// a full turn.
func (c *envelopeCommand) turned(r *run, h *hinge) (over kinematics.Range, from string, err error) {
	full := kinematics.Range{Lower: -math.Pi, Upper: math.Pi}
	in := h.input
	if h.joint != nil {
		if in, err = h.session.MotionInput(*h.joint); err != nil {
			return full, "", err
		}
	}
	if len(in.Still) == 0 {
		return full, "full turn", nil
	}
	in.Housings, in.Watched = []doc.PartHousing{}, nil // no runout
	m, err := doc.ComputeMotion(r.ctx, in, nil)
	if err != nil {
		return full, "", err
	}
	if m.Free.Lower == nil || m.Free.Upper == nil || m.FreeRange().Span() >= 2*math.Pi {
		return full, "full turn", nil
	}
	return m.FreeRange(), "contact", nil
}

func (c *envelopeCommand) answer(h *hinge, e *doc.Envelope, from string) envelopeAnswer {
	parts := h.session.Parts
	a := envelopeAnswer{
		File: c.File, Output: c.Output, Unit: h.session.Model.Unit, RangeFrom: from, Notes: append([]string{}, e.Notes...),
		Volume: wire.Num(e.Volume), Area: wire.Num(e.Area), Error: wire.Num(e.Error), Deviation: wire.Num(e.Deviation),
		Triangles: len(e.Mesh.Triangles()), Joints: []sweptAnswer{},
	}
	for _, p := range e.Moving {
		a.Moving = append(a.Moving, parts[p].Name)
	}
	for _, w := range e.Over {
		s := sweptAnswer{Joint: w.Joint, Kind: w.Kind, Values: []valueAnswer{}}
		for i, r := range w.Over {
			f := w.Kind.Freedom(i)
			if f.Turns {
				r = kinematics.Range{Lower: kinematics.Degrees(r.Lower), Upper: kinematics.Degrees(r.Upper)}
			}
			s.Values = append(s.Values, valueAnswer{Freedom: f.String(), Lower: wire.Num(r.Lower), Upper: wire.Num(r.Upper)})
		}
		a.Joints = append(a.Joints, s)
	}
	if len(e.Over) == 1 && e.Over[0].Kind == kinematics.Revolute {
		axis := h.input.Axis
		if h.joint != nil {
			axis = h.joint.Frame.Axis()
		}
		a.Axis = &axisAnswer{Origin: wire.Vec(axis.Point), Direction: wire.Vec(axis.Dir)}
		over := e.Over[0].Over[0]
		r := newRangeAnswer(e.Over[0].Kind.Freedom(0), over)
		a.Range = &r
	}
	if k := e.Carving; k != nil {
		a.Carve = &carveAnswer{Area: wire.Num(k.Area), Depth: wire.Num(k.Depth), Tolerance: wire.Num(k.Tolerance), Parts: []carvePartAnswer{}}
		for i, p := range k.Parts {
			if p.Area > 0 || p.AtRest > 0 {
				a.Carve.Parts = append(a.Carve.Parts, carvePartAnswer{
					Part: parts[e.Still[i]].Name, Area: wire.Num(p.Area), Depth: wire.Num(p.Depth), Deepest: wire.Vec(p.Deepest),
					Triangles: append([]int32{}, p.Triangles...), AtRest: wire.Num(p.AtRest), RestDepth: wire.Num(p.RestDepth),
				})
			}
		}
	}
	return a
}

func (a envelopeAnswer) text() string {
	var p pairs
	if a.Range != nil {
		p.add("range", "%s to %s (%s)", a.Range.Lower.text(a.Unit), a.Range.Upper.text(a.Unit), map[string]string{
			"flag": "as given", "limits": "the joint's limits", "contact": "between the contacts", "full turn": "a full turn: nothing stops it",
		}[a.RangeFrom])
	} else {
		for _, j := range a.Joints {
			p.add(j.Joint, "%s", j.text(a.Unit))
		}
	}
	p.add("volume", "%s ± %s", power(float64(a.Volume), a.Unit, "³"), power(float64(a.Error), a.Unit, "³"))
	p.add("area", "%s", power(float64(a.Area), a.Unit, "²"))
	p.add("surface", "within %s", length(float64(a.Deviation), a.Unit))
	p.add("written", "%s, %d triangles", a.Output, a.Triangles)
	if k := a.Carve; k != nil {
		if k.Area == 0 {
			p.add("to carve", "nothing deeper than %s", length(float64(k.Tolerance), a.Unit))
		}
		for _, part := range k.Parts {
			if part.Area > 0 {
				p.add("to carve", "%s: %s, up to %s deep", part.Part, power(float64(part.Area), a.Unit, "²"), length(float64(part.Depth), a.Unit))
			}
		}
		if k.Output != "" {
			p.add("written", "%s", k.Output)
		}
	}
	out := p.String()
	for _, n := range a.Notes {
		out += "note: " + n + "\n"
	}
	return out
}

// text returns the kind and the ranges of the values.
func (s sweptAnswer) text(unit mesh.Unit) string {
	out := string(s.Kind)
	for i, v := range s.Values {
		lo, hi := float64(v.Lower), float64(v.Upper)
		show := func(x float64) string { return length(x, unit) }
		if s.Kind.Freedom(i).Turns {
			show = func(x float64) string { return angle(kinematics.Radians(x)) }
		}
		if math.IsInf(hi-lo, 0) {
			out += fmt.Sprintf(", %s all round", v.Freedom)
			continue
		}
		out += fmt.Sprintf(", %s %s to %s", v.Freedom, show(lo), show(hi))
	}
	return out
}
