package fit

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

// tieRMS is the RMS distance, as a fraction of the size, below which a fit
// counts as exact: single-precision files round coordinates by about 6e-8.
const tieRMS = 1e-6

func sortTrials(list []trial) {
	slices.SortStableFunc(list, func(a, b trial) int { return compare(a.ss, b.ss) })
}

// known says whether the list already holds a fit with the same geometry.
func known(list []trial, t trial) bool {
	d := t.m.datum()
	return slices.ContainsFunc(list, func(u trial) bool { return sameDatum(u.m.datum(), d) })
}

// sameDatum compares two datums of unit space within a thousandth.
func sameDatum(a, b Datum) bool {
	const tol = 1e-3
	near := func(x, y float64) bool { return math.Abs(x-y) <= tol*max(1, math.Abs(x)) }
	return lineAngle(a.Axis, b.Axis) <= tol && near(a.Radius, b.Radius) && near(a.Radius2, b.Radius2) &&
		near(a.HalfAngle, b.HalfAngle) && r3.Norm(r3.Sub(a.Origin, b.Origin)) <= tol*max(1, r3.Norm(a.Origin))
}

// choose picks among the distinct minima. The smallest sum of squares wins,
// but where normals are given and two fits are of similar quality, the one
// whose surface agrees with the normals wins, and of exact fits the one that
// wraps the points most tightly: the corners of a prism lie on a cylinder
// along it and on others across it.
func (f *fitter) choose(c *cloud, list []trial) (trial, error) {
	best := list[0]
	if len(list) == 1 {
		return best, nil
	}
	n := float64(c.len())
	if c.nx != nil {
		sub := c.sample(sampleSize)
		misfit := sub.normalMisfit(best.m.datum())
		for _, t := range list[1:] {
			if t.ss > 4*list[0].ss+n*tieRMS*tieRMS {
				continue
			}
			if v := sub.normalMisfit(t.m.datum()); v < misfit-0.1 {
				best, misfit = t, v
			}
		}
		return best, nil
	}
	var ties []trial
	for _, t := range list {
		equal := t.ss <= n*tieRMS*tieRMS || t.ss <= list[0].ss*(1+1e-9)
		if equal && f.determined(c, t) {
			ties = append(ties, t)
		}
	}
	if len(ties) == 0 {
		return best, nil // a family of fits: finish refuses any of it
	}
	return f.breakTie(c, ties)
}

// determined says whether a minimum is isolated and finite.
func (f *fitter) determined(c *cloud, t trial) bool {
	return f.factorise(t).all.condition() >= c.worstCondition() && f.checkFlat(c, t.m.datum()) == nil
}

func (f *fitter) breakTie(c *cloud, ties []trial) (trial, error) {
	bulk := make([]float64, len(ties))
	best := 0
	for i, t := range ties {
		bulk[i] = c.bulk(t.m.datum())
		if bulk[i] < bulk[best] {
			best = i
		}
	}
	var equal []Datum
	for i, t := range ties {
		if bulk[i] <= bulk[best]*(1+1e-4) {
			d := c.toModel(t.m.datum())
			equal = append(equal, d)
		}
	}
	if len(equal) > 1 {
		return trial{}, &AmbiguousError{Kind: f.kind, Datums: equal}
	}
	return ties[best], nil
}

// bulk is a measure of the volume of the piece of datum that the points cover.
func (c *cloud) bulk(d Datum) float64 {
	lo, hi := c.extent(d)
	switch d.Kind {
	case Cylinder:
		return d.Radius * d.Radius * (hi - lo)
	case Cone:
		r := math.Tan(d.HalfAngle) * max(math.Abs(lo), math.Abs(hi))
		return r * r * (hi - lo)
	case Torus:
		return math.Abs(d.Radius) * d.Radius2 * d.Radius2
	}
	return d.Radius
}

// normalMisfit is the root mean square angle between the cloud's normals and
// the datum's, regardless of side; points without a normal do not count.
func (c *cloud) normalMisfit(d Datum) float64 {
	sum, n := 0.0, 0.0
	for i := range c.x {
		v := c.normal(i)
		if v == (r3.Vec{}) {
			continue
		}
		a := lineAngle(v, d.Normal(c.at(i)))
		sum += a * a
		n++
	}
	if n == 0 {
		return 0
	}
	return math.Sqrt(sum / n)
}

// extent returns the range that the points cover along the datum's axis.
func (c *cloud) extent(d Datum) (lo, hi float64) {
	if d.Axis == (r3.Vec{}) {
		return 0, 0
	}
	lo, hi = math.Inf(1), math.Inf(-1)
	o := r3.Dot(d.Axis, d.Origin)
	for i := range c.x {
		widen(d.Axis.X*c.x[i]+d.Axis.Y*c.y[i]+d.Axis.Z*c.z[i], &lo, &hi)
	}
	return lo - o, hi - o
}

// toUnit brings a datum's geometry from model units to unit space.
func (c *cloud) toUnit(d Datum) Datum {
	d.Origin = c.unit(d.Origin)
	d.Radius /= c.scale
	d.Radius2 /= c.scale
	return d
}

// toModel brings a datum's geometry from unit space to model units.
func (c *cloud) toModel(d Datum) Datum {
	d.Origin = c.model(d.Origin)
	d.Radius *= c.scale
	d.Radius2 *= c.scale
	d.Extent[0] *= c.scale
	d.Extent[1] *= c.scale
	return d
}
