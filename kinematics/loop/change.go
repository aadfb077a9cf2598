package loop

import "math"

// leapOver leaps h straight on where a change point really lies between: there
// the singular value falls to nothing. Where it only grows small, two ways pass
// close by each other and the steps must stay short.
func (a *walker) leapOver(h float64) (float64, bool) {
	a.steps++
	if !a.try(h) || a.along() < on {
		return 0, false
	}
	at, ok := a.lowest(h)
	if !ok || !a.try(at) {
		return 0, false
	}
	values := a.valuesAt(a.w.y1)
	if !a.try(h) {
		return 0, false
	}
	a.turns = append(a.turns, Change{Values: values})
	a.tried = 0
	return h, true
}

// lowest returns the step in [0, h] at which the singular value that counts is
// least, by golden sections; ok says whether it falls to nothing there.
func (a *walker) lowest(h float64) (at float64, ok bool) {
	sigma := func(x float64) float64 {
		if !a.try(x) {
			return math.Inf(1)
		}
		return a.w.dec.value(a.l.rank)
	}
	golden := (math.Sqrt(5) - 1) / 2
	lo, hi := 0.0, h
	p, q := hi-golden*(hi-lo), lo+golden*(hi-lo)
	fp, fq := sigma(p), sigma(q)
	for range 60 {
		if min(fp, fq) < flat {
			break
		}
		if fp < fq {
			hi, q, fq = q, p, fp
			p = hi - golden*(hi-lo)
			fp = sigma(p)
		} else {
			lo, p, fp = p, q, fq
			q = lo + golden*(hi-lo)
			fq = sigma(q)
		}
	}
	if fp < fq {
		return p, fp < flat
	}
	return q, fq < flat
}

// across leaves a change point, straight on, and notes it.
func (a *walker) across(most float64) (float64, error) {
	w := a.w
	for _, h := range []float64{leap, 2 * leap, leap / 2} {
		h = min(h, most)
		a.steps++
		if !a.try(h) || a.along() < on {
			continue
		}
		a.turns = append(a.turns, Change{Values: a.valuesAt(w.y)})
		a.put(w.y1)
		return h, nil
	}
	return 0, errStuck
}

// stride takes the footing of w.y, to which a step of h has led, and judges from
// how it changed whether a change point is ahead.
func (a *walker) stride(h float64) {
	was := a.here.sigma
	a.stand()
	a.near = 0
	if fell := was - a.here.sigma; fell > 0 && a.here.sigma < doubt {
		a.near = a.here.sigma * h / fell
	}
}
