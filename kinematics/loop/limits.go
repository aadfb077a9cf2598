package loop

import (
	"math"
	"slices"

	"pintle/kinematics"
)

// limitEvent looks for the first limit that the step of h to w.y1 passes.
func (a *walker) limitEvent(h float64) (Stop, bool, error) {
	l, w := a.l, a.w
	if !l.o.HoldLimits {
		return Stop{}, false, nil
	}
	var stop Stop
	hit := false
	for range len(l.active) { // another limit may come before the one found
		v := a.overAt(w.y, w.y1)
		if v < 0 {
			break
		}
		r := l.limits(v)
		bound := r.Upper
		if a.valueAt(v, w.y1) < a.valueAt(v, w.y) {
			bound = r.Lower
		}
		off := func(y []float64) float64 { return (a.valueAt(v, y) - bound) / l.freedoms[v].scale }
		from := off(w.y)
		stop, hit = Stop{Reason: AtLimit, Value: v}, true
		if (from >= 0) == (off(w.y1) >= 0) {
			h = 0 // it stood beyond its limit and moves farther out
			copy(w.y1, w.y)
			copy(w.t1, w.t)
			break
		}
		var ok bool
		if h, ok = a.locate(h, from, off(w.y1), func() float64 { return off(w.y1) }); !ok {
			return stop, false, errStuck
		}
		// Rounding may leave it a hair outside.
		if math.Abs(off(w.y1)) < 1e-12 && a.overAt(w.y, w.y1) == v {
			break
		}
	}
	if hit {
		a.put(w.y1)
		a.accept()
	}
	return stop, hit, nil
}

// valueAt returns a value at the point y.
func (a *walker) valueAt(v int, y []float64) float64 {
	l := a.l
	if k := l.at[v]; k >= 0 {
		return y[k] * l.freedoms[v].scale
	}
	k := slices.Index(l.drivers, v)
	return a.w.start[k] + y[0]*a.w.dir[k]*l.freedoms[v].scale
}

// overAt returns the first value that passes its limit outward between two
// points, or -1.
func (a *walker) overAt(from, to []float64) int {
	for _, v := range a.l.active {
		r := a.l.limits(v)
		if r == kinematics.Unlimited() || a.l.freedoms[v].ball {
			continue
		}
		x, y := a.valueAt(v, from), a.valueAt(v, to)
		slack := 1e-12 * a.l.freedoms[v].scale
		if y > r.Upper+slack && y > x || y < r.Lower-slack && y < x {
			return v
		}
	}
	return -1
}

// over lists the loop freedoms that stand beyond their limits.
func (l *Linkage) over(values []float64) []Overrun {
	var out []Overrun
	for _, v := range l.active {
		r := l.limits(v)
		slack := 1e-9 * l.freedoms[v].scale
		switch x := values[v]; {
		case x > r.Upper+slack:
			out = append(out, Overrun{Value: v, By: x - r.Upper})
		case x < r.Lower-slack:
			out = append(out, Overrun{Value: v, By: x - r.Lower})
		}
	}
	return out
}
