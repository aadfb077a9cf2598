package fit

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// linear returns the datums that the singular value decomposition of the
// centred points gives in closed form: point, line and plane.
func (f *fitter) linear(c *cloud, s spread) (Datum, error) {
	n := float64(c.len())
	d := Datum{Kind: f.kind, Quality: Quality{
		Count: c.len(), Arc: 2 * math.Pi,
		SigmaAxis: math.NaN(), SigmaOrigin: math.NaN(), SigmaRadius: math.NaN(),
	}}
	gap := 1.0
	switch f.kind {
	case Point:
		d.Origin = c.model(r3.Vec{})
		d.SigmaOrigin = sigma(s.value[0], n-1) / math.Sqrt(n) * c.scale
	case Line:
		gap = (s.value[0] - s.value[1]) / s.value[0]
		d.Axis = f.orient(c, s.axis[0])
		d.SigmaAxis = sigma(s.value[1], n-2) / s.value[0]
		d.SigmaOrigin = sigma(s.value[1], n-2) / math.Sqrt(n) * c.scale
	case Plane:
		gap = (s.value[1] - s.value[2]) / s.value[0]
		d.Axis = f.orient(c, s.axis[2])
		d.SigmaAxis = sigma(s.value[2], n-3) / s.value[1]
		d.SigmaOrigin = sigma(s.value[2], n-3) / math.Sqrt(n) * c.scale
	}
	if gap < 1e-9 {
		return Datum{}, &DegenerateError{Kind: f.kind, Reason: "the points extend alike in two directions; relative difference", Measure: gap}
	}
	d.RMS, d.FormError = c.linearForm(f.kind, s)
	lo, hi := c.extent(Datum{Axis: d.Axis})
	d.Extent = [2]float64{lo, hi}
	d = c.toModel(d)
	d.Origin = c.model(r3.Vec{})
	d.RMS *= c.scale
	d.FormError *= c.scale
	return d, nil
}

// sigma is the standard deviation that the root of a sum of squares leaves
// with the given degrees of freedom; NaN for none.
func sigma(root, freedom float64) float64 {
	if freedom <= 0 {
		return math.NaN()
	}
	return root / math.Sqrt(freedom)
}

// orient gives an axis that has no natural sense one: the start's, if there
// is a start; for a plane the side that the normals point to; otherwise that
// with a positive largest component.
func (f *fitter) orient(c *cloud, a r3.Vec) r3.Vec {
	a = signed(a)
	side := 0.0
	switch {
	case f.o.Start != nil && !f.freeSense:
		side = r3.Dot(a, f.o.Start.Axis)
	case f.kind == Plane && c.nx != nil:
		for i := range c.x {
			side += r3.Dot(a, c.normal(i))
		}
		if math.Abs(side) <= 1e-6*float64(c.len()) {
			side = 0 // normals of both sides
		}
	}
	if side < 0 {
		return r3.Scale(-1, a)
	}
	return a
}

// linearForm returns the RMS distance and the form error in unit space.
func (c *cloud) linearForm(k Kind, s spread) (rms, form float64) {
	n := c.len()
	sum, far, low, high := 0.0, 0.0, math.Inf(1), math.Inf(-1)
	u, v := make([]float64, n), make([]float64, n)
	for i := range u {
		p := c.at(i)
		switch k {
		case Point:
			sum += r3.Norm2(p)
			far = max(far, r3.Norm2(p))
		case Line:
			u[i], v[i] = r3.Dot(s.axis[1], p), r3.Dot(s.axis[2], p)
			sum += u[i]*u[i] + v[i]*v[i]
		case Plane:
			h := r3.Dot(s.axis[2], p)
			sum += h * h
			low, high = min(low, h), max(high, h)
		}
	}
	switch k {
	case Point:
		form = 2 * math.Sqrt(far)
	case Line:
		form = diameter(u, v)
	case Plane:
		form = high - low
	}
	return math.Sqrt(sum / float64(n)), form
}
