package find

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// quickCircle fits a circle to points without iterating: their plane by least
// squares, and in it the circle of least algebraic distance (G. Taubin,
// Estimation of planar curves, surfaces and nonplanar space curves, 1991, by
// Newton's method after N. Chernov, Circular and Linear Regression, 2010). It
// is close enough to the best circle to refuse chains that lie on none. It is
// false for points on a line.
func quickCircle(p []r3.Vec) (c, axis r3.Vec, radius float64, ok bool) {
	var s planeSum
	for _, q := range p {
		s.add(q)
	}
	c, axis, ok = s.plane(r3.Vec{Z: 1})
	if !ok {
		return c, axis, 0, false
	}
	x := across(axis)
	y := r3.Cross(axis, x)
	var uu, uv, vv, uz, vz, zz float64
	w := 1 / float64(len(p))
	for _, q := range p {
		d := r3.Sub(q, c)
		u, v := r3.Dot(d, x), r3.Dot(d, y)
		z := u*u + v*v
		uu, uv, vv = uu+u*u*w, uv+u*v*w, vv+v*v*w
		uz, vz, zz = uz+u*z*w, vz+v*z*w, zz+z*z*w
	}
	z := uu + vv
	cov := uu*vv - uv*uv
	if !(cov > 1e-12*z*z) {
		return c, axis, 0, false
	}
	varZ := zz - z*z
	a3 := 4 * z
	a2 := -3*z*z - zz
	a1 := varZ*z + 4*cov*z - uz*uz - vz*vz
	a0 := uz*(uz*vv-vz*uv) + vz*(vz*uu-uz*uv) - varZ*cov
	at, last := 0.0, math.Inf(1)
	for range 20 {
		f := a0 + at*(a1+at*(a2+at*a3))
		next := at - f/(a1+at*(2*a2+3*at*a3))
		if math.IsNaN(next) || math.Abs(f) >= math.Abs(last) && at != 0 || math.Abs(next-at) < 1e-12*z {
			break
		}
		at, last = next, f
	}
	det := 2 * (at*at - at*z + cov)
	u, v := (uz*(vv-at)-vz*uv)/det, (vz*(uu-at)-uz*uv)/det
	radius = math.Sqrt(u*u + v*v + z)
	return r3.Add(c, r3.Add(r3.Scale(u, x), r3.Scale(v, y))), axis, radius, radius < math.MaxFloat64
}

// circleFit is a circle fitted to points with how well it is known.
type circleFit struct {
	centre, axis r3.Vec
	radius       float64
	tilt, shift  float64 // one standard deviation, radians and model units; NaN without redundancy
}

// fitCircle fits a circle by least squares of the distances in its plane and
// across it. To first order these do not depend on one another: the plane is
// that of quickCircle, and in it Gauss and Newton's steps lead from Taubin's
// circle to the best one. That is the orthogonal fit of package fit for points
// near a circle, at a small part of its cost.
func fitCircle(p []r3.Vec) (circleFit, bool) {
	c, axis, r, ok := quickCircle(p)
	if !ok {
		return circleFit{}, false
	}
	x := across(axis)
	y := r3.Cross(axis, x)
	var inv [3][3]float64
	for range 6 {
		var n [3][3]float64
		var g [3]float64
		for _, q := range p {
			d := r3.Sub(q, c)
			u, v := r3.Dot(d, x), r3.Dot(d, y)
			rho := math.Hypot(u, v)
			if rho == 0 {
				return circleFit{}, false
			}
			j := [3]float64{-u / rho, -v / rho, -1}
			for i := range 3 {
				g[i] -= j[i] * (rho - r)
				for k := range 3 {
					n[i][k] += j[i] * j[k]
				}
			}
		}
		if inv, ok = inverse(n); !ok {
			return circleFit{}, false
		}
		var step [3]float64
		for i := range 3 {
			step[i] = inv[i][0]*g[0] + inv[i][1]*g[1] + inv[i][2]*g[2]
		}
		c = r3.Add(c, r3.Add(r3.Scale(step[0], x), r3.Scale(step[1], y)))
		r += step[2]
		if !(r > 0) || math.IsInf(r, 0) {
			return circleFit{}, false
		}
		if math.Abs(step[0])+math.Abs(step[1])+math.Abs(step[2]) < 1e-13*r {
			break
		}
	}
	f := circleFit{centre: c, axis: axis, radius: r}
	f.tilt, f.shift = f.known(p, x, y, inv)
	return f, true
}

// known returns the standard deviations of axis and centre from the residuals
// across and in the plane.
func (f *circleFit) known(p []r3.Vec, x, y r3.Vec, inv [3][3]float64) (tilt, shift float64) {
	n := float64(len(p))
	free := n - 3
	if free <= 0 {
		return math.NaN(), math.NaN()
	}
	var radial, axial, su, sv, uu, uv, vv float64
	for _, q := range p {
		d := r3.Sub(q, f.centre)
		u, v, h := r3.Dot(d, x), r3.Dot(d, y), r3.Dot(d, f.axis)
		e := math.Hypot(u, v) - f.radius
		radial, axial = radial+e*e, axial+h*h
		su, sv, uu, uv, vv = su+u, sv+v, uu+u*u, uv+u*v, vv+v*v
	}
	uu, uv, vv = uu-su*su/n, uv-su*sv/n, vv-sv*sv/n
	least := (uu+vv)/2 - math.Hypot((uu-vv)/2, uv)
	most := (inv[0][0]+inv[1][1])/2 + math.Hypot((inv[0][0]-inv[1][1])/2, inv[0][1])
	return math.Sqrt(axial / free / least), math.Sqrt(radial / free * most)
}

// inverse returns the inverse of a symmetric matrix; it is false where that is
// lost in rounding.
func inverse(m [3][3]float64) (inv [3][3]float64, ok bool) {
	c := func(i, j int) float64 {
		a, b := (i+1)%3, (i+2)%3
		d, e := (j+1)%3, (j+2)%3
		return m[a][d]*m[b][e] - m[a][e]*m[b][d]
	}
	det := m[0][0]*c(0, 0) + m[0][1]*c(0, 1) + m[0][2]*c(0, 2)
	trace := m[0][0] + m[1][1] + m[2][2]
	if !(math.Abs(det) > 1e-14*trace*trace*trace) {
		return inv, false
	}
	for i := range 3 {
		for j := range 3 {
			inv[i][j] = c(j, i) / det
		}
	}
	return inv, true
}

// off is the distance of a point from the circle.
func (f *circleFit) off(p r3.Vec) float64 { return offCircle(p, f.centre, f.axis, f.radius) }
