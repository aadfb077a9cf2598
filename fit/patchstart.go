package fit

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// paraboloid is the second-order shape of a patch: h = x'c + curvature over
// its plane of largest extent.
type paraboloid struct {
	at        r3.Vec // surface point over the centroid
	normal    r3.Vec
	dir       [2]r3.Vec // principal directions
	curvature [2]float64
}

// leastSquares solves a small linear problem with n unknowns over the cloud;
// row writes the coefficients and then the negative right-hand side of point
// i.
func (c *cloud) leastSquares(n int, row func(i int, out []float64)) []float64 {
	t := newTriangle(n)
	cols := make([][]float64, n+1)
	size := min(blockRows, c.len())
	buf := make([]float64, (n+1)*size)
	one := make([]float64, n+1)
	for lo := 0; lo < c.len(); lo += size {
		hi := min(lo+size, c.len())
		for j := range cols {
			cols[j] = buf[j*size : j*size+hi-lo]
		}
		for i := lo; i < hi; i++ {
			row(i, one)
			for j, v := range one {
				cols[j][i-lo] = v
			}
		}
		t.absorb(cols)
	}
	x := make([]float64, n)
	t.solve(x)
	return x
}

func (c *cloud) paraboloid(s spread) (paraboloid, bool) {
	if c.len() < 6 {
		return paraboloid{}, false
	}
	b := c.leastSquares(6, func(i int, out []float64) {
		p := c.at(i)
		x, y := r3.Dot(s.axis[0], p), r3.Dot(s.axis[1], p)
		out[0], out[1], out[2], out[3], out[4], out[5] = 1, x, y, x*x, x*y, y*y
		out[6] = -r3.Dot(s.axis[2], p)
	})
	sin, cos := math.Sincos(0.5 * math.Atan2(b[4], b[3]-b[5]))
	mean, half := b[3]+b[5], math.Hypot(b[3]-b[5], b[4])
	p := paraboloid{
		at:        r3.Scale(b[0], s.axis[2]),
		normal:    s.axis[2],
		curvature: [2]float64{mean + half, mean - half},
	}
	p.dir[0] = r3.Add(r3.Scale(cos, s.axis[0]), r3.Scale(sin, s.axis[1]))
	p.dir[1] = r3.Sub(r3.Scale(cos, s.axis[1]), r3.Scale(sin, s.axis[0]))
	return p, true
}

// torusGuesses lists axes for a piece of a torus. On a surface of revolution
// the centre of curvature of the parallel lies on the axis, and the axis lies
// in the plane of the normal and the meridian; where in that plane it points
// is a matter of third order, so several directions are tried. A short bent
// tube is a cylinder whose centre line is a parabola.
func (f *fitter) torusGuesses(c *cloud, s spread) []guess {
	var list []guess
	if p, ok := c.paraboloid(s); ok {
		for i, k := range p.curvature {
			if math.Abs(k) < 1e-3 {
				continue
			}
			centre := r3.Add(p.at, r3.Scale(1/k, p.normal))
			for j := 0; j < 8; j++ {
				sin, cos := math.Sincos(math.Pi * float64(j) / 8)
				dir := r3.Add(r3.Scale(cos, p.dir[1-i]), r3.Scale(sin, p.normal))
				list = append(list, guess{dir: dir, point: centre, located: true})
			}
		}
	}
	if c.len() <= sparse {
		list = append(list, located(hemisphere(gridSize))...)
	}
	return append(list, f.bentTubes(c, s)...)
}

// located spreads each direction's axis over positions about the centroid, up
// to four times the size of the points away.
func located(directions []guess) []guess {
	var list []guess
	for _, g := range directions {
		f := poseAlong(g.dir, r3.Vec{})
		g.located = true
		list = append(list, g)
		for i, r := range [...]float64{0.5, 1, 2, 4} {
			for k := range 6 {
				sin, cos := math.Sincos(math.Pi / 3 * (float64(k) + float64(i)/2))
				g.point = r3.Scale(r, r3.Add(r3.Scale(cos, f.n), r3.Scale(sin, f.t)))
				list = append(list, g)
			}
		}
	}
	return list
}

// bentTubes fits cylinders and reads the bend of the centre line from what
// they leave over: d = const + (shift + tilt h - kappa h^2/2) . u, u the unit
// radial direction.
func (f *fitter) bentTubes(c *cloud, s spread) []guess {
	m := &cylinderModel{c: c}
	tries := spreadOut(tryGuesses(m, c.guesses(s)), 6)
	var list []guess
	for _, t := range f.polish(c, tries) {
		if len(list) == 3 {
			break
		}
		g := t.m.(*cylinderModel).ring
		if !(g.k > 1e-3) {
			continue
		}
		centre := g.centre()
		b := c.leastSquares(7, func(i int, out []float64) {
			p := c.at(i)
			u, v, h := r3.Dot(g.n, p)-centre.X, r3.Dot(g.t, p)-centre.Y, r3.Dot(g.a, p)
			rho := math.Hypot(u, v)
			cos, sin := u/rho, v/rho
			out[0], out[1], out[2], out[3], out[4], out[5], out[6] = 1, cos, sin, h*cos, h*sin, h*h*cos/2, h*h*sin/2
			out[7] = -(rho - 1/g.k)
		})
		bend := r3.Add(r3.Scale(b[5], g.n), r3.Scale(b[6], g.t))
		toward := outward(bend, g.n)
		kappa := max(r3.Norm(bend), 1e-3) // straight tubes too must have a start
		centre.Z = 0
		point := r3.Add(g.world(centre), r3.Scale(1/kappa, toward))
		list = append(list, guess{dir: r3.Cross(g.a, toward), point: point, located: true})
	}
	return list
}
