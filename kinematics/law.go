package kinematics

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/interp"
)

// LawKind names the form of a Law.
type LawKind string

// The forms of laws.
const (
	// LawRatio is Ratio x: gears, belts, racks.
	LawRatio LawKind = "ratio"
	// LawMirror is x or -x: the other side of a symmetric mechanism. Ratio is 1 or -1.
	LawMirror LawKind = "mirror"
	// LawLinear is Ratio x + Offset.
	LawLinear LawKind = "linear"
	// LawCurve runs smoothly through Curve without going beyond the values of two
	// neighbouring points between them, and keeps the end points' values beyond
	// them: cams, measured tables. Source: F. N. Fritsch, J. Butland, A method for
	// constructing local monotone piecewise cubic interpolants, SIAM J. Sci.
	// Statist. Comput. 5 (1984) 300-304.
	LawCurve LawKind = "curve"
)

// LawKinds returns the forms of laws in a fixed order.
func LawKinds() []LawKind { return []LawKind{LawRatio, LawMirror, LawLinear, LawCurve} }

// Law says how a follower's value comes from its driver's. Values are radians
// or model units, as the two freedoms have them.
type Law struct {
	Kind   LawKind
	Ratio  float64      // ratio, mirror, linear: follower per unit of the driver
	Offset float64      // linear: the follower where the driver stands at 0
	Curve  []CurvePoint // curve: 2 to 10000, by strictly rising driver values
}

// CurvePoint is one point of a law's curve.
type CurvePoint struct {
	Driver, Follower float64
}

// maxCurve bounds the points of a curve.
const maxCurve = 10_000

// GearLaw returns the law of a pair of gears by their numbers of teeth: the
// follower turns against the driver, or with it inside an internal gear, by
// driver teeth / follower teeth. Source: any machine-theory text, for instance J.
// E. Shigley, J. J. Uicker, Theory of Machines and Mechanisms (1980).
func GearLaw(driverTeeth, followerTeeth int, internal bool) (Law, error) {
	if driverTeeth < 1 || followerTeeth < 1 {
		return Law{}, fmt.Errorf("gears of %d and %d teeth: give numbers above 0", driverTeeth, followerTeeth)
	}
	r := float64(driverTeeth) / float64(followerTeeth)
	if !internal {
		r = -r
	}
	return Law{Kind: LawRatio, Ratio: r}, nil
}

// BeltLaw returns the law of a belt or chain by the wheels' diameters, in any
// one unit: the follower turns with the driver, or against it where the belt is
// crossed.
func BeltLaw(driver, follower float64, crossed bool) (Law, error) {
	r := driver / follower
	if !(driver > 0 && follower > 0 && finite(r)) {
		return Law{}, fmt.Errorf("wheels of diameter %g and %g: give lengths above 0", driver, follower)
	}
	if crossed {
		r = -r
	}
	return Law{Kind: LawRatio, Ratio: r}, nil
}

// RackLaw returns the law of a pinion that drives a rack: model units of travel
// per radian, half the pitch diameter teeth x module.
func RackLaw(teeth int, module float64) (Law, error) {
	if teeth < 1 || !(module > 0) || math.IsInf(module, 1) {
		return Law{}, fmt.Errorf("a pinion of %d teeth of module %g: give numbers above 0", teeth, module)
	}
	return Law{Kind: LawRatio, Ratio: float64(teeth) * module / 2}, nil
}

// Check returns an error where the law has no meaning.
func (l Law) Check() error {
	switch l.Kind {
	case LawRatio, LawMirror, LawLinear:
		if !finite(l.Ratio) || !finite(l.Offset) {
			return fmt.Errorf("ratio %g and offset %g: give finite numbers", l.Ratio, l.Offset)
		}
		if l.Kind != LawLinear && l.Offset != 0 {
			return fmt.Errorf("a %s law with the offset %g: make it linear", l.Kind, l.Offset)
		}
		if l.Kind == LawMirror && math.Abs(l.Ratio) != 1 {
			return fmt.Errorf("a mirror law with the ratio %g: give 1 or -1", l.Ratio)
		}
		if len(l.Curve) > 0 {
			return fmt.Errorf("a %s law takes no curve", l.Kind)
		}
		return nil
	case LawCurve:
		return l.checkCurve()
	}
	return fmt.Errorf("law %q is not known: give one of %v", l.Kind, LawKinds())
}

func (l Law) checkCurve() error {
	if n := len(l.Curve); n < 2 || n > maxCurve {
		return fmt.Errorf("a curve of %d points: give 2 to %d", n, maxCurve)
	}
	if l.Ratio != 0 || l.Offset != 0 {
		return fmt.Errorf("a curve takes neither ratio nor offset")
	}
	for i, p := range l.Curve {
		if !finite(p.Driver) || !finite(p.Follower) {
			return fmt.Errorf("curve point %d (%g, %g) is not finite", i+1, p.Driver, p.Follower)
		}
		if i == 0 {
			continue
		}
		q := l.Curve[i-1]
		if !(p.Driver > q.Driver) {
			return fmt.Errorf("curve point %d: its driver value %g is not above %g before it: sort the points and give each once", i+1, p.Driver, q.Driver)
		}
		if s := (p.Follower - q.Follower) / (p.Driver - q.Driver); !(math.Abs(s) < 1e100) {
			return fmt.Errorf("curve points %d and %d are too close together: leave one out", i, i+1)
		}
	}
	return nil
}

// Function is a law made ready to evaluate. It is constant and may be shared
// by goroutines.
type Function struct {
	law   Law
	curve *interp.FritschButland // of a curve
}

// Function returns the law as a function; it fails where Check does.
func (l Law) Function() (Function, error) {
	if err := l.Check(); err != nil {
		return Function{}, err
	}
	f := Function{law: l}
	if l.Kind == LawCurve {
		f.law.Curve = append([]CurvePoint(nil), l.Curve...)
		xs, ys := make([]float64, len(l.Curve)), make([]float64, len(l.Curve))
		for i, p := range l.Curve {
			xs[i], ys[i] = p.Driver, p.Follower
		}
		f.curve = new(interp.FritschButland)
		if err := f.curve.Fit(xs, ys); err != nil {
			return Function{}, fmt.Errorf("a curve of %d points: %w", len(l.Curve), err)
		}
	}
	return f, nil
}

// Law returns the law that f was made from.
func (f Function) Law() Law { return f.law }

// Value returns the follower's value.
func (f Function) Value(driver float64) float64 {
	if f.curve == nil {
		return f.law.Ratio*driver + f.law.Offset
	}
	if math.IsNaN(driver) {
		return driver
	}
	return f.curve.Predict(driver)
}

// Slope returns the follower's velocity per unit of the driver's; a curve
// stands still beyond its ends.
func (f Function) Slope(driver float64) float64 {
	if f.curve == nil {
		return f.law.Ratio
	}
	c := f.law.Curve
	if math.IsNaN(driver) {
		return driver
	}
	if driver < c[0].Driver || driver > c[len(c)-1].Driver {
		return 0
	}
	return f.curve.PredictDerivative(driver)
}

// Over returns the values that the follower takes over a range of the driver.
func (f Function) Over(driver Range) Range {
	a, b := f.Value(driver.Lower), f.Value(driver.Upper)
	if f.curve == nil && f.law.Ratio == 0 { // 0 times an infinite end
		a, b = f.law.Offset, f.law.Offset
	}
	r := Range{Lower: math.Min(a, b), Upper: math.Max(a, b)}
	for _, p := range f.law.Curve { // between its points a curve only rises or falls
		if driver.Contains(p.Driver) {
			r.Lower, r.Upper = math.Min(r.Lower, p.Follower), math.Max(r.Upper, p.Follower)
		}
	}
	return r
}

// Within returns the widest range of the driver round the value at on which the
// follower keeps within its limit. ok is false where it is outside at that value
// already.
func (f Function) Within(limit Range, at float64) (driver Range, ok bool) {
	if !limit.Contains(f.Value(at)) {
		return Range{}, false
	}
	if f.curve == nil {
		r := f.law.Ratio
		if r == 0 {
			return Unlimited(), true
		}
		a, b := (limit.Lower-f.law.Offset)/r, (limit.Upper-f.law.Offset)/r
		// Rounding must not leave at outside.
		return Range{Lower: math.Min(math.Min(a, b), at), Upper: math.Max(math.Max(a, b), at)}, true
	}
	return Range{Lower: f.leaves(limit, at, -1), Upper: f.leaves(limit, at, 1)}, true
}

// leaves walks from point to point of the curve in the direction of sign and
// returns where the follower leaves its limit, infinite where it never does.
func (f Function) leaves(limit Range, at, sign float64) float64 {
	c := f.law.Curve
	inside := at
	for i := range c {
		p := c[i]
		if sign < 0 {
			p = c[len(c)-1-i]
		}
		if sign*(p.Driver-at) <= 0 {
			continue
		}
		if limit.Contains(p.Follower) {
			inside = p.Driver
			continue
		}
		outside := p.Driver
		for range 200 {
			mid := inside + (outside-inside)/2
			if mid == inside || mid == outside {
				break
			}
			if limit.Contains(f.Value(mid)) {
				inside = mid
			} else {
				outside = mid
			}
		}
		return inside
	}
	return math.Inf(int(sign))
}
