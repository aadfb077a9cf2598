package contact

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

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
