package doc

import (
	"fmt"
	"slices"
	"strings"
)

// HasLoops reports whether a joint closes a loop.
func (d Document) HasLoops() bool {
	return slices.ContainsFunc(d.Joints, func(j Joint) bool { return j.Closes })
}

// wouldClose reports whether a new joint closes a loop: its child hangs on
// another joint already, and no joint is between the same two parts.
func (d Document) wouldClose(j Joint) bool {
	if d.JointOf(j.Child) < 0 || j.Child == j.Parent {
		return false
	}
	return !slices.ContainsFunc(d.Joints, func(k Joint) bool {
		return k.Parent == j.Parent && k.Child == j.Child || k.Parent == j.Child && k.Child == j.Parent
	})
}

// HangBy lets the part that a joint closes a loop at hang on that joint from now
// on; the joint that carried it closes the loop instead.
func (d Document) HangBy(closing string) (Document, error) {
	i, err := d.mustJoint(closing)
	if err != nil {
		return d, err
	}
	k := d.JointOf(d.Joints[i].Child)
	if !d.Joints[i].Closes || k < 0 {
		return d, fmt.Errorf("joint %q closes no loop at a part that another joint carries", closing)
	}
	e := d
	e.Joints = slices.Clone(d.Joints)
	e.Joints[i].Closes, e.Joints[k].Closes = false, true
	if err := e.Validate(); err != nil {
		return d, err
	}
	return e, nil
}

// hungShorter returns the document with a loop cut where that brings the part
// that the joint closes it at nearest to the ground: a bridge's leaf hangs on its
// bearing, not on the rod that lifts it. Where both joints are named after the
// part, the one that carries it has the plain name. It also returns the name of
// the joint that closes the loop then.
func (d Document) hungShorter(closing string) (Document, string) {
	i := d.JointIndex(closing)
	k := d.JointOf(d.Joints[i].Child)
	if k < 0 || d.depth(d.Joints[i].Parent) >= d.depth(d.Joints[k].Parent) {
		return d, closing
	}
	e, err := d.HangBy(closing)
	if err != nil {
		return d, closing
	}
	was, now := e.Joints[k].Name, e.Joints[i].Name
	if was != e.Joints[i].Child || !strings.HasPrefix(now, was+" ") {
		return e, was
	}
	if strings.HasPrefix(now, was+" to ") {
		now = e.FreeJointName(was + " to " + e.Joints[k].Parent)
	}
	for _, change := range [][2]string{{was, e.FreeJointName(was)}, {e.Joints[i].Name, was}} {
		named, err := e.EditJoint(change[0], func(j Joint) Joint { j.Name = change[1]; return j })
		if err != nil {
			return e, e.Joints[k].Name
		}
		e = named
	}
	if named, err := e.EditJoint(e.Joints[k].Name, func(j Joint) Joint { j.Name = now; return j }); err == nil {
		e = named
	}
	return e, e.Joints[k].Name
}

// depth returns how many joints lead from the ground to a part.
func (d Document) depth(part string) int {
	n := 0
	for i := d.JointOf(part); i >= 0 && n <= len(d.Joints); i = d.JointOf(d.Joints[i].Parent) {
		n++
	}
	return n
}

// SetDriver lets a joint value drive the loop that it is part of, before the
// drivers that were set until now: as many of them stay as the loop has
// freedoms.
func (d Document) SetDriver(v ValueRef) (Document, error) {
	e := d
	e.Drivers = append([]ValueRef{v}, slices.DeleteFunc(slices.Clone(d.Drivers), func(w ValueRef) bool { return w == v })...)
	if err := e.Validate(); err != nil {
		return d, err
	}
	return e, nil
}

// validateDrivers checks that every driver is there and stands once.
func (d Document) validateDrivers() error {
	for i, v := range d.Drivers {
		k := d.JointIndex(v.Joint)
		switch {
		case k < 0:
			return fmt.Errorf("a driver: there is no joint %q", v.Joint)
		case v.Freedom < 0 || v.Freedom >= d.Joints[k].Kind.Freedoms():
			return fmt.Errorf("a driver: a %s joint such as %q has no value %d", d.Joints[k].Kind, v.Joint, v.Freedom)
		case slices.Contains(d.Drivers[:i], v):
			return fmt.Errorf("%s stands twice among the drivers", d.refText(v))
		}
	}
	return nil
}

// renamedDrivers returns the drivers with a joint's name mapped.
func renamedDrivers(list []ValueRef, from, to string) []ValueRef {
	list = slices.Clone(list)
	for i := range list {
		if list[i].Joint == from {
			list[i].Joint = to
		}
	}
	return list
}

// driversFitting returns the drivers without values that a joint which has
// become of another kind no longer has.
func driversFitting(list []ValueRef, now Joint) []ValueRef {
	return slices.DeleteFunc(slices.Clone(list), func(v ValueRef) bool {
		return v.Joint == now.Name && v.Freedom >= now.Kind.Freedoms()
	})
}

// carriedAnew returns the document after the joint gone was taken away: the
// first joint that closed a loop at the part it carried now carries it, unless
// that would make a ring.
func (d Document) carriedAnew(gone Joint) Document {
	if gone.Closes {
		return d
	}
	for i, j := range d.Joints {
		if !j.Closes || j.Child != gone.Child {
			continue
		}
		e := d
		j.Closes = false
		e.Joints = with(d.Joints, i, j)
		if e.Validate() == nil {
			return e
		}
	}
	return d
}
