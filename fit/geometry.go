package fit

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// Distance returns the orthogonal distance of p from the datum in model
// units: signed for surfaces, positive on the side that a plane's Axis points
// to and outside of a sphere, cylinder, cone or torus; never negative for a
// point, line or circle. Lines, planes and cylinders are unbounded, a cone is
// one nappe from its apex on.
func (d Datum) Distance(p r3.Vec) float64 {
	q := r3.Sub(p, d.Origin)
	switch d.Kind {
	case Plane:
		return r3.Dot(q, d.Axis)
	case Sphere:
		return r3.Norm(q) - d.Radius
	case Line:
		return r3.Norm(r3.Cross(d.Axis, q))
	}
	if d.Kind == Point || d.Axis == (r3.Vec{}) {
		return r3.Norm(q)
	}
	h := r3.Dot(q, d.Axis)
	rho := r3.Norm(r3.Cross(d.Axis, q))
	switch d.Kind {
	case Circle:
		return math.Hypot(rho-d.Radius, h)
	case Cylinder:
		return rho - d.Radius
	case Cone:
		sin, cos := math.Sincos(d.HalfAngle)
		if h*cos+rho*sin < 0 {
			return math.Hypot(rho, h)
		}
		return rho*cos - h*sin
	case Torus:
		return math.Hypot(rho-d.Radius, h) - d.Radius2
	}
	return r3.Norm(q)
}

// Project returns the point of the datum nearest to p. Where there are
// several, as on the axis of a cylinder, it returns one of them, always the
// same.
func (d Datum) Project(p r3.Vec) r3.Vec {
	q := r3.Sub(p, d.Origin)
	switch d.Kind {
	case Point:
		return d.Origin
	case Line:
		return r3.Add(d.Origin, r3.Scale(r3.Dot(q, d.Axis), d.Axis))
	case Plane:
		return r3.Sub(p, r3.Scale(r3.Dot(q, d.Axis), d.Axis))
	case Sphere:
		return r3.Add(d.Origin, r3.Scale(d.Radius, outward(q, r3.Vec{Z: 1})))
	}
	h, radial, rho := d.cylindrical(q)
	switch d.Kind {
	case Circle:
		return r3.Add(d.Origin, r3.Scale(d.Radius, radial))
	case Cylinder:
		return r3.Add(d.Origin, r3.Add(r3.Scale(h, d.Axis), r3.Scale(d.Radius, radial)))
	case Cone:
		sin, cos := math.Sincos(d.HalfAngle)
		s := max(0, h*cos+rho*sin)
		return r3.Add(d.Origin, r3.Add(r3.Scale(s*cos, d.Axis), r3.Scale(s*sin, radial)))
	case Torus:
		spine := r3.Scale(d.Radius, radial)
		return r3.Add(d.Origin, r3.Add(spine, r3.Scale(d.Radius2, outward(r3.Sub(q, spine), d.Axis))))
	}
	return d.Origin
}

// Normal returns the unit normal of the datum at the point nearest to p: the
// direction in which Distance grows. For a point, line or circle it points
// from the datum to p.
func (d Datum) Normal(p r3.Vec) r3.Vec {
	q := r3.Sub(p, d.Origin)
	switch d.Kind {
	case Plane:
		return d.Axis
	case Point, Sphere:
		return outward(q, r3.Vec{Z: 1})
	}
	h, radial, rho := d.cylindrical(q)
	switch d.Kind {
	case Circle, Torus:
		return outward(r3.Sub(q, r3.Scale(d.Radius, radial)), d.Axis)
	case Cone:
		sin, cos := math.Sincos(d.HalfAngle)
		if h*cos+rho*sin < 0 {
			return outward(q, d.Axis)
		}
		return r3.Sub(r3.Scale(cos, radial), r3.Scale(sin, d.Axis))
	}
	return radial
}

// cylindrical splits q into its height along the axis, the unit radial
// direction and the radius; on the axis any radial direction serves.
func (d Datum) cylindrical(q r3.Vec) (h float64, radial r3.Vec, rho float64) {
	h = r3.Dot(q, d.Axis)
	v := r3.Sub(q, r3.Scale(h, d.Axis))
	rho = r3.Norm(v)
	if rho <= 1e-14*math.Abs(h) || rho == 0 {
		return h, anyNormal(d.Axis), rho
	}
	// Once more perpendicular: near the axis v is mostly rounding along it.
	radial = r3.Scale(1/rho, v)
	radial = r3.Sub(radial, r3.Scale(r3.Dot(radial, d.Axis), d.Axis))
	return h, r3.Unit(radial), rho
}

// outward returns the unit vector along q, or fallback for a zero q.
func outward(q, fallback r3.Vec) r3.Vec {
	l := r3.Norm(q)
	if l == 0 {
		return fallback
	}
	return r3.Scale(1/l, q)
}

// Transformed returns the datum after the rigid motion p -> p.X x + p.Y y +
// p.Z z + t, where x, y and z are the columns of a rotation matrix. The
// quality numbers do not change.
func (d Datum) Transformed(x, y, z, t r3.Vec) Datum {
	turn := func(v r3.Vec) r3.Vec {
		return r3.Add(r3.Add(r3.Scale(v.X, x), r3.Scale(v.Y, y)), r3.Scale(v.Z, z))
	}
	d.Origin = r3.Add(turn(d.Origin), t)
	d.Axis = turn(d.Axis)
	return d
}
