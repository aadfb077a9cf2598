package loop

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/kinematics"
)

// A ball has no three values that are good for all its poses, and a rod between
// two balls that a crank takes round comes by every one. So within a walk a
// ball's values are a rotation vector, by hinge, side and reach, from a base
// pose that moves along; the joint's own values go in and come out at the ends.
//
// pairs are numbered links first, then rings.

func (l *Linkage) pair(i int) (j *kinematics.Joint, first, count int) {
	if i < len(l.links) {
		k := &l.links[i]
		return &k.joint, k.first, k.count
	}
	r := &l.loops[i-len(l.links)]
	return &r.joint, r.first, r.count
}

func (l *Linkage) pairs() int { return len(l.links) + len(l.loops) }

// load sets the scratch to the joints' own values.
func (l *Linkage) load(w *work, values []float64) {
	copy(w.values, values)
	for i := range l.pairs() {
		j, first, count := l.pair(i)
		if j.Kind == kinematics.Spherical {
			w.bases[i] = j.Motion(w.values[first : first+count]...)
			clear(w.values[first : first+count])
		}
	}
}

// save returns the joints' own values of what the scratch holds in dst.
func (l *Linkage) save(dst []float64, w *work) {
	copy(dst, w.values)
	for i := range l.pairs() {
		j, first, count := l.pair(i)
		if j.Kind == kinematics.Spherical {
			j.Values(dst[first:first:first+count], l.motionOf(w, i))
		}
	}
}

// saved is save into a slice of its own.
func (l *Linkage) saved(w *work) []float64 {
	dst := make([]float64, l.values)
	l.save(dst, w)
	return dst
}

// motionOf returns the motion of pair i at its values in the scratch.
func (l *Linkage) motionOf(w *work, i int) kinematics.Transform {
	j, first, count := l.pair(i)
	v := w.values[first : first+count]
	if j.Kind != kinematics.Spherical {
		return j.Motion(v...)
	}
	return ballTurn(&j.Frame, v).Mul(w.bases[i])
}

// ballTurn returns the turn by the rotation vector v, by hinge, side and reach
// of the frame, about its origin.
func ballTurn(f *kinematics.Frame, v []float64) kinematics.Transform {
	phi := byFrame(f, v)
	return kinematics.Twist{Angular: phi, Linear: r3.Cross(f.Origin, phi)}.Exp()
}

func byFrame(f *kinematics.Frame, v []float64) r3.Vec {
	return r3.Add(r3.Add(r3.Scale(v[0], f.Hinge), r3.Scale(v[1], f.Side())), r3.Scale(v[2], f.Reach))
}

// twistsOf fills the twists of pair i, with its parent as modelled.
func (l *Linkage) twistsOf(w *work, i int) {
	j, first, count := l.pair(i)
	v, dst := w.values[first:first+count], w.twists[first:first+count]
	if j.Kind != kinematics.Spherical {
		j.TwistsTo(dst, v...)
		return
	}
	f := &j.Frame
	phi := byFrame(f, v)
	for k, e := range [3]r3.Vec{f.Hinge, f.Side(), f.Reach} {
		dst[k] = kinematics.Axis{Point: f.Origin, Dir: left(phi, e)}.Twist(0)
	}
}

// recentre moves the bases of balls that have turned far along, and with them
// the values at y and the rates t.
func (a *walker) recentre(y, t []float64) {
	const far = 0.5
	l, w := a.l, a.w
	moved := false
	for i := range l.pairs() {
		j, first, _ := l.pair(i)
		if j.Kind != kinematics.Spherical {
			continue
		}
		at := l.at[first] // the three stand together
		v, rate := y[at:at+3], t[at:at+3]
		if norm(v) < far {
			continue
		}
		f := &j.Frame
		phi := byFrame(f, v)
		turn := left(phi, byFrame(f, rate))
		w.bases[i] = ballTurn(f, v).Mul(w.bases[i])
		clear(v)
		rate[0], rate[1], rate[2] = r3.Dot(turn, f.Hinge), r3.Dot(turn, f.Side()), r3.Dot(turn, f.Reach)
		moved = true
	}
	if !moved {
		return
	}
	size := norm(t[:a.dims()])
	for i := range a.dims() {
		t[i] /= size
	}
	a.factor(y)
}

// left is the left Jacobian of SO(3): the angular velocity of a rotation whose
// rotation vector phi changes at the rate v; inverseLeft is its inverse. Source:
// G. S. Chirikjian, Stochastic Models, Information Theory, and Lie Groups 2
// (2012).
func left(phi, v r3.Vec) r3.Vec {
	q := r3.Norm2(phi)
	if q == 0 {
		return v
	}
	one := r3.Cross(phi, v)
	b, c := 0.5-q/24, 1.0/6-q/120 // of the series in the angle
	if q > 1e-4 {
		angle := math.Sqrt(q)
		h := math.Sin(angle / 2)
		b, c = 2*h*h/q, (1-math.Sin(angle)/angle)/q
	}
	return r3.Add(v, r3.Add(r3.Scale(b, one), r3.Scale(c, r3.Cross(phi, one))))
}

// inverseLeft returns the rate of the rotation vector phi of a rotation that
// turns with the angular velocity v.
func inverseLeft(phi, v r3.Vec) r3.Vec {
	q := r3.Norm2(phi)
	if q == 0 {
		return v
	}
	c := 1.0/12 + q/720 // of the series in the angle
	if q > 1e-4 {
		angle := math.Sqrt(q)
		c = (1 - angle/(2*math.Tan(angle/2))) / q
	}
	one := r3.Cross(phi, v)
	return r3.Add(v, r3.Add(r3.Scale(-0.5, one), r3.Scale(c, r3.Cross(phi, one))))
}
