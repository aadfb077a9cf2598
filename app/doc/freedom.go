package doc

import (
	"fmt"
	"math"
	"slices"

	"pintle/app/doc/wire"
	"pintle/kinematics"
)

// Limit returns the limits of the joint's value i; false where it has none.
func (j Joint) Limit(i int) (kinematics.Range, bool) {
	if i < 0 || i >= len(j.Limits) || i >= j.Kind.Freedoms() || j.Limits[i] == kinematics.Unlimited() {
		return kinematics.Unlimited(), false
	}
	return j.Limits[i], true
}

// WithLimit returns the joint with other limits of its value i, nil for none.
func (j Joint) WithLimit(i int, r *kinematics.Range) Joint {
	n := max(j.Kind.Freedoms(), 0)
	if i < 0 || i >= n {
		return j
	}
	limits := make([]kinematics.Range, n)
	for k := range limits {
		limits[k], _ = j.Limit(k)
	}
	limits[i] = kinematics.Unlimited()
	if r != nil {
		limits[i] = *r
	}
	j.Limits = limits
	if !slices.ContainsFunc(limits, func(r kinematics.Range) bool { return r != kinematics.Unlimited() }) {
		j.Limits = nil
	}
	return j
}

// WithKind returns the joint with another kind. Limits go along where the two
// kinds' values mean the same, one by one; a cone where both lean; a pitch where
// both are screws.
func (j Joint) WithKind(k kinematics.Kind) Joint {
	was := j
	j.Kind, j.Limits = k, nil
	for i := range max(k.Freedoms(), 0) {
		if r, ok := was.Limit(i); ok && SameFreedom(was.Kind, k, i) {
			j = j.WithLimit(i, &r)
		}
	}
	if !k.Leans() || !was.Kind.Leans() {
		j.Cone = nil
	}
	if k != kinematics.Helical {
		j.Pitch = 0
	}
	return j
}

// SameFreedom reports whether value i of the two kinds means the same motion.
func SameFreedom(a, b kinematics.Kind, i int) bool {
	f, g := a.Freedom(i), b.Freedom(i)
	return f == g || f.Turns && g.Turns && f.About == g.About && a.Leans() && b.Leans()
}

// Clamp returns the values of the joint within its limits.
func (j Joint) Clamp(values []float64) []float64 {
	k := kinematics.Joint{Kind: j.Kind, Limits: j.Limits, Cone: j.Cone}
	values = slices.Clone(values)
	k.Clamp(values)
	return values
}

// validateLimits returns what is wrong with the joint's limits. They must be
// ranges of more than rounding where a file may have spoilt them, and no end may
// be infinite the wrong way.
func (j Joint) validateLimits() error {
	for i, r := range j.Limits {
		if math.IsInf(r.Lower, 1) || math.IsInf(r.Upper, -1) {
			return fmt.Errorf("its limits of %s hold no value", j.Kind.Freedom(i))
		}
		if !(r.Lower <= r.Upper) && i < max(j.Kind.Freedoms(), 0) {
			f := j.Kind.Freedom(i)
			which := ""
			if j.Kind.Freedoms() > 1 {
				which = " of " + f.String()
			}
			return fmt.Errorf("its lower limit%s %v is above its upper limit %v", which, toFile(f, r.Lower), toFile(f, r.Upper))
		}
	}
	if err := j.Kind.CheckLimits(j.Limits, j.Cone); err != nil {
		return fmt.Errorf("its limits are wrong: %w", err)
	}
	return nil
}

// toFile turns a joint value into what the file holds: degrees for one that
// turns.
func toFile(f kinematics.Freedom, v float64) float64 {
	if f.Turns {
		return wire.Degrees(v)
	}
	return v
}

func fromFile(f kinematics.Freedom, v float64) float64 {
	if f.Turns {
		return kinematics.Radians(v)
	}
	return v
}
