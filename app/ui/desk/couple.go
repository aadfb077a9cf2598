package desk

import (
	"pintle/app/doc"
	"pintle/kinematics"
)

// FollowCurve makes value i of the selected joint follow the driver by a curve
// through points, in radians and model units.
func (d *Desk) FollowCurve(i int, driver doc.ValueRef, points []kinematics.CurvePoint) {
	j, _, ok := d.Joint()
	if !ok {
		return
	}
	d.do("couple "+j.Name, func(s *doc.Session) (doc.Document, error) {
		return s.Doc.SetCoupling(doc.Coupling{
			Driver: driver, Follower: doc.ValueRef{Joint: j.Name, Freedom: i},
			Law: kinematics.Law{Kind: kinematics.LawCurve, Curve: points},
		})
	})
}

// Limit returns how far value i of the selected joint may go: its own limits,
// brought in where something that follows it would leave its own. ok is false
// where nothing limits it.
func (d *Desk) Limit(i int) (r kinematics.Range, ok bool) {
	j, _, selected := d.Joint()
	if !selected {
		return kinematics.Unlimited(), false
	}
	r, ok = j.Limit(i)
	if len(d.session.Doc.Couplings) == 0 {
		return r, ok
	}
	t, err := d.session.Tree()
	if err != nil {
		return r, ok
	}
	c, err := d.session.Couplings(t)
	if err != nil {
		return r, ok
	}
	k := t.Find(j.Name)
	if k < 0 {
		return r, ok
	}
	if first, n := t.ValueIndex(k); i < n {
		r = c.Allowed()[first+i]
	}
	return r, r != kinematics.Unlimited()
}
