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
