package fit

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// Problem is a sum of squared residuals over a state that the problem itself
// holds, so that states need not be vectors: directions and frames move on
// their own manifold and take small displacements.
type Problem interface {
	// Size returns the number of residuals and of displacement parameters.
	Size() (residuals, params int)
	// Eval writes residual i, lo <= i < hi, at the current state into
	// r[i-lo] and, unless jac is nil, its derivative by parameter j at zero
	// displacement into jac[j][i-lo].
	Eval(lo, hi int, r []float64, jac [][]float64)
	// Try makes the accepted state, displaced by delta, the current one.
	Try(delta []float64)
	// Accept makes the current state the accepted one.
	Accept()
}

// Status says how an iteration ended.
type Status int

// The ways a minimisation ends.
const (
	Converged Status = iota // no displacement changes the residuals beyond rounding
	GaveUp                  // iteration limit, or no step reduces the sum of squares
)

// String returns the status in words.
func (s Status) String() string {
	if s == Converged {
		return "converged"
	}
	return "gave up"
}

// Settings tune Minimize. The zero value is ready to use.
type Settings struct {
	MaxIterations int     // 0: 200
	Damping       float64 // first Levenberg-Marquardt parameter; 0: 1e-3
	// Floor is the size of one residual's rounding error; 0: 1e-15 of the
	// RMS at the start.
	Floor float64
	// Geodesic adds the second-order correction of Transtrum and Sethna to
	// each step and refuses steps on which the residuals bend more than they
	// move. It follows curved valleys and keeps a poor start from jumping
	// onto a plateau, for two more passes over the residuals each step.
	Geodesic bool
	// Rough stops as soon as a step changes the residuals by less than this
	// fraction; 0: go on to rounding level.
	Rough float64
}

// Minimum is the state that a minimisation ended in; the problem's accepted
// state is the solution itself.
type Minimum struct {
	Status     Status
	Iterations int     // evaluations of residuals and Jacobian
	SS         float64 // sum of squares
	Step       float64 // length of the last residual change relative to the residuals
	factor     *triangle
}

// Covariance returns s^2 (J'J)^-1 of the displacement parameters at the
// minimum, s^2 the sum of squares over the degrees of freedom; nil without
// redundancy or for a singular J.
func (m Minimum) Covariance() *mat.SymDense {
	if m.factor == nil || m.factor.rows <= m.factor.n {
		return nil
	}
	inv := m.factor.inverse()
	if inv == nil {
		return nil
	}
	var cov mat.SymDense
	cov.SymOuterK(m.SS/float64(m.factor.rows-m.factor.n), inv)
	return &cov
}

// minimizer holds the work space of Minimize, so that many starts share it.
type minimizer struct {
	m, n       int
	cols, part [][]float64
	cur, trial *triangle
	damped     *triangle
	diag       [][]float64
	scale      []float64
	delta      []float64
	bend, zero []float64
}

func newMinimizer() *minimizer { return &minimizer{} }

func (w *minimizer) fitTo(p Problem) {
	m, n := p.Size()
	w.m = m
	if n != w.n {
		w.n = n
		w.cols, w.part, w.diag = make([][]float64, n+1), make([][]float64, n+1), make([][]float64, n+1)
		buf := make([]float64, (n+1)*blockRows)
		small := make([]float64, (n+1)*n)
		for j := range w.cols {
			w.cols[j] = buf[j*blockRows : (j+1)*blockRows]
			w.diag[j] = small[j*n : (j+1)*n]
		}
		w.cur, w.trial, w.damped = newTriangle(n), newTriangle(n), newTriangle(n)
		w.scale, w.delta = make([]float64, n), make([]float64, n)
		w.bend, w.zero = make([]float64, n), make([]float64, n)
	}
	clear(w.scale)
}

// evaluate reduces the problem at its current state into t.
func (w *minimizer) evaluate(p Problem, t *triangle) {
	t.reset()
	w.reduce(p, t, 0, w.m)
}

// reduce takes rows from..to of the problem into t.
func (w *minimizer) reduce(p Problem, t *triangle, from, to int) {
	for lo := from; lo < to; lo += blockRows {
		hi := min(lo+blockRows, to)
		for j := range w.part {
			w.part[j] = w.cols[j][:hi-lo]
		}
		p.Eval(lo, hi, w.part[w.n], w.part[:w.n])
		t.absorb(w.part)
	}
}

// dampedStep solves min |R d + Q'r|^2 + lambda |D d|^2 into w.delta and
// returns |D d|.
func (w *minimizer) dampedStep(lambda float64) float64 {
	w.damped.copyFrom(w.cur)
	w.damp(lambda)
	w.damped.solve(w.delta)
	return w.scaled(w.delta)
}

// damp adds the rows sqrt(lambda) D to w.damped.
func (w *minimizer) damp(lambda float64) {
	root := math.Sqrt(lambda)
	for j, col := range w.diag {
		clear(col)
		if j < w.n {
			col[j] = root * w.scale[j]
		}
	}
	w.damped.absorb(w.diag)
}

// scaled returns |D d|.
func (w *minimizer) scaled(d []float64) float64 {
	s := 0.0
	for j, x := range d {
		s += w.scale[j] * w.scale[j] * x * x
	}
	return math.Sqrt(s)
}

// updateScale follows the column norms of J, which makes the method
// independent of the parameters' units. Moré keeps the largest norm ever seen;
// here the memory halves at every iteration, because a parameter that crosses
// many orders of magnitude would otherwise stay pinned by its start.
func (w *minimizer) updateScale() {
	for j := range w.scale {
		w.scale[j] = max(w.scale[j]/2, w.cur.columnNorm(j))
		if w.scale[j] == 0 {
			w.scale[j] = 1
		}
	}
}

// Minimize runs Levenberg-Marquardt from the problem's accepted state and
// leaves the best state found accepted. It returns a ConvergeError, beside the
// Minimum, if it gave up, and a CountError if there are fewer residuals than
// parameters. Sources: J. J. Moré, The Levenberg-Marquardt algorithm:
// implementation and theory (1978), for scaling and the predicted reduction;
// H. B. Nielsen, Damping parameter in Marquardt's method (1999), for the
// damping.
func Minimize(p Problem, s Settings) (Minimum, error) { return newMinimizer().run(p, s) }

func (w *minimizer) run(p Problem, s Settings) (Minimum, error) {
	w.fitTo(p)
	if w.m < w.n {
		return Minimum{Status: GaveUp}, &CountError{Kind: "least-squares problem", Have: w.m, Need: w.n}
	}
	if s.MaxIterations == 0 {
		s.MaxIterations = 200
	}
	if s.Damping == 0 {
		s.Damping = 1e-3
	}
	w.evaluate(p, w.cur)
	if s.Floor == 0 {
		s.Floor = 1e-15 * math.Sqrt(w.cur.ss/float64(w.m))
	}
	d := descent{w: w, p: p, s: s, lambda: s.Damping, raise: 2, last: math.Inf(1)}
	done := math.IsNaN(w.cur.ss) || math.IsInf(w.cur.ss, 0)
	status := GaveUp
	it := 1
	for ; it < s.MaxIterations && !done; it++ {
		status, done = d.iterate()
	}
	norm := math.Sqrt(w.cur.ss)
	min := Minimum{Status: status, Iterations: it, SS: w.cur.ss, factor: w.cur}
	if norm > 0 {
		min.Step = d.step / norm
	}
	if status == GaveUp {
		return min, &ConvergeError{Iterations: it, RMS: norm / math.Sqrt(float64(w.m)), Step: min.Step}
	}
	return min, nil
}

// descent is the changing state of one Levenberg-Marquardt run.
type descent struct {
	w             *minimizer
	p             Problem
	s             Settings
	lambda, raise float64
	step, last    float64 // |J delta| of this and of the last accepted step
}

// blind is the step, relative to the residuals, whose effect on the sum of
// squares, below its rounding, is not worth looking at.
const blind = 1e-9

// tail is the length of the steps that would follow this one. Gauss-Newton
// converges linearly near a minimum: what is left is a geometric series.
func (d *descent) tail() float64 {
	if ratio := d.step / d.last; ratio < 1 {
		return d.step * ratio / (1 - ratio)
	}
	return math.Inf(1)
}

// unseen says whether the step at hand can be taken without looking where it
// leads. After a refused step it cannot: damping made it short.
func (d *descent) unseen(norm, floor float64) bool {
	return d.s.Rough == 0 && d.raise == 2 && !math.IsInf(d.last, 1) &&
		d.step <= blind*norm && d.tail() <= max(1e-13*norm, floor)
}

// iterate makes one damped step and says whether the run is over.
func (d *descent) iterate() (Status, bool) {
	w := d.w
	w.updateScale()
	length := w.dampedStep(d.lambda)
	d.step = w.cur.change(w.delta)
	predicted := d.step*d.step + 2*d.lambda*length*length
	norm := math.Sqrt(w.cur.ss)
	floor := d.s.Floor * math.Sqrt(float64(w.m))
	if norm <= floor || predicted == 0 {
		return Converged, true
	}
	if d.s.Geodesic && !d.bendStep(length) {
		return d.reject(norm, floor)
	}
	d.p.Try(w.delta)
	if d.unseen(norm, floor) {
		d.p.Accept()
		return Converged, true
	}
	w.evaluate(d.p, w.trial)
	// Below this the difference of two sums of squares is mostly rounding, so
	// the model is trusted more than the comparison.
	tiny := predicted <= 1e-11*w.cur.ss
	gain := (w.cur.ss - w.trial.ss) / predicted
	switch {
	case tiny && w.trial.ss <= w.cur.ss*(1+1e-10):
		gain = 1
	case !(gain > 1e-4): // also NaN
		return d.reject(norm, floor)
	}
	d.p.Accept()
	w.cur, w.trial = w.trial, w.cur
	f := 2*gain - 1
	d.lambda = max(d.lambda*max(0.1, 1-f*f*f), 1e-16)
	d.raise = 2
	return d.judge(norm, floor, tiny)
}

// judge decides after an accepted step whether another one would still matter.
func (d *descent) judge(norm, floor float64, tiny bool) (Status, bool) {
	ratio, tail := 1.0, math.Inf(1)
	if !math.IsInf(d.last, 1) {
		ratio, tail = d.step/d.last, d.tail()
	}
	d.last = d.step
	if d.s.Rough > 0 && d.step <= d.s.Rough*norm {
		return Converged, true
	}
	if !tiny && d.step > floor {
		return GaveUp, false
	}
	limit := max(1e-13*norm, floor)
	if d.step <= limit {
		return Converged, true
	}
	if tail <= limit {
		return Converged, true
	}
	if ratio > 0.9 && d.step <= 1e-9*norm {
		return Converged, true // steps no longer shrink: rounding
	}
	return GaveUp, false
}

// reject raises the damping after a step that did not help.
func (d *descent) reject(norm, floor float64) (Status, bool) {
	if d.step <= max(1e-13*norm, floor) {
		return Converged, true
	}
	d.lambda *= d.raise
	d.raise *= 2
	if d.lambda > 1e20 {
		if d.step <= 1e-7*norm {
			return Converged, true
		}
		return GaveUp, true
	}
	return GaveUp, false
}
