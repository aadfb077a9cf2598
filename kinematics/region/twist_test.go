package region

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/kinematics"
)

// A bar across the reach turns between posts: as modelled its face y = 1 comes
// down on the edge (30, 18), a hinge's closed form.
func TestTwistAsModelled(t *testing.T) {
	in := input(t, box(5, 50, -2, 1, -15, 15), append(box(20, 30, 18, 28, -10, 10), box(20, 60, -40, -30, -10, 10)...), plain())
	w, err := TwistAt(t.Context(), in, 1, 0, Options{})
	if err != nil {
		t.Fatal(err)
	}
	upper, lower := math.Atan2(18, 30)-math.Asin(1/math.Hypot(30, 18)), math.Asin(-30/math.Hypot(50, 2))-math.Atan2(-2, 50)
	if r := w.Range(); math.Abs(r.Upper-upper) > 1e-12 || math.Abs(r.Lower-lower) > 1e-12 {
		t.Errorf("twist %v, want %g to %g", r, lower, upper)
	}
	free := Twist{}
	if r := free.Range(); r.Lower != -2*math.Pi || r.Upper != 2*math.Pi {
		t.Errorf("free twist %v", r)
	}
}

// At every lean the parts touch at the twist limits and nowhere between.
func TestTwistsAgainstDistances(t *testing.T) {
	r := rand.New(rand.NewPCG(6, 8))
	hits := 0
	for range 2 {
		moving, still := rubble(t, r)
		moving = append(moving, tetra(r3.Vec{X: 9, Z: 5}, r3.Vec{Y: 0.5, Z: 5}, r3.Vec{Y: -0.5, Z: 5}, r3.Vec{Z: 6})...)
		if gap(t, moving, still, kinematics.Identity()) <= 0 {
			continue
		}
		in := input(t, moving, still, plain())
		b := ball(t, in, Options{})
		list, err := b.Twists(t.Context(), in, 6, 3, Options{})
		if err != nil {
			t.Fatal(err)
		}
		if len(list) != 19 {
			t.Fatalf("%d twists, want 19", len(list))
		}
		for _, w := range list {
			h, s := kinematics.SwingOf(w.Azimuth, w.Lean)
			at := func(v float64) float64 {
				return gap(t, moving, still, posed(kinematics.Spherical, plain(), h, s, v))
			}
			if at(0) <= 1e-9 {
				continue // interpolation was off there
			}
			over := w.Range()
			for _, e := range []struct {
				v   float64
				hit bool
			}{{over.Lower, w.Lower != nil}, {over.Upper, w.Upper != nil}} {
				if e.hit {
					hits++
					if d := at(e.v); d > 1e-9 {
						t.Errorf("%g apart at the limit %g", d, e.v)
					}
				}
				for k := range 20 {
					if at(e.v*float64(k)/20) <= 0 {
						t.Errorf("parts meet before the limit %g", e.v)
					}
				}
			}
		}
	}
	if hits < 10 {
		t.Errorf("%d limits: too few to tell", hits)
	}
}

func TestBadTwists(t *testing.T) {
	in := input(t, needle(), funnel(1, 6), plain())
	b := ball(t, in, Options{})
	for _, n := range [][2]int{{0, 1}, {1, 0}, {1 << 10, 1 << 10}, {1 << 32, 1 << 32}} {
		if _, err := b.Twists(t.Context(), in, n[0], n[1], Options{}); err == nil || !strings.Contains(err.Error(), "in all") {
			t.Errorf("%v: error %v", n, err)
		}
	}
	in.Frame.Reach = r3.Vec{}
	if _, err := TwistAt(t.Context(), in, 0, 0, Options{}); err == nil || !strings.Contains(err.Error(), "frame") {
		t.Errorf("error %v, want one about the frame", err)
	}
	if _, err := b.Twists(t.Context(), in, 1, 1, Options{}); err == nil || !strings.Contains(err.Error(), "frame") {
		t.Errorf("twists: error %v, want one about the frame", err)
	}
}
