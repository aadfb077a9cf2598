package fit

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// quadratic is the curve or surface a |p|^2 + b.p + c = 0.
type quadratic struct {
	a float64
	b [3]float64
	c float64
}

// bend returns the curvature form of the quadratic: the unit direction n from
// the origin to its centre, the coordinate along n of its point nearest the
// origin, and its curvature. A straight line or plane has curvature zero; any
// n serves if the origin is the centre. It fails for an imaginary circle.
func (q quadratic) bend() (n [3]float64, s, k float64, ok bool) {
	b := math.Sqrt(q.b[0]*q.b[0] + q.b[1]*q.b[1] + q.b[2]*q.b[2])
	disc := b*b - 4*q.a*q.c
	if !(disc > 0) {
		return n, 0, 0, false
	}
	sign := math.Copysign(1, q.a) // the curvature comes out positive
	root := math.Sqrt(disc)
	n = [3]float64{1}
	if b > 1e-14*root {
		n = [3]float64{-sign * q.b[0] / b, -sign * q.b[1] / b, -sign * q.b[2] / b}
	}
	return n, sign * 2 * q.c / (b + root), sign * 2 * q.a / root, true
}

// taubin fits a circle (dim 2) or sphere (dim 3) to m points by Taubin's
// normalisation, whose bias on short arcs is far smaller than that of the
// linear fit. at returns point i. Source: N. Chernov, Circular and Linear
// Regression (2010), section 5.9.
func taubin(dim, m int, at func(i int) [3]float64) (quadratic, bool) {
	pts := make([][3]float64, m)
	var mean [3]float64
	for i := range pts {
		p := at(i)
		pts[i] = p
		mean[0], mean[1], mean[2] = mean[0]+p[0], mean[1]+p[1], mean[2]+p[2]
	}
	inv := 1 / float64(m)
	mean[0], mean[1], mean[2] = inv*mean[0], inv*mean[1], inv*mean[2]
	z := 0.0
	for i := range pts {
		z += squareFrom(&pts[i], &mean)
	}
	z *= inv
	if !(z > 0) {
		return quadratic{}, false
	}
	s := symmetric{n: dim + 1}
	half := 0.5 / math.Sqrt(z)
	for i := range pts {
		p := &pts[i]
		s.add4(half*(squareFrom(p, &mean)-z), p[0]-mean[0], p[1]-mean[1], p[2]-mean[2])
	}
	_, vectors := s.eigen()
	v := vectors[0]
	q := quadratic{a: v[0] / (2 * math.Sqrt(z))}
	shift := 0.0
	for d := 0; d < dim; d++ {
		q.b[d] = v[d+1] - 2*q.a*mean[d]
		shift += q.a*mean[d]*mean[d] - v[d+1]*mean[d]
	}
	q.c = shift - q.a*z
	return q, true
}

func squareFrom(p, mean *[3]float64) float64 {
	x, y, z := p[0]-mean[0], p[1]-mean[1], p[2]-mean[2]
	return x*x + y*y + z*z
}

func taubinBall(c *cloud) (ball, bool) {
	q, ok := taubin(3, c.len(), func(i int) [3]float64 { return [3]float64{c.x[i], c.y[i], c.z[i]} })
	if !ok {
		return ball{}, false
	}
	n, s, k, ok := q.bend()
	lead := r3.Vec{X: n[0], Y: n[1], Z: n[2]}
	f := poseAlong(lead, r3.Vec{})
	p := pose{n: lead, t: f.n, a: r3.Cross(lead, f.n), s: r3.Vec{X: s}}
	return ball{pose: p, k: k}, ok
}

// ringAbout fits a circle to the points projected along the guessed axis.
func ringAbout(c *cloud, g guess) (ring, bool) {
	f := poseAlong(g.dir, r3.Vec{})
	q, ok := taubin(2, c.len(), func(i int) [3]float64 {
		p := c.at(i)
		return [3]float64{r3.Dot(f.n, p), r3.Dot(f.t, p)}
	})
	if !ok {
		return ring{}, false
	}
	n, s, k, ok := q.bend()
	toward := r3.Add(r3.Scale(n[0], f.n), r3.Scale(n[1], f.t))
	p := poseAlong(g.dir, toward)
	p.s.X = s
	return ring{pose: p, k: k}, ok
}

// ringAt returns the ring of the given radius about the axis that passes
// through the point (u, v) of the frame f, at height h.
func ringAt(f pose, u, v, radius, h float64) ring {
	toward := r3.Add(r3.Scale(u, f.n), r3.Scale(v, f.t))
	p := poseAlong(f.a, toward)
	off := math.Hypot(u, v)
	if off <= 1e-12 {
		off = 0
	}
	p.s = r3.Vec{X: off - radius, Z: h}
	return ring{pose: p, k: 1 / radius}
}

// begin fits a cone about the guessed direction. With the axis along h the
// cone is x^2 + y^2 = 2 cx x + 2 cy y + t^2 h^2 + 2 R t h + const, linear in
// its coefficients; a located axis leaves a straight line in (rho, h).
func (m *coneModel) begin(g guess) bool {
	f := poseAlong(g.dir, r3.Vec{})
	var u, v, radius, tan float64
	if g.located {
		u, v = r3.Dot(f.n, g.point), r3.Dot(f.t, g.point)
		radius, tan = taperLine(m.c, f, u, v)
	} else {
		var ok bool
		if u, v, radius, tan, ok = taperLinear(m.c, f); !ok {
			return false
		}
	}
	if !(radius > 1e-9) || math.IsInf(tan, 0) || math.IsNaN(tan) {
		return false
	}
	m.cone = taper{ring: ringAt(f, u, v, radius, 0), psi: math.Atan(tan)}
	m.cur = m.cone
	return true
}

// taperLinear solves the linear form of the cone about a direction.
func taperLinear(c *cloud, f pose) (u, v, radius, tan float64, ok bool) {
	b := c.leastSquares(5, func(i int, out []float64) {
		p := c.at(i)
		x, y, h := r3.Dot(f.n, p), r3.Dot(f.t, p), r3.Dot(f.a, p)
		out[0], out[1], out[2], out[3], out[4], out[5] = x, y, h*h, h, 1, -(x*x + y*y)
	})
	u, v = b[0]/2, b[1]/2
	square := b[4] + u*u + v*v
	if !(square > 0) {
		return 0, 0, 0, 0, false
	}
	radius = math.Sqrt(square)
	return u, v, radius, b[3] / (2 * radius), true
}

// taperLine fits rho = radius + tan h about a located axis.
func taperLine(c *cloud, f pose, u, v float64) (radius, tan float64) {
	var n, sh, sr, shh, shr float64
	for i := range c.x {
		p := c.at(i)
		h, r := r3.Dot(f.a, p), math.Hypot(r3.Dot(f.n, p)-u, r3.Dot(f.t, p)-v)
		n, sh, sr, shh, shr = n+1, sh+h, sr+r, shh+h*h, shr+h*r
	}
	tan = (n*shr - sh*sr) / (n*shh - sh*sh)
	return (sr - tan*sh) / n, tan
}

// begin fits a torus about the guessed axis: a circle to the projected points
// locates an axis that is not given, a circle in the profile (rho, h) is the
// tube.
func (m *torusModel) begin(g guess) bool {
	f := poseAlong(g.dir, r3.Vec{})
	u, v := r3.Dot(f.n, g.point), r3.Dot(f.t, g.point)
	if !g.located {
		b, ok := ringAbout(m.c, g)
		if !ok || b.k < 1e-6 {
			return false
		}
		centre := b.world(b.centre())
		u, v = r3.Dot(f.n, centre), r3.Dot(f.t, centre)
	}
	profile := func(i int) [3]float64 {
		p := m.c.at(i)
		return [3]float64{math.Hypot(r3.Dot(f.n, p)-u, r3.Dot(f.t, p)-v), r3.Dot(f.a, p)}
	}
	n := m.c.len()
	q, ok := taubin(2, n, profile)
	if !ok {
		return false
	}
	dir, s, k, ok := q.bend()
	if !ok || k < 1e-6 {
		return false
	}
	r := 1 / k
	major, height := dir[0]*(s+r), dir[1]*(s+r)
	if !(major > -0.5*r) {
		return false
	}
	m.put(m.c, f, u, v, major, height, r)
	return true
}
