package doc

import (
	"fmt"
	"math"

	"pintle/kinematics"
)

// CoupledLimits returns what each coupling of the document makes of the limits,
// in the document's order.
func (s *Session) CoupledLimits() ([]kinematics.CoupledLimit, error) {
	t, err := s.Tree()
	if err != nil {
		return nil, err
	}
	c, err := s.Couplings(t)
	if err != nil {
		return nil, err
	}
	return c.Limits(), nil
}

// coupled tells of a driver that would take the joint past its own limits.
func (w *findingWriter) coupled() {
	mine := false
	for _, c := range w.session.Doc.Couplings {
		mine = mine || c.Follower.Joint == w.joint.Name
	}
	if !mine {
		return
	}
	limits, err := w.session.CoupledLimits()
	if err != nil {
		return // the document was validated; a tree that cannot be built is told elsewhere
	}
	for i, l := range limits {
		c := w.session.Doc.Couplings[i]
		if c.Follower.Joint != w.joint.Name || !l.Exceeds() {
			continue
		}
		f := w.session.Doc.FreedomOf(c.Follower)
		value, limit := l.Reach.Upper, l.Own.Upper
		if l.Own.Lower-l.Reach.Lower > value-limit {
			value, limit = l.Reach.Lower, l.Own.Lower
		}
		driver := w.session.Doc.FreedomOf(c.Driver)
		remedy := fmt.Sprintf("keep %s within %s to %s", c.Driver.Joint, w.valueText(driver, l.Driver.Lower), w.valueText(driver, l.Driver.Upper))
		if !l.OK {
			remedy = "it is outside as modelled: change the offset or the limits"
		}
		to := c.Driver.Joint + " to " + w.valueText(f, value)
		if math.IsInf(value, 0) {
			to = c.Driver.Joint + ", which is not limited,"
		}
		w.add(Finding{
			Severity: Check, Kind: RangeCoupled, Value: value, Limit: limit, Unit: unitOf(f),
			Text: fmt.Sprintf("follows %s past its own limit of %s; %s", to, w.valueText(f, limit), remedy),
		})
	}
}

// valueText sets a joint value in words.
func (w *findingWriter) valueText(f kinematics.Freedom, v float64) string {
	switch {
	case math.IsInf(v, 0):
		return "any value"
	case f.Turns:
		return AngleText(v)
	}
	return w.len(v)
}

func unitOf(f kinematics.Freedom) ValueUnit {
	if f.Turns {
		return Angle
	}
	return Length
}
