package loop

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/kinematics"
)

// Strut is a two-part slider (a cylinder and its rod, a gas spring) whose ends
// hang on two pivots, the foot on one part and the head on another, which a
// hinge carries on the first. Its length and the hinge's angle follow from
// each other by the law of cosines:
//
//	L^2 = p^2 + q^2 - 2 p q cos phi + h^2
//
// with p and q the distances of foot and head from the hinge line, h their
// distance along it and phi the angle between them about it. Where the slide
// runs beside the line of the pivots, at the distance e, extension is counted
// from sqrt(L^2 - e^2).
type Strut struct {
	// Values of the linkage: of the hinge, of the slide, of foot and head.
	Hinge, Slide, Foot, Head int
	P, Q                     float64 // of foot and head from the hinge line, model units
	Along                    float64 // h: from the foot to the head along the hinge
	Beside                   float64 // e: of the slide's line from the head, seen from the foot
	Phi                      float64 // from foot to head about the hinge as modelled, -pi to pi
	Rest                     float64 // along the slide from foot to head as modelled; negative where the slide points back
}

// StrutBetween returns the strut between a foot and a head about a hinge, with
// the head on the part that the hinge moves, the slide in line with the pivots
// and its value positive as it lengthens. The numbers of values are left 0. It
// returns an error where a pivot lies on the hinge line or the two coincide.
func StrutBetween(hinge kinematics.Axis, foot, head r3.Vec) (Strut, error) {
	var s Strut
	a, b := hinge.Offset(foot), hinge.Offset(head)
	s.P, s.Q = r3.Norm(a), r3.Norm(b)
	s.Along = hinge.Along(head) - hinge.Along(foot)
	s.Rest = r3.Norm(r3.Sub(head, foot))
	size := max(s.P, s.Q, math.Abs(s.Along))
	switch {
	case !finite(size):
		return Strut{}, fmt.Errorf("strut between pivots %v and %v: give finite points", foot, head)
	case min(s.P, s.Q) <= 1e-9*size:
		return Strut{}, fmt.Errorf("strut between pivots %.4g and %.4g from the hinge: a pivot on the hinge's line turns nothing, choose pivots off it", s.P, s.Q)
	case s.Rest <= 1e-9*size:
		return Strut{}, fmt.Errorf("the strut's pivots coincide: choose two places")
	}
	s.Phi = kinematics.SignedAngle(a, b, hinge.Dir)
	return s, nil
}

// phi returns the angle between the pivots at a hinge value.
func (s Strut) phi(hinge float64) float64 { return s.Phi + hinge }

// Length returns the distance of the pivots at a hinge value.
func (s Strut) Length(hinge float64) float64 {
	// (p - q)^2 + 4 p q sin^2(phi/2), so that no digits are lost for small angles.
	h := math.Sin(s.phi(hinge) / 2)
	return math.Sqrt((s.P-s.Q)*(s.P-s.Q) + 4*s.P*s.Q*h*h + s.Along*s.Along)
}

// Extension returns the slide's value at a hinge value, 0 as modelled: how much
// longer the strut is. It is NaN where the slide runs farther beside the pivots
// than they are apart.
func (s Strut) Extension(hinge float64) float64 {
	l := s.Length(hinge)
	run := math.Sqrt((l - s.Beside) * (l + s.Beside))
	return math.Copysign(run, s.Rest) - s.Rest
}

// Arm returns the change of the pivots' distance by the hinge value, which is
// the lever arm of the strut's force about the hinge: 0 at a dead point.
func (s Strut) Arm(hinge float64) float64 {
	return s.P * s.Q * math.Sin(s.phi(hinge)) / s.Length(hinge)
}

// Lengths returns the least and greatest distance that the pivots can have: at
// the two dead points, with foot, hinge and head in line.
func (s Strut) Lengths() (least, greatest float64) {
	return math.Hypot(s.P-s.Q, s.Along), math.Hypot(s.P+s.Q, s.Along)
}

// DeadPoints returns the hinge values nearest to the modelled pose, below and
// above it, at which foot, hinge and head stand in line and the strut cannot
// turn the hinge.
func (s Strut) DeadPoints() kinematics.Range {
	lower := 0.0
	if s.Phi < 0 { // as Turn counts it
		lower = -math.Pi
	}
	return kinematics.Range{Lower: lower - s.Phi, Upper: lower + math.Pi - s.Phi}
}

// Turn returns the hinge value at a slide value, between the dead points that
// the modelled pose lies between. It fails where the strut cannot have that
// length, and says by how much.
func (s Strut) Turn(extension float64) (float64, error) {
	run := s.Rest + extension
	l := math.Hypot(run, s.Beside)
	least, greatest := s.Lengths()
	slack := 1e-12 * greatest
	switch {
	case !finite(extension) || run*s.Rest < 0:
		return 0, fmt.Errorf("a strut extended by %.4g: it would be turned inside out, give more than %.4g", extension, -s.Rest)
	case l > greatest+slack:
		return 0, fmt.Errorf("a strut of length %.4g is %.4g too long: its pivots are %.4g apart at the most", l, l-greatest, greatest)
	case l < least-slack:
		return 0, fmt.Errorf("a strut of length %.4g is %.4g too short: its pivots are %.4g apart at the least", l, least-l, least)
	}
	square := (l-s.Along)*(l+s.Along) - (s.P-s.Q)*(s.P-s.Q)
	half := math.Sqrt(min(max(square/(4*s.P*s.Q), 0), 1)) // sin phi/2, without sign
	phi := 2 * math.Atan2(half, math.Sqrt((1-half)*(1+half)))
	if s.Phi < 0 {
		phi = -phi
	}
	return phi - s.Phi, nil
}

// TurnRange returns the hinge values that a range of slide values allows,
// between the dead points; ends of the range that the strut cannot reach give
// the dead point, or where the pivots are as near as the slide runs beside
// them. It fails where the strut reaches none of the range.
func (s Strut) TurnRange(slide kinematics.Range) (kinematics.Range, error) {
	if err := slide.Check(); err != nil {
		return kinematics.Range{}, err
	}
	dead := s.DeadPoints()
	ends := [2]float64{s.Extension(dead.Lower), s.Extension(dead.Upper)}
	for i, e := range ends {
		if math.IsNaN(e) {
			ends[i] = -s.Rest
		}
	}
	a, b := ends[0], ends[1]
	can := kinematics.Range{Lower: min(a, b), Upper: max(a, b)}
	if slide.Upper < can.Lower || slide.Lower > can.Upper {
		return kinematics.Range{}, fmt.Errorf("the strut moves from %.4g to %.4g, never within %.4g to %.4g: look at its limits", can.Lower, can.Upper, slide.Lower, slide.Upper)
	}
	at := func(x float64) float64 {
		turn, err := s.Turn(can.Clamp(x))
		if err != nil {
			return math.NaN()
		}
		return turn
	}
	p, q := at(slide.Lower), at(slide.Upper)
	return kinematics.Range{Lower: min(p, q), Upper: max(p, q)}, nil
}
