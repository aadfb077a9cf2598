package find

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit"
)

// sphere is a spherical face of a part, such as of a ball or its socket.
type sphere struct {
	centre r3.Vec
	radius float64
	area   float64 // of the face, square model units
	shift  float64 // how well the centre is known, model units
	socket bool    // the material is outside
}

const (
	leastBall      = 12   // vertices
	ballCover      = 0.12 // least share of the whole sphere's area
	mostSpheres    = 64   // of a part
	leastBallSize  = 4e-3 // radius, of the part's diagonal
	leastBallBends = 2e-3 // of the normals in the direction that they spread least in
)

// ball gathers the spherical face round a few triangles.
func (g *grower) ball(near []int32) bool {
	if len(g.balls) == mostSpheres {
		return false
	}
	s, ok := g.from(near, gentleBend, leastBall, g.ballGuess)
	if !ok {
		return false
	}
	b := sphere{centre: s.Origin, radius: s.Radius, socket: s.inside, shift: max(s.SigmaOrigin, fileRounding*s.Radius)}
	for _, t := range s.tris {
		b.area += r3.Norm(g.mesh.AreaNormal(int(t))) / 2
	}
	if b.area < ballCover*4*math.Pi*b.radius*b.radius || b.radius < leastBallSize*g.size {
		return false
	}
	g.take(s)
	g.balls = append(g.balls, b)
	return true
}

// ballGuess fits a sphere to the vertices of a few triangles by the algebraic
// distance; it is false where their normals do not spread both ways, as they do
// not on a cylinder.
func (g *grower) ballGuess(near []int32) (fit.Datum, bool) {
	v, _, ok := g.spread(near)
	if !ok || v[0] < leastBallBends*(v[0]+v[1]+v[2]) {
		return fit.Datum{}, false
	}
	p := g.vertsOf(near)
	o, r, ok := sphereThrough(p)
	return fit.Datum{Kind: fit.Sphere, Origin: o, Radius: r}, ok && r < g.size
}

// sphereThrough fits a sphere by |p|^2 = 2 c p + (r^2 - c^2), least squares.
func sphereThrough(p []r3.Vec) (c r3.Vec, r float64, ok bool) {
	var mid r3.Vec
	for _, q := range p {
		mid = r3.Add(mid, q)
	}
	n := float64(len(p))
	mid = r3.Scale(1/n, mid)
	var m [3][3]float64
	var b [3]float64
	all := 0.0
	for _, q := range p {
		d := r3.Sub(q, mid)
		x := [3]float64{d.X, d.Y, d.Z}
		w := r3.Norm2(d)
		all += w
		for i := range 3 {
			b[i] += x[i] * w / 2
			for j := range 3 {
				m[i][j] += x[i] * x[j]
			}
		}
	}
	inv, ok := inverse(m)
	if !ok {
		return c, 0, false
	}
	var x [3]float64
	for i := range 3 {
		x[i] = inv[i][0]*b[0] + inv[i][1]*b[1] + inv[i][2]*b[2]
	}
	c = r3.Vec{X: x[0], Y: x[1], Z: x[2]}
	r = math.Sqrt(all/n + r3.Norm2(c))
	return r3.Add(mid, c), r, r < math.MaxFloat64
}
