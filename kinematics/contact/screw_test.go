package contact

import (
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/kinematics"
)

func screws(t *testing.T, pitch float64, moving, still solid, check func(t *testing.T, r Result, within float64)) {
	t.Helper()
	everyFrameBy(t, kinematics.Helical, pitch, moving, still, func(t *testing.T, r Result, _, within float64) {
		check(t, r, within/math.Abs(pitch))
	})
}

// A flange comes down on a plate after gap / pitch, however many turns that is;
// its shank turns in a bore of its own radius meanwhile.
func TestScrewToItsFlange(t *testing.T) {
	bolt := lathe([][2]float64{{0, -9}, {4, -9}, {4, 12}, {8, 12}, {8, 15}, {0, 15}}, 32, 0.05, turn)
	plate := tube(4, 20, -8, 5, 24, 0)
	for _, pitch := range []float64{0.02, 0.5, -3, 40} {
		screws(t, pitch, bolt, plate, func(t *testing.T, r Result, within float64) {
			down, e := -7/pitch, r.Lower
			if pitch < 0 {
				e = r.Upper
			}
			wantAngle(t, "down", e, down, within)
			wantKinds(t, r.Rest, Mating)
			wantIgnored(t, r.Rest)
			if r.Lower != nil && r.Upper != nil {
				t.Errorf("stopped both ways: %+v %+v", r.Lower, r.Upper)
			}
		})
	}
}

// A lug passes above a post the first time round and hits its side the second,
// at the angle of a hinge less a turn; the face is parallel to the axis.
func TestLugOfAScrewOnItsSecondTurn(t *testing.T) {
	lug := box(3, 20, -2, 2, 5, 8)
	for _, turns := range []float64{0, 1, 2, 5} {
		top := 4 - 0.5*turn*(turns-1)
		if turns == 0 {
			top = 7
		}
		post := box(10, 12, -9, -6, -80, top)
		screws(t, 0.5, lug, post, func(t *testing.T, r Result, within float64) {
			// The face y = -2 on the edge (12, -6).
			wantAngle(t, "lower", r.Lower, math.Atan2(-6, 12)+math.Asin(2/math.Hypot(12, 6))-turns*turn, 10*within)
		})
	}
}

// A tip comes down on a sloping face: A cos t + B sin t + C + D t = 0 by
// bisection.
func TestTipOfAScrewOnASlope(t *testing.T) {
	tip, n, c := r3.Vec{X: 5, Y: 1, Z: -2}, r3.Unit(r3.Vec{X: 0.3, Y: -0.2, Z: 0.9}), r3.Vec{Z: -30}
	spike := tetra(tip, r3.Vec{X: 4, Y: 0, Z: 3}, r3.Vec{X: 6, Y: 2, Z: 3}, r3.Vec{X: 6, Y: 0, Z: 3})
	const pitch = 0.7
	g := func(t float64) float64 { // t counts downward
		x := r3.Vec{X: math.Cos(t)*tip.X + math.Sin(t)*tip.Y, Y: math.Cos(t)*tip.Y - math.Sin(t)*tip.X, Z: tip.Z - pitch*t}
		return r3.Dot(n, r3.Sub(x, c))
	}
	want := slices.Min(rootsByHand(g, 80))
	screws(t, pitch, spike, plate(c, n, 30, 4), func(t *testing.T, r Result, within float64) {
		wantAngle(t, "lower", r.Lower, -want, 10*within)
		wantAngle(t, "upper", r.Upper, math.NaN(), 0)
		if r.Lower != nil && r.Lower.AtRest {
			t.Error("at rest")
		}
	})
	// The face moves, the tip stands: the other way round.
	screws(t, pitch, plate(c, n, 30, 4), spike, func(t *testing.T, r Result, within float64) {
		wantAngle(t, "upper", r.Upper, want, 10*within)
	})
}

// Blades of 0.01 that a screw brings round, five turns off.
func TestThinBladesOfAScrew(t *testing.T) {
	const h, pitch = 0.005, 0.4
	far := 5*turn + 1
	blade := box(5, 30, -h, h, -h, h)
	// A post in the way at height pitch far, thinner than the climb per degree.
	post := box(10, 20, -h, h, pitch*far-h, pitch*far+h).turnedBy(far - 5*turn)
	screws(t, pitch, blade, post, func(t *testing.T, r Result, within float64) {
		if r.Upper == nil || math.Abs(r.Upper.Value-far) > 0.06 {
			t.Errorf("upper %+v, want one near %g", r.Upper, far)
		}
	})
}

// With hardly any pitch a screw is a hinge, with very much a slider.
func TestScrewsAtTheirLimits(t *testing.T) {
	flap, stops := flapAndStops()
	r := freeRange(t, sceneBy(t, flap, stops, Screw(zAxis, 1e-9), Options{}))
	wantAngle(t, "lower", r.Lower, edgeOnFace(50, -2, -30), 1e-7)
	wantAngle(t, "upper", r.Upper, faceOnEdge(30, 18, 1), 1e-7)
	r = freeRange(t, sceneBy(t, box(-2, 2, -3, 3, 0, 5), joined(box(-9, 9, -9, 9, 12, 14), box(1, 5, 2, 8, -9, -4)), Screw(zAxis, 1e6), Options{}))
	wantAngle(t, "upper", r.Upper, 7e-6, 1e-15)
	wantAngle(t, "lower", r.Lower, -4e-6, 1e-11)
	r = freeRange(t, sceneBy(t, flap, stops, Screw(zAxis, 0), Options{}))
	wantAngle(t, "a screw without pitch", r.Upper, faceOnEdge(30, 18, 1), 1e-12)
}

// No sign change is missed, roots solve the equation and rise.
func TestRootsOfCourses(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		u := rapid.Float64Range(-1, 1)
		g := course{harmonic{u.Draw(t, "G"), u.Draw(t, "A"), u.Draw(t, "B")}, u.Draw(t, "D"), u.Draw(t, "P"), u.Draw(t, "Q")}
		if rapid.Bool().Draw(t, "corner") {
			g.P, g.Q = 0, 0
		}
		lo := rapid.Float64Range(0, 20).Draw(t, "lo")
		hi := lo + rapid.Float64Range(0, 20).Draw(t, "span")
		at := func(v float64) float64 { s, c := math.Sincos(v); return g.at(v, c, s) }
		roots := g.roots(lo, hi, 1e-14, nil)
		if !slices.IsSorted(roots) {
			t.Fatalf("roots %v do not rise", roots)
		}
		for _, r := range roots {
			if math.Abs(at(r)) > 1e-12 || r < lo || r > hi {
				t.Fatalf("g(%g) = %g, in %g..%g", r, at(r), lo, hi)
			}
		}
		const steps = 500
		for i := range steps {
			a, b := lo+(hi-lo)*float64(i)/steps, lo+(hi-lo)*float64(i+1)/steps
			if at(a)*at(b) < -1e-20 && !slices.ContainsFunc(roots, func(r float64) bool { return r >= a-1e-9 && r <= b+1e-9 }) {
				t.Fatalf("no root between %g and %g, where g is %g and %g: %v", a, b, at(a), at(b), roots)
			}
		}
	})
}

// Closed forms: double roots, g without any, and straight lines.
func TestRootsOfCoursesInClosedForm(t *testing.T) {
	for _, c := range []struct {
		name   string
		g      course
		lo, hi float64
		want   []float64
	}{
		{"line", course{harmonic: harmonic{G: -3}, D: 2}, 0, 9, []float64{1.5}},
		{"cosine", course{harmonic: harmonic{G: 1, A: 1}}, 0, 10, []float64{math.Pi / 2, 3 * math.Pi / 2, 5 * math.Pi / 2}},
		{"graze", course{harmonic: harmonic{G: 2, A: 1}}, 1, 5, []float64{math.Pi}},
		{"none", course{harmonic: harmonic{G: 2.001, A: 1}}, 0, 30, nil},
		{"t cos t", course{P: 1}, 0.5, 5, []float64{math.Pi / 2, 3 * math.Pi / 2}},
		{"t - sin t, threefold at zero", course{harmonic: harmonic{B: -1}, D: 1}, 0.01, 30, nil},
	} {
		got := slices.CompactFunc(c.g.roots(c.lo, c.hi, 1e-15, nil), func(a, b float64) bool { return math.Abs(a-b) < 1e-6 })
		if len(got) != len(c.want) {
			t.Errorf("%s: roots %v, want %v", c.name, got, c.want)
			continue
		}
		for i := range got {
			if within := map[bool]float64{true: 1e-7, false: 1e-13}[c.name == "graze"]; math.Abs(got[i]-c.want[i]) > within {
				t.Errorf("%s: roots %v, want %v", c.name, got, c.want)
			}
		}
	}
}
