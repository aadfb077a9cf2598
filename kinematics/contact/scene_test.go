package contact

import (
	"context"
	"errors"
	"math"
	"reflect"
	"runtime"
	"strings"
	"testing"
	"time"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
	"pintle/kinematics"
)

func TestBadScenes(t *testing.T) {
	flap, stops := flapAndStops()
	m, s := []Body{flap.body(t, "flap")}, []Body{stops.body(t, "stops")}
	empty, _, err := mesh.NewBuilder().Build(mesh.Options{})
	if err != nil {
		empty = nil
	}
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range []struct {
		name          string
		moving, still []Body
		axis          kinematics.Axis
		o             Options
		says          string
	}{
		{"no moving bodies", nil, s, zAxis, Options{}, "the moving side has no triangles"},
		{"no still bodies", m, nil, zAxis, Options{}, "the still side has no triangles"},
		{"no mesh", []Body{{Name: "ghost"}}, s, zAxis, Options{}, "the moving side has no triangles"},
		{"empty mesh", m, []Body{{Name: "empty", Mesh: empty}}, zAxis, Options{}, "the still side has no triangles"},
		{"no direction", m, s, kinematics.Axis{}, Options{}, "axis direction"},
		{"direction not finite", m, s, kinematics.Axis{Dir: r3.Vec{X: nan}}, Options{}, "axis direction"},
		{"point not finite", m, s, kinematics.Axis{Point: r3.Vec{Y: inf}, Dir: r3.Vec{Z: 1}}, Options{}, "axis point"},
		{"tolerance not finite", m, s, zAxis, Options{Tolerance: nan}, "tolerance NaN is not finite"},
		{"same part on both sides", m, []Body{s[0], m[0]}, zAxis, Options{}, `part "flap" is on both sides`},
	} {
		_, err := NewScene(t.Context(), c.moving, c.still, Hinge(c.axis), c.o)
		if err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: error %v, want one that says %q", c.name, err, c.says)
		}
		if err != nil && strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: %q is more than a sentence", c.name, err)
		}
	}
	var e *EmptyError
	if _, err := NewScene(t.Context(), m, nil, Hinge(zAxis), Options{}); !errors.As(err, &e) || e.Side != "still" {
		t.Errorf("error %v, want an EmptyError for the still side", err)
	}
}

func TestBadQueries(t *testing.T) {
	flap, stops := flapAndStops()
	s := scene(t, flap, stops, zAxis, Options{})
	for _, r := range []kinematics.Range{{Lower: 1, Upper: -1}, {Lower: math.NaN(), Upper: 1}, {Lower: -1, Upper: math.NaN()}, {Lower: 0.1, Upper: 1}, {Lower: -1, Upper: -0.1}} {
		if _, err := s.FreeRange(t.Context(), r); err == nil {
			t.Errorf("limits %v: no error", r)
		}
	}
	for _, a := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		if _, err := s.Clearance(t.Context(), []float64{0, a}); err == nil {
			t.Errorf("clearance at %v: no error", a)
		}
		if _, err := s.Closest(t.Context(), a); err == nil {
			t.Errorf("closest at %v: no error", a)
		}
	}
}

// The limits are closed: a contact at the limit counts, one beyond does not.
func TestLimits(t *testing.T) {
	flap, stops := flapAndStops()
	s := scene(t, flap, stops, zAxis, Options{})
	lower, upper := edgeOnFace(50, -2, -30), faceOnEdge(30, 18, 1)
	for _, c := range []struct{ lo, hi, wantLo, wantHi float64 }{
		{-1, 1, lower, upper},
		{lower - 1e-9, upper + 1e-9, lower, upper},
		{lower + 1e-9, upper - 1e-9, math.NaN(), math.NaN()},
		{0, 1, math.NaN(), upper},
		{-1, 0, lower, math.NaN()},
		{0, 0, math.NaN(), math.NaN()},
		{-100, 100, lower, upper},
	} {
		r, err := s.FreeRange(t.Context(), kinematics.Range{Lower: c.lo, Upper: c.hi})
		if err != nil {
			t.Fatal(err)
		}
		wantAngle(t, "lower", r.Lower, c.wantLo, 1e-12)
		wantAngle(t, "upper", r.Upper, c.wantHi, 1e-12)
	}
}

// Several bodies a side give what one joined body gives, and name themselves;
// bodies without triangles keep their place.
func TestSeveralBodies(t *testing.T) {
	flap := box(5, 50, -2, 1, -15, 15)
	up, down := box(20, 30, 18, 28, -10, 10), box(20, 60, -40, -30, -10, 10)
	far := box(5, 9, 40, 44, 0, 1)
	s, err := NewScene(t.Context(),
		[]Body{{Name: "ghost"}, box(1, 2, 0, 1, 40, 41).body(t, "lug"), flap.body(t, "flap")},
		[]Body{far.body(t, "far"), up.body(t, "up"), {Name: "ghost"}, down.body(t, "down")}, Hinge(zAxis), Options{})
	if err != nil {
		t.Fatal(err)
	}
	r := freeRange(t, s)
	wantAngle(t, "lower", r.Lower, edgeOnFace(50, -2, -30), 1e-12)
	wantAngle(t, "upper", r.Upper, faceOnEdge(30, 18, 1), 1e-12)
	if r.Lower.Moving != 2 || r.Lower.Still != 3 || r.Upper.Moving != 2 || r.Upper.Still != 1 {
		t.Errorf("bodies %d on %d and %d on %d, want 2 on 3 and 2 on 1", r.Lower.Moving, r.Lower.Still, r.Upper.Moving, r.Upper.Still)
	}
}

// Same scene, same answer to the bit, on one processor and on two, built twice.
func TestSameOnAnyNumberOfCores(t *testing.T) {
	moving, still := pinInBarrel(0, 4000)
	var first Result
	var clear []float64
	for i, procs := range []int{1, 2, 1, 2} {
		old := runtime.GOMAXPROCS(procs)
		s := scene(t, moving, still, zAxis, Options{})
		r := freeRange(t, s)
		c, err := s.Clearance(t.Context(), []float64{-0.5, -0.2, 0, 0.1, 0.3, 0.5})
		runtime.GOMAXPROCS(old)
		if err != nil {
			t.Fatal(err)
		}
		if i == 0 {
			first, clear = r, c
			continue
		}
		if !reflect.DeepEqual(r, first) || !reflect.DeepEqual(c, clear) {
			t.Errorf("%d processors: %+v %v, want %+v %v", procs, r, c, first, clear)
		}
	}
}

func TestCancel(t *testing.T) {
	moving, still := pinInBarrel(0, 20_000)
	ctx, cancel := context.WithCancel(t.Context())
	s := scene(t, moving, still, zAxis, Options{})
	cancel()
	if _, err := s.FreeRange(ctx, everywhere()); !errors.Is(err, context.Canceled) {
		t.Errorf("free range: error %v, want canceled", err)
	}
	if _, err := s.Clearance(ctx, []float64{0, 1}); !errors.Is(err, context.Canceled) {
		t.Errorf("clearance: error %v, want canceled", err)
	}
	m, k := []Body{moving.body(t, "m")}, []Body{still.body(t, "s")}
	if _, err := NewScene(ctx, m, k, Hinge(zAxis), Options{}); !errors.Is(err, context.Canceled) {
		t.Errorf("new scene: error %v, want canceled", err)
	}
	late, stop := context.WithTimeout(t.Context(), time.Nanosecond)
	defer stop()
	if _, err := NewScene(late, m, k, Hinge(zAxis), Options{}); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("new scene: error %v, want deadline exceeded", err)
	}
}

func TestProgress(t *testing.T) {
	flap, stops := flapAndStops()
	last, calls := 0.0, 0
	_, err := NewScene(t.Context(), []Body{flap.body(t, "flap")}, []Body{stops.body(t, "stops")}, Hinge(zAxis), Options{
		Progress: func(done float64, what string) {
			if done < last || done > 1 || what == "" {
				t.Errorf("progress %g after %g, %q", done, last, what)
			}
			last, calls = done, calls+1
		},
	})
	if err != nil || last != 1 || calls < 3 {
		t.Errorf("error %v, progress ends at %g after %d calls", err, last, calls)
	}
}
