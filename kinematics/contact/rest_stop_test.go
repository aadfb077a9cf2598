package contact

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

// Flanges lie on one another, face on face: they slide.
func TestCoincidentFlanges(t *testing.T) {
	t.Run("plates", func(t *testing.T) {
		everyFrame(t, box(-20, 20, -10, 10, 0, 5), box(-20, 20, -10, 10, -5, 0), func(t *testing.T, r Result, _, within float64) {
			wantAngle(t, "lower", r.Lower, math.NaN(), within)
			wantAngle(t, "upper", r.Upper, math.NaN(), within)
			wantKinds(t, r.Rest, Touch)
			wantIgnored(t, r.Rest)
		})
	})
	t.Run("discs with lugs", func(t *testing.T) {
		moving := joined(pin(20, 0, 5, 24, 0), box(19, 30, -1, 1, 0, 5))
		still := joined(pin(20, -5, 0, 32, 0.1), box(25, 30, 8, 10, -5, 5))
		everyFrame(t, moving, still, func(t *testing.T, r Result, _, within float64) {
			// The lug's edge (30, 1) meets the face y = 8, its face y = -1 the edge (25, 10).
			wantAngle(t, "upper", r.Upper, edgeOnFace(30, 1, 8), within)
			wantAngle(t, "lower", r.Lower, math.Atan2(10, 25)+math.Asin(1/math.Hypot(25, 10))-turn, within)
			wantKinds(t, r.Rest, Touch)
			wantIgnored(t, r.Rest)
		})
	})
}

// A plate that passes another at its own level, flush, does not hit it.
func TestPassingFlush(t *testing.T) {
	r := freeRange(t, scene(t, box(5, 20, -3, 3, 0, 2), box(5, 20, -3, 3, -2, 0).turnedBy(2), zAxis, Options{}))
	wantAngle(t, "lower", r.Lower, math.NaN(), 0)
	wantAngle(t, "upper", r.Upper, math.NaN(), 0)
	wantKinds(t, r.Rest)
}

// A door rests against its stop: closed one way, open the other, until it
// comes round to the stop's other side.
func TestDoorAgainstStop(t *testing.T) {
	stop := box(40, 45, -5, 0, -10, 10)
	other := math.Atan2(-5, 40) - math.Asin(2/math.Hypot(40, 5)) + turn
	for _, c := range []struct {
		name string
		gap  float64
	}{{"touching", 0}, {"a hair apart", 2e-5}, {"a hair deep", -2e-5}} {
		t.Run(c.name, func(t *testing.T) {
			everyFrame(t, box(0, 50, c.gap, 2, -10, 10), stop, func(t *testing.T, r Result, _, within float64) {
				wantAngle(t, "lower", r.Lower, 0, 0)
				wantAngle(t, "upper", r.Upper, other, within)
				wantKinds(t, r.Rest, Touch)
				if r.Lower == nil || !r.Lower.AtRest {
					t.Fatalf("lower end is not at rest: %+v", r.Lower)
				}
				if x := r.Rest[0]; x.Blocks != "lower" || x.Ignored {
					t.Errorf("want a stop that blocks lower: %+v", x)
				}
			})
		})
	}
	t.Run("upper", func(t *testing.T) {
		r := freeRange(t, scene(t, box(0, 50, -2, 0, -10, 10), box(40, 45, 0, 5, -10, 10), zAxis, Options{}))
		wantAngle(t, "upper", r.Upper, 0, 0)
		wantAngle(t, "lower", r.Lower, -other, 1e-12)
	})
	t.Run("the normal pushes the door back", func(t *testing.T) {
		r := freeRange(t, scene(t, box(0, 50, 0, 2, -10, 10), stop, zAxis, Options{}))
		if d := r3.Norm(r3.Sub(r.Lower.Normal, r3.Vec{Y: 1})); d > 1e-12 {
			t.Errorf("normal %v, want +y", r.Lower.Normal)
		}
		if p := r.Lower.Point; p.X < 40 || p.X > 45 || math.Abs(p.Y) > 1e-9 {
			t.Errorf("point %v is not on the stop", p)
		}
	})
	t.Run("either part inside out", func(t *testing.T) {
		for _, s := range [][2]solid{{box(0, 50, 0, 2, -10, 10).reversed(), stop}, {box(0, 50, 0, 2, -10, 10), stop.reversed()}, {box(0, 50, 0, 2, -10, 10).reversed(), stop.reversed()}} {
			r := freeRange(t, scene(t, s[0], s[1], zAxis, Options{}))
			wantAngle(t, "lower", r.Lower, 0, 0)
			wantAngle(t, "upper", r.Upper, other, 1e-12)
		}
	})
	t.Run("two stops, zero clearance", func(t *testing.T) {
		r := freeRange(t, scene(t, box(0, 50, -2, 2, -10, 10), joined(box(40, 45, 2, 6, -8, 8), box(40, 45, -6, -2, -8, 8)), zAxis, Options{}))
		if len(r.Rest) != 2 || r.Rest[0].Blocks == r.Rest[1].Blocks {
			t.Errorf("want one stop either way: %+v", r.Rest)
		}
		if r.Lower != nil && r.Lower.AtRest || r.Upper != nil && r.Upper.AtRest {
			t.Errorf("a fit makes the range zero: %+v", r)
		}
		wantIgnored(t, r.Rest)
	})
}

// A part that overlaps another and touches it at the rim of the overlap is not
// stopped by what it touches there; further off it is.
func TestTouchBesideOverlap(t *testing.T) {
	moving := box(20, 40, 0, 4, 0, 5)
	for _, c := range []struct {
		from, to float64
		stopped  bool
	}{{25, 26.5, false}, {36, 38, true}} {
		still := joined(box(20, 25, -5, 2, -1, 6), box(c.from, c.to, -5, 0, -1, 6))
		r := freeRange(t, scene(t, moving, still, zAxis, Options{}))
		if !has(r.Rest, Overlap) || !has(r.Rest, Touch) {
			t.Errorf("want an overlap and a touch: %+v", r.Rest)
		}
		if got := r.Lower != nil && r.Lower.AtRest; got != c.stopped {
			t.Errorf("touch at %g..%g stops: %v, want %v", c.from, c.to, got, c.stopped)
		}
	}
}

// A square pin fits its socket: it touches all round and bars both ways, so it
// does not count; with play it hits at a plain angle.
func TestSquarePinInSocket(t *testing.T) {
	socket := joined(box(-8, -3, -8, 8, -5, 5), box(3, 8, -8, 8, -5, 5), box(-3, 3, -8, -3, -5, 5), box(-3, 3, 3, 8, -5, 5))
	t.Run("snug", func(t *testing.T) {
		moving := joined(box(-3, 3, -3, 3, -10, 10), box(2, 40, -1, 1, 6, 8))
		still := joined(socket, box(20, 30, 10, 12, 5.5, 8.5))
		everyFrame(t, moving, still, func(t *testing.T, r Result, _, within float64) {
			wantAngle(t, "upper", r.Upper, faceOnEdge(30, 10, 1), within)
			wantAngle(t, "lower", r.Lower, math.Atan2(12, 20)+math.Asin(1/math.Hypot(20, 12))-turn, within)
			wantKinds(t, r.Rest, Touch)
			wantIgnored(t, r.Rest)
			if r.Rest[0].Blocks != "both" {
				t.Errorf("blocks %q, want both", r.Rest[0].Blocks)
			}
		})
	})
	t.Run("with play", func(t *testing.T) {
		everyFrame(t, box(-2.9, 2.9, -2.9, 2.9, -10, 10), socket, func(t *testing.T, r Result, _, within float64) {
			want := edgeOnFace(2.9, 2.9, 3)
			wantAngle(t, "upper", r.Upper, want, within)
			wantAngle(t, "lower", r.Lower, -want, within)
			wantKinds(t, r.Rest)
		})
	})
}

// What the tolerance allows is neither an overlap nor a contact, at rest or on
// the way.
func TestTolerance(t *testing.T) {
	moving := box(5, 20, -3, 3, 0, 2)
	still := joined(box(5, 20, -3, 3, -2, 0.03), box(5, 20, -3, 3, -2, 0.03).turnedBy(2))
	r := freeRange(t, scene(t, moving, still, zAxis, Options{Tolerance: 0.05}))
	wantKinds(t, r.Rest, Touch)
	wantAngle(t, "upper", r.Upper, math.NaN(), 0)
	r = freeRange(t, scene(t, moving, still, zAxis, Options{}))
	wantKinds(t, r.Rest, Overlap)
	if math.Abs(r.Rest[0].Depth-0.03) > 1e-9 {
		t.Errorf("depth %g, want 0.03", r.Rest[0].Depth)
	}
	if r.Upper == nil || r.Upper.Value > 2 || r.Upper.Value < 0.5 {
		t.Errorf("upper %+v, want the second plate", r.Upper)
	}
}

// Pin and bore as bodies of their own, beside the parts that hit.
func TestRestNamesItsBodies(t *testing.T) {
	flap, stops := flapAndStops()
	s, err := NewScene(t.Context(),
		[]Body{flap.body(t, "flap"), tube(4, 6, -15, 15, 24, 0).body(t, "barrel")},
		[]Body{stops.body(t, "stops"), tube(20, 22, 13, 14, 24, 0).body(t, "rim"), pin(4, -20, 20, 32, 0.1).body(t, "pin")}, Hinge(zAxis), Options{})
	if err != nil {
		t.Fatal(err)
	}
	r := freeRange(t, s)
	wantAngle(t, "upper", r.Upper, faceOnEdge(30, 18, 1), 1e-12)
	for _, x := range r.Rest {
		want := map[RestKind][2]int{Mating: {1, 2}, Overlap: {0, 1}}[x.Kind]
		if x.Moving != want[0] || x.Still != want[1] {
			t.Errorf("%s between bodies %d and %d, want %v", x.Kind, x.Moving, x.Still, want)
		}
	}
	wantKinds(t, r.Rest, Overlap, Mating)
}
