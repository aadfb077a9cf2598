package loop

import "math"

// beyond is how far a leap goes, of the estimated way to the change point.
const beyond = 3

// worthALeap reports whether a change point may be ahead and was not tried for
// lately. One that is only nearly there bends the way before it is reached, so
// with Options.Snap leaps begin early and go far.
func (a *walker) worthALeap(most float64) bool {
	again, far := 1.0/8, firmest
	if a.l.o.Snap > 0 {
		again, far = 0.8, 4*firmest
	}
	return a.near > 0 && beyond*a.near < min(most, far) && (a.tried == 0 || a.here.sigma < again*a.tried)
}

// leapOver leaps h straight on where a change point really lies between: there
// the singular value falls to nothing, or to what Options.Snap lets pass. Where
// it only grows small, two ways pass close by each other and the steps must stay
// short.
func (a *walker) leapOver(h float64) (float64, bool) {
	a.steps++
	if !a.try(h) || a.along() < on {
		return 0, false
	}
	at, ok := a.lowest(h, a.l.o.snap())
	if !ok || !a.try(at) {
		return 0, false
	}
	found := Change{Values: a.valuesAt(a.w.y1), at: a.w.y1[0]}
	if !a.try(h) {
		return 0, false
	}
	a.turns = append(a.turns, found)
	a.tried = 0
	return h, true
}

// passed returns the change points that the walk came through: the last leap may
// have gone farther than the way.
func (a *walker) passed() []Change {
	var out []Change
	for _, c := range a.turns {
		if c.at <= a.w.y[0]+1e-9 {
			out = append(out, c)
		}
	}
	return out
}

// lowest returns the step in [0, h] at which the singular value that counts is
// least, by golden sections; ok says whether it falls below enough there.
func (a *walker) lowest(h, enough float64) (at float64, ok bool) {
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
		if min(fp, fq) < enough || hi-lo < 1e-9*h {
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
		return p, fp < enough
	}
	return q, fq < enough
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
		a.turns = append(a.turns, Change{Values: a.valuesAt(w.y), at: w.y[0]})
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
	if fell := was - a.here.sigma; fell > 0 && a.here.sigma < max(doubt, 8*a.l.o.snap()) {
		a.near = a.here.sigma * h / fell
	}
}
