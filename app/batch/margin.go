package batch

import (
	"fmt"
	"math"
	"strconv"

	"pintle/app/doc"
	"pintle/fit/mesh"
	"pintle/kinematics"
	"pintle/kinematics/contact"
)

// The limits in the motion command's JSON.
type (
	holdingAnswer struct {
		Suggested limitsAnswer `json:"suggested"` // that keep the margin
		Active    limitsAnswer `json:"active"`    // that hold
	}
	limitsAnswer struct {
		Lower limitAnswer `json:"lower"`
		Upper limitAnswer `json:"upper"`
	}
	limitAnswer struct {
		Value jointValue     `json:"value"` // null where free
		By    contact.Reason `json:"by"`
		Why   string         `json:"why"`
	}
)

// margin reads what suggested limits are to keep.
func (c *motionCommand) margin(h *hinge) error {
	if c.Margin == "" && c.Clear == "" {
		return nil
	}
	m := contact.Margin{}
	for _, f := range []struct {
		name, text string
		to         *float64
	}{{"margin", c.Margin, &m.Value}, {"clear", c.Clear, &m.Clearance}} {
		if f.text == "" {
			continue
		}
		v, err := strconv.ParseFloat(f.text, 64)
		if err != nil || !(v >= 0) || math.IsInf(v, 0) {
			return fmt.Errorf("--%s %q: give a number that is not negative", f.name, f.text)
		}
		*f.to = v
	}
	if h.input.Kind == "" || h.input.Kind.Turns() {
		m.Value = kinematics.Radians(m.Value)
	}
	h.input.Margin = &m
	if h.joint != nil {
		if r, ok := h.joint.Limit(0); ok {
			h.input.Own = &r
		}
	}
	return nil
}

// limits fills in which limits hold.
func (a *motionAnswer) limits(m *doc.Motion) {
	if m.Holding == nil {
		return
	}
	end := func(l contact.Limit) limitAnswer {
		return limitAnswer{Value: jointValue{l.Value, m.Freedom().Turns}, By: l.Reason, Why: l.Why}
	}
	ends := func(l contact.Limits) limitsAnswer { return limitsAnswer{Lower: end(l.Lower), Upper: end(l.Upper)} }
	a.Limits = &holdingAnswer{Suggested: ends(m.Holding.Suggested), Active: ends(m.Holding.Active)}
}

func (h *holdingAnswer) print(p *pairs, unit mesh.Unit) {
	if h == nil {
		return
	}
	p.add("suggested limits", "%s to %s", h.Suggested.Lower.Value.orFree(unit), h.Suggested.Upper.Value.orFree(unit))
	p.add("lower limit", "%s by %s: %s", h.Active.Lower.Value.orFree(unit), h.Active.Lower.By, h.Active.Lower.Why)
	p.add("upper limit", "%s by %s: %s", h.Active.Upper.Value.orFree(unit), h.Active.Upper.By, h.Active.Upper.Why)
}
