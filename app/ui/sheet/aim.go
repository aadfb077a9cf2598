package sheet

import (
	"fyne.io/fyne/v2/widget"

	"pintle/app/doc"
	"pintle/app/ui/desk"
	"pintle/kinematics"
	"pintle/viewport"
)

// Words for what a role of the frame can aim at.
const (
	aimDatum = "what the datum says"
	aimPoint = "a picked point"
	aimEdge  = "a picked edge or axis"
)

// aimOption is one line of a choice of references.
type aimOption struct {
	text string
	take func()
}

// reachChoice offers what reach, or side, can aim at by a turn about the hinge.
func (b *builder) reachChoice(j doc.Joint) *widget.Select {
	list := b.picked(false, kinematics.RoleReach, kinematics.RoleSide)
	set := func(r kinematics.Reference) func() {
		return func() { b.desk.SetReach(kinematics.RoleReach, r) }
	}
	list = append(list, b.neighbours(j, kinematics.TheirOrigin, "joint ", set)...)
	list = append(list, b.neighbours(j, kinematics.TheirReach, "reach of ", set)...)
	return chooseAim(append(list, modelAxes(set)...), aimText(j.Spec.Reach, kinematics.RoleReach))
}

// rollChoice offers what hinge, or side, can aim at by a roll about reach: any
// but the datum takes the hinge off its housing on purpose.
func (b *builder) rollChoice(j doc.Joint) *widget.Select {
	list := b.picked(true, kinematics.RoleHinge, kinematics.RoleSide)
	set := func(r kinematics.Reference) func() {
		return func() { b.desk.SetRollAim(kinematics.RoleHinge, r) }
	}
	list = append(list, b.neighbours(j, kinematics.TheirHinge, "hinge of ", set)...)
	return chooseAim(append(list, modelAxes(set)...), aimText(j.Spec.Roll, kinematics.RoleHinge))
}

// picked offers the datum and what is picked in the drawing, for both roles.
func (b *builder) picked(roll bool, first, second kinematics.Role) []aimOption {
	at := func(role kinematics.Role, m viewport.PickMode) func() {
		return func() { b.desk.StartAim(desk.Aim{Roll: roll, Role: role, Mode: m}) }
	}
	datum := func() { b.desk.SetReach(first, kinematics.Reference{Kind: kinematics.FromDatum}) }
	if roll {
		datum = func() { b.desk.SetRollAim(first, kinematics.Reference{Kind: kinematics.FromDatum}) }
	}
	return []aimOption{
		{aimDatum, datum},
		{aimPoint, at(first, viewport.PickPoint)},
		{aimEdge, at(first, viewport.PickEdge)},
		{"a picked round face", at(first, viewport.PickPatch)},
		{roleText(second, first) + aimPoint, at(second, viewport.PickPoint)},
		{roleText(second, first) + aimEdge, at(second, viewport.PickEdge)},
	}
}

// neighbours offers a feature of every other joint.
func (b *builder) neighbours(j doc.Joint, f kinematics.Feature, prefix string, set func(kinematics.Reference) func()) []aimOption {
	var out []aimOption
	for _, o := range b.desk.Session().Doc.Joints {
		if o.Name != j.Name {
			out = append(out, aimOption{prefix + o.Name, set(kinematics.Reference{Kind: kinematics.FromJoint, Joint: o.Name, Feature: f})})
		}
	}
	return out
}

func modelAxes(set func(kinematics.Reference) func()) []aimOption {
	var out []aimOption
	for _, l := range []kinematics.Letter{
		kinematics.PlusX, kinematics.MinusX, kinematics.PlusY, kinematics.MinusY, kinematics.PlusZ, kinematics.MinusZ,
	} {
		out = append(out, aimOption{"model axis " + string(l), set(kinematics.Reference{Kind: kinematics.FromWorld, World: l})})
	}
	return out
}

func chooseAim(list []aimOption, current string) *widget.Select {
	texts := make([]string, len(list))
	for i, o := range list {
		texts[i] = o.text
	}
	return choice(texts, current, func(v string) {
		for _, o := range list {
			if o.text == v {
				o.take()
				return
			}
		}
	})
}

// roleText marks a role that is not the usual one of its turn.
func roleText(role, usual kinematics.Role) string {
	if role == "" || role == usual {
		return ""
	}
	return string(role) + ": "
}

// aimText names the present reference in the words of the choice.
func aimText(a kinematics.Aim, usual kinematics.Role) string {
	switch a.At.Kind {
	case kinematics.FromPoint:
		return roleText(a.Role, usual) + aimPoint
	case kinematics.FromDirection:
		return roleText(a.Role, usual) + aimEdge
	case kinematics.FromJoint:
		switch a.At.Feature {
		case kinematics.TheirOrigin:
			return "joint " + a.At.Joint
		case kinematics.TheirHinge:
			return "hinge of " + a.At.Joint
		}
		return "reach of " + a.At.Joint
	case kinematics.FromWorld:
		return "model axis " + string(a.At.World)
	}
	return aimDatum
}
