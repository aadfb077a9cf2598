package batch

import (
	"errors"
	"fmt"
	"math"
	"path/filepath"
	"strings"
	"time"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/app/doc"
	"pintle/app/doc/wire"
	"pintle/fit/mesh"
	"pintle/kinematics"
	"pintle/kinematics/contact"
)

// hingeFlags say which hinge of which file turns.
type hingeFlags struct {
	File   string   `arg:"" help:"A document (with --joint) or a model (with --moving, --origin and --axis)."`
	Joint  string   `help:"The document's joint." placeholder:"NAME"`
	Moving []string `help:"Parts of the model that turn, separated by commas." sep:"none" placeholder:"PART,..."`
	Still  []string `help:"Parts that they may meet; otherwise all others." sep:"none" placeholder:"PART,..."`
	Origin string   `help:"A point of the hinge line, model units." placeholder:"X,Y,Z"`
	Axis   string   `help:"The hinge's direction, of any length; turns follow the right-hand rule about it." placeholder:"X,Y,Z"`
	Range  string   `help:"Degrees from the pose as modelled, of a slider model units; otherwise a full turn either way, of a slider all the way." placeholder:"LO:HI"`
	JSON   bool     `name:"json" help:"Print JSON."`
	modelFlags
}

// hinge is a hinge that is ready to turn.
type hinge struct {
	session *doc.Session
	input   doc.MotionInput
	joint   *doc.Joint // nil without a document
	load    time.Duration
}

// open reads the file and finds the hinge in it.
func (c *hingeFlags) open(r *run) (*hinge, error) {
	document := isDocument(c.File)
	if err := c.check(document); err != nil {
		return nil, usageError{err}
	}
	start := time.Now()
	s, err := r.open(c.File, c.modelFlags)
	if err != nil {
		return nil, err
	}
	h := &hinge{session: s, load: time.Since(start)}
	if document {
		err = c.fromDocument(h)
	} else {
		err = c.fromModel(h)
	}
	if err != nil {
		return h, err
	}
	if c.Range != "" {
		lo, hi, err := parsePair("range", c.Range)
		if err != nil {
			return nil, err
		}
		h.input.Range = kinematics.Range{Lower: lo, Upper: hi}
		if h.input.Kind == "" || h.input.Kind.Turns() {
			h.input.Range = kinematics.Range{Lower: kinematics.Radians(lo), Upper: kinematics.Radians(hi)}
		}
		if err := h.input.Range.Check(); err != nil {
			return nil, usageError{fmt.Errorf("--range %q: %w", c.Range, err)}
		}
	}
	return h, nil
}

// check refuses flags that do not go together.
func (c *hingeFlags) check(document bool) error {
	var wrong []string
	for _, f := range []struct {
		name  string
		given bool
	}{{"--moving", len(c.Moving) > 0}, {"--origin", c.Origin != ""}, {"--axis", c.Axis != ""}, {"--still", len(c.Still) > 0}} {
		if document == f.given && f.name != "--still" || document && f.given {
			wrong = append(wrong, f.name)
		}
	}
	switch {
	case document && len(wrong) > 0:
		return fmt.Errorf("%s: the document says what moves about what; leave %s out", filepath.Base(c.File), strings.Join(wrong, ", "))
	case document && c.Joint == "":
		return fmt.Errorf("%s is a document: name one of its joints with --joint", filepath.Base(c.File))
	case !document && c.Joint != "":
		return fmt.Errorf("--joint %q: %s is a model and has no joints; a document has", c.Joint, filepath.Base(c.File))
	case !document && len(wrong) > 0:
		return fmt.Errorf("%s is a model: %s missing", filepath.Base(c.File), strings.Join(wrong, ", "))
	}
	return nil
}

func (c *hingeFlags) fromDocument(h *hinge) error {
	if err := c.findJoint(h); err != nil {
		return err
	}
	var err error
	h.input, err = h.session.MotionInput(*h.joint)
	if err != nil && h.joint.Kind.Freedoms() > 1 {
		return severalError{err}
	}
	return err
}

// severalError is that of a joint of several freedoms, which has no one motion.
type severalError struct{ error }

// findJoint finds the joint that --joint names.
func (c *hingeFlags) findJoint(h *hinge) error {
	d := h.session.Doc
	i := d.JointIndex(c.Joint)
	if i < 0 {
		names := make([]string, len(d.Joints))
		for k, j := range d.Joints {
			names[k] = j.Name
		}
		return fmt.Errorf("%s: there is no joint %q%s", filepath.Base(c.File), c.Joint, suggestion(c.Joint, names))
	}
	h.joint = &d.Joints[i]
	return nil
}

func (c *hingeFlags) fromModel(h *hinge) error {
	parts := h.session.Parts
	h.input.Parts = parts
	var err error
	if h.input.Moving, err = findParts(parts, c.Moving); err != nil {
		return fmt.Errorf("--moving: %w", err)
	}
	if h.input.Still, err = c.still(parts, h.input.Moving); err != nil {
		return fmt.Errorf("--still: %w", err)
	}
	origin, err := parseVec("origin", c.Origin)
	if err != nil {
		return err
	}
	dir, err := parseVec("axis", c.Axis)
	if err != nil {
		return err
	}
	if h.input.Axis, err = kinematics.NewAxis(origin, dir); err != nil {
		return usageError{fmt.Errorf("--axis: %w", err)}
	}
	return nil
}

func (c *hingeFlags) still(parts []mesh.Part, moving []int) ([]int, error) {
	moves := map[int]bool{}
	for _, i := range moving {
		moves[i] = true
	}
	if len(c.Still) == 0 {
		var others []int
		for i := range parts {
			if !moves[i] {
				others = append(others, i)
			}
		}
		return others, nil
	}
	still, err := findParts(parts, c.Still)
	for _, i := range still {
		if moves[i] {
			return nil, fmt.Errorf("part %q cannot both move and stand still", parts[i].Name)
		}
	}
	return still, err
}

type motionCommand struct {
	hingeFlags
	Samples   int     `help:"Samples that the clearance curve may have; 0: no curve." default:"4000"`
	Error     float64 `help:"How exact the clearance curve has to be, model units; 0: 1e-4 of the size." placeholder:"LENGTH"`
	Margin    string  `help:"Suggest limits that stop this short of contact: degrees, of a slider model units." placeholder:"VALUE"`
	Clear     string  `help:"Suggest limits that keep the parts this far apart, model units." placeholder:"LENGTH"`
	Tolerance float64 `help:"Overlap that counts as touching, model units; 0: a millionth of the size." placeholder:"LENGTH"`
}

// Run computes the motion.
func (c *motionCommand) Run(r *run) error {
	const mostSamples = 100_000
	if c.Samples < 0 || c.Samples > mostSamples {
		return usageError{fmt.Errorf("--samples %d: give 0 to %d", c.Samples, mostSamples)}
	}
	if !(c.Error >= 0) || math.IsInf(c.Error, 0) {
		return usageError{fmt.Errorf("--error %g: give a length in model units that is not negative", c.Error)}
	}
	h, err := c.open(r)
	if errors.As(err, new(severalError)) {
		return c.several(r, h)
	}
	if err != nil {
		return err
	}
	h.input.Samples, h.input.Tolerance, h.input.Error = c.Samples, c.Tolerance, c.Error
	if err := c.margin(h); err != nil {
		return usageError{err}
	}
	m, err := doc.ComputeMotion(r.ctx, h.input, nil)
	if err != nil {
		return fmt.Errorf("%s: %w", filepath.Base(c.File), err)
	}
	a := newMotionAnswer(c.File, h, m)
	if h.joint != nil {
		a.Joint = &h.joint.Name
		a.Findings = append(a.Findings, h.session.Findings(*h.joint, m)...)
	}
	if doc.Worst(a.Findings) == doc.Stop {
		r.out.Code = ExitStop
	}
	if c.JSON {
		return r.printJSON(a)
	}
	return r.print(a.text())
}

// The command's JSON.
type (
	motionAnswer struct {
		File      string            `json:"file"`
		Joint     *string           `json:"joint"`
		Unit      mesh.Unit         `json:"unit"`
		Moving    []string          `json:"moving"`
		Still     []string          `json:"still"`
		Axis      axisAnswer        `json:"axis"`
		Kind      kinematics.Kind   `json:"kind"`
		Searched  rangeAnswer       `json:"searched"`
		Free      rangeAnswer       `json:"free_range"`
		Contacts  contactsAnswer    `json:"contacts"`
		Rest      []restAnswer      `json:"rest"`
		Runout    runoutAnswer      `json:"runout"`
		Clearance []clearanceAnswer `json:"clearance"`
		Curve     *curveAnswer      `json:"curve"`            // null where none was asked for
		Limits    *holdingAnswer    `json:"limits,omitempty"` // where a margin was given
		Findings  []doc.Finding     `json:"findings"`
		Timing    timingAnswer      `json:"timing"`
	}
	axisAnswer struct {
		Origin    wire.Vec `json:"origin"`
		Direction wire.Vec `json:"direction"`
	}
	rangeAnswer struct {
		Lower jointValue `json:"lower"`
		Upper jointValue `json:"upper"`
	}
	contactsAnswer struct {
		Lower *contactAnswer `json:"lower"`
		Upper *contactAnswer `json:"upper"`
	}
	contactAnswer struct {
		valueAt
		Point  wire.Vec  `json:"point"`
		Normal wire.Vec  `json:"normal"`
		Parts  [2]string `json:"parts"` // moving, still
		Faces  [2]int    `json:"faces"` // triangle numbers in these parts
		AtRest bool      `json:"at_rest"`
	}
	restAnswer struct {
		Kind    contact.RestKind `json:"kind"`
		Depth   wire.Num         `json:"depth"`
		Point   wire.Vec         `json:"point"`
		Parts   [2]string        `json:"parts"`
		Faces   [2]int           `json:"faces"`
		Blocks  string           `json:"blocks"`
		Ignored bool             `json:"ignored"`
	}
	timingAnswer struct {
		Load      wire.Num `json:"load_ms"`
		Build     wire.Num `json:"build_ms"`
		FreeRange wire.Num `json:"free_range_ms"`
	}
)

func newMotionAnswer(file string, h *hinge, m *doc.Motion) motionAnswer {
	name := func(i int) string { return h.session.Parts[i].Name }
	free := m.FreeRange() // an infinite end is null
	a := motionAnswer{
		File: file, Unit: h.session.Model.Unit, Moving: []string{}, Still: []string{},
		Axis:     axisAnswer{Origin: wire.Vec(m.Axis.Point), Direction: wire.Vec(m.Axis.Dir)},
		Kind:     m.Kind,
		Searched: newRangeAnswer(m.Freedom(), m.Searched), Free: newRangeAnswer(m.Freedom(), free),
		Rest: []restAnswer{}, Clearance: []clearanceAnswer{}, Findings: []doc.Finding{},
		Runout: newRunoutAnswer(m.Runout),
		Timing: timingAnswer{Load: ms(h.load), Build: ms(m.BuildTime), FreeRange: ms(m.FreeRangeTime)},
	}
	for _, i := range m.Moving {
		a.Moving = append(a.Moving, name(i))
	}
	for _, i := range m.Still {
		a.Still = append(a.Still, name(i))
	}
	event := func(e *contact.Event) *contactAnswer {
		if e == nil {
			return nil
		}
		return &contactAnswer{
			valueAt: newValueAt(m.Freedom(), e.Value), Point: wire.Vec(e.Point), Normal: wire.Vec(e.Normal),
			Parts: [2]string{a.Moving[e.Moving], a.Still[e.Still]}, Faces: [2]int{e.MovingTri, e.StillTri}, AtRest: e.AtRest,
		}
	}
	a.Contacts = contactsAnswer{Lower: event(m.Free.Lower), Upper: event(m.Free.Upper)}
	for _, x := range m.Free.Rest {
		a.Rest = append(a.Rest, restAnswer{
			Kind: x.Kind, Depth: wire.Num(x.Depth), Point: wire.Vec(x.Point), Blocks: x.Blocks, Ignored: x.Ignored,
			Parts: [2]string{a.Moving[x.Moving], a.Still[x.Still]}, Faces: [2]int{x.MovingTri, x.StillTri},
		})
	}
	a.curve(m)
	a.limits(m)
	return a
}

func ms(d time.Duration) wire.Num {
	return wire.Num(math.Round(float64(d.Microseconds())) / 1000)
}

func noNumber() wire.Num { return wire.Num(math.NaN()) }

func (a motionAnswer) text() string {
	var p pairs
	p.add("moving", "%s", strings.Join(a.Moving, ", "))
	p.add("still", "%s", strings.Join(a.Still, ", "))
	p.add(map[bool]string{true: "hinge", false: string(a.Kind)}[a.Kind == kinematics.Revolute], "through %s along %s", vector(r3.Vec(a.Axis.Origin)), vector(r3.Vec(a.Axis.Direction)))
	p.add("free range", "%s to %s", a.Free.Lower.orFree(a.Unit), a.Free.Upper.orFree(a.Unit))
	a.Limits.print(&p, a.Unit)
	for _, e := range []struct {
		name string
		at   *contactAnswer
	}{{"lower contact", a.Contacts.Lower}, {"upper contact", a.Contacts.Upper}} {
		if e.at != nil {
			p.add(e.name, "%s meets %s at %s, %s", e.at.Parts[0], e.at.Parts[1], vector(r3.Vec(e.at.Point)), e.at.at.text(a.Unit))
		}
	}
	kinds := map[contact.RestKind]int{}
	for _, x := range a.Rest {
		kinds[x.Kind]++
	}
	for _, k := range []contact.RestKind{contact.Mating, contact.Touch, contact.Overlap} {
		if kinds[k] > 0 {
			p.add("at rest", "%s %s", countOf(kinds[k], "region"), map[contact.RestKind]string{
				contact.Mating: map[bool]string{true: "turning in one another", false: "sliding on one another"}[a.Kind.Turns()], contact.Touch: "touching", contact.Overlap: "overlapping",
			}[k])
		}
	}
	if a.Kind == kinematics.Revolute {
		a.Runout.print(&p, a.Unit)
	}
	a.Curve.print(&p, a.Unit)
	p.add("time", "load %s, build %s, free range %s",
		milliseconds(float64(a.Timing.Load)), milliseconds(float64(a.Timing.Build)), milliseconds(float64(a.Timing.FreeRange)))
	return p.String() + printFindings(a.Findings)
}
