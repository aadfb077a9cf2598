package fit

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// Options steer a fit. The zero value fits by plain least squares.
type Options struct {
	// Normals are the surface normals at the points, of any length and sign;
	// as many as there are points, or none. They help the search for a start
	// and decide between shapes that fit equally well; the points alone
	// determine the result.
	Normals []r3.Vec
	// Robust fits the largest consistent set of points and leaves out the
	// rest, up to about half of the points.
	Robust bool
	// Closed says that the points go all the way round, so that Arc is 2 pi
	// whatever the gaps.
	Closed bool
	// Start is a datum of the same kind, in model units, to iterate from;
	// the search for other minima is left out.
	Start *Datum
}

// minimum number of points for each kind, which is also the number of the
// kind's unknowns except for curves (circle 6, line 4) and the point.
var needed = [...]struct {
	kind Kind
	n    int
}{
	{Point, 1}, {Line, 2}, {Plane, 3}, {Circle, 3}, {Sphere, 4}, {Cylinder, 5}, {Cone, 6}, {Torus, 7},
}

func need(k Kind) (int, bool) {
	for _, e := range needed {
		if e.kind == k {
			return e.n, true
		}
	}
	return 0, false
}

// Fit fits a datum of the given kind to points in model units by orthogonal
// least squares: the sum of squared true distances is minimal over all datums
// of that kind. It works on centred, unit-scaled data and is deterministic. It
// fails with a CountError, FiniteError, DegenerateError, AmbiguousError,
// OptionError, ConvergeError or KindError.
func Fit(kind Kind, points []r3.Vec, o Options) (Datum, error) {
	n, ok := need(kind)
	if !ok {
		return Datum{}, &KindError{Kind: kind, Reason: "not a datum kind"}
	}
	if len(points) < n {
		return Datum{}, &CountError{Kind: kind, Have: len(points), Need: n}
	}
	if o.Start != nil && o.Start.Kind != kind {
		return Datum{}, &OptionError{Option: "Start", Reason: "is a " + string(o.Start.Kind) + ", not a " + string(kind)}
	}
	c, err := newCloud(points, o.Normals)
	if err != nil {
		return Datum{}, err
	}
	f := fitter{kind: kind, o: o, solver: newMinimizer()}
	if o.Robust {
		return f.robust(c, points)
	}
	return f.fit(c)
}

// FitPoint returns the centroid of the points.
func FitPoint(points []r3.Vec, o Options) (Datum, error) { return Fit(Point, points, o) }

// FitLine fits a straight line. Its Origin is the centroid; it fails for
// coincident points and for points without a direction of largest extent.
func FitLine(points []r3.Vec, o Options) (Datum, error) { return Fit(Line, points, o) }

// FitPlane fits a plane. Its Origin is the centroid; with normals given its
// Axis points to their side. It fails for collinear points and for points
// without a direction of least extent.
func FitPlane(points []r3.Vec, o Options) (Datum, error) { return Fit(Plane, points, o) }

// FitCircle fits a circle in space, with squared distance d^2 = (rho - r)^2 +
// h^2 of the point at radius rho and height h. It fails for collinear points.
func FitCircle(points []r3.Vec, o Options) (Datum, error) { return Fit(Circle, points, o) }

// FitSphere fits a sphere. It fails for coplanar points.
func FitSphere(points []r3.Vec, o Options) (Datum, error) { return Fit(Sphere, points, o) }

// FitCylinder fits a cylinder of revolution. It fails for points on one or two
// generators or on a single ring.
func FitCylinder(points []r3.Vec, o Options) (Datum, error) { return Fit(Cylinder, points, o) }

// FitCone fits a cone of revolution, Origin its apex and Axis from there to
// the points. It fails for coplanar points and for cylinders.
func FitCone(points []r3.Vec, o Options) (Datum, error) { return Fit(Cone, points, o) }

// FitTorus fits a torus with a tube of radius Radius2 about a centre circle of
// radius Radius. It fails for coplanar points, cylinders and spheres.
func FitTorus(points []r3.Vec, o Options) (Datum, error) { return Fit(Torus, points, o) }

// fitter is one call of Fit.
type fitter struct {
	kind   Kind
	o      Options
	solver *minimizer
	// freeSense says that the start is our own and its axis' sense means
	// nothing.
	freeSense bool
}

// fit fits all points of the cloud.
func (f *fitter) fit(c *cloud) (Datum, error) {
	s := c.spread()
	if err := f.checkRank(c, s); err != nil {
		return Datum{}, err
	}
	switch f.kind {
	case Point, Line, Plane:
		return f.linear(c, s)
	}
	m, err := f.minimise(c)
	if err != nil {
		return Datum{}, err
	}
	return f.finish(c, m)
}

// checkRank refuses points whose dimension is too low for the kind.
func (f *fitter) checkRank(c *cloud, s spread) error {
	rank := s.rank(c)
	want, reason := 0, ""
	switch f.kind {
	case Line:
		want, reason = 1, "all points coincide; ratio of the largest extent to the size"
	case Plane, Circle:
		want, reason = 2, "all points lie on one line; ratio of the second extent to the first"
	case Sphere:
		want, reason = 3, "all points lie in one plane, fit a circle instead; ratio of the least extent to the largest"
	case Cylinder:
		want, reason = 3, "all points lie in one plane, on one ring or on one or two generators; ratio of the least extent to the largest"
	case Cone, Torus:
		want, reason = 3, "all points lie in one plane; ratio of the least extent to the largest"
	}
	if rank >= want {
		return nil
	}
	measure := 0.0
	if s.value[0] > 0 {
		measure = s.value[want-1] / s.value[0]
	}
	if rank == 0 {
		reason = "all points coincide; ratio of the largest extent to the size"
	}
	return &DegenerateError{Kind: f.kind, Reason: reason, Measure: measure}
}

func (f *fitter) newModel(c *cloud) model {
	switch f.kind {
	case Circle:
		return newCircleModel(c)
	case Sphere:
		return &sphereModel{c: c}
	case Cylinder:
		return &cylinderModel{c: c}
	case Cone:
		return newConeModel(c)
	default:
		return newTorusModel(c)
	}
}

// settings returns the minimizer's settings for full accuracy on the cloud.
func (f *fitter) settings(c *cloud) Settings {
	return Settings{Damping: 1e-8, Floor: max(1e-15, c.round)}
}

// minimise returns a model at the global minimum of its sum of squares.
func (f *fitter) minimise(c *cloud) (model, error) {
	m := f.newModel(c)
	if f.o.Start != nil {
		if err := place(m, c, *f.o.Start); err != nil {
			return nil, err
		}
		if _, err := f.solver.run(m, Settings{Floor: max(1e-15, c.round)}); err != nil {
			return nil, err
		}
		m.settle()
		return m, nil
	}
	finalists, err := f.finalists(m, c)
	if err != nil {
		return nil, err
	}
	return f.choose(c, finalists)
}

// starts returns the axes to try.
func (f *fitter) starts(c *cloud, s spread) []guess {
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

// finalists searches on a sample and returns the distinct minima that come
// near the best one, each iterated to rounding level on all points.
func (f *fitter) finalists(m model, c *cloud) ([]trial, error) {
	sub := c.sample(sampleSize)
	m.bind(sub)
	tries := spreadOut(tryGuesses(m, f.starts(sub, sub.spread())), f.tries(sub))
	found := f.polish(sub, tries)
	if len(found) == 0 {
		return nil, &DegenerateError{Kind: f.kind, Reason: "no start leads to one; usable starts", Measure: 0}
	}
	limit := 2.25*found[0].ss + float64(sub.len())*tieRMS*tieRMS
	var last error
	var out []trial
	for _, t := range found {
		if t.ss > limit || len(out) == 4 {
			break
		}
		if known(out, t) {
			continue
		}
		replant(t.m, sub)
		t.m.bind(c)
		got, err := f.solver.run(t.m, f.settings(c))
		if err != nil {
			last = err
			continue
		}
		t.m.settle()
		t.ss = got.SS
		if !known(out, t) {
			out = append(out, t)
		}
	}
	if len(out) == 0 {
		return nil, last
	}
	return out, nil
}

// tries is the number of starts worth iterating: the fewer the points, the
// more minima there are and the cheaper each is.
func (f *fitter) tries(c *cloud) int {
	switch {
	case c.len() <= 60:
		return math.MaxInt
	case f.kind == Torus:
		return 24
	}
	return 12
}

// polish iterates each start roughly and sorts the results. After the first
// steps the surface point is moved to where the points are.
func (f *fitter) polish(c *cloud, tries []trial) []trial {
	rough := Settings{MaxIterations: 30, Rough: 1e-3, Floor: 1e-13}
	var out []trial
	for _, t := range tries {
		f.solver.run(t.m, rough)
		t.m.settle()
		replant(t.m, c)
		rough.MaxIterations, rough.Rough = 60, 1e-4
		// A start that is still on its way counts with what it has.
		got, _ := f.solver.run(t.m, rough)
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
