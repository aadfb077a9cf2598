package fit

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// exact is the quality of a datum that its points determine without
// redundancy: nothing is left over and nothing is known about the error.
func exact(count int) Quality {
	nan := math.NaN()
	return Quality{Count: count, Arc: 2 * math.Pi, SigmaAxis: nan, SigmaOrigin: nan, SigmaRadius: nan}
}

// CircleThrough returns the circle through three points. It fails with a
// DegenerateError for points on one line.
func CircleThrough(a, b, c r3.Vec) (Datum, error) {
	return Fit(Circle, []r3.Vec{a, b, c}, Options{})
}

// SphereThrough returns the sphere through four points. It fails with a
// DegenerateError for points in one plane.
func SphereThrough(a, b, c, d r3.Vec) (Datum, error) {
	return Fit(Sphere, []r3.Vec{a, b, c, d}, Options{})
}

// Midpoint returns the point halfway between two points. As a centre it is
// only as good as the two are opposite: on a regular ring of n vertices,
// vertices 0 and n/2 miss the centre by r sin(pi/(2n)) if n is odd.
func Midpoint(a, b r3.Vec) (Datum, error) {
	if err := finite(a, b); err != nil {
		return Datum{}, err
	}
	q := exact(2)
	return Datum{Kind: Point, Origin: mid(a, b), Quality: q}, nil
}

// LineThrough returns the line from a to b, through two poles or along an
// edge. Its Origin is their midpoint and its Axis points from a to b. It fails
// with a DegenerateError for coincident points.
func LineThrough(a, b r3.Vec) (Datum, error) {
	if err := finite(a, b); err != nil {
		return Datum{}, err
	}
	ab := r3.Sub(b, a)
	l := r3.Norm(ab)
	if !(l > 1e-15*(r3.Norm(a)+r3.Norm(b))) {
		return Datum{}, &DegenerateError{Kind: Line, Reason: "the two points coincide; distance", Measure: l}
	}
	return Datum{
		Kind: Line, Origin: mid(a, b), Axis: r3.Scale(1/l, ab),
		Extent: [2]float64{-l / 2, l / 2}, Quality: exact(2),
	}, nil
}

// AxisThroughLoops returns the line through the centres of two loops of points
// in model units, from the first to the second, with its Origin halfway. Each
// loop is fitted by a circle and taken as closed. RMS is that of both circles
// together, FormError and Sagitta are the larger ones, Arc is the smaller one
// and the sigmas follow from those of the two centres. It fails if a loop
// determines no circle or the centres coincide.
func AxisThroughLoops(a, b []r3.Vec) (Datum, error) {
	ca, err := FitCircle(a, Options{Closed: true})
	if err != nil {
		return Datum{}, err
	}
	cb, err := FitCircle(b, Options{Closed: true})
	if err != nil {
		return Datum{}, err
	}
	d, err := LineThrough(ca.Origin, cb.Origin)
	if err != nil {
		return Datum{}, err
	}
	// Centres that lie closer than the fit can tell give no direction.
	length := d.Extent[1] - d.Extent[0]
	if !(length > 1e-9*(ca.Radius+cb.Radius)) {
		return Datum{}, &DegenerateError{Kind: Line, Reason: "the loops have the same centre; distance over radius", Measure: length / ca.Radius}
	}
	na, nb := float64(ca.Count), float64(cb.Count)
	both := math.Hypot(ca.SigmaOrigin, cb.SigmaOrigin)
	d.Quality = Quality{
		Count:       ca.Count + cb.Count,
		RMS:         math.Sqrt((ca.RMS*ca.RMS*na + cb.RMS*cb.RMS*nb) / (na + nb)),
		FormError:   max(ca.FormError, cb.FormError),
		Arc:         min(ca.Arc, cb.Arc),
		Sagitta:     max(ca.Sagitta, cb.Sagitta),
		SigmaAxis:   both / length,
		SigmaOrigin: both / 2,
		SigmaRadius: math.NaN(),
	}
	return d, nil
}

// LoopCentre fits a circle to the vertices of a loop.
func LoopCentre(loop []r3.Vec, closed bool) (Datum, error) {
	return FitCircle(loop, Options{Closed: closed})
}

// AreaCentroid returns the centroid of the area that the closed polygon
// bounds, in order along the loop; for a loop that is not flat, that of the
// area seen along its vector area. Unlike the mean of the vertices it does not
// depend on how they are spread along the loop. It fails with a
// DegenerateError if the loop bounds no area.
func AreaCentroid(loop []r3.Vec) (Datum, error) {
	if len(loop) < 3 {
		return Datum{}, &CountError{Kind: Point, Have: len(loop), Need: 3}
	}
	c, err := newCloud(loop, nil)
	if err != nil {
		return Datum{}, err
	}
	var area r3.Vec
	n := c.len()
	for i := range n {
		area = r3.Add(area, r3.Cross(c.at(i), c.at((i+1)%n)))
	}
	total := r3.Norm(area)
	if !(total > 1e-12) {
		return Datum{}, &DegenerateError{Kind: Point, Reason: "the loop bounds no area; area over squared size", Measure: total}
	}
	up := r3.Scale(1/total, area)
	var sum r3.Vec
	for i := range n {
		a, b := c.at(i), c.at((i+1)%n)
		sum = r3.Add(sum, r3.Scale(r3.Dot(up, r3.Cross(a, b))/3, r3.Add(a, b)))
	}
	return Datum{Kind: Point, Origin: c.model(r3.Scale(1/total, sum)), Quality: exact(n)}, nil
}

func mid(a, b r3.Vec) r3.Vec { return r3.Add(r3.Scale(0.5, a), r3.Scale(0.5, b)) }

func finite(points ...r3.Vec) error {
	_, _, err := bounds(points)
	return err
}
