// Package strip is the motion strip below the drawing: a ruler of the joint's
// angle with its free range, the limits, a curve over the angle, and a cursor
// to drag.
package strip

import "math"

// span maps joint values (degrees or model units) to positions across the
// strip in Fyne units.
type span struct {
	lo, hi      float64 // values at the ends
	left, width float32
}

func (s span) x(v float64) float32 {
	if !(s.hi > s.lo) {
		return s.left
	}
	return s.left + s.width*float32((v-s.lo)/(s.hi-s.lo))
}

func (s span) value(x float32) float64 {
	if s.width <= 0 {
		return s.lo
	}
	t := float64((x - s.left) / s.width)
	return s.lo + (s.hi-s.lo)*min(max(t, 0), 1)
}

// niceStep returns the smallest step of the series 1, 2, 5 x 10^k (or, for
// angles, 1, 2, 5, 10, 15, 30, 45, 90, 180) that divides length into at most
// n pieces.
func niceStep(length float64, n int, angles bool) float64 {
	if !(length > 0) || math.IsInf(length, 0) || n < 1 {
		return 1
	}
	raw := length / float64(n)
	if angles && raw > 0.5 {
		for _, s := range []float64{1, 2, 5, 10, 15, 30, 45, 90, 180} {
			if s >= raw {
				return s
			}
		}
		return 360
	}
	pow := math.Pow(10, math.Floor(math.Log10(raw)))
	for _, m := range []float64{1, 2, 5, 10} {
		if m*pow >= raw*(1-1e-12) {
			return m * pow
		}
	}
	return 10 * pow
}

// around returns the ruler's ends for what has to be seen: whole steps that
// leave a little air on both sides of lo..hi.
func around(lo, hi float64, angles bool) (float64, float64) {
	if !(hi-lo > 1e-9*max(1, math.Abs(lo), math.Abs(hi))) { // nothing to tell apart
		lo, hi = lo-1, hi+1
	}
	air := 0.06 * (hi - lo)
	step := niceStep(hi-lo, 12, angles)
	return step * math.Floor((lo-air)/step), step * math.Ceil((hi+air)/step)
}
