package kinematics

import (
	"fmt"
	"math"
	"slices"
)

// Limit returns the range of the joint's value i: Unlimited where it has none.
func (j *Joint) Limit(i int) Range {
	if i >= 0 && i < len(j.Limits) {
		return j.Limits[i]
	}
	return Unlimited()
}

// CheckLimits returns an error where a joint of kind k cannot have these
// limits: another number of ranges than freedoms, a range that Check refuses, a
// cone on a kind whose reach does not lean, a cone that Check refuses, or a cone
// together with ranges of the leaning values that do not hold 0, where the cone
// has its middle.
func (k Kind) CheckLimits(limits []Range, cone *Cone) error {
	if len(limits) != 0 && len(limits) != k.Freedoms() {
		return fmt.Errorf("%d ranges for a %s joint: give one for each of its %d freedoms, or none", len(limits), k, k.Freedoms())
	}
	for i, r := range limits {
		if err := r.Check(); err != nil {
			if k.Freedoms() > 1 {
				return fmt.Errorf("%s: %w", k.Freedom(i), err)
			}
			return err
		}
	}
	if cone == nil {
		return nil
	}
	if !k.Leans() {
		return fmt.Errorf("a %s joint takes no cone: give its limits as ranges", k)
	}
	if err := cone.Check(); err != nil {
		return err
	}
	for i, r := range limits[:min(len(limits), 2)] {
		if !r.Contains(0) {
			return fmt.Errorf("%s: range from %g to %g leaves out the middle of the cone: give a range that holds 0", k.Freedom(i), r.Lower, r.Upper)
		}
	}
	return nil
}

// Clamp brings the joint's values within its limits, in place, and reports how
// many it changed. Each value goes to its range; a lean beyond the cone is
// scaled back toward the pose as modelled. NaN stays NaN.
func (j *Joint) Clamp(values []float64) int {
	values = values[:min(len(values), max(j.Kind.Freedoms(), 0))]
	var before [MaxFreedoms]float64
	copy(before[:], values)
	for i := range values {
		values[i] = j.Limit(i).Clamp(values[i])
	}
	if j.Cone != nil && j.Kind.Leans() && len(values) >= 2 {
		j.clampLean(values)
	}
	changed := 0
	for i, v := range values {
		if v < before[i] || v > before[i] {
			changed++
		}
	}
	return changed
}

// Within reports whether the joint's values lie within its limits.
func (j *Joint) Within(values ...float64) bool {
	for i := range max(j.Kind.Freedoms(), 0) {
		if !j.Limit(i).Contains(valueAt(values, i)) {
			return false
		}
	}
	return j.Cone == nil || !j.Kind.Leans() || j.inCone(valueAt(values, 0), valueAt(values, 1))
}

func (j *Joint) inCone(v1, v2 float64) bool {
	azimuth, polar := j.Kind.Lean(v1, v2)
	return polar <= j.Cone.At(azimuth)
}

// clampLean scales the two leaning values by the largest factor found that
// keeps them in the cone. A swing keeps its azimuth, so the factor is plain;
// a universal joint's is halved in on.
func (j *Joint) clampLean(v []float64) {
	if !(finite(v[0]) && finite(v[1])) || j.inCone(v[0], v[1]) {
		return
	}
	if j.Kind == Spherical {
		azimuth, polar := j.Kind.Lean(v[0], v[1])
		// Rounding must not leave the result outside.
		for k := j.Cone.At(azimuth) / polar; ; k = math.Nextafter(k, 0) {
			if a, b := k*v[0], k*v[1]; j.inCone(a, b) || k <= 0 {
				v[0], v[1] = a, b
				return
			}
		}
	}
	inside, outside := 0.0, 1.0
	for range 60 {
		mid := (inside + outside) / 2
		if j.inCone(mid*v[0], mid*v[1]) {
			inside = mid
		} else {
			outside = mid
		}
	}
	v[0], v[1] = inside*v[0], inside*v[1]
}

// Lean returns where the values of a universal or spherical joint make the
// reach point: polar, 0 to pi for a universal joint, is the angle between the
// reach as modelled and as moved; azimuth, -pi to pi, is the side that it leans
// to, right-handed about the reach from the side direction: 0 where it leans
// to Side (a positive value about Hinge), a quarter turn where it leans to
// Hinge (a negative value about Side). For a spherical joint polar is the length
// of the swing and may exceed pi. Other kinds do not lean.
func (k Kind) Lean(v1, v2 float64) (azimuth, polar float64) {
	switch k {
	case Universal:
		s1, c1 := math.Sincos(v1)
		s2, c2 := math.Sincos(v2)
		return azimuthOf(s1*c2, -s2), math.Atan2(math.Hypot(s1*c2, s2), c1*c2)
	case Spherical:
		return azimuthOf(v1, -v2), math.Hypot(v1, v2)
	}
	return 0, 0
}

// azimuthOf is the angle from side to hinge without negative zeros, which would
// tell -pi from pi.
func azimuthOf(side, hinge float64) float64 { return math.Atan2(hinge+0, side+0) }

// SwingOf returns the two swing values of a spherical joint whose reach leans
// by polar toward azimuth (see Kind.Lean).
func SwingOf(azimuth, polar float64) (aboutHinge, aboutSide float64) {
	s, c := math.Sincos(azimuth)
	return polar * c, 0 - polar*s
}

// MaxConeSamples bounds the azimuths that a cone is given at: a tenth of a
// degree apart.
const MaxConeSamples = 3600

// Cone limits how far the reach of a universal or spherical joint may lean from
// where it is modelled. Max holds the greatest polar angle, 0 to pi, at evenly
// spaced azimuths (see Kind.Lean) from 0 on; between them it runs straight, from
// the last on to the first. One number makes a round cone.
type Cone struct {
	Max []float64
}

// Check returns an error where the cone has no angles or too many, or an angle
// outside 0 to pi. An odd number is too many above half of MaxConeSamples: seen
// from a flipped frame the cone needs twice as many.
func (c Cone) Check() error {
	n := len(c.Max)
	if n == 0 || n > MaxConeSamples {
		return fmt.Errorf("a cone of %d angles: give 1 to %d, evenly spaced over the azimuth", n, MaxConeSamples)
	}
	if n%2 == 1 && n > MaxConeSamples/2 {
		return fmt.Errorf("a cone of %d angles: give an even number of them, or at most %d", n, MaxConeSamples/2)
	}
	for _, m := range c.Max {
		if !(m >= 0 && m <= math.Pi) {
			return fmt.Errorf("cone angle %.6g degrees: give 0 to 180", Degrees(m))
		}
	}
	return nil
}

// At returns the greatest polar angle at an azimuth, NaN at one that is not
// finite.
func (c Cone) At(azimuth float64) float64 {
	n := len(c.Max)
	if !finite(azimuth) {
		return math.NaN()
	}
	if n == 1 {
		return c.Max[0]
	}
	step := 2 * math.Pi / float64(n)
	at := azimuth / step
	at -= float64(n) * math.Floor(at/float64(n))
	i := math.Floor(at)
	t := at - i
	a, b := c.Max[int(i)%n], c.Max[(int(i)+1)%n]
	return (1-t)*a + t*b
}

// SolidAngle returns the solid angle that the reach can point into, in
// steradians: the integral of 1 - cos Max over the azimuth, in closed form for
// the straight pieces.
func (c Cone) SolidAngle() float64 {
	n := len(c.Max)
	sum := 0.0
	for i, a := range c.Max {
		b := c.Max[(i+1)%n]
		// The mean of 1 - cos over the piece: 1 - cos(middle) sinc(half width), with
		// the difference written so that narrow cones keep their digits.
		h := math.Sin((a + b) / 4)
		w := (b - a) / 2
		sum += 2*h*h + math.Cos((a+b)/2)*oneMinusSinc(w)
	}
	return 2 * math.Pi / float64(n) * sum
}

// halfTurned returns the cone seen in a frame that is turned by half a turn
// about the reach.
func (c Cone) halfTurned() Cone {
	n := len(c.Max)
	if n == 1 {
		return Cone{Max: slices.Clone(c.Max)}
	}
	if n%2 == 0 {
		return Cone{Max: slices.Concat(c.Max[n/2:], c.Max[:n/2])}
	}
	// Twice as many samples on the same straight pieces have one half a turn on.
	twice := make([]float64, 2*n)
	for i := range c.Max {
		twice[2*i], twice[2*i+1] = c.Max[i], (c.Max[i]+c.Max[(i+1)%n])/2
	}
	return Cone{Max: slices.Concat(twice[n:], twice[:n])}
}
