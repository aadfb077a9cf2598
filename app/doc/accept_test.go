package doc

import (
	"slices"
	"testing"

	"pintle/fit/find"
	"pintle/kinematics"
)

// a rides on b by itself; what says that it is fixed to c makes a joint of it.
func TestPartsThatRideAreNotJoinedTwice(t *testing.T) {
	s := hinged(t, beads(t, 0.01, 0.02, 0.01), "b", "c")
	fixed := func(part, to int, sure float64) Proposals {
		return Proposals{Fixed: []find.Fixed{{Part: part, To: to, Confidence: sure}}}
	}
	for _, c := range []struct {
		name     string
		all      Proposals
		want     string // the part that gets a joint
		carrying string
	}{
		{"it rides there already", fixed(0, 1, 1), "", ""},
		{"it would ride on another part", fixed(0, 2, 1), "a", "c"},
		{"that is not sure", fixed(0, 2, 0.4), "", ""},
		{"it has a joint", fixed(2, 1, 1), "", ""},
		{"what it is fixed to hangs on nothing", fixed(0, 3, 1), "", ""},
	} {
		d, err := s.settle(c.all, s.Doc)
		if err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		i := slices.IndexFunc(d.Joints, func(j Joint) bool { return j.Kind == kinematics.Fixed })
		if (i >= 0) != (c.want != "") {
			t.Errorf("%s: joints %v", c.name, d.Joints)
			continue
		}
		if i >= 0 && (d.Joints[i].Child != c.want || d.Joints[i].Parent != c.carrying) {
			t.Errorf("%s: %s was fixed to %s", c.name, d.Joints[i].Child, d.Joints[i].Parent)
		}
	}
}
