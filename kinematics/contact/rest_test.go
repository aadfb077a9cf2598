package contact

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/kinematics"
)

// everyFrame runs a test of a scene about z as it is, about an oblique axis, a
// thousandth of the size, cut fine, and 10 km away.
func everyFrame(t *testing.T, moving, still solid, check func(t *testing.T, r Result, scale, within float64)) {
	t.Helper()
	move, axis := oblique(r3.Vec{X: 12, Y: -7, Z: 30}, r3.Vec{X: 1, Y: 2, Z: 3})
	small, smallAxis := oblique(r3.Vec{X: 1, Y: 1, Z: -2}, r3.Vec{X: -1, Y: 0.5, Z: 3})
	far, farAxis := oblique(r3.Vec{X: 6e6, Y: -7e6, Z: 4e6}, r3.Vec{X: 0.3, Y: -1, Z: 0.2})
	for _, v := range []struct {
		name   string
		cut    int
		move   func(r3.Vec) r3.Vec
		axis   kinematics.Axis
		scale  float64
		within float64
	}{
		{"as is", 1, func(p r3.Vec) r3.Vec { return p }, zAxis, 1, 1e-12},
		{"oblique", 1, move, axis, 1, 1e-11},
		{"cut fine, oblique", 3, move, axis, 1, 1e-11},
		{"in thousandths", 1, func(p r3.Vec) r3.Vec { return small(r3.Scale(1e-3, p)) }, smallAxis, 1e-3, 1e-11},
		{"10 km away", 1, far, farAxis, 1, 1e-7},
	} {
		t.Run(v.name, func(t *testing.T) {
			s := scene(t, moving.subdivided(v.cut).moved(v.move), still.subdivided(v.cut).moved(v.move), v.axis, Options{})
			check(t, freeRange(t, s), v.scale, v.within)
		})
	}
}

// deepest returns the largest depth of the kind, -1 if there is none.
func deepest(r []Rest, k RestKind) float64 {
	d := -1.0
	for _, x := range r {
		if x.Kind == k {
			d = max(d, x.Depth)
		}
	}
	return d
}

func has(r []Rest, k RestKind) bool { return deepest(r, k) >= 0 }

func wantIgnored(t *testing.T, r []Rest) {
	t.Helper()
	for _, x := range r {
		if !x.Ignored {
			t.Errorf("counts for the range: %+v", x)
		}
	}
}

// A pin sits in a bore of its own radius, both tessellated in their own way
// and turned against one another: they mate, and the flap finds its stops.
func TestPinInBoreOfEqualRadius(t *testing.T) {
	flap, stops := flapAndStops()
	lower, upper := edgeOnFace(50, -2, -30), faceOnEdge(30, 18, 1)
	for _, n := range [][2]int{{24, 32}, {32, 24}, {24, 17}, {17, 32}, {24, 24}} {
		for _, phase := range []float64{0, 0.05, 0.1} {
			t.Run(fmt.Sprintf("%d in %d, phase %g", n[1], n[0], phase), func(t *testing.T) {
				moving := joined(flap, tube(4, 6, -15, 15, n[0], 0))
				still := joined(stops, pin(4, -20, 20, n[1], phase))
				everyFrame(t, moving, still, func(t *testing.T, r Result, _, within float64) {
					wantAngle(t, "lower", r.Lower, lower, within)
					wantAngle(t, "upper", r.Upper, upper, within)
					wantKinds(t, r.Rest, Mating)
					wantIgnored(t, r.Rest)
					if d := deepest(r.Rest, Mating); d > 1e-6 {
						t.Errorf("equal radii overlap by %g", d)
					}
				})
			})
		}
	}
}

// Rounds of so few facets that they may as well be flats overlap by a good deal
// and go on overlapping, here a little more, there a little less, as they turn.
// That is no contact either.
func TestCoarseRounds(t *testing.T) {
	flap, stops := flapAndStops()
	lower, upper := edgeOnFace(50, -2, -30), faceOnEdge(30, 18, 1)
	for _, n := range [][2]int{{6, 6}, {6, 8}, {8, 8}, {8, 10}, {10, 8}, {8, 24}, {24, 8}, {10, 11}} {
		for _, phase := range []float64{0, 0.05, 0.2} {
			t.Run(fmt.Sprintf("%d in %d, phase %g", n[1], n[0], phase), func(t *testing.T) {
				moving := joined(flap, tube(4, 6, -15, 15, n[0], 0))
				still := joined(stops, pin(4, -20, 20, n[1], phase))
				everyFrame(t, moving, still, func(t *testing.T, r Result, _, within float64) {
					wantAngle(t, "lower", r.Lower, lower, within)
					wantAngle(t, "upper", r.Upper, upper, within)
					wantIgnored(t, r.Rest)
					if len(r.Rest) == 0 {
						t.Error("nothing reported at rest")
					}
				})
			})
		}
	}
}

// A key on the pin hits a stop at an angle that is plain, while pin and bore
// mate; a key in a slot of the bore hits the slot's ends.
func TestKeyOnMatingPin(t *testing.T) {
	arc := func(r0, r1, z0, z1, from, to float64, n int) solid {
		return lathe([][2]float64{{r0, z0}, {r1, z0}, {r1, z1}, {r0, z1}}, n, from*degree, (to-from)*degree)
	}
	for _, n := range [][2]int{{24, 32}, {17, 24}, {32, 17}} {
		shaft := pin(4, -10, 10, n[0], 0.03)
		t.Run(fmt.Sprintf("beside the bore, %d in %d", n[0], n[1]), func(t *testing.T) {
			key, stop := arc(3.9, 6, 6, 9, -5, 5, 2), arc(5, 8, 5.5, 9.5, 60, 90, 6)
			everyFrame(t, joined(shaft, key), joined(tube(4, 8, -5, 5, n[1], 0.2), stop), func(t *testing.T, r Result, _, within float64) {
				wantAngle(t, "lower", r.Lower, -265*degree, within)
				wantAngle(t, "upper", r.Upper, 55*degree, within)
				wantIgnored(t, r.Rest)
				if !has(r.Rest, Mating) || has(r.Rest, Overlap) {
					t.Errorf("want mating and no overlap: %+v", r.Rest)
				}
			})
		})
		t.Run(fmt.Sprintf("in a slot of the bore, %d in %d", n[0], n[1]), func(t *testing.T) {
			key, slotted := arc(3.9, 6, -3, 3, -5, 5, 2), arc(4, 8, -5, 5, 40, 320, n[1])
			everyFrame(t, joined(shaft, key), slotted, func(t *testing.T, r Result, _, within float64) {
				wantAngle(t, "lower", r.Lower, -35*degree, within)
				wantAngle(t, "upper", r.Upper, 35*degree, within)
				wantIgnored(t, r.Rest)
			})
		})
		t.Run(fmt.Sprintf("square key in a slot, %d in %d", n[0], n[1]), func(t *testing.T) {
			// The key's face y = 0.5 meets the slot's inner edge at 40 deg, r = 4.
			slotted := arc(4, 8, -5, 5, 40, 320, n[1])
			everyFrame(t, joined(shaft, box(3.5, 6, -0.5, 0.5, -3, 3)), slotted, func(t *testing.T, r Result, _, within float64) {
				want := 40*degree - math.Asin(0.5/4)
				wantAngle(t, "lower", r.Lower, -want, within)
				wantAngle(t, "upper", r.Upper, want, within)
			})
		})
	}
}

// The end of a half pin meets a wall that the round itself passes clear of.
func TestEndsOfARoundCount(t *testing.T) {
	half := lathe([][2]float64{{0, -5}, {4, -5}, {4, 5}, {0, 5}}, 20, 60*degree, 240*degree)
	for _, wall := range []float64{3.5, 3.9, 3.99, 4.001} {
		r := freeRange(t, scene(t, half, box(wall, 6, -3, 3, -4, 4), zAxis, Options{}))
		want := math.NaN()
		if wall < 4 {
			want = 60*degree - math.Acos(wall/4)
		}
		wantAngle(t, fmt.Sprintf("wall at %g, lower", wall), r.Lower, -want, 1e-12)
		wantAngle(t, fmt.Sprintf("wall at %g, upper", wall), r.Upper, want, 1e-12)
	}
}

// A cone in its seat and a ball in its socket mate like pin and bore.
func TestConeAndBallMate(t *testing.T) {
	arm, stop := box(3, 20, -1, 1, 6, 8), box(10, 20, 5, 6, 6, 8)
	cone := lathe([][2]float64{{0, -5}, {6, -5}, {2, 5}, {0, 5}}, 24, 0, turn)
	seat := lathe([][2]float64{{6, -5}, {9, -5}, {9, 5}, {2, 5}}, 32, 0.1, turn)
	cap := func(r, from, to float64, n int) [][2]float64 {
		var p [][2]float64
		for i := range n + 1 {
			sin, cos := math.Sincos((from + (to-from)*float64(i)/float64(n)) * degree)
			p = append(p, [2]float64{r * max(cos, 0), r * sin})
		}
		return p
	}
	ballProfile := cap(5, -90, 90, 18)
	ballProfile[0][0], ballProfile[18][0] = 0, 0
	ball := lathe(ballProfile, 24, 0, turn)
	socket := lathe(append([][2]float64{{8, -3}, {8, 3}}, cap(5, 30, -30, 6)...), 32, 0.1, turn)
	lower, upper := -(turn - (math.Atan2(6, 10) + math.Asin(1/math.Hypot(10, 6)))), edgeOnFace(20, 1, 5)
	for name, s := range map[string][2]solid{"cone": {cone, seat}, "ball": {ball, socket}} {
		t.Run(name, func(t *testing.T) {
			everyFrame(t, joined(s[0], arm, pin(1, 3, 8, 12, 0)), joined(s[1], stop), func(t *testing.T, r Result, _, within float64) {
				wantAngle(t, "lower", r.Lower, lower, within)
				wantAngle(t, "upper", r.Upper, upper, within)
				wantIgnored(t, r.Rest)
				if !has(r.Rest, Mating) || has(r.Rest, Overlap) {
					t.Errorf("want mating and no overlap: %+v", r.Rest)
				}
			})
		})
	}
}

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

// Hubs overlap by 2 along the axis; the arms find one another all the same.
func TestOverlappingHubs(t *testing.T) {
	moving := joined(pin(6, 0, 10, 24, 0), box(5, 40, -2, 2, 3, 8))
	still := joined(pin(7, -8, 2, 32, 0.05), box(20, 30, 18, 28, -8, 9), box(6, 20, 20, 28, -8, 0))
	everyFrame(t, moving, still, func(t *testing.T, r Result, scale, within float64) {
		wantAngle(t, "upper", r.Upper, faceOnEdge(30, 18, 2), within)
		wantKinds(t, r.Rest, Overlap)
		wantIgnored(t, r.Rest)
		if d := deepest(r.Rest, Overlap) / scale; math.Abs(d-2) > 1e-6 {
			t.Errorf("overlap %g, want 2", d)
		}
	})
	t.Run("square", func(t *testing.T) {
		moving := joined(box(-5, 6, -4, 4, 0, 10), box(5, 40, -2, 2, 3, 8))
		still := joined(box(-9, 9, -9, 9, -8, 2), box(20, 30, 18, 28, -8, 9))
		everyFrame(t, moving, still, func(t *testing.T, r Result, scale, within float64) {
			wantAngle(t, "upper", r.Upper, faceOnEdge(30, 18, 2), within)
			if d := deepest(r.Rest, Overlap) / scale; math.Abs(d-2) > 1e-6 {
				t.Errorf("overlap %g, want 2", d)
			}
			wantIgnored(t, r.Rest)
		})
	})
}

// A bolt belongs to one part and goes through the other.
func TestBoltThroughBothParts(t *testing.T) {
	arm, stop := box(5, 40, -10, 10, 0, 5), box(20, 30, 30, 31, 0, 5)
	upper := edgeOnFace(40, 10, 30)
	t.Run("on the axis, no hole", func(t *testing.T) {
		everyFrame(t, joined(arm, pin(3, -20, 20, 24, 0)), joined(box(-10, 60, -30, 30, -5, 0), stop), func(t *testing.T, r Result, scale, within float64) {
			wantAngle(t, "upper", r.Upper, upper, within)
			wantIgnored(t, r.Rest)
			if d := deepest(r.Rest, Overlap) / scale; d < 3-1e-6 {
				t.Errorf("overlap %g, want at least the bolt's radius", d)
			}
		})
	})
	t.Run("off the axis, no hole", func(t *testing.T) {
		bolt := pin(3, -20, 20, 24, 0).shifted(20, 0, 0)
		everyFrame(t, joined(arm, bolt), joined(box(-10, 60, -30, 30, -5, 0), stop), func(t *testing.T, r Result, scale, within float64) {
			wantAngle(t, "upper", r.Upper, upper, within)
			wantIgnored(t, r.Rest)
			if d := deepest(r.Rest, Overlap) / scale; d < 3 {
				t.Errorf("overlap %g, want at least the bolt's radius", d)
			}
		})
	})
	t.Run("off the axis, in a hole of its own size", func(t *testing.T) {
		bolt := pin(3, -20, 20, 24, 0).shifted(20, 0, 0)
		ring := tube(3, 40, -5, 0, 32, 0.03).shifted(20, 0, 0)
		everyFrame(t, joined(arm, bolt), joined(ring, stop), func(t *testing.T, r Result, _, within float64) {
			wantAngle(t, "upper", r.Upper, upper, within)
			wantKinds(t, r.Rest, Touch)
			wantIgnored(t, r.Rest)
			if r.Rest[0].Blocks != "both" {
				t.Errorf("blocks %q, want both", r.Rest[0].Blocks)
			}
		})
	})
}

func TestWhollyInside(t *testing.T) {
	small, large := box(1, 2, 1, 2, 1, 2), box(-5, 5, -5, 5, -5, 5)
	for name, s := range map[string][2]solid{"moving in still": {small, large}, "still in moving": {large, small}} {
		t.Run(name, func(t *testing.T) {
			everyFrame(t, s[0], s[1], func(t *testing.T, r Result, scale, within float64) {
				wantAngle(t, "lower", r.Lower, math.NaN(), within)
				wantAngle(t, "upper", r.Upper, math.NaN(), within)
				wantKinds(t, r.Rest, Overlap)
				wantIgnored(t, r.Rest)
				if d := deepest(r.Rest, Overlap) / scale; math.Abs(d-4) > 1e-6 {
					t.Errorf("depth %g, want 4", d)
				}
			})
		})
	}
	t.Run("inside out", func(t *testing.T) {
		r := freeRange(t, scene(t, small.reversed(), large.reversed(), zAxis, Options{}))
		wantKinds(t, r.Rest, Overlap)
	})
	t.Run("beside one that is inside out", func(t *testing.T) {
		// Within its box but not in it: an L.
		l := joined(box(-5, 5, -5, 0, -5, 5), box(-5, 0, 1e-3, 5, -5, 5)).reversed()
		r := freeRange(t, scene(t, box(1, 4, 1, 4, 1, 2), l, zAxis, Options{}))
		wantKinds(t, r.Rest)
	})
	t.Run("in a hollow", func(t *testing.T) {
		hollow := joined(box(-5, 5, -5, 5, -5, 5), box(-4, 4, -4, 4, -4, 4).reversed())
		r := freeRange(t, scene(t, small, hollow, zAxis, Options{}))
		wantKinds(t, r.Rest)
		wantAngle(t, "upper", r.Upper, math.NaN(), 0)
	})
	t.Run("inside and hitting the skin", func(t *testing.T) {
		// The bar's corner (4.5, 1) reaches the skin x = -5..5, y = -4.6 .. 4.6.
		r := freeRange(t, scene(t, box(1, 4.5, -1, 1, -1, 1), box(-5, 5, -4.6, 4.6, -5, 5), zAxis, Options{}))
		wantKinds(t, r.Rest, Overlap)
		wantAngle(t, "upper", r.Upper, edgeOnFace(4.5, 1, 4.6), 1e-12)
		wantAngle(t, "lower", r.Lower, -edgeOnFace(4.5, 1, 4.6), 1e-12)
	})
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

// A wiper that rests on a turned pin, on a facet and off its middle, does not
// stop it, although the facet leans against it.
func TestWiperOnPin(t *testing.T) {
	const n = 24
	for _, at := range []float64{-4, -2, 0, 3, 6} { // degrees off the middle of a facet
		r := 4 * math.Cos(math.Pi/n) / math.Cos(at*degree)
		a := (7.5 + at) * degree
		tip := func(z float64) r3.Vec { return r3.Vec{X: r * math.Cos(a), Y: r * math.Sin(a), Z: z} }
		out := func(side float64) r3.Vec {
			return r3.Vec{X: 6*math.Cos(a) - side*math.Sin(a), Y: 6*math.Sin(a) + side*math.Cos(a), Z: -1}
		}
		wiper := prism([]r3.Vec{tip(-1), out(-0.3), out(0.3)}, r3.Vec{Z: 2})
		res := freeRange(t, scene(t, pin(4, -3, 3, n, 0), wiper, zAxis, Options{}))
		wantKinds(t, res.Rest, Touch)
		wantIgnored(t, res.Rest)
		wantAngle(t, "lower", res.Lower, math.NaN(), 0)
		wantAngle(t, "upper", res.Upper, math.NaN(), 0)
	}
}

// cutRing is a ring of n facets, of radii r0 to r1, with a window cut through
// its wall r from azimuth a to b (degrees, anywhere on a facet) between two
// heights; the window's sides are radial and its vertices lie on the chords.
func cutRing(r0, r1, z0, z1 float64, n int, a, b, w0, w1 float64, inner bool) solid {
	chord := func(r, azimuth float64) float64 {
		step := 360 / float64(n)
		d := math.Mod(azimuth, step) - step/2
		return r * math.Cos(step/2*degree) / math.Cos(d*degree)
	}
	at := func(r, azimuth, z float64) r3.Vec {
		sin, cos := math.Sincos(azimuth * degree)
		return r3.Vec{X: chord(r, azimuth) * cos, Y: chord(r, azimuth) * sin, Z: z}
	}
	var marks []float64
	for i := range n {
		marks = append(marks, 360*float64(i)/float64(n))
	}
	marks = append(marks, a, b)
	slices.Sort(marks)
	var s solid
	wall := func(r, from, to, lo, hi float64, out bool) {
		f := quad(at(r, from, lo), at(r, to, lo), at(r, to, hi), at(r, from, hi))
		if !out {
			f = f.reversed()
		}
		s = append(s, f...)
	}
	for i, from := range marks {
		to := marks[(i+1)%len(marks)]
		if i+1 == len(marks) {
			to = 360
		}
		cut := from >= a && to <= b
		for _, r := range [2]float64{r0, r1} {
			if out := r == r1; cut && out != inner {
				wall(r, from, to, z0, w0, out)
				wall(r, from, to, w1, z1, out)
			} else {
				wall(r, from, to, z0, w0, out)
				wall(r, from, to, w0, w1, out)
				wall(r, from, to, w1, z1, out)
			}
		}
		s = append(s, quad(at(r0, from, z0), at(r0, to, z0), at(r1, to, z0), at(r1, from, z0))...)
		s = append(s, quad(at(r0, from, z1), at(r1, from, z1), at(r1, to, z1), at(r0, to, z1))...)
		if cut {
			r, depth := r1, -0.5
			if inner {
				r, depth = r0, 0.5
			}
			for _, z := range [2]float64{w0, w1} {
				s = append(s, quad(at(r, from, z), at(r, to, z), at(r+depth, to, z), at(r+depth, from, z))...)
			}
			wall(r+depth, from, to, w0, w1, !inner)
			for _, e := range [2]float64{a, b} {
				if e == from || e == to {
					s = append(s, quad(at(r, e, w0), at(r+depth, e, w0), at(r+depth, e, w1), at(r, e, w1))...)
				}
			}
		}
	}
	return s
}

// Grooves cut into the walls of pin and bore at any place on their facets pass
// one another: their edges lie on the chords and are as far inside the round as
// these are. A key that fills the groove of the pin is caught at its end.
func TestGroovesInMatingWalls(t *testing.T) {
	shaft := cutRing(2, 4, -10, 10, 24, 10, 33, -3, 3, false)
	for _, n := range []int{24, 17, 32} {
		bore := cutRing(4, 8, -5, 5, n, 80, 131, -2, 4, true)
		r := freeRange(t, scene(t, shaft, bore, zAxis, Options{}))
		wantAngle(t, "lower", r.Lower, math.NaN(), 0)
		wantAngle(t, "upper", r.Upper, math.NaN(), 0)
		if !has(r.Rest, Mating) || has(r.Rest, Overlap) {
			t.Errorf("%d: want mating and no overlap: %+v", n, r.Rest)
		}
		// A key in the bore's groove, from 90 to 100 degrees, between its ends.
		key := lathe([][2]float64{{3.7, -1}, {4.4, -1}, {4.4, 2}, {3.7, 2}}, 2, 90*degree, 10*degree)
		r = freeRange(t, scene(t, joined(shaft, key), bore, zAxis, Options{}))
		wantAngle(t, "key, lower", r.Lower, -10*degree, 1e-12)
		wantAngle(t, "key, upper", r.Upper, 31*degree, 1e-12)
	}
}

// The lobe of a cam is no part of its round, however gently it rises: a
// follower on the lobe's way is met where trying all pairs finds it, while the
// rest of the round stays one.
func TestLobeOfACamCounts(t *testing.T) {
	const n = 48
	for _, lobe := range []float64{0.6, 0.3, 0.15} {
		var rim []r3.Vec
		for i := range n {
			a := turn * float64(i) / n
			r := 10.0
			if d := math.Abs(a - math.Pi); d < 0.9 {
				r += lobe * math.Pow(math.Cos(d*math.Pi/1.8), 2)
			}
			rim = append(rim, r3.Vec{X: r * math.Cos(a), Y: r * math.Sin(a), Z: -2})
		}
		cam := prism(rim, r3.Vec{Z: 4})
		x, _, _ := sideOf(t, cam, zAxis)
		round := 0
		for i := range x.tris {
			if x.turned[i] >= 0 && math.Abs(x.normal[i].Z) < 0.5 {
				round++
			}
		}
		if round < n || round > 2*n-10 {
			t.Errorf("lobe %g: %d of %d wall triangles turned, want those of the round only", lobe, round, 2*n)
		}
		follower := box(10+lobe/2, 14, -1, 1, -1, 1)
		r := freeRange(t, scene(t, cam, follower, zAxis, Options{}))
		wantAngle(t, "upper", r.Upper, firstByHand(cam, follower, zAxis), 1e-9)
		wantAngle(t, "lower", r.Lower, -firstByHand(cam, follower, zAxis.Reversed()), 1e-9)
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

// Sheets without thickness and without an inside.
func TestSheets(t *testing.T) {
	sheet := solid(quad(r3.Vec{X: 5, Z: -5}, r3.Vec{X: 40, Z: -5}, r3.Vec{X: 40, Z: 5}, r3.Vec{X: 5, Z: 5}))
	t.Run("radial", func(t *testing.T) {
		everyFrame(t, sheet, joined(sheet.turnedBy(50*degree), sheet.turnedBy(-70*degree)), func(t *testing.T, r Result, _, within float64) {
			wantAngle(t, "lower", r.Lower, -70*degree, within)
			wantAngle(t, "upper", r.Upper, 50*degree, within)
			wantKinds(t, r.Rest)
		})
	})
	t.Run("inside out as well", func(t *testing.T) {
		r := freeRange(t, scene(t, sheet, joined(sheet.turnedBy(50*degree).reversed(), sheet.turnedBy(-70*degree)), zAxis, Options{}))
		wantAngle(t, "upper", r.Upper, 50*degree, 1e-12)
	})
	t.Run("coincident", func(t *testing.T) {
		r := freeRange(t, scene(t, sheet, sheet, zAxis, Options{}))
		wantKinds(t, r.Rest, Touch)
		wantIgnored(t, r.Rest)
		if r.Lower != nil || r.Upper != nil {
			t.Errorf("%+v, %+v: want free", r.Lower, r.Upper)
		}
	})
	t.Run("flat sheet against a post", func(t *testing.T) {
		flat := solid(quad(r3.Vec{X: 5, Y: -2}, r3.Vec{X: 40, Y: -2}, r3.Vec{X: 40, Y: 2}, r3.Vec{X: 5, Y: 2}))
		everyFrame(t, flat, box(20, 30, 18, 28, -10, 10), func(t *testing.T, r Result, _, within float64) {
			wantAngle(t, "upper", r.Upper, faceOnEdge(30, 18, 2), within)
		})
	})
	t.Run("arc against a radial sheet", func(t *testing.T) {
		// The ends of an open arc have no other face to find them by.
		var arc solid
		at := func(k int, z float64) r3.Vec {
			sin, cos := math.Sincos(float64(k) * 5 * degree)
			return r3.Vec{X: 20 * cos, Y: 20 * sin, Z: z}
		}
		for k := range 6 {
			arc = append(arc, quad(at(k, -2), at(k+1, -2), at(k+1, 2), at(k, 2))...)
		}
		everyFrame(t, arc, sheet.turnedBy(100*degree), func(t *testing.T, r Result, _, within float64) {
			wantAngle(t, "upper", r.Upper, 70*degree, within)
			wantAngle(t, "lower", r.Lower, -260*degree, within)
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
	if r.Upper == nil || r.Upper.Angle > 2 || r.Upper.Angle < 0.5 {
		t.Errorf("upper %+v, want the second plate", r.Upper)
	}
}

// Pin and bore as bodies of their own, beside the parts that hit.
func TestRestNamesItsBodies(t *testing.T) {
	flap, stops := flapAndStops()
	s, err := NewScene(t.Context(),
		[]Body{flap.body(t, "flap"), tube(4, 6, -15, 15, 24, 0).body(t, "barrel")},
		[]Body{stops.body(t, "stops"), tube(20, 22, 13, 14, 24, 0).body(t, "rim"), pin(4, -20, 20, 32, 0.1).body(t, "pin")}, zAxis, Options{})
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

// Meshes that are no solids are as good as whole ones.
func TestOpenMeshes(t *testing.T) {
	flap, stops := flapAndStops()
	open := func(s solid, lost ...int) solid {
		var out solid
		for i, f := range s {
			keep := true
			for _, l := range lost {
				keep = keep && i%12 != l
			}
			if keep {
				out = append(out, f)
			}
		}
		return out
	}
	for name, s := range map[string][2]solid{
		"open":                     {open(flap, 0, 1, 8, 9), open(stops, 2, 3)},
		"edges with four faces":    {joined(flap, box(5, 9, 1, 3, -15, 15), box(50, 52, 1, 2, -15, 15)), joined(stops, box(28, 30, 28, 30, -10, 10), box(30, 31, 28, 30, 10, 12))},
		"needles along every edge": {flap.needled(1e-7), stops.needled(1e-7)},
		"needles finer still":      {flap.needled(1e-12), stops.needled(1e-12)},
		"every face twice":         {joined(flap, flap.reversed()), joined(stops, stops.reversed())},
	} {
		t.Run(name, func(t *testing.T) {
			everyFrame(t, s[0], s[1], func(t *testing.T, r Result, _, within float64) {
				wantAngle(t, "lower", r.Lower, edgeOnFace(50, -2, -30), within)
				wantAngle(t, "upper", r.Upper, faceOnEdge(30, 18, 1), within)
				wantKinds(t, r.Rest)
			})
		})
	}
}
