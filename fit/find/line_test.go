package find

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

// ringAbout is a clean ring about a line at a height.
func ringAbout(o, a r3.Vec, height, radius, tilt, shift float64) ring {
	c := r3.Add(o, r3.Scale(height, a))
	return ring{centre: c, axis: a, radius: radius, arc: 2 * math.Pi, form: 1, tilt: tilt, shift: shift, points: roundPoints(c, a, radius, 2*math.Pi, 0, ringPoints, nil)}
}

// Two centres known to s at heights 0 and h, and axes known to t, give the slope
// of variance 1 / (h^2 / 2 s^2 + 2 / t^2), and the middle to s over root 2.
func TestLineOfTwoRings(t *testing.T) {
	const s, tilt, h, off = 1e-3, 2e-3, 10.0, 5e-4
	z := r3.Vec{Z: 1}
	a, b := ringAbout(r3.Vec{}, z, 0, 1, tilt, s), ringAbout(r3.Vec{X: off}, z, h, 1, tilt, s)
	sum := newLineSum(a)
	sum.add(a, 1, 1)
	sum.add(b, 1, 1)
	var l line
	sum.place(&l)
	lever, axes := h*h/(2*s*s), 2/(tilt*tilt)
	want := off / h * lever / (lever + axes)
	if got := l.axis.X / l.axis.Z; math.Abs(got-want) > 1e-12 {
		t.Errorf("slope %g, want %g", got, want)
	}
	if math.Abs(l.tilt-1/math.Sqrt(lever+axes)) > 1e-15 || math.Abs(l.shift-s/math.Sqrt2) > 1e-15 || r3.Norm(r3.Sub(l.origin, r3.Vec{X: off / 2, Z: h / 2})) > 1e-12 {
		t.Errorf("line %+v", l)
	}
}

// Rings shaken as much as they say leave the true line within three standard
// deviations nearly always, and better known than any one ring.
func TestLineSigmasCover(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	const runs, s, tilt = 300, 1e-3, 1e-3
	in := 0
	for range runs {
		var all []ring
		for i := range 5 {
			a := r3.Unit(r3.Vec{X: tilt * rng.NormFloat64(), Y: tilt * rng.NormFloat64(), Z: 1})
			c := r3.Vec{X: s * rng.NormFloat64(), Y: s * rng.NormFloat64(), Z: 0.4 * float64(i)}
			all = append(all, ringAbout(c, a, 0, 1-0.1*float64(i), tilt, s))
		}
		l := lines(all, 1e-2)
		if len(l) != 1 {
			t.Fatalf("%d lines", len(l))
		}
		if l[0].tilt >= tilt || l[0].shift >= s {
			t.Fatalf("known to %g and %g only", l[0].tilt, l[0].shift)
		}
		if lineAngle(l[0].axis, r3.Vec{Z: 1}) < 3*l[0].tilt && fromLine(l[0].origin, r3.Vec{}, r3.Vec{Z: 1}) < 3*l[0].shift {
			in++
		}
	}
	if in < runs*95/100 {
		t.Errorf("%d of %d within 3 sigma", in, runs)
	}
}

// A ring of another axis near by moves an exact line by next to nothing.
func TestLineKeepsItsLead(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, axis, r := drawCircle(t)
		stray := ringAbout(r3.Add(c, r3.Scale(5e-4*r, across(axis))), axis, 3*r, 0.5*r, 1e-6, 1e-6*r)
		l := lines([]ring{ringAbout(c, axis, 0, r, 1e-6, 1e-6*r), ringAbout(c, axis, r, r, 1e-6, 1e-6*r), stray}, 1e-3*r)
		if len(l) != 1 || len(l[0].rings) != 3 {
			t.Fatalf("%d lines", len(l))
		}
		if a, d := lineAngle(l[0].axis, axis), fromLine(c, l[0].origin, l[0].axis); a > 2e-6 || d > 2e-6*r {
			t.Errorf("%g rad, %g of the radius off", a, d/r)
		}
	})
}

// What is known worse is taken for the same line from farther, up to a limit.
func TestLineHolds(t *testing.T) {
	z := r3.Vec{Z: 1}
	at := func(off, shift float64) ring { return ringAbout(r3.Vec{X: off}, z, 0, 1, 1e-6, shift) }
	for _, c := range []struct {
		off, shift float64
		one        bool
	}{{0.5e-3, 1e-6, true}, {2e-3, 1e-6, false}, {2e-3, 1e-3, true}, {2e-2, 1e-1, false}} {
		l := lines([]ring{at(0, 1e-6), at(c.off, c.shift)}, 1e-3)
		if (len(l) == 1) != c.one {
			t.Errorf("off %g known to %g: %d lines", c.off, c.shift, len(l))
		}
	}
}

// Rings that disagree by more than they say make the line less certain; exact
// ones do not.
func TestLineOwnsToDisagreement(t *testing.T) {
	z := r3.Vec{Z: 1}
	at := func(off, h, tilt, shift float64) ring { return ringAbout(r3.Vec{X: off}, z, h, 1, tilt, shift) }
	calm := lines([]ring{at(0, 0, 1e-3, 1e-3), at(0, 1, 1e-3, 1e-3), at(0, 2, 1e-3, 1e-3)}, 1e-2)[0]
	torn := lines([]ring{at(4e-3, 0, 1e-3, 1e-3), at(-4e-3, 1, 1e-3, 1e-3), at(4e-3, 2, 1e-3, 1e-3)}, 1e-2)[0]
	if !(torn.shift > 1.3*calm.shift) || !(torn.tilt > 1.3*calm.tilt) {
		t.Errorf("torn %g, %g; calm %g, %g", torn.tilt, torn.shift, calm.tilt, calm.shift)
	}
	exact := lines([]ring{at(4e-6, 0, 1e-6, 1e-6), at(-4e-6, 1, 1e-6, 1e-6)}, 1e-2)[0]
	if exact.shift > 1e-6 {
		t.Errorf("exact rings leave %g", exact.shift)
	}
}
