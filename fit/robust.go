package fit

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

const (
	consensusSize = 400 // points that the search for consensus works on
	bestKept      = 12  // hypotheses that are concentrated
	cutSigma      = 4   // inliers lie within so many standard deviations
)

// robust fits by least trimmed squares: the 55 % of the points that fit best
// decide, so up to 45 % of them may be gross outliers. Hypotheses through
// minimal random samples (fixed seed) are ranked by the sum of those squared
// distances; the best are concentrated (refitted to the points that fit best
// until these no longer change); the winner's inliers, within cutSigma
// robust standard deviations, are fitted by plain least squares. Source: P. J.
// Rousseeuw and K. Van Driessen, Computing LTS regression for large data sets,
// Data Mining and Knowledge Discovery 12 (2006) 29-45.
func (f *fitter) robust(c *cloud, points []r3.Vec) (Datum, error) {
	p, _ := need(f.kind)
	if err := f.checkRank(c, c.spread()); err != nil {
		return Datum{}, err
	}
	if c.len() <= p+1 {
		return f.fit(c)
	}
	best, ok := f.consensus(c.sample(consensusSize), p)
	if !ok {
		return Datum{}, &DegenerateError{Kind: f.kind, Reason: "no sample of points determines one; samples tried", Measure: float64(trials(p))}
	}
	inside := f.inliers(c, best, p)
	kept, normals := make([]r3.Vec, 0, len(inside)), make([]r3.Vec, 0, len(inside))
	for _, i := range inside {
		kept = append(kept, points[i])
		if c.nx != nil {
			normals = append(normals, c.normal(i))
		}
	}
	start := c.toModel(best.datum)
	g := fitter{kind: f.kind, o: f.o, solver: f.solver}
	if f.kind != Point && f.kind != Line && f.kind != Plane && f.o.Start == nil {
		g.o.Start, g.freeSense = &start, true
	}
	fine, err := newCloud(kept, normals)
	if err != nil {
		return Datum{}, err
	}
	d, err := g.fit(fine)
	d.Rejected = c.len() - len(kept)
	return d, err
}

// trials is the number of samples after which one of p inliers has been drawn
// but for one case in 1e5, with 45 % outliers.
func trials(p int) int {
	return int(math.Ceil(math.Log(1e-5) / math.Log1p(-math.Pow(0.55, float64(p)))))
}

// hypothesis is a datum in unit space and its trimmed sum of squares.
type hypothesis struct {
	datum Datum
	ss    float64
}

// consensus returns the datum with the least trimmed sum of squares over the
// cloud.
func (f *fitter) consensus(c *cloud, p int) (hypothesis, bool) {
	r := splitMix(0x5bd1e995)
	keep := max(p+1, (11*c.len()+19)/20)
	square := make([]float64, c.len())
	var best []hypothesis
	add := func(d Datum) {
		h := hypothesis{datum: d, ss: c.trimmed(d, keep, square, nil)}
		at, _ := slices.BinarySearchFunc(best, h, func(a, b hypothesis) int { return compare(a.ss, b.ss) })
		if at < bestKept && !math.IsNaN(h.ss) {
			best = slices.Insert(best, at, h)[:min(len(best)+1, bestKept)]
		}
	}
	if f.o.Start != nil {
		add(c.toUnit(*f.o.Start))
	}
	for i := 0; i < trials(p); i++ {
		f.through(c.pick(draw(&r, c.len(), p)), add)
	}
	for i := range best {
		best[i] = f.concentrate(c, best[i], keep, square)
	}
	if len(best) == 0 {
		return hypothesis{}, false
	}
	return slices.MinFunc(best, func(a, b hypothesis) int { return compare(a.ss, b.ss) }), true
}

// draw returns p different numbers below n.
func draw(r *splitMix, n, p int) []int {
	index := make([]int, 0, p)
	for len(index) < p {
		if k := r.intn(n); !slices.Contains(index, k) {
			index = append(index, k)
		}
	}
	return index
}

// through passes on the datums through a minimal sample.
func (f *fitter) through(c *cloud, add func(Datum)) {
	switch f.kind {
	case Point, Line, Plane:
		if s := c.spread(); s.rank(c) >= c.len()-1 {
			add(linearDatum(f.kind, c, s))
		}
		return
	case Circle:
		if s := c.spread(); s.rank(c) < 2 {
			return
		}
	}
	m := f.newModel(c)
	list := tryGuesses(m, f.sampleGuesses(c))
	for _, t := range list[:min(3, len(list))] {
		if f.kind != Circle && f.kind != Sphere { // those are exact already
			f.solver.run(t.m, Settings{MaxIterations: 12, Rough: 1e-6, Floor: 1e-9})
			t.m.settle()
		}
		if d := t.m.datum(); proper(d) {
			add(d)
		}
	}
}

// sampleGuesses lists axes for a minimal sample.
func (f *fitter) sampleGuesses(c *cloud) []guess {
	switch f.kind {
	case Circle:
		return []guess{{dir: c.spread().axis[2]}}
	case Sphere:
		return []guess{{}}
	}
	list := hemisphere(24)
	if c.nx != nil && f.kind == Cylinder {
		for i := 1; i < c.len(); i++ {
			if a := r3.Cross(c.normal(i-1), c.normal(i)); r3.Norm(a) > 0.05 {
				list = append(list, guess{dir: r3.Unit(a)})
			}
		}
	}
	return list
}

// proper says whether a datum of unit space has finite, positive sizes.
func proper(d Datum) bool {
	size := r3.Norm(d.Origin) + math.Abs(d.Radius) + math.Abs(d.Radius2)
	return size < 1e6 && (d.Kind != Torus || d.Radius > 0)
}

// linearDatum is the closed-form datum of a picked cloud.
func linearDatum(k Kind, c *cloud, s spread) Datum {
	m := c.centroid()
	d := Datum{Kind: k, Origin: r3.Vec{X: m[0], Y: m[1], Z: m[2]}}
	switch k {
	case Line:
		d.Axis = s.axis[0]
	case Plane:
		d.Axis = s.axis[2]
	}
	return d
}

// trimmed returns the sum of the keep smallest squared distances and, if
// chosen is given, the indexes of that many points.
func (c *cloud) trimmed(d Datum, keep int, square []float64, chosen []int) float64 {
	for i := range square {
		e := d.Distance(c.at(i))
		square[i] = e * e
	}
	sorted := slices.Clone(square)
	slices.Sort(sorted)
	ss := 0.0
	for _, v := range sorted[:keep] {
		ss += v
	}
	if limit := sorted[keep-1]; chosen != nil {
		n := 0
		for i, v := range square {
			if v <= limit && n < keep {
				chosen[n] = i
				n++
			}
		}
	}
	return ss
}

// concentrate refits a hypothesis to its best points until their sum of
// squares no longer falls.
func (f *fitter) concentrate(c *cloud, h hypothesis, keep int, square []float64) hypothesis {
	chosen := make([]int, keep)
	c.trimmed(h.datum, keep, square, chosen)
	for range 30 {
		d, ok := f.refit(c.pick(chosen), h.datum)
		if !ok {
			return h
		}
		next := hypothesis{datum: d, ss: c.trimmed(d, keep, square, chosen)}
		if !(next.ss < h.ss*(1-1e-9)) {
			return h
		}
		h = next
	}
	return h
}

// refit fits the points of a picked cloud from a datum nearby.
func (f *fitter) refit(c *cloud, d Datum) (Datum, bool) {
	if f.kind == Point || f.kind == Line || f.kind == Plane {
		return linearDatum(f.kind, c, c.spread()), true
	}
	m := f.newModel(c)
	if !assume(m, c, d) {
		return Datum{}, false
	}
	f.solver.run(m, Settings{MaxIterations: 40, Rough: 1e-4, Floor: 1e-12})
	m.settle()
	d = m.datum()
	return d, proper(d)
}

// inliers returns the points within cutSigma robust standard deviations of
// the hypothesis and refits it to them, until the set stays the same.
func (f *fitter) inliers(c *cloud, h hypothesis, p int) []int {
	far := make([]float64, c.len())
	var inside []int
	for range 12 {
		for i := range far {
			far[i] = math.Abs(h.datum.Distance(c.at(i)))
		}
		limit := cut(far)
		if inside != nil {
			limit = cut(gather(far, inside))
		}
		var next []int
		for i, d := range far {
			if d <= limit {
				next = append(next, i)
			}
		}
		if len(next) < p || slices.Equal(next, inside) {
			break
		}
		inside = next
		if d, ok := f.refit(c.pick(inside), h.datum); ok {
			h.datum = d
		}
	}
	return inside
}

// cut returns cutSigma standard deviations of the distances, estimated from
// their median as for |N(0,1)|: right for surfaces, and for curves whose points
// scatter in one direction only, as a flat loop's do; lenient for others.
// Nothing within single-precision rounding is cut off.
func cut(distance []float64) float64 {
	sorted := slices.Clone(distance)
	slices.Sort(sorted)
	return max(cutSigma/0.6745*sorted[len(sorted)/2], tieRMS)
}
