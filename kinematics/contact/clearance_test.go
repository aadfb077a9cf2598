package contact

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

func clearance(t testing.TB, s *Scene, angles ...float64) []float64 {
	t.Helper()
	c, err := s.Clearance(t.Context(), angles)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// A corner at radius r under a wide face y = d is d - r sin t away from it.
func TestClearanceOfACorner(t *testing.T) {
	spike := tetra(r3.Vec{X: 20}, r3.Vec{X: 1, Y: -0.4, Z: -2}, r3.Vec{X: 1, Y: -0.1, Z: -2}, r3.Vec{X: 1, Y: -0.2, Z: 3})
	wall := box(-40, 40, 15, 20, -30, 30)
	move, axis := oblique(r3.Vec{X: 12, Y: -7, Z: 30}, r3.Vec{X: 1, Y: 2, Z: 3})
	s := scene(t, spike.moved(move), wall.moved(move), axis, Options{})
	angles := []float64{0.2, 0, 0.5, 0.7, 0.7, math.Asin(0.75), 1.2, 0.8 - turn}
	for i, d := range clearance(t, s, angles...) {
		want := max(15-20*math.Sin(angles[i]), 0)
		if math.Abs(d-want) > 1e-11 {
			t.Errorf("at %g: clearance %.15g, want %.15g", angles[i], d, want)
		}
	}
	p, err := s.Closest(t.Context(), 0.6)
	if err != nil {
		t.Fatal(err)
	}
	sin, cos := math.Sincos(0.6)
	on, off := move(r3.Vec{X: 20 * cos, Y: 20 * sin}), move(r3.Vec{X: 20 * cos, Y: 15})
	if r3.Norm(r3.Sub(p.OnMoving, on)) > 1e-11 || r3.Norm(r3.Sub(p.OnStill, off)) > 1e-11 || p.Moving != 0 || p.Still != 0 {
		t.Errorf("closest %+v, want %v and %v", p, on, off)
	}
	if want := 20.0; math.Abs(s.Reach()-want) > 1e-12 {
		t.Errorf("reach %.15g, want %g", s.Reach(), want)
	}
}

// Two n-gons about one axis: facet on facet the gap is that of the apothems,
// corner on facet it is that of apothem and radius.
func TestRunningFit(t *testing.T) {
	const n = 32
	c := math.Cos(math.Pi / n)
	for phase, want := range map[float64]float64{0: 0.1 * c, math.Pi / n: 4.1*c - 4} {
		s := scene(t, tube(4.1, 6, -5, 5, n, 0), pin(4, -9, 9, n, phase), zAxis, Options{})
		p, err := s.RunningFit(t.Context())
		if err != nil || math.Abs(p.Distance-want) > 1e-12 {
			t.Errorf("phase %g: fit %.15g, want %.15g (%v)", phase, p.Distance, want, err)
		}
		if got := clearance(t, s, 0, 1); !math.IsInf(got[0], 1) || !math.IsInf(got[1], 1) {
			t.Errorf("clearance of a pin in its barrel %v, want +Inf: it never hits", got)
		}
	}
	mates := scene(t, tube(4, 6, -5, 5, n, 0), lathe([][2]float64{{3, -9}, {4, -9}, {4, 9}, {3, 9}}, 24, 0, turn), zAxis, Options{})
	if p, err := mates.RunningFit(t.Context()); err != nil || p.Distance < 0.9 {
		t.Errorf("fit of a mating pin %+v (%v): its wall counts", p, err)
	}
}

// What does not limit the range does not count: the mating pin. So the
// clearance falls to zero at the ends of the free range.
func TestClearanceLeavesMatesOut(t *testing.T) {
	flap, stops := flapAndStops()
	s := scene(t, joined(flap, tube(4, 6, -15, 15, 24, 0)), joined(stops, pin(4, -20, 20, 32, 0.1)), zAxis, Options{})
	lower, upper := edgeOnFace(50, -2, -30), faceOnEdge(30, 18, 1)
	got := clearance(t, s, lower, lower+0.01, 0, upper-0.01, upper)
	// At rest the nearest is the edge (30, 18) above the face y = 1.
	if got[0] > 1e-9 || got[4] > 1e-9 || math.Abs(got[2]-17) > 1e-12 {
		t.Errorf("clearances %v, want 0 at the ends and 17 at rest", got)
	}
	for _, d := range []float64{got[1], got[3]} {
		if d <= 0 || d > 0.01*s.Reach() {
			t.Errorf("clearance %g a hundredth of a radian off the end", d)
		}
	}
}

// Fits, overlaps and flush neighbours do not count either.
func TestClearanceLeavesFitsOut(t *testing.T) {
	socket := joined(box(-8, -3, -8, 8, -5, 5), box(3, 8, -8, 8, -5, 5), box(-3, 3, -8, -3, -5, 5), box(-3, 3, 3, 8, -5, 5))
	snug := scene(t, joined(box(-3, 3, -3, 3, -5, 9), box(2, 40, -1, 1, 6, 8)), joined(socket, box(20, 30, 10, 12, 5.5, 8.5)), zAxis, Options{})
	// The arm is 1 above the socket.
	if got := clearance(t, snug, 0)[0]; math.Abs(got-1) > 1e-12 {
		t.Errorf("snug pin: clearance %.15g, want 1", got)
	}
	hubs := scene(t, joined(pin(6, 0, 10, 24, 0), box(5, 40, -2, 2, 3, 8)), joined(box(-9, 9, -9, 9, -8, 2), box(20, 30, 18, 28, -8, 9)), zAxis, Options{})
	if got := clearance(t, hubs, 0)[0]; math.Abs(got-1) > 1e-12 {
		t.Errorf("overlapping hubs: clearance %.15g, want 1 between arm and hub", got)
	}
	plate := box(5, 20, -3, 3, 0, 2)
	flush := scene(t, plate, box(5, 20, -3, 3, -2, 0).turnedBy(2), zAxis, Options{})
	// Sides that pass flush do not count; the end at x = 5 and that at x = 20 do.
	for _, d := range clearance(t, flush, 0, 1, 1.9, 2, 3) {
		if d < 14 {
			t.Errorf("flush plates: clearance %g, want that of their far ends", d)
		}
	}
}

func TestClearanceAgainstMeshDistance(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 5))
	for range 60 {
		moving, still, axis := rubbleScene(r, 6, 3)
		if !apart(t, moving, still) {
			continue
		}
		s := scene(t, moving, still, axis, Options{Tolerance: -1})
		var angles []float64
		for range 20 {
			angles = append(angles, 14*(r.Float64()-0.5))
		}
		for i, d := range clearance(t, s, angles...) {
			if want := distanceAt(t, moving, still, axis, angles[i]); math.Abs(d-want) > 1e-12*20 {
				t.Errorf("at %g: clearance %.15g, want %.15g", angles[i], d, want)
			}
		}
	}
}

// The clearance changes by no more than the reach times the angle, and does
// not depend on the angles asked for before.
func TestClearanceIsSteady(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		moving, still, axis := drawScene(rt, t)
		s := build(rt, t, moving, still, axis)
		a := rapid.Float64Range(-7, 7).Draw(rt, "a")
		b := a + rapid.Float64Range(-0.3, 0.3).Draw(rt, "step")
		d := clearance(t, s, a, b, a)
		if math.Abs(d[1]-d[0]) > s.Reach()*math.Abs(b-a)*(1+1e-12)+1e-12 {
			rt.Fatalf("clearance %g at %g, %g at %g: reach %g", d[0], a, d[1], b, s.Reach())
		}
		if d[2] != d[0] {
			rt.Fatalf("clearance %v and %v at the same angle", d[0], d[2])
		}
	})
}

// At the ends of the free range the bodies touch, within it they do not.
func TestClearanceAgreesWithFreeRange(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		moving, still, axis := drawScene(rt, t)
		s := build(rt, t, moving, still, axis)
		r := freeRange(t, s)
		lower, upper := -turn, turn
		if r.Lower != nil {
			lower = r.Lower.Value
			if d := clearance(t, s, lower)[0]; d > 1e-9 {
				rt.Fatalf("clearance %g at the lower end %g", d, lower)
			}
		}
		if r.Upper != nil {
			upper = r.Upper.Value
			if d := clearance(t, s, upper)[0]; d > 1e-9 {
				rt.Fatalf("clearance %g at the upper end %g", d, upper)
			}
		}
		f := rapid.Float64Range(0.001, 0.999).Draw(rt, "where")
		if a := lower + f*(upper-lower); clearance(t, s, a)[0] <= 0 {
			rt.Fatalf("no clearance at %g, inside %g..%g", a, lower, upper)
		}
	})
}

// A hint changes nothing but the time it takes, however bad it is.
func TestClearanceAt(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		moving, still, by := drawAimed(rt, t)
		s := sceneBy(t, moving, still, by, Options{})
		v := rapid.Float64Range(-3, 3).Draw(rt, "value")
		want := clearance(t, s, v)[0]
		near, err := s.ClearanceAt(t.Context(), v+0.01, Proximity{})
		if err != nil {
			rt.Fatal(err)
		}
		i := rapid.IntRange(-2, 40)
		for _, hint := range []Proximity{
			{}, near, {Moving: i.Draw(rt, "moving"), Still: i.Draw(rt, "still"), MovingTri: i.Draw(rt, "tri"), StillTri: i.Draw(rt, "tri")},
		} {
			got, err := s.ClearanceAt(t.Context(), v, hint)
			if err != nil || math.Abs(got.Distance-want) > 1e-10*s.size {
				rt.Fatalf("%s at %g: clearance %g with hint %+v, want %g (%v)", by.Kind, v, got.Distance, hint, want, err)
			}
			if d := r3.Norm(r3.Sub(got.OnMoving, got.OnStill)); math.Abs(d-got.Distance) > 1e-9*s.size {
				rt.Fatalf("points %g apart, distance %g", d, got.Distance)
			}
		}
	})
	flap, stops := flapAndStops()
	if _, err := scene(t, flap, stops, zAxis, Options{}).ClearanceAt(t.Context(), math.NaN(), Proximity{}); err == nil {
		t.Error("no error for a value that is not a number")
	}
}

// A hint of triangles that do not count, as those of a mating pin, is no hint.
func TestClearanceAtIgnoresMates(t *testing.T) {
	flap, stops := flapAndStops()
	s := scene(t, joined(flap, tube(4, 6, -15, 15, 24, 0)), joined(stops, pin(4, -20, 20, 32, 0.1)), zAxis, Options{})
	for m := range s.moving[0].tris {
		for k := range s.still[0].tris {
			p, err := s.ClearanceAt(t.Context(), 0, Proximity{MovingTri: m, StillTri: k})
			if err != nil || math.Abs(p.Distance-17) > 1e-10 {
				t.Fatalf("with triangles %d and %d as a hint: %+v (%v), want 17", m, k, p, err)
			}
		}
	}
}
