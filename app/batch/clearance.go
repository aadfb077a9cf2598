package batch

import (
	"pintle/app/doc"
	"pintle/app/doc/wire"
	"pintle/fit/mesh"
	"pintle/kinematics/contact"
)

// The clearance in the motion command's JSON.
type (
	clearanceAnswer struct {
		valueAt
		Distance wire.Num `json:"distance"`
	}
	// curveAnswer says how exact the clearance is, and where it is least.
	curveAnswer struct {
		Error  wire.Num        `json:"error"`  // certified: between the samples it is off by no more
		Asked  wire.Num        `json:"asked"`  // the error it was to have
		Lowest wire.Num        `json:"lowest"` // a certified lower bound over the range
		Minima []minimumAnswer `json:"minima"` // contacts at the ends of the range included
		Least  *minimumAnswer  `json:"least"`  // the least of them that is no contact
		Note   string          `json:"note,omitempty"`
	}
	minimumAnswer struct {
		clearanceAnswer
		Parts  [2]string   `json:"parts"` // moving, still
		Points [2]wire.Vec `json:"points"`
	}
)

// curve fills in the clearance.
func (a *motionAnswer) curve(m *doc.Motion) {
	c := m.Curve
	if c == nil {
		return
	}
	at := func(s contact.Sample) clearanceAnswer {
		return clearanceAnswer{valueAt: newValueAt(m.Freedom(), s.Value), Distance: wire.Num(s.Distance)}
	}
	minimum := func(s contact.Sample) minimumAnswer {
		x := minimumAnswer{clearanceAnswer: at(s), Points: [2]wire.Vec{wire.Vec(s.OnMoving), wire.Vec(s.OnStill)}}
		if s.Moving >= 0 {
			x.Parts = [2]string{a.Moving[s.Moving], a.Still[s.Still]}
		}
		return x
	}
	for _, s := range c.Samples {
		a.Clearance = append(a.Clearance, at(s))
	}
	a.Curve = &curveAnswer{
		Error: wire.Num(c.Error), Asked: wire.Num(m.CurveAsked), Lowest: wire.Num(c.Lowest),
		Minima: []minimumAnswer{}, Note: m.CurveNote(),
	}
	for _, s := range c.Minima {
		a.Curve.Minima = append(a.Curve.Minima, minimum(s))
	}
	if s, ok := m.Narrowest(); ok {
		x := minimum(s)
		a.Curve.Least = &x
	}
}

func (c *curveAnswer) print(p *pairs, unit mesh.Unit) {
	if c == nil {
		return
	}
	if l := c.Least; l != nil {
		p.add("least clearance", "%s at %s, ± %s, %s to %s", length(float64(l.Distance), unit), l.at.text(unit),
			length(float64(c.Error), unit), l.Parts[0], l.Parts[1])
	}
	if c.Note != "" {
		p.add("clearance", "%s", c.Note)
	}
}
