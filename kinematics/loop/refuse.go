package loop

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
)

// refuse makes the error for driver values that are not reached: the way ended
// at stop, with the point in w.values, or was lost.
func (a *walker) refuse(ctx context.Context, drive []float64, stop Stop, lost error) error {
	l, w := a.l, a.w
	k := 0 // the driver that moves most
	for i := range l.drivers {
		if math.Abs(w.dir[i]) > math.Abs(w.dir[k]) {
			k = i
		}
	}
	v := l.drivers[k]
	stop.Values = l.saved(w)
	stop.Drive = stop.Values[v]
	if stop.Reason == DeadPoint {
		stop.Value = v
	}
	e := &ClosureError{Driver: v, Drive: drive[k], Stop: stop, Over: math.NaN()}
	at := l.amount(v, drive[k])
	if len(l.drivers) > 1 {
		at = fmt.Sprintf("%s of %s", at, l.name(v))
	}
	switch {
	case stop.Reason == AtLimit:
		e.Over, e.text = a.overrun(ctx, drive, stop, at)
	case lost != nil && !errors.Is(lost, errDead):
		e.text = fmt.Sprintf("the loop cannot be followed to %s: the way was lost at %s", at, l.amount(v, stop.Drive))
	default:
		e.Over = a.gape(drive)
		if e.Over < 1e-7*l.loops[0].size {
			e.text = fmt.Sprintf("the loop comes to %s in another assembly only: from here it goes to %s, where %s locks",
				at, l.amount(v, stop.Drive), l.name(v))
			break
		}
		e.text = fmt.Sprintf("the loop cannot close at %s: it goes to %s, where %s locks; a gap of %s would stay",
			at, l.amount(v, stop.Drive), l.name(v), l.length(e.Over))
	}
	l.load(w, stop.Values)
	return e
}

// deadHere is the stop of a way that cannot begin.
func (a *walker) deadHere() Stop { return Stop{Reason: DeadPoint, Value: a.l.drivers[0]} }

// overrun says by how much the freedom that stopped the way would pass its
// limit at the goal, as far as the loop can close there at all.
func (a *walker) overrun(ctx context.Context, drive []float64, stop Stop, at string) (float64, string) {
	l := a.l
	free := l.clone()
	free.drivers, free.follow, free.at = l.drivers, l.follow, l.at
	free.o.HoldLimits = false
	w := free.newWork()
	b := walker{l: free, w: w}
	v := stop.Value
	r := l.limits(v)
	over := math.NaN()
	if err := b.solve(ctx, stop.Values, drive); err == nil {
		over = w.values[v] - r.Clamp(w.values[v])
	}
	name := l.name(v)
	switch {
	case slices.Contains(l.drivers, v):
		return over, fmt.Sprintf("the loop stops before %s: %s is at its limit of %s", at, name, l.amount(v, stop.Values[v]))
	case math.IsNaN(over) || over == 0:
		return math.NaN(), fmt.Sprintf("the loop stops before %s: %s is at its limit of %s", at, name, l.amount(v, stop.Values[v]))
	case l.freedoms[v].length && over > 0:
		return over, fmt.Sprintf("the loop cannot close at %s: %s would have to be %s longer", at, name, l.length(over))
	case l.freedoms[v].length:
		return over, fmt.Sprintf("the loop cannot close at %s: %s would have to be %s shorter", at, name, l.length(-over))
	}
	return over, fmt.Sprintf("the loop cannot close at %s: %s would have to turn %s beyond its limit", at, name, angleText(math.Abs(over)))
}

// gape returns how far the loops stay open at the least with the drivers at
// their goal, from where the way ended: the largest gap in model units.
func (a *walker) gape(drive []float64) float64 {
	l, w := a.l, a.w
	for k, v := range l.drivers {
		w.values[v] = drive[k]
	}
	best := math.Inf(1)
	gap := func() float64 {
		far := 0.0
		for i := range l.loops {
			far = max(far, norm(w.res[6*i+3:6*i+6])*l.loops[i].size)
		}
		return far
	}
	damp := 1e-3
	held := append([]float64(nil), w.values...)
	n := len(l.follow)
	gapBest := math.NaN()
	for range 60 { // Levenberg-Marquardt
		l.evaluate(w)
		if now := norm(w.res); now < best {
			better := best - now
			best, gapBest = now, gap()
			copy(held, w.values)
			damp = max(damp/4, 1e-9)
			if better < 1e-12 {
				break
			}
			l.followMatrix(w)
			if !w.dec.factorize() {
				break
			}
		} else {
			copy(w.values, held)
			l.evaluate(w)
			l.followMatrix(w)
			if !w.dec.factorize() {
				break
			}
			damp *= 4
		}
		w.dec.solve(w.step[:n], w.res, len(w.dec.s), damp)
		for k, v := range l.follow {
			w.values[v] -= w.step[k] * l.freedoms[v].scale
		}
	}
	return gapBest
}

// openError says how far apart the loops stand at w.values.
func (l *Linkage) openError(w *work) error {
	l.evaluate(w)
	worst, at := -1.0, 0
	for i := range l.loops {
		if n := norm(w.res[6*i : 6*i+6]); n > worst || math.IsNaN(n) {
			worst, at = n, i
		}
	}
	r := &l.loops[at]
	return &OpenError{
		Joint: jointName(l.closings[at].Joint, l.tree.NumJoints()+at),
		Angle: norm(w.res[6*at : 6*at+3]), Length: norm(w.res[6*at+3:6*at+6]) * r.size,
		text: fmt.Sprintf("%s and %s", l.length(norm(w.res[6*at+3:6*at+6])*r.size), angleText(norm(w.res[6*at:6*at+3]))),
	}
}
