package loop

import (
	"context"
	"errors"
	"fmt"
	"math"
)

var (
	errStuck = errors.New("the way on was lost")
	errDead  = errors.New("the drivers are at a dead point")
)

// Report says how a solution was found and how well it closes.
type Report struct {
	Steps      int // along the way
	Iterations int // evaluations of the loops' equations
	// Angle and Length are the worst opening of a loop that is left: radians and
	// model units. Other than zero where the joints' measured axes do not quite
	// allow the motion.
	Angle, Length float64
	// Firmness is the smallest singular value of the equations by the followers,
	// lengths by the loop's size: 0 at a dead point of the drivers.
	Firmness float64
	// Changes are the change points that the way led through.
	Changes []Change
	// Fork says that several ways led on where the drivers began: they stood at a
	// dead point or a change point, and the way taken is one of them.
	Fork bool
	// Over are the freedoms that stand beyond their limits.
	Over []Overrun
}

// Change is a pose from which several ways lead on, such as a parallelogram
// that lies flat. The motion goes straight on there.
type Change struct {
	Values []float64
	at     float64 // the path parameter
}

// Overrun is a freedom beyond its limits.
type Overrun struct {
	Value int     // which
	By    float64 // how far: positive above the upper limit, negative below the lower
}

// Solve moves the drivers from where they stand in from to drive, on a straight
// way, and returns all values there. Loops follow the assembly that from stands
// in: it must close them, or nearly (then it is closed first with the drivers
// held). Where the way ends before, Solve returns the values at its end with a
// *ClosureError. It stops at limits only with Options.HoldLimits (those of balls
// are reported only). It fails with ctx's error when that is done.
func (l *Linkage) Solve(ctx context.Context, from, drive []float64) ([]float64, Report, error) {
	dst := make([]float64, l.values)
	r, err := l.SolveTo(ctx, dst, from, drive)
	return dst, r, err
}

// SolveTo is Solve into the caller's slice of NumValues values, which may be
// from itself.
func (l *Linkage) SolveTo(ctx context.Context, dst, from, drive []float64) (Report, error) {
	if err := l.checkValues(from); err != nil {
		return Report{}, err
	}
	if len(dst) != l.values {
		return Report{}, &ValuesError{What: "place for value", Have: len(dst), Want: l.values}
	}
	if len(drive) != len(l.drivers) {
		return Report{}, &ValuesError{What: "driver value", Have: len(drive), Want: len(l.drivers)}
	}
	for i, v := range drive {
		if !finite(v) {
			return Report{}, &ValuesError{What: "driver value", Have: i, Want: -1, Value: v}
		}
	}
	w := l.getWork()
	defer l.putWork(w)
	a := walker{l: l, w: w}
	err := a.solve(ctx, from, drive)
	r := a.report()
	l.save(dst, w)
	if err == nil {
		for k, v := range l.drivers {
			dst[v] = drive[k] // to the bit
		}
	}
	r.Over = l.over(dst)
	return r, err
}

// Path solves for one set of driver values after another and returns the
// values at each. Where the way ends, it returns what it has with the error.
func (l *Linkage) Path(ctx context.Context, from []float64, drives [][]float64) ([][]float64, error) {
	out := make([][]float64, 0, len(drives))
	for i, drive := range drives {
		v, _, err := l.Solve(ctx, from, drive)
		if err != nil {
			return out, fmt.Errorf("pose %d of the way: %w", i+1, err)
		}
		out = append(out, v)
		from = v
	}
	return out, nil
}

func (l *Linkage) checkValues(values []float64) error {
	if len(values) != l.values {
		return &ValuesError{What: "joint value", Have: len(values), Want: l.values}
	}
	for i, v := range values {
		if !finite(v) {
			return &ValuesError{What: "joint value", Have: i, Want: -1, Value: v}
		}
	}
	return nil
}

// solve leaves the solution in w.values.
func (a *walker) solve(ctx context.Context, from, drive []float64) error {
	l, w := a.l, a.w
	length := 0.0
	for k, v := range l.drivers {
		w.dir[k] = (drive[k] - from[v]) / l.freedoms[v].scale
		length = math.Hypot(length, w.dir[k])
	}
	if length == 0 {
		w.dir[0] = 1
	} else {
		for k := range w.dir {
			w.dir[k] /= length
		}
	}
	a.begin(from)
	if err := a.close(); err != nil || length == 0 {
		return err
	}
	if err := a.head(); err != nil {
		return a.refuse(ctx, drive, a.deadHere(), err)
	}
	stop, err := a.to(ctx, length)
	switch {
	case ctx.Err() != nil:
		return ctx.Err()
	case err != nil:
		return a.refuse(ctx, drive, Stop{Reason: Lost}, err)
	case stop.Reason != Arrived:
		return a.refuse(ctx, drive, stop, nil)
	}
	return a.checkMisfit()
}

// close brings the followers to where they close the loops with the drivers
// held, in w.y and w.values.
func (a *walker) close() error {
	if a.hold(w0, math.Inf(1)) {
		return a.checkMisfit()
	}
	return a.l.openError(a.w)
}

// w0 and w1 choose the current point or the one tried.
const (
	w0 = 0
	w1 = 1
)

// hold corrects a point with the parameter held. It reports false where that
// does not arrive or moves the point by more than most.
func (a *walker) hold(which int, most float64) bool {
	const tries = 40
	l, w := a.l, a.w
	y := w.y
	if which == w1 {
		y = w.y1
	}
	n := len(l.follow)
	moved, last := 0.0, math.Inf(1)
	for range tries {
		a.put(y)
		l.evaluate(w)
		open := norm(w.res)
		if open < closed {
			return true
		}
		l.followMatrix(w)
		a.iters++
		if !w.dec.factorize() {
			return false
		}
		w.dec.solve(w.step[:n], w.res, l.rank, min(0.1*open, 0.1))
		size := norm(w.step[:n])
		if moved += size; moved > most {
			return false
		}
		if size <= closed || size < 1e-9 && size > last/2 {
			return true
		}
		for k := range n {
			y[1+k] -= w.step[k]
		}
		last = size
	}
	return last < 1e-7
}

// to walks until the parameter is most, or to what stops it before, and leaves
// the point in w.y and w.values.
func (a *walker) to(ctx context.Context, most float64) (Stop, error) {
	w := a.w
	stop := Stop{Reason: Arrived}
	for steps := 0; ; steps++ {
		if done, ok := a.finish(most); ok {
			return done, nil
		}
		if steps > longest {
			return stop, errStuck
		}
		if err := ctx.Err(); err != nil {
			return stop, err
		}
		h, err := a.forward(math.Inf(1))
		if err != nil {
			a.put(w.y)
			return stop, err
		}
		s, hit, err := a.events(h, most)
		if err != nil || hit {
			return s, err
		}
		a.accept()
		a.stride(h)
	}
}

// longest bounds the steps of a walk.
const longest = 100_000

// finish goes to the end in one step where that is safe.
func (a *walker) finish(most float64) (Stop, bool) {
	w, d := a.w, a.dims()
	if w.t[0] <= 0 || a.here.sigma < flat {
		return Stop{}, false
	}
	h := (most - w.y[0]) / w.t[0]
	if h > a.here.reach {
		return Stop{}, false
	}
	copy(w.y1, w.y)
	for i := 1; i < d; i++ {
		w.y1[i] += h * w.t[i]
	}
	w.y1[0] = most
	a.steps++
	// A correction that is small against the way itself can only come from the
	// curve that the step began on, as far as the followers decide it alone.
	if !a.hold(w1, 0.25*h*w.t[0]) || a.l.o.HoldLimits && a.overAt(w.y, w.y1) >= 0 {
		a.put(w.y)
		return Stop{}, false
	}
	a.accept()
	return Stop{Reason: Arrived}, true
}

// events looks for what ends the walk on the step of h from w.y to w.y1: the
// parameter most, a limit, a dead point.
func (a *walker) events(h, most float64) (Stop, bool, error) {
	w := a.w
	if w.t[0] > 0 && w.t1[0] <= 0 {
		// The dead point may lie behind the goal.
		at, ok := a.locate(h, w.t[0], w.t1[0], func() float64 { return w.t1[0] })
		if !ok {
			return Stop{}, false, errStuck
		}
		if w.y1[0] < most {
			if s, hit, err := a.limitEvent(at); hit || err != nil {
				return s, hit, err
			}
			a.put(w.y1)
			a.accept()
			return Stop{Reason: DeadPoint, Value: a.l.drivers[0]}, true, nil
		}
		h = at
	}
	if s, hit, err := a.limitEvent(h); hit || err != nil {
		return s, hit, err
	}
	if w.y1[0] < most {
		return Stop{}, false, nil
	}
	if _, ok := a.locate(h, w.y[0]-most, w.y1[0]-most, func() float64 { return w.y1[0] - most }); !ok {
		return Stop{}, false, errStuck
	}
	a.put(w.y1)
	a.accept()
	return Stop{Reason: Arrived}, true, nil
}

// report describes the pose in w.values.
func (a *walker) report() Report {
	l, w := a.l, a.w
	r := Report{Steps: a.steps, Iterations: a.iters, Changes: a.passed(), Fork: a.fork}
	l.evaluate(w)
	for i := range l.loops {
		r.Angle = max(r.Angle, norm(w.res[6*i:6*i+3]))
		r.Length = max(r.Length, norm(w.res[6*i+3:6*i+6])*l.loops[i].size)
	}
	l.followMatrix(w)
	if w.dec.factorize() {
		r.Firmness = w.dec.value(l.rank)
	}
	return r
}

// checkMisfit fails where the loops stand open by more than is tolerated.
func (a *walker) checkMisfit() error {
	a.l.evaluate(a.w)
	if norm(a.w.res) > a.l.o.misfit() {
		return a.l.openError(a.w)
	}
	return nil
}
