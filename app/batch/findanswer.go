package batch

import (
	"math"

	"pintle/app/doc"
	"pintle/app/doc/wire"
	"pintle/fit/find"
	"pintle/fit/mesh"
)

// findAnswer is the command's JSON.
type findAnswer struct {
	File     string        `json:"file"`
	Unit     mesh.Unit     `json:"unit"`
	Ground   *string       `json:"ground"`
	Joints   []foundJoint  `json:"joints"`
	Doubtful []foundJoint  `json:"doubtful"` // confidence below the limit
	Fixed    []foundFixed  `json:"fixed"`
	Findings []doc.Finding `json:"findings"`
	Document *findDocument `json:"document,omitempty"`
	Seconds  wire.Num      `json:"seconds"`

	proven bool // every joint has a motion
}

type findDocument struct {
	File   string `json:"file"`
	Made   int    `json:"made"`   // joints that were added
	Joints int    `json:"joints"` // all that it holds
}

type foundJoint struct {
	Name       string        `json:"name"`
	Parent     string        `json:"parent"`
	Child      string        `json:"child"`
	Type       find.Kind     `json:"type"`
	Origin     wire.Vec      `json:"origin"`
	Axis       wire.Vec      `json:"axis"`
	Frame      foundFrame    `json:"frame"`
	Pitch      wire.Num      `json:"pitch"` // of a screw: model units a turn, else 0
	Confidence wire.Num      `json:"confidence"`
	Evidence   foundEvidence `json:"evidence"`
	Loop       bool          `json:"closes_loop"`
	Own        *foundOwn     `json:"document_has"` // null where the document has no joint there
	RunnersUp  []foundAxis   `json:"runners_up"`
	Motion     *foundMotion  `json:"motion,omitempty"` // with --prove
}

// foundFrame is the joint frame that accepting makes.
type foundFrame struct {
	Origin wire.Vec `json:"origin"`
	Hinge  wire.Vec `json:"hinge"`
	Reach  wire.Vec `json:"reach"`
	Side   wire.Vec `json:"side"`
}

// foundOwn is the joint that the document has there already.
type foundOwn struct {
	Joint  string   `json:"joint"`
	Agrees bool     `json:"agrees"`
	Angle  wire.Deg `json:"angle_off"` // degrees; null where it joins other parts
	Offset wire.Num `json:"offset"`    // model units; null there too
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
	Picked   string   `json:"picked,omitempty"`  // what the joint can be fitted to again
}

// newFindAnswer words what was found.
func newFindAnswer(s *doc.Session, found doc.Proposals, least float64) findAnswer {
	a := findAnswer{
		Unit: s.Model.Unit, Joints: []foundJoint{}, Doubtful: []foundJoint{}, Fixed: []foundFixed{},
		Findings: append([]doc.Finding{}, found.Findings...),
	}
	if found.Ground >= 0 {
		a.Ground = &s.Parts[found.Ground].Name
	}
	for _, p := range found.List {
		j := newFoundJoint(s, p)
		if p.Confidence >= least {
			a.Joints = append(a.Joints, j)
		} else {
			a.Doubtful = append(a.Doubtful, j)
		}
	}
	for _, f := range found.Fixed {
		a.Fixed = append(a.Fixed, foundFixed{s.Parts[f.Part].Name, s.Parts[f.To].Name, wire.Num(f.Confidence), f.Words})
	}
	return a
}

func newFoundJoint(s *doc.Session, p doc.Proposal) foundJoint {
	c := p.Choices[0]
	j := foundJoint{
		Name: p.Name, Parent: s.Parts[p.Parent].Name, Child: s.Parts[p.Child].Name, Type: c.Found,
		Origin: wire.Vec(c.Frame.Origin), Axis: wire.Vec(c.Frame.Hinge), Pitch: wire.Num(2 * math.Pi * c.Pitch),
		Frame: foundFrame{
			Origin: wire.Vec(c.Frame.Origin), Hinge: wire.Vec(c.Frame.Hinge),
			Reach: wire.Vec(c.Frame.Reach), Side: wire.Vec(c.Frame.Side()),
		},
		Confidence: wire.Num(p.Confidence), Loop: p.Loop, Evidence: newFoundEvidence(c), RunnersUp: []foundAxis{},
	}
	for _, x := range p.Choices[1:] {
		j.RunnersUp = append(j.RunnersUp, foundAxis{
			x.Found, wire.Vec(x.Frame.Origin), wire.Vec(x.Frame.Hinge), wire.Num(x.Score), newFoundEvidence(x),
		})
	}
	if r := s.Read(p); r.Joint != "" {
		j.Own = &foundOwn{
			Joint: r.Joint, Agrees: r.Standing != doc.Differs,
			Angle: wire.Deg(r.Angle), Offset: wire.Num(r.Offset),
		}
	}
	return j
}

func newFoundEvidence(c doc.Choice) foundEvidence {
	e := c.Evidence
	return foundEvidence{
		Words: e.Words, InParent: e.InParent, InChild: e.InChild, Radius: wire.Num(e.Radius),
		Gap: wire.Num(e.Gap), Mating: wire.Num(e.Mating), Slips: wire.Num(e.Slips), Picked: doc.PickText(c.Picks),
	}
}
