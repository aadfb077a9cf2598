package contact

import (
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/kinematics"
)

// sceneBy builds a scene of one moving and one still body.
func sceneBy(t testing.TB, moving, still solid, by Motion, o Options) *Scene {
	t.Helper()
	s, err := NewScene(t.Context(), []Body{moving.body(t, "moving")}, []Body{still.body(t, "still")}, by, o)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// everyFrameBy runs a test of a scene about z, of a slider or of a screw with
// the given pitch, in all frames. A unit of value of a slider is
// as long as a unit of length.
func everyFrameBy(
	t *testing.T, kind kinematics.Kind, pitch float64, moving, still solid,
	check func(t *testing.T, r Result, unit, within float64),
) {
	t.Helper()
	for _, v := range frames(1e-11) {
		t.Run(v.name, func(t *testing.T) {
			by := Motion{Axis: v.axis, Kind: kind, Pitch: pitch * v.scale}
			s := sceneBy(t, moving.subdivided(v.cut).moved(v.move), still.subdivided(v.cut).moved(v.move), by, Options{})
			unit := 1.0
			if kind == kinematics.Prismatic {
				unit = v.scale
			}
			check(t, freeRange(t, s), unit, v.within*unit)
		})
	}
}

// wantValues checks both ends, given in units of the scene as is.
func wantValues(t *testing.T, r Result, lower, upper, unit, within float64) {
	t.Helper()
	wantAngle(t, "lower", r.Lower, lower*unit, within)
	wantAngle(t, "upper", r.Upper, upper*unit, within)
}

func slides(t *testing.T, moving, still solid, check func(t *testing.T, r Result, unit, within float64)) {
	t.Helper()
	everyFrameBy(t, kinematics.Prismatic, 0, moving, still, check)
}

// Sliding contacts in closed form: a corner p that travels along z meets the
// plane through c with normal n after n.(c - p) / n.z, and edges likewise with
// the product of their directions for n.
func TestClosedFormSliders(t *testing.T) {
	n1, c1 := r3.Unit(r3.Vec{X: 0.3, Y: -0.2, Z: -0.9}), r3.Vec{X: 1, Y: 2, Z: 25}
	n2, c2 := r3.Unit(r3.Vec{X: -0.1, Y: 0.4, Z: 0.8}), r3.Vec{X: 2, Y: -1, Z: -17}
	tip := func(z float64) r3.Vec { return r3.Vec{X: 3, Y: 1, Z: z} }
	spikes := joined(
		tetra(tip(6), r3.Vec{X: 2, Y: 1, Z: 1}, r3.Vec{X: 4, Y: 0, Z: 1}, r3.Vec{X: 4, Y: 2, Z: 1}),
		tetra(tip(-6), r3.Vec{X: 2, Y: 1, Z: 0}, r3.Vec{X: 4, Y: 2, Z: 0}, r3.Vec{X: 4, Y: 0, Z: 0}))
	walls := joined(plate(c1, n1, 18, 3), plate(c2, n2, 18, 3))
	upper, lower := r3.Dot(n1, r3.Sub(c1, tip(6)))/n1.Z, r3.Dot(n2, r3.Sub(c2, tip(-6)))/n2.Z
	t.Run("corner on face", func(t *testing.T) {
		slides(t, spikes, walls, func(t *testing.T, r Result, unit, within float64) {
			wantValues(t, r, lower, upper, unit, within)
			wantKinds(t, r.Rest)
		})
		r := freeRange(t, sceneBy(t, spikes, walls, Slider(zAxis), Options{}))
		if want := r3.Add(tip(6), r3.Vec{Z: upper}); r3.Norm(r3.Sub(r.Upper.Point, want)) > 1e-11 || r3.Norm(r3.Sub(r.Upper.Normal, n1)) > 1e-11 {
			t.Errorf("upper at %v against %v, want %v and %v", r.Upper.Point, r.Upper.Normal, want, n1)
		}
		if r3.Norm(r3.Sub(r.Lower.Normal, n2)) > 1e-11 {
			t.Errorf("lower against %v, want %v", r.Lower.Normal, n2)
		}
	})
	t.Run("face on corner", func(t *testing.T) {
		slides(t, walls, spikes, func(t *testing.T, r Result, unit, within float64) {
			wantValues(t, r, -upper, -lower, unit, within)
		})
	})
	t.Run("edge on edge", func(t *testing.T) {
		p, u := r3.Vec{X: -20, Y: -1, Z: 2}, r3.Vec{X: 40, Y: 3, Z: 5}
		q, w := r3.Vec{X: 2, Y: -25, Z: 30}, r3.Vec{X: -3, Y: 50, Z: -6}
		n := r3.Cross(u, w)
		bar := prism([]r3.Vec{p, r3.Add(p, r3.Vec{Y: 2, Z: -5}), r3.Add(p, r3.Vec{Y: -2, Z: -5})}, u)
		post := prism([]r3.Vec{q, r3.Add(q, r3.Vec{X: 2, Z: 5}), r3.Add(q, r3.Vec{X: -2, Z: 5})}, w)
		slides(t, bar, post, func(t *testing.T, r Result, unit, within float64) {
			wantValues(t, r, math.NaN(), r3.Dot(n, r3.Sub(q, p))/n.Z, unit, within)
		})
	})
	t.Run("block between blocks", func(t *testing.T) {
		slides(t, box(-2, 2, -3, 3, 0, 5), joined(box(-9, 9, -9, 9, 12, 14), box(1, 5, 2, 8, -9, -4)), func(t *testing.T, r Result, unit, within float64) {
			wantValues(t, r, -4, 7, unit, within)
		})
	})
}

// Blades of 0.01 on end: stepping at anything coarser jumps through.
func TestThinBladesOfASlider(t *testing.T) {
	const h = 0.005
	for _, far := range []float64{0.02, 3.333, 77.7, 431.1} {
		slides(t, box(-50, 50, -h, h, -h, h), joined(box(-h, h, -50, 50, far-h, far+h), box(20, 20+2*h, -9, 9, -far-h, -far+h)), func(t *testing.T, r Result, unit, within float64) {
			wantValues(t, r, -far+2*h, far-2*h, unit, within*10)
			wantKinds(t, r.Rest)
		})
	}
}

// travelled returns the solid along z by d.
func (s solid) travelled(d float64) solid { return s.shifted(0, 0, d) }

// A pin slides in a bore of its own radius, tessellated in another way, to the
// bottom one way and to its collar the other.
func TestPinSlidesInBore(t *testing.T) {
	for _, n := range [][2]int{{24, 32}, {32, 24}, {24, 17}, {24, 24}, {12, 17}} {
		collared := lathe([][2]float64{{0, -6}, {4, -6}, {4, 8}, {6, 8}, {6, 9}, {0, 9}}, n[1], 0.05, turn)
		bore := lathe([][2]float64{{4, -10}, {4, 5}, {9, 5}, {9, -12}, {0, -12}, {0, -10}}, n[0], 0, turn).reversed()
		slides(t, collared, bore, func(t *testing.T, r Result, unit, within float64) {
			wantValues(t, r, -3, math.NaN(), unit, within)
			wantKinds(t, r.Rest, Mating)
			wantIgnored(t, r.Rest)
		})
		// From outside, the pin's corners pass the chords of the rim.
		slides(t, collared.travelled(20), bore, func(t *testing.T, r Result, unit, within float64) {
			wantValues(t, r, -23, math.NaN(), unit, within)
			wantKinds(t, r.Rest)
		})
	}
}

// A pin that is wider than the bore by more than its tessellation hits the rim.
func TestPinTooWideForItsBore(t *testing.T) {
	pin, bore := pin(4.2, 8, 12, 32, 0.05), tube(4, 9, -10, 5, 24, 0)
	slides(t, pin, bore, func(t *testing.T, r Result, unit, within float64) {
		wantValues(t, r, -3, math.NaN(), unit, within)
	})
}

// A carriage on a dovetail: faces all round slide on one another.
func TestDovetail(t *testing.T) {
	rail := prism([]r3.Vec{{X: -2, Z: -30}, {X: 2, Z: -30}, {X: 4, Y: 3, Z: -30}, {X: -4, Y: 3, Z: -30}}, r3.Vec{Z: 60})
	left := prism([]r3.Vec{{X: -8, Z: -5}, {X: -2, Z: -5}, {X: -4, Y: 3, Z: -5}, {X: -8, Y: 3, Z: -5}}, r3.Vec{Z: 10})
	right := prism([]r3.Vec{{X: 2, Z: -5}, {X: 8, Z: -5}, {X: 8, Y: 3, Z: -5}, {X: 4, Y: 3, Z: -5}}, r3.Vec{Z: 10})
	cover := box(-8, 8, 3, 6, -5, 5)
	stop := box(-6, 6, 4, 9, 20, 22)
	slides(t, joined(left, right, cover), joined(rail, stop), func(t *testing.T, r Result, unit, within float64) {
		wantValues(t, r, math.NaN(), 15, unit, within)
		wantKinds(t, r.Rest, Mating)
		wantIgnored(t, r.Rest)
	})
}

// Flanges that lie on one another, face on face: one way is closed.
func TestFlangesOfASlider(t *testing.T) {
	slides(t, box(-20, 20, -10, 10, 0, 5), joined(box(-20, 20, -10, 10, -5, 0), box(15, 30, -1, 1, 17, 20)), func(t *testing.T, r Result, unit, within float64) {
		wantValues(t, r, 0, 12, unit, within)
		if r.Lower == nil || !r.Lower.AtRest {
			t.Errorf("lower end %+v, want one at rest", r.Lower)
		}
		wantKinds(t, r.Rest, Touch)
	})
	t.Run("between two", func(t *testing.T) {
		// Held both ways, as modelled: a fit, which must not make the range zero.
		slides(t, box(-2, 2, -2, 2, 0, 5), joined(box(-9, 9, -9, 9, -5, 0), box(-9, 9, -9, 9, 5, 9)), func(t *testing.T, r Result, _, _ float64) {
			wantKinds(t, r.Rest, Touch)
			wantIgnored(t, r.Rest)
		})
	})
}

// Hubs overlap by 2 across the motion; lug and stop find one another.
func TestOverlappingHubsOfASlider(t *testing.T) {
	moving := joined(box(-5, 5, 0, 10, -8, 8), box(-1, 1, 9, 14, -2, 2))
	still := joined(box(-6, 6, -9, 2, -20, 20), box(-3, 3, 11, 15, 9, 12))
	slides(t, moving, still, func(t *testing.T, r Result, unit, within float64) {
		wantValues(t, r, math.NaN(), 7, unit, within)
		wantKinds(t, r.Rest, Overlap)
		wantIgnored(t, r.Rest)
	})
}

// A bolt of the moving part goes through the still one, with and without a hole.
func TestBoltThroughBothPartsOfASlider(t *testing.T) {
	arm, stop := box(-10, 10, -4, 4, 0, 5), box(6, 9, -1, 1, 21, 24)
	bolt := pin(3, -20, 20, 24, 0)
	for name, still := range map[string]solid{
		"no hole":             box(-15, 15, -9, 9, -12, -7),
		"hole of its size":    tube(3, 15, -12, -7, 32, 0.03),
		"hole of double size": tube(6, 15, -12, -7, 32, 0.03),
	} {
		t.Run(name, func(t *testing.T) {
			slides(t, joined(arm, bolt), joined(still, stop), func(t *testing.T, r Result, unit, within float64) {
				wantValues(t, r, -7, 16, unit, within)
				wantIgnored(t, r.Rest)
			})
		})
	}
}

func TestWhollyInsideOfASlider(t *testing.T) {
	slides(t, box(1, 2, 1, 2, 1, 2), box(-5, 5, -5, 5, -5, 5), func(t *testing.T, r Result, unit, within float64) {
		// It reaches the skin from inside.
		wantValues(t, r, -6, 3, unit, within)
		wantKinds(t, r.Rest, Overlap)
		wantIgnored(t, r.Rest)
	})
}

// Sheets without thickness, on end and flat, and meshes that are no solids.
func TestSheetsAndOpenMeshesOfASlider(t *testing.T) {
	flat := func(z float64) solid {
		return quad(r3.Vec{X: -5, Y: -5, Z: z}, r3.Vec{X: 5, Y: -5, Z: z}, r3.Vec{X: 5, Y: 5, Z: z}, r3.Vec{X: -5, Y: 5, Z: z})
	}
	upright := func(z float64) solid {
		return quad(r3.Vec{Y: -4, Z: z}, r3.Vec{Y: 4, Z: z}, r3.Vec{Y: 4, Z: z + 3}, r3.Vec{Y: -4, Z: z + 3})
	}
	slides(t, flat(0), joined(flat(9), upright(-7)), func(t *testing.T, r Result, unit, within float64) {
		wantValues(t, r, -4, 9, unit, within)
	})
	slides(t, upright(0), joined(flat(9), upright(-7).moved(func(p r3.Vec) r3.Vec { return r3.Vec{X: p.Y, Y: p.X, Z: p.Z} })), func(t *testing.T, r Result, unit, within float64) {
		wantValues(t, r, -4, 6, unit, within)
	})
	slides(t, box(-2, 2, -3, 3, 0, 5)[2:], joined(box(-9, 9, -9, 9, 12, 14)[:9], flat(-4)), func(t *testing.T, r Result, unit, within float64) {
		if r.Upper == nil || r.Upper.Value < 7*unit-within || r.Lower == nil {
			t.Errorf("%+v %+v", r.Lower, r.Upper)
		}
	})
}

// What passes flush does not hit, nor what overlaps by less than the tolerance.
func TestPassingFlushOnASlider(t *testing.T) {
	for _, by := range []float64{0, 1e-7, -1e-7} {
		r := freeRange(t, sceneBy(t, box(-2, 2, -2, 2+by, 0, 3), box(-2, 2, 2, 5, 9, 12), Slider(zAxis), Options{}))
		wantAngle(t, "upper", r.Upper, math.NaN(), 0)
	}
	r := freeRange(t, sceneBy(t, box(-2, 2, -2, 2.001, 0, 3), box(-2, 2, 2, 5, 9, 12), Slider(zAxis), Options{}))
	wantAngle(t, "upper", r.Upper, 6, 1e-12)
}

func TestBadMotions(t *testing.T) {
	flap, stops := flapAndStops()
	m, s := []Body{flap.body(t, "flap")}, []Body{stops.body(t, "stops")}
	for _, c := range []struct {
		by   Motion
		says string
	}{
		{Motion{Axis: zAxis}, `a "" joint has not one freedom`},
		{Motion{Axis: zAxis, Kind: kinematics.Fixed}, `a "fixed" joint has not one freedom`},
		{Screw(zAxis, math.NaN()), "pitch NaN is not finite"},
		{Screw(zAxis, math.Inf(1)), "pitch +Inf is not finite"},
		{Slider(kinematics.Axis{}), "axis direction"},
	} {
		if _, err := NewScene(t.Context(), m, s, c.by, Options{}); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%+v: error %v, want one that says %q", c.by, err, c.says)
		}
	}
}
