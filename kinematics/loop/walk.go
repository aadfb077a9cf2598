package loop

import "math"

// A walk follows the poses that close the loops, as a curve in the space of the
// path parameter (how far the drivers went, scaled) and the followers' values
// (scaled). Along the curve nothing special happens at a dead point: the
// parameter just turns back. Source of the method: E. L. Allgower, K. Georg,
// Introduction to Numerical Continuation Methods (SIAM 2003), chapters 2 to 6.
//
// w.y is the point, w.t the unit tangent there. The parameter stands first.

const (
	// firmest is the largest step in radians (scaled lengths), whatever the
	// bounds allow.
	firmest = 0.25
	// flat is the singular value below which a pose is a change point, and doubt
	// the one below which one may be near.
	flat  = 1e-6
	doubt = 0.02
	// leap is the step away from a change point or a dead point.
	leap = 0.02
	// nudge is the way over which rates are measured.
	nudge = 1e-5
	// closed is the step of Newton's method at which it has arrived.
	closed = 1e-13
)

// walker carries a walk.
type walker struct {
	l     *Linkage
	w     *work
	steps int
	iters int
	here  footing // at w.y
	near  float64 // the estimated way to a change point; 0 where none is ahead
	tried float64 // the singular value at which a leap was tried last, 0 for none
	turns []Change
	exact bool // the tangent must be that of the very point
	fork  bool // several ways led on at the start
}

// footing says how firm a point of the curve is.
type footing struct {
	sigma float64 // the smallest singular value that counts; 0 at a change point
	reach float64 // how long a step from there is safe
}

// begin sets the walk up at the values, with the drivers going along w.dir.
func (a *walker) begin(values []float64) {
	w := a.w
	a.l.load(w, values)
	for k, v := range a.l.drivers {
		w.start[k] = values[v]
	}
	w.y[0] = 0
	for k, v := range a.l.follow {
		w.y[1+k] = w.values[v] / a.l.freedoms[v].scale
	}
}

// put sets w.values to the point y.
func (a *walker) put(y []float64) {
	w := a.w
	for k, v := range a.l.drivers {
		w.values[v] = w.start[k] + y[0]*w.dir[k]*a.l.freedoms[v].scale
	}
	for k, v := range a.l.follow {
		w.values[v] = y[1+k] * a.l.freedoms[v].scale
	}
}

// dims returns how many coordinates a point of the curve has.
func (a *walker) dims() int { return 1 + len(a.l.follow) }

// factor evaluates the point y and decomposes the derivatives along it.
func (a *walker) factor(y []float64) bool {
	a.put(y)
	l, w := a.l, a.w
	l.evaluate(w)
	rows, n := 6*len(l.loops), len(l.active)
	m := w.dec.size(rows, a.dims())
	for i := range rows {
		row := w.jac[i*n : (i+1)*n]
		for k, v := range l.drivers {
			m.Data[i*m.Stride] += w.dir[k] * row[l.column[v]]
		}
		for k, v := range l.follow {
			m.Data[i*m.Stride+1+k] = row[l.column[v]]
		}
	}
	a.iters++
	return w.dec.factorize()
}

// correct brings y onto the curve by Gauss-Newton steps of least length. It
// reports false where that does not arrive or moves y by more than most.
func (a *walker) correct(y []float64, most float64) bool {
	const tries = 12
	w, d := a.w, a.dims()
	moved, last := 0.0, math.Inf(1)
	for range tries {
		if !a.factor(y) {
			return false
		}
		w.dec.solve(w.step[:d], w.res, a.l.rank, 0)
		size := norm(w.step[:d])
		if size <= closed || size < 1e-9 && size > last/2 {
			return true
		}
		if moved += size; moved > most {
			return false
		}
		for i := range d {
			y[i] -= w.step[i]
		}
		if !a.exact && size < 1e-8 && size < 1e-4*last {
			return true // the next step would be its square
		}
		last = size
	}
	return last < 1e-9
}

// tangent puts into t the unit tangent at the point last decomposed that goes
// on as near does. It reports false where near has no share in the curve's
// direction.
func (a *walker) tangent(t, near []float64) bool {
	w, d := a.w, a.dims()
	copy(t[:d], near[:d])
	size := w.dec.project(t, a.l.rank)
	if size < 1e-9 {
		return false
	}
	for i := range d {
		t[i] /= size
	}
	return true
}

// firm returns how firm the point y that was last decomposed is, with the curve
// running along t. Another branch of poses can come near only where the
// equations' derivatives lose their rank, and along a step h they change by h K,
// K being their rate of change along t. So a step is held to where they change
// by a share of the smallest singular value that counts; Newton's steps then
// stay within the reach of Kantorovich's theorem. It leaves w.values elsewhere.
func (a *walker) firm(y, t []float64) footing {
	w := a.w
	d := a.dims()
	f := footing{sigma: w.dec.value(a.l.rank), reach: firmest}
	w.jac, w.jac0 = w.jac0, w.jac
	probe := w.step[:d]
	for i := range d {
		probe[i] = y[i] + nudge*t[i]
	}
	a.put(probe)
	a.l.evaluate(w)
	w.jac, w.jac0 = w.jac0, w.jac
	if rate := apart(w.jac, w.jac0) / nudge; rate*firmest > share*f.sigma {
		f.reach = share * f.sigma / rate
	}
	return f
}

// share is how much of the smallest singular value that counts the equations'
// derivatives may change by in a step.
const share = 0.3

// apart returns the Frobenius norm of the difference of two matrices.
func apart(a, b []float64) float64 {
	sum := 0.0
	for i, x := range a {
		d := x - b[i]
		sum += d * d
	}
	return math.Sqrt(sum)
}

// try goes a step h from w.y along w.t to w.y1, with its tangent w.t1. It
// reports false where that is no safe step.
func (a *walker) try(h float64) bool {
	w, d := a.w, a.dims()
	for i := range d {
		w.y1[i] = w.y[i] + h*w.t[i]
	}
	return a.correct(w.y1, math.Abs(h)/4) && a.tangent(w.t1, w.t)
}

// forward steps as far as is safe, but not beyond most, and returns how far;
// the new point is w.y1. A change point ahead is leaped over.
func (a *walker) forward(most float64) (float64, error) {
	switch {
	case a.here.sigma < flat:
		return a.across(most)
	case a.worthALeap(most):
		a.tried = a.here.sigma
		if h, ok := a.leapOver(beyond * a.near); ok {
			return h, nil
		}
	}
	for h := min(a.here.reach, most); h > 1e-3*flat; h /= 2 {
		a.steps++
		if a.try(h) && a.along() > straight {
			return h, nil
		}
	}
	return 0, errStuck
}

// straight is the least cosine between the tangents at both ends of a step, and
// on those of a leap.
const (
	straight = 0.9
	on       = 0.99
)

// along returns the cosine between the tangents at w.y and w.y1.
func (a *walker) along() float64 {
	sum := 0.0
	for i := range a.dims() {
		sum += a.w.t[i] * a.w.t1[i]
	}
	return sum
}

// valuesAt returns the joints' own values at the point y.
func (a *walker) valuesAt(y []float64) []float64 {
	a.put(y)
	return a.l.saved(a.w)
}

// accept makes the point last tried the current one.
func (a *walker) accept() {
	w := a.w
	w.y, w.y1 = w.y1, w.y
	w.t, w.t1 = w.t1, w.t
	a.recentre(w.y, w.t)
}

// stand takes the footing of w.y, which was decomposed last.
func (a *walker) stand() {
	a.here = a.firm(a.w.y, a.w.t)
	a.put(a.w.y)
}

// locate returns the step in [0, h] from w.y at which f is zero and leaves the
// point there in w.y1; f sees w.y1 and w.t1, and is f0 at 0 and f1 at h, of
// opposite signs. The regula falsi of M. Dowell, P. Jarratt (BIT 11, 1971) with
// halving in between (the Illinois and bisection steps).
func (a *walker) locate(h, f0, f1 float64, f func() float64) (float64, bool) {
	a.exact = true
	defer func() { a.exact = false }()
	lo, hi := 0.0, h
	side := 0
	for k := range 80 {
		if hi-lo <= 1e-15*h || f1 == f0 {
			break
		}
		m := hi - f1*(hi-lo)/(f1-f0)
		if k%8 == 7 || !(m > lo && m < hi) {
			m = lo + (hi-lo)/2
		}
		if !a.try(m) {
			return 0, false
		}
		v := f()
		if math.Abs(v) < 1e-15 {
			return m, true
		}
		if (v > 0) == (f1 > 0) {
			hi, f1 = m, v
			if side == 1 {
				f0 /= 2
			}
			side = 1
		} else {
			lo, f0 = m, v
			if side == -1 {
				f1 /= 2
			}
			side = -1
		}
	}
	return hi, a.try(hi)
}

// head finds the tangent at the start in which the parameter rises, the first
// of several.
func (a *walker) head() error {
	w := a.w
	if !a.factor(w.y) {
		return errStuck
	}
	clear(w.t1)
	w.t1[0] = 1
	if a.tangent(w.t, w.t1) && w.t[0] > 1e-6 {
		a.stand()
		a.fork = a.here.sigma < flat
		return nil
	}
	return a.leave()
}

// leave finds the tangent at a dead point of the drivers: it goes along the
// curve either way and sees where the parameter rises. w.dec must hold the
// decomposition at w.y.
func (a *walker) leave() error {
	w, d := a.w, a.dims()
	best := 0.0
	for i := range d {
		clear(w.t1)
		w.t1[i] = 1
		if size := w.dec.project(w.t1, a.l.rank); size > best*(1+1e-9) {
			best = size
			for k := range d {
				w.t[k] = w.t1[k] / size
			}
		}
	}
	if best == 0 {
		return errStuck
	}
	a.stand()
	h := min(a.here.reach, leap)
	rises := [2]bool{}
	for side := range 2 {
		rises[side] = a.try(h) && w.y1[0] > 1e-12
		for i := range d {
			w.t[i] = -w.t[i]
		}
	}
	switch {
	case !rises[0] && !rises[1]:
		return errDead
	case !rises[0]:
		for i := range d {
			w.t[i] = -w.t[i]
		}
	}
	a.fork = rises[0] && rises[1]
	return nil
}
