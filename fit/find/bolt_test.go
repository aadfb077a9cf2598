package find

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

// holes are lines of like holes at angles on a circle.
func holes(c, axis r3.Vec, radius, hole float64, angles ...float64) []line {
	x := across(axis)
	y := r3.Cross(axis, x)
	var all []ring
	for _, a := range angles {
		s, cos := math.Sincos(a)
		all = append(all, ringAbout(r3.Add(c, r3.Add(r3.Scale(radius*cos, x), r3.Scale(radius*s, y))), axis, 0, hole, 1e-6, 1e-6*hole))
	}
	return lines(all, 1e-3*radius)
}

func TestBoltCircle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, axis, r := drawCircle(t)
		n := rapid.IntRange(3, 12).Draw(t, "bolts")
		var at []float64
		for i := range n {
			at = append(at, 0.3+2*math.Pi*float64(i)/float64(n))
		}
		got := boltCircles(holes(c, axis, r, 0.05*r, at...))
		if len(got) != 1 || !got[0].bolts || len(got[0].points) != n {
			t.Fatalf("%d bolts: %+v", n, got)
		}
		if b := got[0]; r3.Norm(r3.Sub(b.centre, c)) > 1e-6*r || lineAngle(b.axis, axis) > 1e-6 || math.Abs(b.radius-r) > 1e-6*r {
			t.Errorf("%+v, want %v %v %g", b, c, axis, r)
		}
	})
}

func TestBoltsUneven(t *testing.T) {
	z := r3.Vec{Z: 1}
	if got := boltCircles(holes(r3.Vec{}, z, 10, 0.5, 0, 0.9, 2, 3.3, 5)); len(got) != 1 {
		t.Errorf("five uneven: %+v", got)
	}
	for name, at := range map[string][]float64{
		"rectangle": {0.4, math.Pi - 0.4, math.Pi + 0.4, -0.4}, "three uneven": {0, 1, 3}, "two": {0, 3}, "on one side": {0, 0.3, 0.7, 1.2, 1.9, 2.5},
	} {
		if got := boltCircles(holes(r3.Vec{}, z, 10, 0.5, at...)); len(got) != 0 {
			t.Errorf("%s: %+v", name, got)
		}
	}
	if got := boltCircles(nil); got != nil {
		t.Errorf("none: %+v", got)
	}
}

// Rows of holes have no circle; two flanges have two.
func TestBoltsRowsAndPairs(t *testing.T) {
	z := r3.Vec{Z: 1}
	var row, pair []ring
	for i := range 6 {
		for j := range 2 {
			row = append(row, ringAbout(r3.Vec{X: 4.1 * float64(i), Y: 9 * float64(j)}, z, 0, 1, 1e-6, 1e-6))
		}
		s, c := math.Sincos(math.Pi / 3 * float64(i))
		pair = append(pair, ringAbout(r3.Vec{X: 10 * c, Y: 10 * s}, z, 0, 1, 1e-6, 1e-6), ringAbout(r3.Vec{X: 50 + 14*c, Y: 14 * s}, z, 0, 1, 1e-6, 1e-6))
	}
	if got := boltCircles(lines(row, 0.01)); len(got) != 0 {
		t.Errorf("rows: %+v", got)
	}
	got := boltCircles(lines(pair, 0.01))
	if len(got) != 2 || math.Abs(got[0].radius+got[1].radius-24) > 1e-9 {
		t.Errorf("two flanges: %+v", got)
	}
}
