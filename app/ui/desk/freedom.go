package desk

import (
	"slices"

	"pintle/app/doc"
	"pintle/kinematics"
)

// Freedom returns which value of the selected joint ruler and drags move.
func (d *Desk) Freedom() int {
	j, _, ok := d.Joint()
	if !ok {
		return 0
	}
	return min(d.freedom, max(j.Kind.Freedoms()-1, 0))
}

// SetFreedom chooses the value of the selected joint that ruler and drags move.
func (d *Desk) SetFreedom(i int) {
	if j, _, ok := d.Joint(); ok && i >= 0 && i < j.Kind.Freedoms() && i != d.freedom {
		d.freedom = i
		d.changed()
	}
}

// SetKind gives the selected joint another kind. Limits and values that still
// mean the same stay; it stands as modelled in all others.
func (d *Desk) SetKind(k kinematics.Kind) {
	was, _, _ := d.Joint()
	if !d.edit("kind of", func(j doc.Joint) doc.Joint { return j.WithKind(k) }) {
		return
	}
	values := slices.Clone(d.values[was.Name])
	values = values[:min(len(values), max(k.Freedoms(), 0))]
	for i := range values {
		if !doc.SameFreedom(was.Kind, k, i) {
			values[i] = 0
		}
	}
	d.values[was.Name] = values
	d.freedom = 0
	d.changed()
}

// SetLimits gives the chosen value of the selected joint limits, nil for none.
func (d *Desk) SetLimits(r *kinematics.Range) { d.SetLimit(d.Freedom(), r) }

// SetLimit gives value i of the selected joint limits, nil for none.
func (d *Desk) SetLimit(i int, r *kinematics.Range) {
	d.edit("limits of", func(j doc.Joint) doc.Joint { return j.WithLimit(i, r) })
}

// SetCone lets the selected joint lean by an angle at most, to all sides; nil
// for no bound.
func (d *Desk) SetCone(most *float64) {
	d.edit("lean of", func(j doc.Joint) doc.Joint {
		j.Cone = nil
		if most != nil {
			j.Cone = &kinematics.Cone{Max: []float64{*most}}
		}
		return j
	})
}

// SetPitch gives the selected screw its travel, model units per radian.
func (d *Desk) SetPitch(v float64) {
	d.edit("pitch of", func(j doc.Joint) doc.Joint { j.Pitch = v; return j })
}

// Values returns where a joint stands: a value for each freedom, radians or
// model units, with what it follows taken into account.
func (d *Desk) Values(joint string) []float64 {
	if d.session == nil {
		return nil
	}
	i := d.session.Doc.JointIndex(joint)
	if i < 0 {
		return nil
	}
	own := make([]float64, max(d.session.Doc.Joints[i].Kind.Freedoms(), 0))
	copy(own, d.values[joint])
	if len(d.session.Doc.Couplings) == 0 && !d.session.Doc.HasLoops() {
		return own
	}
	t, err := d.session.Tree()
	if err != nil {
		return own
	}
	all, err := d.session.Values(t, d.values)
	if err != nil {
		return own
	}
	if k := t.Find(joint); k >= 0 {
		first, n := t.ValueIndex(k)
		return all[first : first+n]
	}
	return own
}

// Value returns where a joint stands: of the selected one the chosen value, of
// others the first.
func (d *Desk) Value(joint string) float64 {
	i := 0
	if joint == d.joint {
		i = d.Freedom()
	}
	if v := d.Values(joint); i < len(v) {
		return v[i]
	}
	return 0
}

// SetValue puts the chosen value of the selected joint at v. Where it follows
// another in a fixed ratio that one goes to where it leads there.
func (d *Desk) SetValue(v float64) {
	j, _, ok := d.Joint()
	if !ok || d.Value(j.Name) == v || j.Kind.Freedoms() < 1 {
		return
	}
	at := doc.ValueRef{Joint: j.Name, Freedom: d.Freedom()}
	for range len(d.session.Doc.Couplings) {
		i := d.session.Doc.CouplingOf(at)
		if i < 0 {
			break
		}
		c := d.session.Doc.Couplings[i]
		if c.Law.Kind == kinematics.LawCurve || c.Law.Ratio == 0 {
			d.moved() // no one place of the driver makes it stand there: the ruler goes back
			return
		}
		at, v = c.Driver, (v-c.Law.Offset)/c.Law.Ratio
	}
	if d.session.Doc.HasLoops() {
		d.pull(at, v)
	} else {
		d.put(at, v)
	}
	d.swings++
	d.moved()
}

// put sets one value.
func (d *Desk) put(at doc.ValueRef, v float64) {
	i := d.session.Doc.JointIndex(at.Joint)
	if i < 0 {
		return
	}
	values := make([]float64, d.session.Doc.Joints[i].Kind.Freedoms())
	copy(values, d.values[at.Joint])
	values[at.Freedom] = v
	d.values[at.Joint] = values
}

// Follows returns the coupling that sets value i of the selected joint.
func (d *Desk) Follows(i int) (doc.Coupling, bool) {
	j, _, ok := d.Joint()
	if !ok {
		return doc.Coupling{}, false
	}
	k := d.session.Doc.CouplingOf(doc.ValueRef{Joint: j.Name, Freedom: i})
	if k < 0 {
		return doc.Coupling{}, false
	}
	return d.session.Doc.Couplings[k], true
}

// Follow makes value i of the selected joint ratio times the driver plus offset;
// ratio and offset in radians and model units.
func (d *Desk) Follow(i int, driver doc.ValueRef, ratio, offset float64) {
	j, _, ok := d.Joint()
	if !ok {
		return
	}
	law := kinematics.Law{Kind: kinematics.LawRatio, Ratio: ratio}
	if offset != 0 {
		law.Kind, law.Offset = kinematics.LawLinear, offset
	}
	d.do("couple "+j.Name, func(s *doc.Session) (doc.Document, error) {
		return s.Doc.SetCoupling(doc.Coupling{Driver: driver, Follower: doc.ValueRef{Joint: j.Name, Freedom: i}, Law: law})
	})
}

// Unfollow sets value i of the selected joint free.
func (d *Desk) Unfollow(i int) {
	j, _, ok := d.Joint()
	if !ok {
		return
	}
	d.do("free "+j.Name, func(s *doc.Session) (doc.Document, error) {
		return s.Doc.RemoveCoupling(doc.ValueRef{Joint: j.Name, Freedom: i})
	})
}
