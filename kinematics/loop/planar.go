package loop

import (
	"fmt"
	"math"
)

// FourBar is a plane four-bar linkage by the lengths between its pins: crank
// and rocker turn on the ground, the coupler joins their ends.
type FourBar struct {
	Crank, Coupler, Rocker, Ground float64
}

// Circuit tells the two ways to assemble a linkage of the same lengths at the
// same input. They are the book's "open" and "crossed".
type Circuit int

// The circuits.
const (
	Open Circuit = iota
	Crossed
)

// Bars is a pose of a four-bar. Angles are from the ground's direction (from
// the crank's ground pin to the rocker's), radians, -pi to pi.
type Bars struct {
	Coupler, Rocker float64    // angles: of the coupler from A to B, of the rocker from its ground pin to B
	A, B            [2]float64 // pins crank-coupler and coupler-rocker, from the crank's ground pin
	// Transmission is the angle between coupler and rocker, 0 to pi/2: near a right
	// angle the coupler turns the rocker well.
	Transmission float64
}

// At returns the pose at a crank angle from Freudenstein's equation
//
//	K1 cos rocker - K2 cos crank + K3 = cos(crank - rocker)
//	K1 = d/a, K2 = d/c, K3 = (a^2 - b^2 + c^2 + d^2)/(2 a c)
//
// or false where the linkage does not reach that angle. Source: F. Freudenstein,
// Approximate synthesis of four-bar linkages, Trans. ASME 77 (1955) 853-861;
// circuits as in R. L. Norton, Design of Machinery, chapter 4.
func (f FourBar) At(crank float64, c Circuit) (Bars, bool) {
	s, co := math.Sincos(crank)
	ax, ay := f.Crank*co, f.Crank*s
	// The triangle of A, the rocker's ground pin and B.
	dx, dy := f.Ground-ax, -ay
	d2 := dx*dx + dy*dy
	d := math.Sqrt(d2)
	if d == 0 {
		return Bars{}, false
	}
	along := (f.Coupler*f.Coupler - f.Rocker*f.Rocker + d2) / (2 * d)
	h2 := (f.Coupler - along) * (f.Coupler + along)
	if !(h2 >= 0) {
		return Bars{}, false
	}
	h := math.Sqrt(h2)
	if c == Crossed {
		h = -h
	}
	bx, by := ax+(along*dx-h*dy)/d, ay+(along*dy+h*dx)/d
	out := Bars{
		Coupler: math.Atan2(by-ay, bx-ax), Rocker: math.Atan2(by, bx-f.Ground),
		A: [2]float64{ax, ay}, B: [2]float64{bx, by},
	}
	mu := math.Abs(math.Remainder(out.Coupler-out.Rocker, 2*math.Pi))
	out.Transmission = min(mu, math.Pi-mu)
	return out, true
}

// Class says which links of a four-bar turn fully.
type Class string

// The classes. Source: F. Grashof, Theoretische Maschinenlehre 2 (1883): with s
// the shortest and l the longest link, some link turns fully where s + l does
// not exceed the sum of the other two; the shortest is the one that does,
// against both its neighbours.
const (
	CrankRocker   Class = "crank-rocker"   // the crank turns fully
	RockerCrank   Class = "rocker-crank"   // the rocker does
	DoubleCrank   Class = "double crank"   // both do: the ground is shortest
	DoubleRocker  Class = "double rocker"  // the coupler does against both
	TripleRocker  Class = "triple rocker"  // none does
	ChangePoint   Class = "change point"   // it can lie flat
	Parallelogram Class = "parallelogram"  // opposite links alike: change point as well
	Impossible    Class = "does not close" // one link is longer than the others together
)

// Class returns the class of the linkage. Sums that differ by less than tol of
// the longest link count as equal; 0 leaves it to rounding.
func (f FourBar) Class(tol float64) Class {
	sum := f.Crank + f.Coupler + f.Rocker + f.Ground
	s := min(f.Crank, f.Coupler, f.Rocker, f.Ground)
	l := max(f.Crank, f.Coupler, f.Rocker, f.Ground)
	slack := max(tol, 1e-12) * l
	excess := 2*(s+l) - sum
	switch {
	case !(s > 0) || 2*l > sum+slack:
		return Impossible
	case math.Abs(excess) <= 2*slack && math.Abs(f.Crank-f.Rocker) <= slack && math.Abs(f.Coupler-f.Ground) <= slack:
		return Parallelogram
	case math.Abs(excess) <= 2*slack:
		return ChangePoint
	case excess > 0:
		return TripleRocker
	case s == f.Crank:
		return CrankRocker
	case s == f.Ground:
		return DoubleCrank
	case s == f.Coupler:
		return DoubleRocker
	}
	return RockerCrank
}

// Check returns an error where a length is not positive and finite.
func (f FourBar) Check() error {
	for _, x := range []float64{f.Crank, f.Coupler, f.Rocker, f.Ground} {
		if !(x > 0) || math.IsInf(x, 1) {
			return fmt.Errorf("a link of length %g: give four positive lengths", x)
		}
	}
	return nil
}

// SliderCrank is a plane slider-crank: a crank about the origin, a rod, and a
// slider on the line that runs along x at the height Offset.
type SliderCrank struct {
	Crank, Rod, Offset float64
}

// At returns where the slider stands at a crank angle:
//
//	x = r cos t +- sqrt(l^2 - (r sin t - e)^2)
//
// + for Open, - for Crossed, or false where the rod does not reach the line.
// Source: R. L. Norton, Design of Machinery, chapter 4.
func (s SliderCrank) At(crank float64, c Circuit) (x float64, ok bool) {
	sn, co := math.Sincos(crank)
	h := s.Crank*sn - s.Offset
	q := (s.Rod - h) * (s.Rod + h)
	if !(q >= 0) {
		return 0, false
	}
	if c == Crossed {
		return s.Crank*co - math.Sqrt(q), true
	}
	return s.Crank*co + math.Sqrt(q), true
}

// Stroke returns the slider's two ends on its open circuit, with the rod
// stretched out and folded back, or false where the crank does not turn fully:
// that takes a rod longer than crank and offset together.
func (s SliderCrank) Stroke() (outer, inner float64, ok bool) {
	r, l, e := math.Abs(s.Crank), s.Rod, math.Abs(s.Offset)
	if !(l > r+e) {
		return 0, 0, false
	}
	return math.Sqrt((l + r + e) * (l + r - e)), math.Sqrt((l - r + e) * (l - r - e)), true
}
