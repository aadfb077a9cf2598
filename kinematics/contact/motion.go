package contact

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/kinematics"
)

// Motion is a motion of one freedom about or along a directed line. Its value
// is zero as modelled; it counts radians where the part turns and model units
// where it only slides.
type Motion struct {
	Axis kinematics.Axis
	// Kind is Revolute, Prismatic or Helical.
	Kind kinematics.Kind
	// Pitch is the travel along the axis per radian of a screw, model units;
	// other kinds ignore it.
	Pitch float64
}

// Hinge returns the motion that turns about the axis by the right-hand rule.
func Hinge(axis kinematics.Axis) Motion { return Motion{Axis: axis, Kind: kinematics.Revolute} }

// Slider returns the motion along the axis. Only the axis' direction matters.
func Slider(axis kinematics.Axis) Motion { return Motion{Axis: axis, Kind: kinematics.Prismatic} }

// Screw returns the motion that turns about the axis and travels pitch along it
// per radian.
func Screw(axis kinematics.Axis, pitch float64) Motion {
	return Motion{Axis: axis, Kind: kinematics.Helical, Pitch: pitch}
}

// MotionError reports a motion that contacts cannot be found for.
type MotionError struct{ Reason string }

func (e *MotionError) Error() string { return e.Reason }

// check returns the motion with an axis of unit length, a screw without pitch
// as the hinge that it is.
func (m Motion) check() (Motion, error) {
	axis, err := kinematics.NewAxis(m.Axis.Point, m.Axis.Dir)
	if err != nil {
		return m, err
	}
	m.Axis = axis
	switch m.Kind {
	case kinematics.Revolute, kinematics.Prismatic:
		m.Pitch = 0
	case kinematics.Helical:
		if math.IsNaN(m.Pitch) || math.IsInf(m.Pitch, 0) {
			return m, &MotionError{fmt.Sprintf("pitch %g is not finite: give the travel per radian", m.Pitch)}
		}
		if m.Pitch == 0 {
			m.Kind = kinematics.Revolute
		}
	default:
		return m, &MotionError{fmt.Sprintf(
			"a %q joint has not one freedom: contacts are found for revolute, prismatic and screw joints", m.Kind)}
	}
	return m, nil
}

// Turns reports whether the motion's value is an angle.
func (m Motion) Turns() bool { return m.Kind.Turns() }

// At returns the motion of the moving bodies at a value.
func (m Motion) At(value float64) kinematics.Transform {
	j := kinematics.Joint{Kind: m.Kind, Frame: kinematics.Frame{Origin: m.Axis.Point, Hinge: m.Axis.Dir}, Pitch: m.Pitch}
	return j.Motion(value)
}

// motion is a Motion in axis-frame units: values are radians, or lengths in the
// axis frame for a slider.
type motion struct {
	turns bool
	rate  float64 // travel along z per unit of value: 0 hinge, 1 slider, else pitch
}

func newMotion(m Motion, scale float64) motion {
	switch m.Kind {
	case kinematics.Prismatic:
		return motion{rate: 1}
	case kinematics.Helical:
		return motion{turns: true, rate: m.Pitch * scale}
	}
	return motion{turns: true}
}

// hinge reports whether the motion turns without travelling.
func (m motion) hinge() bool { return m.turns && m.rate == 0 }

// slides reports whether the motion travels without turning.
func (m motion) slides() bool { return !m.turns }

// at returns where the motion puts things at a value.
func (m motion) at(v float64) place {
	p := place{cos: 1, lift: m.rate * v}
	if m.turns {
		p.sin, p.cos = math.Sincos(v)
	}
	return p
}

// velocity returns how fast the point x of the moving body moves per unit of
// value when it stands there.
func (m motion) velocity(x r3.Vec) r3.Vec {
	if m.turns {
		return r3.Vec{X: -x.Y, Y: x.X, Z: m.rate}
	}
	return r3.Vec{Z: m.rate}
}

// speed returns the velocity of the point x along the direction n.
func (m motion) speed(n, x r3.Vec) float64 { return r3.Dot(n, m.velocity(x)) }

// fastest returns the largest speed of moving points at most r from the axis.
func (m motion) fastest(r float64) float64 {
	if m.turns {
		return math.Hypot(r, m.rate)
	}
	return math.Abs(m.rate)
}

// bend returns half the largest second derivative of the squared distance of a
// moving point at most rm from the axis and a still one at most rs from it: that
// distance is r^2 + s^2 - 2 r s cos(t + a) + (z + rate t)^2.
func (m motion) bend(rm, rs float64) float64 {
	b := m.rate * m.rate
	if m.turns {
		b += rm * rs
	}
	return b
}

// sag returns half the amount by which the second derivative of the squared
// distance of the moving point p, as at rest, and the still point q falls below
// zero somewhere between two values; 0 where it does not.
func (m motion) sag(p, q r3.Vec, from, to float64) float64 {
	if !m.turns {
		return 0
	}
	at := math.Atan2(p.Y, p.X) - math.Atan2(q.Y, q.X)
	low := math.Min(math.Cos(at+from), math.Cos(at+to))
	if k := math.Ceil((at+from-math.Pi)/turn)*turn + math.Pi; k <= at+to {
		low = -1
	}
	return max(-(radius(p)*radius(q)*low + m.rate*m.rate), 0)
}

// place is a turn about z and a travel along it.
type place struct{ cos, sin, lift float64 }

// turn returns the turned direction d.
func (p place) turn(d r3.Vec) r3.Vec { return turned(d, p.cos, p.sin) }

// back returns the direction d turned back.
func (p place) back(d r3.Vec) r3.Vec { return turned(d, p.cos, -p.sin) }

// apply returns the moved point x.
func (p place) apply(x r3.Vec) r3.Vec {
	x = turned(x, p.cos, p.sin)
	x.Z += p.lift
	return x
}

// undo returns the point that the motion puts at x.
func (p place) undo(x r3.Vec) r3.Vec {
	x.Z -= p.lift
	return turned(x, p.cos, -p.sin)
}
