package loop

import "fmt"

// Mobility says in how many independent ways a linkage can move.
type Mobility struct {
	// Freedoms is the number of values of the loops' joints less the rank of the
	// loops' equations, at poses about the given one.
	Freedoms int
	// AtPose is the same at the pose alone: larger where the loop is at a change
	// point, from which several ways lead on.
	AtPose int
	// Kutzbach is the Gruebler-Kutzbach count, 6 equations a loop taken as
	// independent: sum of freedoms - 6 x loops. It is less than Freedoms where
	// the loop moves by its shape (all hinges parallel, for example).
	// Source: K. Kutzbach, Mechanische Leitungsverzweigung (1929).
	Kutzbach int
	Values   int // of the joints in loops
	Rank     int // of the loops' equations
	// Redundant is the number of equations that others imply: so many ways there
	// are to build the loop under strain.
	Redundant int
	// Singular are the singular values at the pose, falling.
	Singular []float64
	// Drivers is how many values drive; Idle how many freedoms they leave over:
	// a rod that may spin between two balls, or a driver that is missing.
	Drivers, Idle int
}

// Mobility returns the mobility at a pose and about it. The values are brought
// to the nearest pose that closes the loops first.
func (l *Linkage) Mobility(values []float64) (Mobility, error) {
	if err := l.checkValues(values); err != nil {
		return Mobility{}, err
	}
	w := l.getWork()
	defer l.putWork(w)
	l.load(w, values)
	n, rows := len(l.active), 6*len(l.loops)
	if !l.settle(w) {
		return Mobility{}, l.openError(w)
	}
	m := Mobility{Values: n, Kutzbach: n - rows, Drivers: len(l.drivers)}
	m.Singular = append(m.Singular, w.dec.s...)
	here := w.dec.rank(l.o.tolerance())
	m.AtPose = n - here
	m.Rank = l.rankAbout(w, here)
	m.Freedoms, m.Redundant = n-m.Rank, rows-m.Rank
	m.Idle = max(0, m.Freedoms-m.Drivers)
	return m, nil
}

// measureRank finds the rank of the loops' equations about the modelled pose
// and refuses loops that cannot move.
func (l *Linkage) measureRank() error {
	w := l.newWork()
	l.load(w, l.Zero())
	if !l.settle(w) {
		return l.openError(w)
	}
	l.rank = l.rankAbout(w, w.dec.rank(l.o.tolerance()))
	if l.rank < len(l.active) {
		return nil
	}
	return &LinkageError{Reason: fmt.Sprintf(
		"the loop of %s is rigid: its %d joint values meet %d independent equations, check that its axes are parallel or meet as they should (out by %.2g now, tolerance %.2g)",
		jointName(l.closings[0].Joint, 0), len(l.active), l.rank, w.dec.value(len(l.active)), l.o.tolerance())}
}

// factorAll evaluates w.values and decomposes the derivatives by all active
// values.
func (l *Linkage) factorAll(w *work) bool {
	l.evaluate(w)
	m := w.dec.size(6*len(l.loops), len(l.active))
	copy(m.Data, w.jac)
	return w.dec.factorize()
}

// settle brings w.values to a pose nearby that closes the loops as well as can
// be, all values sharing the change, and leaves the decomposition there. It
// reports false where the loops stay open beyond the misfit.
func (l *Linkage) settle(w *work) bool {
	const most = 30
	step := w.step[:len(l.active)]
	last := 0.0
	for k := range most {
		if !l.factorAll(w) {
			return false
		}
		w.dec.solve(step, w.res, w.dec.rank(l.o.tolerance()), min(norm(w.res), 0.1))
		size := norm(step)
		if size <= 1e-13 || k > 2 && size < 1e-9 && size > last/2 {
			break
		}
		last = size
		for c, v := range l.active {
			w.values[v] -= step[c] * l.freedoms[v].scale
		}
	}
	return norm(w.res) <= l.o.misfit()
}

// rankAbout returns the largest rank at poses a little way from w.values, where
// it is here: at a change point it is less than about it, and a generic place
// off the loop's own poses would tell nothing about overconstrained loops.
// w.dec must hold the decomposition at w.values.
func (l *Linkage) rankAbout(w *work, here int) int {
	const away = 0.15
	n := len(l.active)
	from := append([]float64(nil), w.values...)
	best, most := here, min(n, 6*len(l.loops))
	dir := make([][]float64, 0, n+2)
	seed := uint64(1)
	for i := range n + 2 {
		t := make([]float64, n)
		for c := range t {
			if i >= n { // two mixtures besides the single values
				seed = seed*6364136223846793005 + 1442695040888963407
				t[c] = float64(seed>>40)/(1<<23) - 1
			} else if i == c {
				t[c] = 1
			}
		}
		if size := w.dec.project(t, here); size > 1e-6 {
			for c := range t {
				t[c] *= away / size
			}
			dir = append(dir, t)
		}
	}
	for _, t := range dir {
		if best == most {
			break
		}
		for c, v := range l.active {
			w.values[v] = from[v] + t[c]*l.freedoms[v].scale
		}
		if l.settle(w) {
			best = max(best, w.dec.rank(l.o.tolerance()))
		}
	}
	copy(w.values, from)
	return best
}

// checkDrivers fails where the drivers are more than the loops' freedoms or
// cannot be chosen independently anywhere about the modelled pose.
func (l *Linkage) checkDrivers() error {
	free := len(l.active) - l.rank
	if len(l.drivers) > free {
		return &LinkageError{Joint: l.name(l.drivers[free]), Reason: fmt.Sprintf(
			"it is driver %d of %d, but the loop has %d freedoms: take drivers away", free+1, len(l.drivers), free)}
	}
	w := l.newWork()
	l.load(w, l.Zero())
	if !l.settle(w) {
		return l.openError(w)
	}
	if l.followRank(w) == l.rank {
		return nil
	}
	// The modelled pose may be a dead point of the drivers: look about.
	from := append([]float64(nil), w.values...)
	for c := range l.active {
		copy(w.values, from)
		if !l.factorAll(w) {
			continue
		}
		t := make([]float64, len(l.active))
		t[c] = 1
		size := w.dec.project(t, w.dec.rank(l.o.tolerance()))
		if size < 1e-6 {
			continue
		}
		for k, v := range l.active {
			w.values[v] += 0.15 / size * t[k] * l.freedoms[v].scale
		}
		if l.settle(w) && l.followRank(w) == l.rank {
			return nil
		}
	}
	return &LinkageError{Joint: l.name(l.drivers[len(l.drivers)-1]), Reason: "the loop holds it still, so it cannot drive: choose a joint that moves"}
}

// followRank returns the rank of the equations by the followers alone at
// w.values.
func (l *Linkage) followRank(w *work) int {
	l.evaluate(w)
	l.followMatrix(w)
	if !w.dec.factorize() {
		return 0
	}
	const slow = 0.01 // a driver may move little for what it does
	return w.dec.rank(slow * l.o.tolerance())
}

func (l *Linkage) followMatrix(w *work) {
	rows, n := 6*len(l.loops), len(l.active)
	m := w.dec.size(rows, len(l.follow))
	for i := range rows {
		for k, v := range l.follow {
			m.Data[i*m.Stride+k] = w.jac[i*n+l.column[v]]
		}
	}
}
