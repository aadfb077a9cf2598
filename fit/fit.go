package fit

import (
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

// need is the least number of points for each kind, which is also the number
// of its unknowns except for curves (circle 6, line 4) and the point (3).
func need(k Kind) (n int, ok bool) {
	switch k {
	case Point:
		return 1, true
	case Line:
		return 2, true
	case Plane, Circle:
		return 3, true
	case Sphere:
		return 4, true
	case Cylinder:
		return 5, true
	case Cone:
		return 6, true
	case Torus:
		return 7, true
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
	var s spread
	switch f.kind {
	case Point, Line, Plane, Circle:
		s = c.spread()
	default:
		s = c.roughSpread()
	}
	if err := f.checkRank(c, s); err != nil {
		return Datum{}, err
	}
	switch f.kind {
	case Point, Line, Plane:
		return f.linear(c, s)
	}
	t, err := f.minimise(c, s)
	if err != nil {
		return Datum{}, err
	}
	return f.finish(c, t)
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
