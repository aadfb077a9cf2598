package contact

import (
	"context"
	"errors"
	"math"
	"reflect"
	"runtime"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/kinematics"
)

func suggest(t testing.TB, s *Scene, kind kinematics.Range, m Margin) (Result, Limits) {
	t.Helper()
	free := freeRange(t, s)
	l, err := s.Suggest(t.Context(), free, kind, m)
	if err != nil {
		t.Fatal(err)
	}
	return free, l
}

func wantLimit(t testing.TB, what string, got Limit, value float64, reason Reason, why string) {
	t.Helper()
	if !(math.Abs(got.Value-value) < 1e-8 || got.Value == value) || got.Reason != reason || !strings.Contains(got.Why, why) {
		t.Errorf("%s: %.12g by %s (%s), want %.12g by %s that says %q", what, got.Value, got.Reason, got.Why, value, reason, why)
	}
}

// A corner at radius 20 under a wide face y = 15 is 15 - 20 sin t away from it.
func TestLimitsOfACorner(t *testing.T) {
	spike := tetra(r3.Vec{X: 20}, r3.Vec{X: 1, Y: -0.4, Z: -2}, r3.Vec{X: 1, Y: -0.1, Z: -2}, r3.Vec{X: 1, Y: -0.2, Z: 3})
	s := scene(t, spike, box(-40, 40, 15, 20, -30, 30), zAxis, Options{})
	turnOnly := kinematics.Range{Lower: -1, Upper: 2}
	at := math.Asin(0.75)
	_, l := suggest(t, s, turnOnly, Margin{})
	wantLimit(t, "no margin", l.Upper, at, ByContact, `"moving" and "still" meet at 48.59 deg`)
	wantLimit(t, "no margin", l.Lower, -1, ByKind, "nothing stops it")
	_, l = suggest(t, s, turnOnly, Margin{Value: 3 * degree})
	wantLimit(t, "3 degrees", l.Upper, at-3*degree, ByMargin, "kept 3 deg from where")
	for _, d := range []float64{1e-6, 0.1, 4, 14} {
		_, l = suggest(t, s, turnOnly, Margin{Clearance: d})
		wantLimit(t, "clearance", l.Upper, math.Asin((15-d)/20), ByMargin, "come nearer than")
	}
	_, l = suggest(t, s, turnOnly, Margin{Clearance: 0.1, Value: 9 * degree})
	wantLimit(t, "the greater margin holds", l.Upper, at-9*degree, ByMargin, "kept 9 deg")
	_, l = suggest(t, s, turnOnly, Margin{Clearance: 16})
	wantLimit(t, "more than there is", l.Upper, 0, ByMargin, "as modelled")
	_, l = suggest(t, s, turnOnly, Margin{Value: 2})
	wantLimit(t, "never beyond the pose as modelled", l.Upper, 0, ByMargin, "kept")
	if r := l.Range(); r.Lower != -1 || r.Upper != 0 {
		t.Errorf("range %v", r)
	}
}

// A minimum of the clearance in the middle of the range stops short of it.
func TestClearanceLimitAtABump(t *testing.T) {
	spike := tetra(r3.Vec{X: 20}, r3.Vec{X: 1, Y: -0.4, Z: -2}, r3.Vec{X: 1, Y: -0.1, Z: -2}, r3.Vec{X: 1, Y: -0.2, Z: 3})
	s := scene(t, spike, box(-40, 40, 21, 25, -30, 30), zAxis, Options{})
	half := kinematics.Range{Lower: -1, Upper: 3}
	_, l := suggest(t, s, half, Margin{Clearance: 2})
	wantLimit(t, "upper", l.Upper, math.Asin(0.95), ByMargin, "come nearer than 2")
	_, l = suggest(t, s, half, Margin{Clearance: 0.5})
	wantLimit(t, "upper, cleared by 1", l.Upper, 3, ByKind, "nothing")
}

func TestLimitsOfSlidersAndScrews(t *testing.T) {
	blocks := joined(box(-9, 9, -9, 9, 12, 14), box(1, 5, 2, 8, -9, -4))
	s := sceneBy(t, box(-2, 2, -3, 3, 0, 5), blocks, Slider(zAxis), Options{})
	all := everywhere()
	_, l := suggest(t, s, all, Margin{Clearance: 1.5})
	wantLimit(t, "upper", l.Upper, 5.5, ByMargin, "come nearer")
	wantLimit(t, "lower", l.Lower, -2.5, ByMargin, "come nearer")
	_, l = suggest(t, s, all, Margin{Value: 2})
	wantLimit(t, "upper", l.Upper, 5, ByMargin, "kept 2 from where")
	s = sceneBy(t, box(-2, 2, -3, 3, 0, 5), box(-2, 2, -2, 2, -9, -7), Slider(zAxis), Options{})
	_, l = suggest(t, s, all, Margin{Clearance: 1})
	wantLimit(t, "open end", l.Upper, math.Inf(1), ByKind, "nothing")
	bolt := lathe([][2]float64{{0, -9}, {4, -9}, {4, 12}, {8, 12}, {8, 15}, {0, 15}}, 32, 0.05, turn)
	s = sceneBy(t, bolt, tube(4, 20, -8, 5, 24, 0), Screw(zAxis, 0.5), Options{})
	_, l = suggest(t, s, all, Margin{Clearance: 2})
	wantLimit(t, "flange", l.Lower, -10, ByMargin, "come nearer than 2")
}

// A door that rests against its stop opens; the margin counts once it is kept.
func TestLimitsOfADoor(t *testing.T) {
	door, stop, wall := box(3, 40, 0, 2, -9, 9), box(38, 42, -4, 0, -9, 9), box(-60, 60, 45, 50, -30, 30)
	s := scene(t, door, joined(stop, wall), zAxis, Options{})
	free, l := suggest(t, s, kinematics.Range{Lower: -1, Upper: 3}, Margin{Value: 0.1})
	wantLimit(t, "closed", l.Lower, 0, ByMargin, "touch as modelled")
	if free.Lower == nil || !free.Lower.AtRest {
		t.Fatalf("lower %+v, want one at rest", free.Lower)
	}
	_, l = suggest(t, s, kinematics.Range{Lower: -1, Upper: 1}, Margin{Clearance: 1})
	wantLimit(t, "open", l.Upper, 1, ByKind, "nothing")
}

// The user's limits hold but where a contact comes first.
func TestActiveLimits(t *testing.T) {
	flap, stops := flapAndStops()
	s := scene(t, flap, stops, zAxis, Options{})
	lower, upper := edgeOnFace(50, -2, -30), faceOnEdge(30, 18, 1)
	free, l := suggest(t, s, everywhere(), Margin{Value: 2 * degree})
	if got := s.Active(nil, free, l); got != l {
		t.Errorf("without limits %+v, want what is suggested", got)
	}
	got := s.Active(&kinematics.Range{Lower: -0.1, Upper: 2}, free, l)
	wantLimit(t, "user", got.Lower, -0.1, ByUser, "given, ")
	wantLimit(t, "past the contact", got.Upper, upper, ByContact, "before the limit of 114.6 deg")
	got = s.Active(&kinematics.Range{Lower: lower + 2*degree, Upper: upper - 0.001}, free, l)
	wantLimit(t, "as suggested", got.Lower, lower+2*degree, ByMargin, "kept 2 deg")
	wantLimit(t, "within the margin", got.Upper, upper-0.001, ByUser, "given, 0.0573 deg before")
	got = s.Active(&kinematics.Range{Lower: math.Inf(-1), Upper: math.Inf(1)}, free, l)
	wantLimit(t, "no limit", got.Lower, lower, ByContact, "meet at")
	open := scene(t, flap, box(100, 110, 100, 110, 90, 95), zAxis, Options{})
	free, l = suggest(t, open, everywhere(), Margin{})
	got = open.Active(&kinematics.Range{Lower: math.Inf(-1), Upper: 1}, free, l)
	wantLimit(t, "free", got.Lower, math.Inf(-1), ByKind, "nothing")
	wantLimit(t, "free but for the user", got.Upper, 1, ByUser, "given")
}

// Up to the limit the clearance is kept, just beyond it is not.
func TestClearanceLimitIsWhereItFalls(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		moving, still, by := drawAimed(rt, t)
		s := sceneBy(t, moving, still, by, Options{})
		d0 := clearance(t, s, 0)[0]
		d := d0 * rapid.Float64Range(0.05, 0.95).Draw(rt, "share")
		_, l := suggest(t, s, kinematics.Range{Lower: -2, Upper: 2}, Margin{Clearance: d})
		for _, e := range []Limit{l.Lower, l.Upper} {
			for range 5 {
				v := e.Value * rapid.Float64Range(0, 1).Draw(rt, "inside")
				if got := clearance(t, s, v)[0]; got < d-1e-8*s.size {
					rt.Fatalf("%s: clearance %g at %g inside the limit %g for %g", by.Kind, got, v, e.Value, d)
				}
			}
			if at := clearance(t, s, e.Value)[0]; e.Reason == ByMargin && math.Abs(at-d) > 1e-7*s.size {
				rt.Fatalf("%s: clearance %g at the limit %g, want %g", by.Kind, at, e.Value, d)
			}
		}
	})
}

func TestBadLimits(t *testing.T) {
	flap, stops := flapAndStops()
	s := scene(t, flap, stops, zAxis, Options{})
	free := freeRange(t, s)
	for _, c := range []struct {
		kind kinematics.Range
		m    Margin
		says string
	}{
		{kinematics.Range{Lower: 1, Upper: 2}, Margin{}, "does not hold zero"},
		{kinematics.Range{Lower: 1, Upper: -2}, Margin{}, "range from 1 to -2"},
		{everywhere(), Margin{Value: -1}, "margin -1"},
		{everywhere(), Margin{Clearance: math.NaN()}, "margin NaN"},
		{everywhere(), Margin{Clearance: math.Inf(1)}, "margin +Inf"},
	} {
		if _, err := s.Suggest(t.Context(), free, c.kind, c.m); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%+v: error %v, want one that says %q", c, err, c.says)
		}
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := s.Suggest(ctx, free, everywhere(), Margin{Clearance: 1}); !errors.Is(err, context.Canceled) {
		t.Errorf("error %v, want canceled", err)
	}
}

// All that a scene of any motion tells is the same on one processor and on two.
func TestSameMotionsOnAnyNumberOfCores(t *testing.T) {
	moving, still := carriage(3000)
	for _, by := range []Motion{Hinge(zAxis), Slider(zAxis), Screw(zAxis, 2)} {
		var first []any
		for _, procs := range []int{1, 2, 1, 2} {
			old := runtime.GOMAXPROCS(procs)
			s := sceneBy(t, moving, still, by, Options{})
			free, limits := suggest(t, s, kinematics.Range{Lower: -30, Upper: 30}, Margin{Clearance: 0.5})
			got := []any{free, limits, curve(t, s, -3, 3, CurveOptions{})}
			runtime.GOMAXPROCS(old)
			if first == nil {
				first = got
			}
			if !reflect.DeepEqual(first, got) {
				t.Errorf("%s on %d processors: another answer", by.Kind, procs)
			}
		}
	}
}
