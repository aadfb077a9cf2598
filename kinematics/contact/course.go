package contact

import "math"

// course is g(t) = G + A (cos t - 1) + B sin t + D t + t (P cos t + Q sin t): how
// far a moving feature stands off a still one. D, P and Q are zero for a hinge,
// all but G and D for a slider.
type course struct {
	harmonic
	D, P, Q float64
}

// at returns g at t, of which the sine and cosine are given.
func (g *course) at(t, c, s float64) float64 {
	return g.harmonic.at(c, s) + t*(g.D+g.P*c+g.Q*s)
}

// slope returns dg/dt at t, of which the sine and cosine are given.
func (g *course) slope(t, c, s float64) float64 {
	return g.harmonic.slope(c, s) + g.D + g.P*c + g.Q*s + t*(g.Q*c-g.P*s)
}

// bend returns a bound on the second derivative of g from 0 to t.
func (g *course) bend(t float64) float64 {
	return math.Hypot(g.A, g.B) + (2+t)*math.Hypot(g.P, g.Q)
}

// linear returns the root of a slider's g, if it has one within 0 to limit.
// A slope of no more than still means no motion, hence no root.
func (g *course) linear(still, limit float64) (t float64, ok bool) {
	if math.Abs(g.D) <= still {
		return 0, false
	}
	t = -g.G / g.D
	return max(t, 0), t >= 0 && t <= limit
}

// narrow is half the width of an interval within which a root that is double to
// rounding is not looked for any further.
const narrow = 1e-9

// roots appends the roots of g from lo to hi to list, in rising order: none is
// missed, since an interval is dropped only where Taylor's bound rules a root
// out, or where g is monotone and keeps its sign. Noise is the rounding of g. A
// graze may come more than once.
func (g *course) roots(lo, hi, noise float64, list []float64) []float64 {
	m, w := (lo+hi)/2, (hi-lo)/2
	if w < 0 {
		return list
	}
	s, c := math.Sincos(m)
	value, slope := g.at(m, c, s), g.slope(m, c, s)
	curve := g.bend(hi)
	reach := math.Abs(slope)*w + 0.5*curve*w*w
	switch {
	case math.Abs(value) > reach*(1+1e-9)+noise:
		return list
	case math.Abs(slope) > curve*w:
		if t, ok := g.bracket(lo, hi, noise); ok {
			list = append(list, t)
		}
		return list
	case w <= narrow || math.Abs(value)+reach <= 4*noise:
		return append(list, m)
	}
	return g.roots(m, hi, noise, g.roots(lo, m, noise, list))
}

// bracket returns the root of g between two values between which it is
// monotone, by Newton's method kept inside.
func (g *course) bracket(lo, hi, noise float64) (t float64, ok bool) {
	f := func(t float64) (value, slope float64) {
		s, c := math.Sincos(t)
		return g.at(t, c, s), g.slope(t, c, s)
	}
	a, _ := f(lo)
	b, _ := f(hi)
	if (a > 0) == (b > 0) && a != 0 && b != 0 {
		// A root just outside, which rounding may have moved there.
		if math.Abs(a) <= noise {
			return lo, true
		}
		return hi, math.Abs(b) <= noise
	}
	if a > b {
		lo, hi = hi, lo // g rises from lo to hi
	}
	t = (lo + hi) / 2
	const most = 100
	for range most {
		value, slope := f(t)
		if value == 0 {
			return t, true
		}
		if value < 0 {
			lo = t
		} else {
			hi = t
		}
		next := t - value/slope
		if !(next > min(lo, hi) && next < max(lo, hi)) {
			next = (lo + hi) / 2
		}
		if math.Abs(next-t) <= 2e-16*math.Abs(t) {
			return next, true
		}
		t = next
	}
	return t, true
}
