package fit

import (
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
)

// worstTilt is the 1-sigma of the axis, in radians, beyond which an answer
// would pretend: linear error theory fails there.
const worstTilt = 0.5

// worstCondition is the condition of the Jacobian, columns of unit length,
// below which a whole family of datums fits. Rounded coordinates lift an exact
// zero to about their rounding.
func (c *cloud) worstCondition() float64 { return max(1e-9, 100*c.round) }

// finish turns a model at its minimum into a datum with its quality, in model
// units, or refuses it if the points do not determine it.
func (f *fitter) finish(c *cloud, t trial) (Datum, error) {
	m := t.m
	m.bind(c)
	jac := f.factorise(t)
	cond := jac.all.condition()
	if cond < c.worstCondition() {
		return Datum{}, &DegenerateError{Kind: f.kind, Reason: "a whole family of them fits alike; ratio of the least singular value to the largest", Measure: cond}
	}
	d := m.datum()
	if err := f.checkFlat(c, d); err != nil {
		return Datum{}, err
	}
	d.Quality = c.form(m)
	f.sigmas(&d, m, jac)
	if err := f.checkSigma(d); err != nil {
		return Datum{}, err
	}
	if f.kind != Cone && d.Axis != (r3.Vec{}) {
		d.Axis = f.orient(c, d.Axis)
	}
	lo, hi := c.extent(d)
	d.Extent = [2]float64{lo, hi}
	d.Arc, d.Sagitta = c.coverage(d, f.o.Closed)
	return c.scaled(d), nil
}

// scaled brings a whole datum from unit space to model units.
func (c *cloud) scaled(d Datum) Datum {
	d = c.toModel(d)
	for _, q := range []*float64{&d.RMS, &d.FormError, &d.Sagitta, &d.SigmaOrigin, &d.SigmaRadius, &d.SigmaRadius2} {
		*q *= c.scale
	}
	return d
}

// checkFlat refuses radii and apexes at infinity.
func (f *fitter) checkFlat(c *cloud, d Datum) error {
	limit := min(1e9, 0.01/max(c.round, 1e-300))
	switch f.kind {
	case Circle, Sphere, Cylinder:
		if !(d.Radius < limit) {
			return &DegenerateError{Kind: f.kind, Reason: "the points are not bent; radius over size", Measure: d.Radius}
		}
	case Cone:
		if far := r3.Norm(d.Origin); !(far < limit) || !(d.HalfAngle > 0) {
			return &DegenerateError{Kind: f.kind, Reason: "the points lie on a cylinder; distance of the apex over size", Measure: far}
		}
	case Torus:
		if !(math.Abs(d.Radius) < limit) || !(d.Radius2 < limit) {
			return &DegenerateError{Kind: f.kind, Reason: "the points are not bent twice; radius over size", Measure: max(math.Abs(d.Radius), d.Radius2)}
		}
		if !(d.Radius > 1e-9) {
			return &DegenerateError{Kind: f.kind, Reason: "the points lie on a sphere; radius of the centre circle over size", Measure: d.Radius}
		}
	}
	return nil
}

// checkSigma refuses answers that their own uncertainty swallows.
func (f *fitter) checkSigma(d Datum) error {
	e := &DegenerateError{Kind: f.kind}
	switch {
	case d.SigmaAxis > worstTilt:
		e.Reason, e.Measure = "the axis direction is lost in the noise; its 1-sigma in radians", d.SigmaAxis
	case d.SigmaRadius > d.Radius && d.Radius > 0:
		e.Reason, e.Measure = "the radius is lost in the noise; its 1-sigma over its value", d.SigmaRadius/d.Radius
	case d.SigmaRadius2 > d.Radius2 && d.Radius2 > 0:
		e.Reason, e.Measure = "the tube radius is lost in the noise; its 1-sigma over its value", d.SigmaRadius2/d.Radius2
	case d.SigmaHalfAngle > d.HalfAngle && d.HalfAngle > 0:
		e.Reason, e.Measure = "the half angle is lost in the noise, fit a cylinder; its 1-sigma over its value", d.SigmaHalfAngle/d.HalfAngle
	default:
		return nil
	}
	return e
}

// factors holds the triangular factor of the whole Jacobian, and of the parts
// whose residuals have a variance of their own.
type factors struct {
	all   *triangle
	parts []*triangle
}

// factorise evaluates the Jacobian at the accepted state. A circle's radial
// and axial residuals are kept apart: a flat ring says nothing about its
// noise in the plane by lying in it.
func (f *fitter) factorise(t trial) factors {
	if f.kind != Circle && t.factor != nil {
		return factors{all: t.factor}
	}
	w, m := f.solver, t.m
	w.fitTo(m)
	rows, n := m.Size()
	if f.kind != Circle {
		out := factors{all: newTriangle(n)}
		w.evaluate(m, out.all)
		return out
	}
	radial, flat := newTriangle(n), newTriangle(n)
	w.reduce(m, radial, 0, rows-flatRows)
	w.reduce(m, flat, rows-flatRows, rows)
	out := factors{all: newTriangle(n), parts: []*triangle{radial, flat}}
	out.all.copyFrom(radial)
	w.reduce(m, out.all, rows-flatRows, rows)
	flat.rows = radial.rows // one height for each point
	return out
}

// sigmas fills in one standard deviation of each quantity: with G the
// derivative of the quantity by the parameters, the covariance is
// s^2 G (J'J)^-1 G'. With parts of different variance it is
// G (J'J)^-1 (sum s_i^2 J_i'J_i) (J'J)^-1 G'.
func (f *fitter) sigmas(d *Datum, m model, jac factors) {
	nan := math.NaN()
	d.SigmaAxis, d.SigmaOrigin, d.SigmaRadius = nan, nan, nan
	if f.kind == Torus {
		d.SigmaRadius2 = nan
	}
	if f.kind == Cone {
		d.SigmaHalfAngle = nan
	}
	root := jac.root()
	if root == nil {
		return
	}
	s := m.sensitivity()
	if s.axis != nil {
		d.SigmaAxis = principal(s.axis, root)
	}
	d.SigmaOrigin = principal(s.origin, root)
	if s.radius != nil {
		d.SigmaRadius = principal([][]float64{s.radius}, root)
	}
	if s.radius2 != nil {
		d.SigmaRadius2 = principal([][]float64{s.radius2}, root)
	}
	if s.half != nil {
		d.SigmaHalfAngle = principal([][]float64{s.half}, root)
	}
}

// root returns a matrix X with covariance X X', or nil without redundancy.
func (j factors) root() *mat.Dense {
	n := j.all.n
	inv := j.all.inverse()
	if inv == nil {
		return nil
	}
	if j.parts == nil {
		if j.all.rows <= n {
			return nil
		}
		inv.Scale(math.Sqrt(j.all.ss/float64(j.all.rows-n)), inv)
		return inv
	}
	var normal mat.Dense
	normal.Mul(inv, inv.T())
	out := mat.NewDense(n, n*len(j.parts), nil)
	for i, p := range j.parts {
		freedom := float64(p.rows) - float64(n)/float64(len(j.parts))
		if freedom <= 0 {
			return nil
		}
		r := mat.NewDense(n, n, nil)
		for a := 0; a < n; a++ {
			for b := a; b < n; b++ {
				r.Set(b, a, p.at(a, b)) // R'
			}
		}
		part := out.Slice(0, n, i*n, (i+1)*n).(*mat.Dense)
		part.Mul(&normal, r)
		part.Scale(math.Sqrt(p.ss/freedom), part)
	}
	return out
}

// principal returns the root of the largest eigenvalue of G X X' G', of which
// G has three rows at most.
func principal(rows [][]float64, root *mat.Dense) float64 {
	n, across := root.Dims()
	x := root.RawMatrix()
	s := symmetric{n: len(rows)}
	for c := range across {
		var v [4]float64
		for i, g := range rows {
			for k := range n {
				v[i] += g[k] * x.Data[k*x.Stride+c]
			}
		}
		s.add(1, &v)
	}
	values, _ := s.eigen()
	return math.Sqrt(max(0, values[len(rows)-1]))
}

// form returns count, RMS and peak-to-valley of the residuals at the accepted
// state, in unit space.
func (c *cloud) form(m model) Quality {
	q := Quality{Count: c.len()}
	ring, curved := m.(*circleModel)
	var v []float64
	if curved {
		v = make([]float64, 2*c.len())
	}
	var sec section
	var r [blockRows]float64
	ss, low, high := 0.0, math.Inf(1), math.Inf(-1)
	for lo := 0; lo < c.len(); lo += blockRows {
		hi := min(lo+blockRows, c.len())
		if curved {
			ring.cur.eval(c, lo, hi, r[:hi-lo], nil, &sec)
			copy(v[lo:], r[:hi-lo])
			copy(v[c.len()+lo:], sec.h[:hi-lo])
			ss += floats.Dot(sec.h[:hi-lo], sec.h[:hi-lo])
		} else {
			m.Eval(lo, hi, r[:hi-lo], nil)
		}
		for _, e := range r[:hi-lo] {
			ss += e * e
			widen(e, &low, &high)
		}
	}
	q.RMS, q.FormError = math.Sqrt(ss/float64(c.len())), high-low
	if curved {
		q.FormError = diameter(v[:c.len()], v[c.len():])
	}
	return q
}
