package contact

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

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
