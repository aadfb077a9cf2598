package doc

import (
	"fmt"
	"slices"
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
