package kinematics

import (
	"fmt"
	"math"
)

// Range is a closed interval of joint values: radians for a turn, model units
// for a slide. Zero is the pose as modelled.
type Range struct {
	Lower, Upper float64
}

// Unlimited returns the range that holds every value.
func Unlimited() Range { return Range{Lower: math.Inf(-1), Upper: math.Inf(1)} }

// Check returns an error where an end is NaN, the ends are the wrong way round,
// or the range holds no finite value. Infinite ends are allowed.
func (r Range) Check() error {
	if math.IsInf(r.Lower, 1) || math.IsInf(r.Upper, -1) {
		return fmt.Errorf("range from %g to %g holds no finite value: give a finite end", r.Lower, r.Upper)
	}
	if !(r.Lower <= r.Upper) {
		return fmt.Errorf("range from %g to %g: give a lower end that is not above the upper one", r.Lower, r.Upper)
	}
	return nil
}

// Clamp returns the value of the range nearest to v; NaN stays NaN.
func (r Range) Clamp(v float64) float64 { return math.Min(math.Max(v, r.Lower), r.Upper) }

// Contains reports whether v lies in the range, its ends included.
func (r Range) Contains(v float64) bool { return r.Lower <= v && v <= r.Upper }

// Span returns the length of the range.
func (r Range) Span() float64 { return r.Upper - r.Lower }

// Reversed returns the range as seen when the joint's positive sense is
// reversed.
func (r Range) Reversed() Range { return Range{Lower: 0 - r.Upper, Upper: 0 - r.Lower} }

// Intersect returns the values that both ranges hold; ok is false where there
// are none.
func (r Range) Intersect(s Range) (common Range, ok bool) {
	common = Range{Lower: math.Max(r.Lower, s.Lower), Upper: math.Min(r.Upper, s.Upper)}
	return common, common.Lower <= common.Upper
}
