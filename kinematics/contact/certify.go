package contact

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// spot is what is known about the smallest distance at one value of the motion,
// all in axis-frame units.
type spot struct {
	value    float64
	low, top float64 // the distance is not below low and not above top
	pair     distant // the triangles that are top apart
	p, q     r3.Vec  // their nearest points, that of the moving one as at rest
}

// stretch is the range between two neighbouring spots. The squared distance F
// between a moving and a still point has a second derivative of at most 2 k
// (see motion.bend), hence so has, in the sense of kinks that point up, the
// least of all of them: F - k t^2 is concave. Between two spots the squared
// clearance therefore lies above its chord less k h^2 s (1-s), where s runs
// from 0 to 1 over h; above, it is bounded by what the points nearest at either
// spot are apart, which is no more than their own chord.
type stretch struct {
	a, b *spot
	k    float64
	// The squared distance of the points nearest at a and at b, at both spots,
	// and what it may rise above the chord between them, over s (1-s).
	fromA, fromB [2]float64
	bulge        float64
}

func newStretch(m motion, a, b *spot, rm, rs float64) stretch {
	// Only points that can be nearest matter: they are not further from the
	// axis than the other side reaches, but for the distance between them.
	far := min(a.top, b.top) + (b.value-a.value)*m.fastest(rm)
	x := stretch{a: a, b: b, k: m.bend(min(rm, rs+far), min(rs, rm+far))}
	h := b.value - a.value
	at := [2]place{m.at(a.value), m.at(b.value)}
	for i, p := range at {
		x.fromA[i] = r3.Norm2(r3.Sub(p.apply(a.p), a.q))
		x.fromB[i] = r3.Norm2(r3.Sub(p.apply(b.p), b.q))
	}
	x.bulge = h * h * max(m.sag(a.p, a.q, a.value, b.value), m.sag(b.p, b.q, a.value, b.value))
	return x
}

// below returns the coefficients of the parabola c0 + c1 s + c2 s^2 that the
// squared distance does not fall below.
func (x *stretch) below() (c0, c1, c2 float64) {
	h := x.b.value - x.a.value
	d := x.b.low - x.a.low
	e := max(x.k*h*h-d*d, 0)
	return x.a.low * x.a.low, 2*x.a.low*d - e, d*d + e
}

// least returns a lower bound on the distance all along the stretch.
func (x *stretch) least() float64 {
	c0, c1, c2 := x.below()
	low := min(x.a.low, x.b.low)
	if c2 <= 0 {
		return low
	}
	if s := -c1 / (2 * c2); s > 0 && s < 1 {
		low = min(low, math.Sqrt(max(c0+s*c1/2, 0)))
	}
	return low
}

// floor returns a lower bound on the distance at s of the stretch.
func (x *stretch) floor(s float64) float64 {
	c0, c1, c2 := x.below()
	return math.Sqrt(max(c0+s*(c1+s*c2), 0))
}

// over returns by how much the straight line between the distances at the spots
// may lie above the true distance.
func (x *stretch) over() float64 {
	c0, c1, c2 := x.below()
	slack := max(x.a.top-x.a.low, x.b.top-x.b.low)
	d := x.b.low - x.a.low
	gap := func(s float64) float64 {
		s = min(max(s, 0), 1)
		return x.a.low + s*d - math.Sqrt(max(c0+s*(c1+s*c2), 0))
	}
	// Where the parabola has roots the gap is largest at one of them; where not,
	// where the slopes agree.
	worst := 0.0
	disc := c1*c1 - 4*c0*c2
	if disc >= 0 && c2 > 0 {
		r := math.Sqrt(disc)
		worst = max(gap((-c1-r)/(2*c2)), gap((-c1+r)/(2*c2)))
		return worst + slack
	}
	// c2 (d^2 - c2) s^2 + c1 (d^2 - c2) s + d^2 c0 - c1^2/4 = 0
	if a := c2 * (d*d - c2); a != 0 {
		b, c := c1*(d*d-c2), d*d*c0-c1*c1/4
		r := math.Sqrt(max(b*b-4*a*c, 0))
		worst = max(gap((-b-r)/(2*a)), gap((-b+r)/(2*a)), gap(0.5))
	}
	return worst + slack
}

// under returns by how much the true distance may lie above the straight line
// between those at the spots, and where: at s.
func (x *stretch) under() (by, s float64) {
	d := x.b.top - x.a.top
	cross := x.crossing()
	try := func(from, to float64, f [2]float64) {
		c, r := f[0], f[1]-f[0]
		gap := func(s float64) float64 {
			s = min(max(s, from), to)
			if v := math.Sqrt(max(c+s*r+x.bulge/4, 0)) - x.a.top - s*d; v > by {
				by = v
				return s
			}
			return math.NaN()
		}
		list := [3]float64{from, to, to}
		if r != 0 && d != 0 && (r > 0) == (d > 0) {
			// sqrt(c + s r) rises as fast as the line.
			v := r / (2 * d)
			list[1] = (v*v - c - x.bulge/4) / r
		}
		for _, t := range list {
			if v := gap(t); !math.IsNaN(v) {
				s = v
			}
		}
	}
	try(0, cross, x.fromA)
	try(cross, 1, x.fromB)
	return by, s
}

// crossing returns where the points nearest at a and those nearest at b are
// equally far apart, by their chords.
func (x *stretch) crossing() float64 {
	left, right := x.fromB[0]-x.fromA[0], x.fromA[1]-x.fromB[1]
	if left <= 0 {
		return 0
	}
	if right <= 0 {
		return 1
	}
	return left / (left + right)
}
