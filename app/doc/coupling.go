package doc

import (
	"fmt"
	"slices"

	"pintle/kinematics"
)

// ValueRef names one value of a joint.
type ValueRef struct {
	Joint   string
	Freedom int // see kinematics.Kind.Freedom
}

// Coupling makes one joint value follow another by a law: gears, belts, a cam, a
// mirrored side.
type Coupling struct {
	Driver, Follower ValueRef
	Law              kinematics.Law
}

// CouplingOf returns the index of the coupling that sets the value, or -1.
func (d Document) CouplingOf(v ValueRef) int {
	return slices.IndexFunc(d.Couplings, func(c Coupling) bool { return c.Follower == v })
}

// SetCoupling adds a coupling, or replaces the one of the same follower. Its
// follower's own values leave the poses.
func (d Document) SetCoupling(c Coupling) (Document, error) {
	c.Law.Curve = slices.Clone(c.Law.Curve)
	e := d
	if i := d.CouplingOf(c.Follower); i >= 0 {
		e.Couplings = with(d.Couplings, i, c)
	} else {
		e.Couplings = append(slices.Clone(d.Couplings), c)
	}
	if err := e.Validate(); err != nil {
		return d, err
	}
	return e, nil
}

// RemoveCoupling sets a value free.
func (d Document) RemoveCoupling(follower ValueRef) (Document, error) {
	i := d.CouplingOf(follower)
	if i < 0 {
		return d, fmt.Errorf("%s follows nothing", d.refText(follower))
	}
	d.Couplings = slices.Delete(slices.Clone(d.Couplings), i, i+1)
	return d, nil
}

// FreedomOf returns what a joint value means; the zero Freedom where it is not
// there.
func (d Document) FreedomOf(v ValueRef) kinematics.Freedom {
	if i := d.JointIndex(v.Joint); i >= 0 {
		return d.Joints[i].Kind.Freedom(v.Freedom)
	}
	return kinematics.Freedom{}
}

// refText names a value in a message.
func (d Document) refText(v ValueRef) string {
	if i := d.JointIndex(v.Joint); i >= 0 && d.Joints[i].Kind.Freedoms() > 1 {
		return fmt.Sprintf("joint %q (%s)", v.Joint, d.Joints[i].Kind.Freedom(v.Freedom))
	}
	return fmt.Sprintf("joint %q", v.Joint)
}

// validateCouplings checks that every value is there, has one driver and does
// not follow itself, and that the laws have a meaning.
func (d Document) validateCouplings() error {
	lead := map[ValueRef]ValueRef{}
	for _, c := range d.Couplings {
		for _, v := range []ValueRef{c.Driver, c.Follower} {
			i := d.JointIndex(v.Joint)
			if i < 0 {
				return fmt.Errorf("a coupling: there is no joint %q", v.Joint)
			}
			if v.Freedom < 0 || v.Freedom >= d.Joints[i].Kind.Freedoms() {
				return fmt.Errorf("a coupling: a %s joint such as %q has no value %d", d.Joints[i].Kind, v.Joint, v.Freedom)
			}
		}
		if err := c.Law.Check(); err != nil {
			return fmt.Errorf("the coupling of %s: %w", d.refText(c.Follower), err)
		}
		if _, ok := lead[c.Follower]; ok {
			return fmt.Errorf("%s follows two drivers: one must do", d.refText(c.Follower))
		}
		lead[c.Follower] = c.Driver
	}
	for _, c := range d.Couplings {
		at := c.Follower
		for range len(d.Couplings) {
			next, ok := lead[at]
			if !ok {
				break
			}
			if at = next; at == c.Follower {
				return fmt.Errorf("%s would follow itself: break the ring of couplings", d.refText(c.Follower))
			}
		}
	}
	return nil
}

// renamedCouplings returns the couplings with a joint's name mapped.
func renamedCouplings(list []Coupling, from, to string) []Coupling {
	list = slices.Clone(list)
	for i := range list {
		for _, v := range []*ValueRef{&list[i].Driver, &list[i].Follower} {
			if v.Joint == from {
				v.Joint = to
			}
		}
	}
	return list
}

// withoutJoint returns the couplings that do not refer to a joint.
func withoutJoint(list []Coupling, joint string) []Coupling {
	return slices.DeleteFunc(slices.Clone(list), func(c Coupling) bool {
		return c.Driver.Joint == joint || c.Follower.Joint == joint
	})
}

// fitting returns the couplings that still make sense where a joint has become
// of another kind: those whose value of it is there and means the same.
func fitting(list []Coupling, was, now Joint) []Coupling {
	gone := func(v ValueRef) bool {
		return v.Joint == now.Name && (v.Freedom >= now.Kind.Freedoms() || was.Kind.Freedom(v.Freedom).Turns != now.Kind.Freedom(v.Freedom).Turns)
	}
	if was.Kind == now.Kind || !slices.ContainsFunc(list, func(c Coupling) bool { return gone(c.Driver) || gone(c.Follower) }) {
		return list
	}
	return slices.DeleteFunc(slices.Clone(list), func(c Coupling) bool { return gone(c.Driver) || gone(c.Follower) })
}

// Couplings returns the document's couplings over the tree of Tree.
func (s *Session) Couplings(t *kinematics.Tree) (*kinematics.Couplings, error) {
	list := make([]kinematics.Coupling, len(s.Doc.Couplings))
	ref := func(v ValueRef) kinematics.ValueRef {
		return kinematics.ValueRef{Joint: t.Find(v.Joint), Freedom: v.Freedom}
	}
	for i, c := range s.Doc.Couplings {
		list[i] = kinematics.Coupling{Driver: ref(c.Driver), Follower: ref(c.Follower), Law: c.Law}
	}
	return kinematics.NewCouplings(t, list)
}

// Values returns the tree's joint values where joints stand at the given ones,
// by name: 0 where nothing is said, followers set by their drivers, loops
// closed. Names that are not there are passed over, values beyond a joint's
// freedoms left out. Where a loop cannot close at what its drivers say, it
// stands where it comes to on the way there.
func (s *Session) Values(t *kinematics.Tree, joints map[string][]float64) ([]float64, error) {
	values := t.Zero()
	for _, j := range s.Doc.Joints {
		if i := t.Find(j.Name); i >= 0 {
			first, n := t.ValueIndex(i)
			copy(values[first:first+n], joints[j.Name])
		}
	}
	c, err := s.Couplings(t)
	if err != nil {
		return nil, err
	}
	c.Apply(values)
	if !s.Doc.HasLoops() {
		return values, nil
	}
	all, err := s.Linkages()
	if err != nil {
		return nil, err
	}
	all.close(values, c)
	return values, nil
}
