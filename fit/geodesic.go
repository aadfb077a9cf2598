package fit

// bendLimit bounds |acceleration| / (2 |velocity|) of a step, half of alpha in
// the source, which advises alpha from 0.75 down to 0.1 for hard problems.
const bendLimit = 0.2

// bendStep adds half the acceleration to the step in w.delta, whose scaled
// length is given, and reports whether the residuals follow the step closely
// enough for it to be tried. Source: M. K. Transtrum and J. P. Sethna,
// Improvements to the Levenberg-Marquardt algorithm for nonlinear
// least-squares minimization (2012), arXiv:1201.5885.
func (d *descent) bendStep(length float64) bool {
	w := d.w
	const h = 0.1 // the source's finite-difference step, relative to the step
	near := make([]float64, w.n)
	for j := range near {
		near[j] = h * w.delta[j]
	}
	w.damped.reset()
	moved := make([]float64, blockRows)
	for lo := 0; lo < w.m; lo += blockRows {
		hi := min(lo+blockRows, w.m)
		for j := range w.part {
			w.part[j] = w.cols[j][:hi-lo]
		}
		r := w.part[w.n]
		d.p.Try(near)
		d.p.Eval(lo, hi, moved[:hi-lo], nil)
		d.p.Try(w.zero)
		d.p.Eval(lo, hi, r, w.part[:w.n])
		for i := range r {
			linear := 0.0
			for j, v := range w.delta {
				linear += w.part[j][i] * v
			}
			r[i] = 2 / h * ((moved[i]-r[i])/h - linear)
		}
		w.damped.absorb(w.part)
	}
	w.damp(d.lambda)
	w.damped.solve(w.bend)
	if !(w.scaled(w.bend) <= 2*bendLimit*length) { // also NaN
		return false
	}
	for j := range w.delta {
		w.delta[j] += w.bend[j] / 2
	}
	return true
}
