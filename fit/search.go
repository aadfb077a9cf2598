package fit

import "math"

const (
	sampleSize = 240 // points that starts are read from and finally judged on
	fewPoints  = 96  // points that starts are first iterated on
	finalTries = 6   // starts that reach the larger sample
	sparse     = 60  // points too few to estimate normals from
)

// minimise returns a model at the global minimum of its sum of squares over the
// cloud of the given spread.
func (f *fitter) minimise(c *cloud, s spread) (trial, error) {
	m := f.newModel(c)
	if f.o.Start == nil {
		if t, ok := f.direct(m, c, s); ok {
			return t, nil
		}
		list, err := f.finalists(m, c)
		if err != nil {
			return trial{}, err
		}
		return f.choose(c, list)
	}
	if err := place(m, c, *f.o.Start); err != nil {
		return trial{}, err
	}
	t := trial{m: m}
	err := f.refine(&t, c, 1e-3)
	return t, err
}

// wellBent is the sum of squares, relative to the scatter in the least extent
// that tells the shape, below which a circle or sphere has but one minimum.
const wellBent = 1e-2

// direct iterates a circle or sphere from its algebraic fit alone and says
// whether no other minimum can be better. The plane of a better circle would
// leave heights of no more than its sum of squares, so it would tilt by less
// than asin(sqrt(wellBent)) out of the plane of largest extent; in the plane,
// as on the sphere, the bend is then many times the residuals, where the
// algebraic fit starts next to the only minimum. Few points are searched.
func (f *fitter) direct(m model, c *cloud, s spread) (trial, bool) {
	if f.kind != Circle && f.kind != Sphere || c.len() <= sparse {
		return trial{}, false
	}
	sub := c.sample(sampleSize)
	least, g := s.value[2], guess{}
	if f.kind == Circle {
		least, g.dir = s.value[1], s.axis[2]
	}
	m.bind(sub)
	if !m.begin(g) {
		return trial{}, false
	}
	t := trial{m: m}
	if err := f.refine(&t, c, 1e-6); err != nil || !(t.ss <= wellBent*least*least) {
		return trial{}, false
	}
	return t, true
}

// refine iterates a trial on the whole cloud to rounding level.
func (f *fitter) refine(t *trial, c *cloud, damping float64) error {
	t.m.bind(c)
	s := Settings{Damping: damping, Floor: 1e-15}
	got, err := f.solver.run(t.m, s)
	if err != nil { // a curved valley: the dearer way
		s.Geodesic, s.MaxIterations = true, 500
		got, err = f.solver.run(t.m, s)
	}
	t.ss = got.SS
	if t.factor == nil {
		_, n := t.m.Size()
		t.factor = newTriangle(n)
	}
	t.factor.copyFrom(got.factor)
	if t.m.settle() {
		t.factor = nil
	}
	return err
}

// starts returns the axes to try.
func (f *fitter) starts(c *cloud) []guess {
	s := c.spread()
	switch f.kind {
	case Circle: // the plane; a short arc may be thicker than it is bent
		return []guess{{dir: s.axis[2]}, {dir: s.axis[1]}}
	case Sphere: // the algebraic fit; a flat start
		return []guess{{}, {dir: s.axis[2]}}
	}
	list := c.guesses(s)
	if f.kind == Torus {
		list = append(list, f.torusGuesses(c, s)...)
	}
	return list
}

// finalists searches on samples of growing size and returns the distinct
// minima that come near the best one, each iterated to rounding level on all
// points.
func (f *fitter) finalists(m model, c *cloud) ([]trial, error) {
	sub := c.sample(sampleSize)
	few := sub.sample(fewPoints)
	m.bind(few)
	tries := spreadOut(tryGuesses(m, f.starts(sub)), f.tries(few))
	found := f.polish(few, tries)
	if len(tries) > 2 && len(found) > 0 && few.len() < sub.len() {
		found = f.polish(sub, distinct(found, finalTries))
	}
	if len(found) == 0 {
		return nil, &DegenerateError{Kind: f.kind, Reason: "no start leads to one; usable starts", Measure: 0}
	}
	limit := 2.25*found[0].ss + float64(sub.len())*tieRMS*tieRMS
	var out []trial
	var failed error
	least := math.Inf(1) // sum of squares of a minimum that was not reached
	for _, t := range found {
		if t.ss > limit || len(out) == 4 {
			break
		}
		if known(out, t) {
			continue
		}
		replant(t.m, sub)
		if err := f.refine(&t, c, 1e-8); err != nil {
			if t.ss < least {
				least, failed = t.ss, err
			}
			continue
		}
		if !known(out, t) {
			out = append(out, t)
		}
	}
	sortTrials(out)
	if len(out) == 0 || least < out[0].ss*(1-1e-6) {
		return nil, failed
	}
	return out, nil
}

// tries is the number of starts worth iterating: the fewer the points, the
// more minima there are and the cheaper each is.
func (f *fitter) tries(c *cloud) int {
	switch {
	case c.len() <= sparse:
		return 120
	case f.kind == Torus:
		return 24
	}
	return 12
}

// polish binds each start to the cloud, iterates it roughly and sorts the
// results. After the first steps the surface point is moved to where the
// points are.
func (f *fitter) polish(c *cloud, tries []trial) []trial {
	var out []trial
	for _, t := range tries {
		t.m.bind(c)
		f.solver.run(t.m, Settings{MaxIterations: 30, Rough: 1e-2, Floor: 1e-13})
		t.m.settle()
		replant(t.m, c)
		// A start that is still on its way counts with what it has.
		got, _ := f.solver.run(t.m, Settings{MaxIterations: 60, Rough: 1e-4, Floor: 1e-13, Damping: 1e-5})
		if math.IsNaN(got.SS) || math.IsInf(got.SS, 0) {
			continue
		}
		t.m.settle()
		t.ss = got.SS
		if f.kind != Torus || t.m.datum().Radius > 0 { // a negative radius is a lemon
			out = append(out, t)
		}
	}
	sortTrials(out)
	return out
}

// distinct returns the first n trials that differ from one another.
func distinct(list []trial, n int) []trial {
	var out []trial
	for _, t := range list {
		if len(out) == n {
			break
		}
		if !known(out, t) {
			out = append(out, t)
		}
	}
	return out
}
