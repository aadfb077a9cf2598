package sweep

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/fit/mesh/meshtest"
)

// stepAt is a way whose column changes from a to b at one place.
func stepAt(place float64, a, b column) *way {
	return &way{
		a: a, b: b, upright: upright{spacing: 2 * math.Pi / 72, radius: 1}, longest: 0.2, least: leastArc,
		at: func(x float64, buf []float64) column {
			c := a
			if x > place {
				c = b
			}
			return column{c.inside, append(buf, c.ends...)}
		},
	}
}

func TestPlaceFindsTheStep(t *testing.T) {
	for _, c := range []struct {
		name      string
		a, b      column
		m         float64
		low, high float64
	}{
		{"arc that ends", arc(1, 2), column{}, 1.5, 1, 2},
		{"arc that begins", column{}, arc(1, 2), 1.5, 1, 2},
		{"gap that closes", column{inside: true, ends: []float64{1, 2}}, full(), 1.5, 1, 2},
		{"start that jumps", arc(1, 3), arc(2, 3), 1.5, 1, 2},
		{"past angle 0", column{inside: true, ends: []float64{1, 6}}, column{}, 0.5, 6 - 2*math.Pi, 1},
		{"past a full turn", column{inside: true, ends: []float64{1, 6}}, column{}, 0.5 + 2*math.Pi, 6, 1 + 2*math.Pi},
	} {
		for _, place := range []float64{0.1, 0.5, 0.77} {
			var f finder
			x, low, high := f.place(stepAt(place, c.a, c.b), c.m)
			if math.Abs(x-place) > math.Ldexp(1, -halvings) {
				t.Errorf("%s: step at %v is placed at %v", c.name, place, x)
			}
			if math.Abs(low-c.low) > 1e-12 || math.Abs(high-c.high) > 1e-12 {
				t.Errorf("%s: arc is %v to %v, want %v to %v", c.name, low, high, c.low, c.high)
			}
		}
	}
}

// Where the surface slants, the spots follow it: here the end of an arc moves
// with the way, so that angle a changes sides at a known place.
func TestWalkFollowsASlant(t *testing.T) {
	at := func(x float64, buf []float64) column { return column{ends: append(buf, 1, 1+2*x)} }
	w := &way{a: column{}, b: at(1, nil), at: at, upright: upright{spacing: 2 * math.Pi / 72, radius: 1}, longest: 0.1, least: leastArc}
	var f finder
	spots := f.walk(w, 1, 3, maxDepth, nil)
	if len(spots) < 15 {
		t.Fatalf("%d spots over 2 rad, want one for each %v", len(spots), w.longest)
	}
	for k, s := range spots {
		if k > 0 && (s.a < spots[k-1].a || s.a-spots[k-1].a > 2*w.longest) {
			t.Errorf("spot %d at %v follows one at %v", k, s.a, spots[k-1].a)
		}
		if want := (s.a - 1) / 2; math.Abs(s.x-want) > 2*math.Ldexp(1, -halvings) {
			t.Errorf("angle %v changes sides at %v, want %v", s.a, s.x, want)
		}
	}
}

func TestWalkRound(t *testing.T) {
	var f finder
	w := stepAt(0.3, full(), column{})
	spots := f.walkRound(w, nil)
	if len(spots) != 72 {
		t.Fatalf("%d spots, want 72", len(spots))
	}
	for k, s := range spots {
		if math.Abs(s.x-0.3) > 1e-3 || math.Abs(s.a-2*math.Pi*float64(k)/72) > 1e-12 {
			t.Errorf("spot %d is %v", k, s)
		}
	}
	// A hole off the middle: what is left of the circle shrinks to both sides of
	// the angle pi.
	slant := func(x float64, buf []float64) column {
		if x == 0 {
			return full()
		}
		if x >= 1 {
			return column{}
		}
		return column{ends: append(buf, math.Pi*x, math.Pi*(2-x))}
	}
	w.at = slant
	spots = f.walkRound(w, nil)
	if len(spots) < 20 || spots[len(spots)-1].a-spots[0].a > 2*math.Pi {
		t.Fatalf("%d spots from %v", len(spots), spots)
	}
	for _, s := range spots {
		want := 1 - math.Abs(math.Remainder(s.a, 2*math.Pi)-0)/math.Pi
		if want = 1 - want; math.Abs(s.x-want) > 0.02 {
			t.Errorf("angle %v changes sides at %v, want %v", s.a, s.x, want)
		}
	}
}

func TestStandKeepsCommonAngles(t *testing.T) {
	w := stepAt(0.5, arc(1, 2), column{})
	rapid.Check(t, func(t *rapid.T) {
		low := rapid.Float64Range(-7, 7).Draw(t, "low")
		high := low + rapid.Float64Range(0, 6).Draw(t, "length")
		spots := w.stand(0.25, low, high, nil)
		if spots[0].a != low || (high-low > leastArc) != (len(spots) > 1) {
			t.Fatalf("arc %v to %v gives %v", low, high, spots)
		}
		for k := 1; k < len(spots); k++ {
			gap := spots[k].a - spots[k-1].a
			if gap < 0 || gap > 1.61*w.spacing {
				t.Fatalf("spots of %v to %v are %v apart", low, high, gap)
			}
			if k+1 < len(spots) && math.Abs(math.Remainder(spots[k].a, w.spacing)) > 1e-12 {
				t.Fatalf("spot at %v is no multiple of %v", spots[k].a, w.spacing)
			}
		}
	})
}

func TestPushLeavesOutTheSameSpot(t *testing.T) {
	to := push(nil, spot{0.5, 1})
	to = push(to, spot{0.5, 1})
	to = push(to, spot{0.25, 1})
	if len(to) != 2 {
		t.Errorf("spots are %v, want two", to)
	}
}

// Chords keep within the sag at the largest radius, and the spacing divides
// the turn.
func TestUprightSpacing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rapid.Float64Range(0.1, 100).Draw(t, "radius")
		sag := r * rapid.Float64Range(1e-5, 0.5).Draw(t, "sag")
		u := newUpright(r, sag)
		n := 2 * math.Pi / u.spacing
		if math.Abs(n-math.Round(n)) > 1e-9 {
			t.Fatalf("%v spacings in a turn", n)
		}
		if bow := r * (1 - math.Cos(u.spacing/2)); bow > sag*(1+1e-9) && n < 719 {
			t.Fatalf("chords stray by %v, more than %v, with %v in a turn", bow, sag, n)
		}
	})
}

// The height at which a line along the hinge passes a triangle, and the sense,
// against the plane through the triangle.
func TestPiercedAgainstThePlane(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := mustSurface(t, drawAxis(t), meshtest.Sphere(1, 6, 4, func(p r3.Vec) r3.Vec { return r3.Add(p, drawVec(t, "off", 0.2)) }))
		w := &sampler{plan: &plan{surface: s}}
		r := rapid.Float64Range(0, s.rHi).Draw(t, "r")
		for k := range s.tris {
			for l := range 3 {
				if math.Abs(w.edgeSide(s.tris[k][l], s.tris[k][(l+1)%3], r)) < 1e-9 {
					return // through an edge, where rounding decides
				}
			}
		}
		var gain int32
		for k := range s.tris {
			z, turn := w.pierced(int32(k), r)
			if turn == 0 {
				continue
			}
			gain += turn
			v := s.tris[k]
			n := r3.Cross(r3.Sub(s.p[v[1]], s.p[v[0]]), r3.Sub(s.p[v[2]], s.p[v[0]]))
			want := s.p[v[0]].Z - (n.X*(r-s.p[v[0]].X)+n.Y*(0-s.p[v[0]].Y))/n.Z
			if math.Abs(z-want) > 1e-6*(1+1/math.Abs(n.Z)) {
				t.Fatalf("triangle %d is passed at %v, its plane at %v", k, z, want)
			}
			if (n.Z > 0) != (turn < 0) {
				t.Fatalf("triangle %d with normal %v has sense %d", k, n, turn)
			}
		}
		if gain != 0 {
			t.Fatalf("a line right through gains a winding of %d", gain)
		}
	})
}
