package loop

import (
	"context"
	"fmt"
	"math"
	"slices"

	"pintle/kinematics"
)

// Reason says what ends a way.
type Reason string

// The reasons.
const (
	Arrived   Reason = "arrived"    // the goal is reached
	DeadPoint Reason = "dead point" // the driver turns back: the others could not go on
	AtLimit   Reason = "limit"      // a joint is at its limit
	FullTurn  Reason = "full turn"  // a turning driver came round: nothing stops it
	Far       Reason = "far"        // a sliding driver went ten times the loop's size
	Lost      Reason = "lost"       // the way could not be followed
)

// Stop is an end of a driver's way.
type Stop struct {
	Reason Reason
	Value  int       // the freedom that locks or is at its limit
	Drive  float64   // the driver's value there; infinite for FullTurn
	Values []float64 // all values there; those one turn on for FullTurn
}

// Reach is how far a driver can go either way from a pose.
type Reach struct {
	Range        kinematics.Range // of the driver's value; infinite ends: it turns fully
	Lower, Upper Stop
}

// Reach returns how far driver k (its number among the drivers) can go either
// way from a pose, with the other drivers held: to its dead points, to the
// limits where they hold, once round or ten times the loop's size. It fails
// where the pose does not close the loops.
func (l *Linkage) Reach(ctx context.Context, from []float64, k int) (Reach, error) {
	if err := l.checkDriver(from, k); err != nil {
		return Reach{}, err
	}
	lower, err := l.stop(ctx, from, k, -1)
	if err != nil {
		return Reach{}, err
	}
	upper, err := l.stop(ctx, from, k, 1)
	if err != nil {
		return Reach{}, err
	}
	return Reach{Range: kinematics.Range{Lower: lower.Drive, Upper: upper.Drive}, Lower: lower, Upper: upper}, nil
}

// Dead is a pose in which a freedom stands still while others move: it could
// not drive the linkage from there.
type Dead struct {
	Value  int       // the freedom that locks
	Drive  float64   // the driver's value
	Values []float64 // all values
}

// DeadPoints follows driver k as Reach does and returns every pose in which a
// freedom of the loops locks (balls left out), by rising driver value, and the
// change points; for a driver that turns fully those of one turn from there.
// Where the freedom is the driver itself, its way ends there.
func (l *Linkage) DeadPoints(ctx context.Context, from []float64, k int) ([]Dead, []Change, error) {
	if err := l.checkDriver(from, k); err != nil {
		return nil, nil, err
	}
	var dead []Dead
	var changes []Change
	for _, sense := range []float64{1, -1} {
		hooks := walkHooks{seen: func(a *walker, h float64) error {
			found, err := a.locked(h, k)
			dead = append(dead, found...)
			return err
		}}
		var c []Change
		stop, err := l.follows(ctx, from, k, sense, hooks, &c)
		if err != nil {
			return nil, nil, err
		}
		changes = append(changes, c...)
		if stop.Reason == FullTurn {
			break // the other way round sees the same
		}
	}
	slices.SortStableFunc(dead, func(a, b Dead) int {
		switch {
		case a.Drive < b.Drive:
			return -1
		case a.Drive > b.Drive:
			return 1
		}
		return a.Value - b.Value
	})
	return dead, changes, nil
}

func (l *Linkage) checkDriver(from []float64, k int) error {
	if k < 0 || k >= len(l.drivers) {
		return &LinkageError{Reason: fmt.Sprintf("driver %d: the linkage has drivers 0 to %d", k, len(l.drivers)-1)}
	}
	return l.checkValues(from)
}

func (l *Linkage) stop(ctx context.Context, from []float64, k int, sense float64) (Stop, error) {
	return l.follows(ctx, from, k, sense, walkHooks{}, nil)
}

// walkHooks watch a walk; each may be nil.
type walkHooks struct {
	// seen sees every step of h, from w.y to w.y1, before it is taken.
	seen func(a *walker, h float64) error
	// limit returns how long the next step from w.y may be; 0 ends the walk.
	limit func(a *walker) float64
	// fits tells whether the step of h from w.y to w.y1 is short enough, now that
	// its end is known; it leaves the walker as it is, but for w.values and w.step.
	fits func(a *walker, h float64) bool
	// took is told the length of every step that was taken.
	took func(h float64)
}

// follows walks driver k from a pose in one sense to where it ends.
func (l *Linkage) follows(ctx context.Context, from []float64, k int, sense float64, hooks walkHooks, changes *[]Change) (Stop, error) {
	w := l.getWork()
	defer l.putWork(w)
	a := walker{l: l, w: w}
	clear(w.dir)
	w.dir[k] = sense
	a.begin(from)
	if err := a.close(); err != nil {
		return Stop{}, err
	}
	v := l.drivers[k]
	if err := a.head(); err != nil {
		return Stop{Reason: DeadPoint, Value: v, Drive: from[v], Values: l.saved(w)}, nil
	}
	most, end := 2*math.Pi, FullTurn
	if l.freedoms[v].length {
		most, end = 10, Far
	}
	stop, err := a.toEnd(ctx, most, hooks)
	if changes != nil {
		*changes = a.passed()
	}
	switch {
	case ctx.Err() != nil:
		return Stop{}, ctx.Err()
	case err != nil:
		stop.Reason = Lost
		a.put(w.y)
	case stop.Reason == Arrived:
		stop.Reason = end
	}
	stop.Values = l.saved(w)
	stop.Drive = w.values[v]
	switch stop.Reason {
	case FullTurn:
		stop.Value, stop.Drive = v, math.Inf(int(sense))
	case DeadPoint, Far, Lost:
		stop.Value = v
	}
	return stop, nil
}

// toEnd is to, step by step under the eyes of hooks.
func (a *walker) toEnd(ctx context.Context, most float64, hooks walkHooks) (Stop, error) {
	for range longest {
		if err := ctx.Err(); err != nil {
			return Stop{}, err
		}
		bound := math.Inf(1)
		if hooks.limit != nil {
			if bound = hooks.limit(a); bound <= 0 {
				return Stop{}, errStuck
			}
		}
		h, err := a.fitting(bound, hooks.fits)
		if err != nil {
			return Stop{}, err
		}
		if hooks.seen != nil {
			if err := hooks.seen(a, h); err != nil {
				return Stop{}, err
			}
			if !a.try(h) {
				return Stop{}, errStuck
			}
		}
		s, hit, err := a.events(h, most)
		if err != nil || hit {
			return s, err
		}
		a.accept()
		a.stride(h)
		if hooks.took != nil {
			hooks.took(h)
		}
	}
	return Stop{}, errStuck
}

// fitting is forward, with steps halved until they fit; fits may be nil.
func (a *walker) fitting(most float64, fits func(a *walker, h float64) bool) (float64, error) {
	turns, tried := len(a.turns), a.tried
	for {
		h, err := a.forward(most)
		if err != nil || fits == nil || fits(a, h) {
			return h, err
		}
		a.turns, a.tried = a.turns[:turns], tried
		most = h / 2
	}
}

// locked returns the poses on the step of h from w.y to w.y1 in which a freedom
// stands still.
func (a *walker) locked(h float64, k int) ([]Dead, error) {
	l, w := a.l, a.w
	var out []Dead
	d := a.dims()
	before, after := slices.Clone(w.t[:d]), slices.Clone(w.t1[:d])
	for i := range d {
		if i > 0 && l.freedoms[l.follow[i-1]].ball || !(before[i] > still && after[i] < -still || before[i] < -still && after[i] > still) {
			continue
		}
		if _, ok := a.locate(h, before[i], after[i], func() float64 { return w.t1[i] }); !ok {
			return nil, errStuck
		}
		v := l.drivers[k]
		if i > 0 {
			v = l.follow[i-1]
		}
		values := a.valuesAt(w.y1)
		out = append(out, Dead{Value: v, Drive: values[l.drivers[k]], Values: values})
	}
	return out, nil
}

// still is the rate below which a freedom counts as not moving at all along
// the way, such as that of a joint across a plane linkage.
const still = 1e-9
