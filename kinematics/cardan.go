package kinematics

import (
	"fmt"
	"math"
)

// Cardan is a single universal (Hooke, cardan) joint between two shafts at a
// fixed angle Bend, 0 to below a quarter turn, in radians. The input turns
// evenly, the output does not: it runs ahead and behind twice a turn.
//
// The input angle is 0 where the axis of the input shaft's fork (Hinge of the
// joint) lies in the plane of the two shafts, and the output angle where that
// of the output shaft's fork (Side) stands across it; the two happen together.
// Then
//
//	tan out = tan in / cos Bend
//	d out / d in = cos Bend / (1 - sin^2 Bend cos^2 in)
//
// Counted from where the input fork stands across the plane, a quarter turn
// on, the same joint reads tan out = cos Bend tan in. Source: J. E. Shigley, J.
// J. Uicker, Theory of Machines and Mechanisms (1980), on the Hooke joint.
//
// Two in a row pass turning on evenly where their bends are equal, the three
// shafts lie in one plane and the forks of the middle shaft are parallel: feed
// the second joint with Output plus a quarter turn. With forks at right angles
// the unevenness is doubled instead, cos^2 Bend to 1/cos^2 Bend.
type Cardan struct {
	Bend float64
}

// CardanOf returns the bend between the shafts of a universal joint at its two
// values and the input angle at which it stands there, -pi to pi. In line, with
// no plane of the shafts, the input angle is 0.
func CardanOf(aboutHinge, aboutSide float64) (c Cardan, in float64) {
	azimuth, bend := Universal.Lean(aboutHinge, aboutSide)
	if bend == 0 {
		return Cardan{}, 0
	}
	// The plane of the shafts lies at azimuth from Side; Hinge is a quarter on.
	return Cardan{Bend: bend}, wrap(math.Pi/2 - azimuth)
}

// Check returns an error where the bend is not from 0 to below a quarter turn.
func (c Cardan) Check() error {
	if !(c.Bend >= 0 && c.Bend < math.Pi/2) {
		return fmt.Errorf("a bend of %.6g degrees between the shafts: give 0 to below 90", Degrees(c.Bend))
	}
	return nil
}

// Output returns the angle of the output shaft at that of the input shaft. It
// goes on over whole turns and is odd.
func (c Cardan) Output(in float64) float64 {
	s, co := math.Sincos(in)
	cb, h := math.Cos(c.Bend), math.Sin(c.Bend/2)
	return in + math.Atan2(2*h*h*s*co, cb*co*co+s*s)
}

// Ratio returns the velocity of the output shaft per unit of the input's at an
// input angle: cos Bend to 1/cos Bend, 1 on the average.
func (c Cardan) Ratio(in float64) float64 {
	sb, co := math.Sin(c.Bend), math.Cos(in)
	return math.Cos(c.Bend) / (1 - sb*sb*co*co)
}

// Fluctuation returns the greatest less the least ratio of a turn, sin Bend tan
// Bend.
func (c Cardan) Fluctuation() float64 { return math.Sin(c.Bend) * math.Tan(c.Bend) }

// Lead returns the greatest angle that the output runs ahead or behind, and the
// input angle between 0 and a quarter turn at which it runs ahead most.
func (c Cardan) Lead() (lead, in float64) {
	cb := math.Cos(c.Bend)
	h := math.Sin(c.Bend / 2)
	return math.Atan(h * h / math.Sqrt(cb)), math.Atan(math.Sqrt(cb))
}

// Values returns the values of the universal joint when its input shaft stands
// at the angle in and the shafts keep their bend.
func (c Cardan) Values(in float64) (aboutHinge, aboutSide float64) {
	s, co := math.Sincos(in)
	sb, cb := math.Sincos(c.Bend)
	return math.Atan2(sb*s, cb), math.Atan2(0-sb*co, math.Hypot(sb*s, cb))
}
