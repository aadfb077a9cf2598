package desk

import (
	"fmt"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/app/doc"
	"pintle/kinematics"
	"pintle/viewport"
)

// Aim says that the next click aims a joint's frame.
type Aim struct {
	Active bool
	Roll   bool            // turn about reach, off the datum; else about the hinge
	Role   kinematics.Role // reach or side; with Roll hinge or side
	Mode   viewport.PickMode
}

// MakeHinge makes a hinge of what is picked and selects it.
func (d *Desk) MakeHinge() {
	if d.session == nil || len(d.picks) == 0 {
		return
	}
	picks, err := toPicks(d.session, d.picks)
	if err != nil {
		d.problem(fmt.Errorf("making the hinge: %w", err))
		return
	}
	j, err := propose(d.session, picks, d.given)
	if err != nil {
		d.problem(fmt.Errorf("making the hinge: %w", err))
		return
	}
	if d.do("make hinge "+j.Name, func(s *doc.Session) (doc.Document, error) { return s.TakeJoint(j) }) {
		d.forgetPicks()
		d.hover = noHit()
		d.SelectJoint(j.Name)
	}
}

// edit changes the selected joint and builds every frame anew.
func (d *Desk) edit(label string, f func(doc.Joint) doc.Joint) bool {
	j, _, ok := d.Joint()
	if !ok {
		return false
	}
	return d.do(label+" "+j.Name, func(s *doc.Session) (doc.Document, error) { return s.ChangeJoint(j.Name, f) })
}

// RenameJoint gives the selected joint another name.
func (d *Desk) RenameJoint(name string) {
	old := d.joint
	if name == "" || name == old {
		return
	}
	value, had := d.values[old]
	d.joint = name // so that the selection follows
	if !d.do("rename joint "+old, func(s *doc.Session) (doc.Document, error) {
		return s.ChangeJoint(old, func(j doc.Joint) doc.Joint { j.Name = name; return j })
	}) {
		d.joint = old
		d.changed()
		return
	}
	if had {
		delete(d.values, old)
		d.values[name] = value
	}
	d.changed()
}

// SetParent gives the selected joint another parent part, "" for the world.
func (d *Desk) SetParent(part string) {
	d.edit("parent of", func(j doc.Joint) doc.Joint { j.Parent = part; return j })
}

// SetLetters gives the selected joint other export letters.
func (d *Desk) SetLetters(l kinematics.Letters) {
	d.edit("letters of", func(j doc.Joint) doc.Joint { j.Letters = l; return j })
}

// FlipHinge turns the hinge direction round.
func (d *Desk) FlipHinge() {
	d.edit("flip hinge of", func(j doc.Joint) doc.Joint { j.Spec = j.Spec.Flipped(); return j })
}

// Accept marks the selected joint as agreed to, or takes that back.
func (d *Desk) Accept(on bool) {
	d.edit("accept", func(j doc.Joint) doc.Joint { j.Accepted = on; return j })
}

// DropJoint removes the selected joint.
func (d *Desk) DropJoint() {
	if j, _, ok := d.Joint(); ok {
		d.do("remove joint "+j.Name, func(s *doc.Session) (doc.Document, error) { return s.DropJoint(j.Name) })
	}
}

// SetRobust fits the selected joint's datum again with or without regard to
// outliers.
func (d *Desk) SetRobust(on bool) {
	d.refit("fit again", func(j doc.Joint) doc.Joint { j.Recipe.Robust = on; return j })
}

func (d *Desk) refit(label string, f func(doc.Joint) doc.Joint) {
	j, _, ok := d.Joint()
	if !ok {
		return
	}
	d.do(label+" "+j.Name, func(s *doc.Session) (doc.Document, error) {
		again, err := s.Refit(f(j))
		if err != nil {
			return s.Doc, err
		}
		return s.ChangeJoint(j.Name, func(doc.Joint) doc.Joint { return again })
	})
}

// TrueUp puts the selected joint's hinge on the own axis of the housing that
// runs out most.
func (d *Desk) TrueUp() {
	j, _, ok := d.Joint()
	p := d.Proof(j.Name)
	if !ok || p.Motion == nil {
		return
	}
	d.do("true up "+j.Name, func(s *doc.Session) (doc.Document, error) {
		trued, err := s.TrueUp(j, p.Motion)
		if err != nil {
			return s.Doc, err
		}
		return s.ChangeJoint(j.Name, func(doc.Joint) doc.Joint { return trued })
	})
}

// SetReach aims reach (or side) of the selected joint by a reference that
// needs no pick.
func (d *Desk) SetReach(role kinematics.Role, at kinematics.Reference) {
	d.edit("turn frame of", func(j doc.Joint) doc.Joint {
		j.Spec.Reach.Role, j.Spec.Reach.At = role, at
		return j
	})
}

// SetTurn turns the frame about the hinge by a typed angle more, radians.
func (d *Desk) SetTurn(angle float64) {
	d.edit("turn frame of", func(j doc.Joint) doc.Joint { j.Spec.Reach.Angle = angle; return j })
}

// SetRoll rolls the frame about its reach by a typed angle, radians.
func (d *Desk) SetRoll(angle float64) {
	d.edit("roll frame of", func(j doc.Joint) doc.Joint { j.Spec.Roll.Angle = angle; return j })
}

// SetSlide moves the origin along the hinge, model units from the datum's point.
func (d *Desk) SetSlide(v float64) {
	d.edit("slide origin of", func(j doc.Joint) doc.Joint { j.Spec.Slide = v; return j })
}

// Aim returns what the next click aims.
func (d *Desk) Aim() Aim { return d.aim }

// SetRollAim rolls the selected joint's frame about its reach until hinge or
// side points along a reference.
func (d *Desk) SetRollAim(role kinematics.Role, at kinematics.Reference) {
	d.edit("roll frame of", func(j doc.Joint) doc.Joint {
		j.Spec.Roll.Role, j.Spec.Roll.At = role, at
		return j
	})
}

// StartAim lets the next click aim the frame at what it picks.
func (d *Desk) StartAim(a Aim) {
	if _, _, ok := d.Joint(); !ok {
		return
	}
	a.Active = true
	d.aim = a
	d.mode, d.hover = a.Mode, noHit()
	d.changed()
}

// aimAt takes a click as the reference: a point by itself, anything else by
// the axis it gives.
func (d *Desk) aimAt(h viewport.Hit) {
	if !h.OK() {
		return
	}
	ref, err := d.reference(h)
	if err != nil {
		d.problem(fmt.Errorf("aiming the frame: %w", err))
		return
	}
	aim := d.aim
	d.aim = Aim{}
	if aim.Roll {
		d.SetRollAim(aim.Role, ref)
	} else {
		d.SetReach(aim.Role, ref)
	}
	d.changed()
}

func (d *Desk) reference(h viewport.Hit) (kinematics.Reference, error) {
	if h.Mode == viewport.PickPoint {
		return kinematics.Reference{Kind: kinematics.FromPoint, Point: h.Modelled}, nil
	}
	picks, err := toPicks(d.session, []viewport.Hit{h})
	if err != nil {
		return kinematics.Reference{}, err
	}
	recipe, err := d.session.Suggest(picks)
	if err != nil {
		return kinematics.Reference{}, err
	}
	datum, err := d.session.FitPicks(picks, recipe)
	if err != nil {
		return kinematics.Reference{}, err
	}
	if datum.Axis == (r3.Vec{}) {
		return kinematics.Reference{Kind: kinematics.FromPoint, Point: datum.Origin}, nil
	}
	return kinematics.Reference{Kind: kinematics.FromDirection, Dir: datum.Axis}, nil
}

// AsModelled puts every joint back to where the model stands.
func (d *Desk) AsModelled() {
	clear(d.values)
	d.changed()
}
