package batch

import (
	"math"
	"slices"
	"strings"

	"pintle/app/handover"
	"pintle/fit/mesh"
	"pintle/kinematics"
)

// jointTable lists joints with their limits, and what follows what.
func jointTable(spec handover.Spec) string {
	if len(spec.Joints) == 0 {
		return ""
	}
	t := table{}
	t.row("joint", "type", "parent", "child", "limits")
	for _, j := range spec.Joints {
		parent := "the world"
		if j.Parent != nil {
			parent = *j.Parent
		}
		t.row(j.Name, string(j.Type), parent, j.Child, limitText(j, spec.Model.Unit))
	}
	text := t.String()
	for _, c := range spec.Couplings {
		text += followText(spec, c) + "\n"
	}
	return text
}

// limitText sets the limits of a joint's freedoms in words, nothing for free
// ones.
func limitText(j handover.SpecJoint, unit mesh.Unit) string {
	var list []string
	for _, f := range j.Freedoms {
		lower, upper := float64(f.Lower), float64(f.Upper)
		if math.IsInf(lower, 0) && math.IsInf(upper, 0) {
			continue
		}
		text := specEnd(lower) + " to " + specEnd(upper) + " " + map[string]string{"degree": "deg", "length": string(unit)}[f.Unit]
		if len(j.Freedoms) > 1 {
			text = freedomText(f) + " " + text
		}
		list = append(list, text)
	}
	if len(j.Cone) > 0 {
		most := slices.Max(j.Cone)
		list = append(list, "leans up to "+figure(kinematics.Degrees(float64(most)))+" deg")
	}
	if j.Closes {
		list = append(list, "closes a loop")
	}
	return strings.Join(list, ", ")
}

func freedomText(f handover.SpecFreedom) string {
	return kinematics.Freedom{Name: f.Motion, About: f.About, Turns: f.Unit == "degree"}.String()
}

func specEnd(v float64) string {
	if math.IsInf(v, 0) {
		return "any"
	}
	return figure(v)
}

// followText says what a coupling does.
func followText(spec handover.Spec, c handover.SpecCoupling) string {
	name := func(r handover.SpecRef) string {
		for _, j := range spec.Joints {
			if j.Name == r.Joint && len(j.Freedoms) > 1 && r.Freedom < len(j.Freedoms) {
				return r.Joint + " (" + freedomText(j.Freedoms[r.Freedom]) + ")"
			}
		}
		return r.Joint
	}
	text := name(c.Follower) + " follows " + name(c.Driver)
	switch {
	case c.Ratio == nil:
		return text + " by a curve of " + countOf(len(c.Curve), "point")
	case c.Offset == 0:
		return text + " x " + figure(float64(*c.Ratio))
	}
	return text + " x " + figure(float64(*c.Ratio)) + " + " + figure(float64(c.Offset))
}
