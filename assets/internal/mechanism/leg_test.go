package mechanism

import (
	"math"
	"testing"
)

// The knee's housing is a true cylinder, but about an axis of its own: 0.8 mm
// from the hinge and 1.5 degrees askew to it.
func TestKneeHousingIsOffItsHinge(t *testing.T) {
	m := HeronLeg()
	knee := m.joint("knee")
	h := knee.Housing
	if a := math.Atan2(h.Axis.Cross(knee.Axis).Norm(), h.Axis.Dot(knee.Axis)); math.Abs(a*180/math.Pi-1.5) > 1e-9 {
		t.Errorf("housing is %g deg askew, want 1.5", a*180/math.Pi)
	}
	if d := distanceFrom(h.Origin, knee.Origin, knee.Axis); math.Abs(d-0.8) > 1e-9 {
		t.Errorf("housing is %g mm off, want 0.8", d)
	}
	n := 0
	for _, v := range m.part(h.Part).Vertices {
		x := v.Sub(h.Origin).Dot(h.Axis)
		if math.Abs(x) < h.HalfWidth && math.Abs(distanceFrom(v, h.Origin, h.Axis)-h.Radius) < 1e-9 {
			n++
		}
	}
	if n < 160 {
		t.Errorf("%d vertices lie on the housing, want two rings of 80", n)
	}
}
