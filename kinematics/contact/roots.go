package contact

import "math"

// harmonic is g(t) = G + A (cos t - 1) + B sin t: how far a turning feature
// stands off a still one. It is written about t = 0, where G is known without
// cancellation, so that contacts at small angles keep their digits.
type harmonic struct {
	G, A, B float64
}

// at returns g at the angle with the given cosine and sine.
func (h harmonic) at(c, s float64) float64 { return h.G + h.A*(c-1) + h.B*s }

// slope returns dg/dt at the angle with the given cosine and sine.
func (h harmonic) slope(c, s float64) float64 { return h.B*c - h.A*s }

// misses reports whether g surely has no root within half of the angle with
// the given cosine and sine: by Taylor's bound, |g”| being at most |A| + |B|.
func (h harmonic) misses(c, s, half float64) bool {
	reach := math.Abs(h.slope(c, s))*half + 0.5*half*half*(math.Abs(h.A)+math.Abs(h.B))
	return math.Abs(h.at(c, s)) > reach*(1+1e-9)+lengthEps
}

// roots returns the angles from 0 to limit at which g is zero, in rising order. A root that is double to rounding (a graze) comes
// once, at the turning point. An amplitude of no more than still means no
// motion, hence no roots.
//
// With u = tan(t/2) the equation is (G - 2A) u^2 + 2 B u + G = 0.
func (h harmonic) roots(still, limit float64) (t [2]float64, n int) {
	swing2 := h.A*h.A + h.B*h.B
	if swing2 <= still*still {
		return t, 0
	}
	a := h.G - 2*h.A
	disc := h.B*h.B - a*h.G
	// The rounding of disc, with room for that of G, A and B themselves.
	noise := 16 * 0x1p-52 * (h.B*h.B + math.Abs(a*h.G) + swing2)
	if disc < -noise {
		return t, 0
	}
	if disc <= noise {
		// C = G - A: the extremum of g that lies nearest to zero.
		s := 1.0
		if h.G-h.A > 0 {
			s = -1
		}
		t[0] = wrap(math.Atan2(s*h.B, s*h.A))
		return t, 1
	}
	q := -(h.B + math.Copysign(math.Sqrt(disc), h.B))
	for _, r := range [2]float64{wrap(2 * math.Atan2(q, a)), wrap(2 * math.Atan2(h.G, q))} {
		if r <= limit {
			t[n] = h.polish(r)
			n++
		}
	}
	if n == 2 && t[0] > t[1] {
		t[0], t[1] = t[1], t[0]
	}
	return t, n
}

// polishReach is the largest step of a root that is taken for rounding.
const polishReach = 1e-7

// polish takes one Newton step, unless it would leave the root's surroundings.
func (h harmonic) polish(t float64) float64 {
	s, c := math.Sincos(t)
	d := h.slope(c, s)
	if d == 0 {
		return t
	}
	// cos t - 1 without cancellation.
	v := math.Sin(t / 2)
	step := (h.G - 2*h.A*v*v + h.B*s) / d
	if !(math.Abs(step) < polishReach) || t-step < 0 || t-step > turn {
		return t
	}
	return t - step
}
