package doc_test

import (
	"context"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/app/doc"
	"pintle/app/doc/doctest"
	"pintle/kinematics"
)

// swingMotion is the motion of the test swing's arm against its base.
func swingMotion(t testing.TB, o doctest.Options, in doc.MotionInput) *doc.Motion {
	t.Helper()
	in.Parts, in.Moving, in.Still, in.Axis = doctest.Model(o).Parts, []int{2}, []int{0}, o.Hinge()
	m, err := doc.ComputeMotion(context.Background(), in, nil)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// gapOf returns how far the bar's side is from either stop's corner, at angle v:
// the corner's height above it in the bar's own axes. The plate lies lower.
func gapOf(v float64) float64 {
	lower, upper := doctest.Contacts()
	s, c := math.Sincos(v)
	return min(-(c*lower.Y-s*lower.X), c*upper.Y-s*upper.X) - doctest.ArmHalf
}

// The curve is within its error of the corners' distance from the bar, or of the
// bar's height over the plate, 6 (plane geometry).
func TestClearanceOfTheSwing(t *testing.T) {
	for _, o := range []doctest.Options{{}, {Move: doctest.Skew()}} {
		m := swingMotion(t, o, doc.MotionInput{Samples: doc.MostSamples})
		c := m.Curve
		if c.Error > m.CurveAsked || m.CurveNote() != "" {
			t.Errorf("error %g, asked %g: %s", c.Error, m.CurveAsked, m.CurveNote())
		}
		free := doctest.FreeRange()
		for i := range 200 {
			v := free.Lower + free.Span()*float64(i)/199
			if want := min(gapOf(v), 6); math.Abs(c.At(v)-want) > c.Error+1e-9 {
				t.Errorf("at %g: %g, want %g within %g", v, c.At(v), want, c.Error)
			}
		}
		if n := len(c.Minima); n != 2 || c.Minima[0].Distance > 1e-9 || c.Minima[1].Distance > 1e-9 {
			t.Errorf("minima %+v, want the two contacts", c.Minima)
		}
		if least, ok := m.Narrowest(); ok {
			t.Errorf("least but for the contacts %+v, want none", least)
		}
	}
	if m := swingMotion(t, doctest.Options{}, doc.MotionInput{}); m.Curve != nil || m.CurveNote() != "" {
		t.Error("a curve that nobody asked for")
	}
}

// Within a range that ends before the contacts the least clearance is at its
// nearer end, where the bar and a corner come nearest.
func TestLeastClearanceWithinARange(t *testing.T) {
	o := doctest.Options{Move: doctest.Skew()}
	in := doc.MotionInput{Samples: doc.MostSamples, Error: 1e-3, Range: kinematics.Range{Lower: -0.6, Upper: 0.5}}
	m := swingMotion(t, o, in)
	least, ok := m.Narrowest()
	if !ok || least.Value != 0.5 || math.Abs(least.Distance-gapOf(0.5)) > 1e-9 || m.Curve.Error > 1e-3 {
		t.Fatalf("least %+v, want %g at 0.5", least, gapOf(0.5))
	}
	if m.Moving[least.Moving] != 2 || m.Still[least.Still] != 0 || math.Abs(r3.Norm(r3.Sub(least.OnMoving, least.OnStill))-least.Distance) > 1e-9 {
		t.Errorf("between %+v", least)
	}
	_, corner := doctest.Contacts()
	if p := o.Move.Inverse().Apply(least.OnStill); math.Hypot(p.X-corner.X, p.Y-corner.Y) > 1e-9 {
		t.Errorf("on the stop at %v, want its upright edge", p)
	}
	in.Samples = 33
	if note := swingMotion(t, o, in).CurveNote(); !strings.Contains(note, "not to 0.0010") {
		t.Errorf("with 33 samples the note is %q", note)
	}
}
