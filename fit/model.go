package fit

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// model is one datum kind as a least-squares problem over a cloud, in unit
// space. The accepted state is the fit.
type model interface {
	Problem
	kind() Kind
	// bind makes c the cloud to fit, keeping the state.
	bind(c *cloud)
	// clone copies the state; the copy shares the cloud.
	clone() model
	// begin sets the state from an axis guess by an algebraic fit, or says
	// that it cannot.
	begin(g guess) bool
	// settle brings the accepted state to the sign convention (positive
	// radii, cone axis from apex to base) and says whether that changed it.
	settle() bool
	// datum returns the geometry of the accepted state in unit space.
	datum() Datum
	// sensitivity returns how the datum answers the parameters.
	sensitivity() sensitivity
}

// guess is a possible axis in unit space.
type guess struct {
	dir     r3.Vec
	point   r3.Vec // on the axis, if located
	located bool
}

// sensitivity holds derivatives of the datum by the displacement parameters,
// one row for each component.
type sensitivity struct {
	axis    [][]float64 // two tilts
	origin  [][]float64 // principal offsets of the located point
	radius  []float64
	radius2 []float64
	half    []float64
}

// The parameters that the surfaces of revolution share, in this order.
const (
	tiltN  = iota // rotation about n through the origin
	tiltT         // rotation about t through the origin
	swing         // rotation of n about a through the surface point
	shift         // of the surface point along n (torus: along the tube normal)
	curve         // curvature of the section circle
	shared        // number of shared parameters
)

// ring is the section circle of a surface of revolution: it passes through
// the surface point s of its pose with signed curvature k, centre on the n
// side.
type ring struct {
	pose
	k float64
}

// centre returns the point where the axis crosses the section's plane, in
// (n, t, a) coordinates.
func (g ring) centre() r3.Vec { return r3.Vec{X: g.s.X + 1/g.k, Y: g.s.Y, Z: g.s.Z} }

// flipped turns the ring's frame so that the curvature changes sign.
func (g ring) flipped() ring { return ring{pose: g.aboutAxis(), k: -g.k} }

func (g ring) moved(delta []float64, d r3.Vec) ring {
	return ring{pose: g.pose.moved(d, delta[swing], delta[tiltN], delta[tiltT]), k: g.k + delta[curve]}
}

// section holds a block's points in a ring's frame.
type section struct {
	n, t, h [blockRows]float64 // coordinates along n and t from the origin; height above s
}

// eval writes the signed distance of points lo..hi from the ring's cylinder
// into d and, unless jac is nil, its derivatives by the shared parameters into
// the first columns of jac.
//
// With q the offset from s in the (n, t) plane, u = 1 - k qn and v = k qt, the
// centre lies at distance S/k, S = hypot(u, v), and the unit gradient is
// (-u, v)/S. Turning the surface by w about the origin moves a point by p x w
// relative to it.
func (g *ring) eval(c *cloud, lo, hi int, d []float64, jac [][]float64, sec *section) {
	x, y, z := c.x[lo:hi], c.y[lo:hi], c.z[lo:hi]
	y, z, d = y[:len(x)], z[:len(x)], d[:len(x)]
	n, t, a, s, k := g.n, g.t, g.a, g.s, g.k
	if jac == nil {
		for i := range x {
			pn := n.X*x[i] + n.Y*y[i] + n.Z*z[i]
			pt := t.X*x[i] + t.Y*y[i] + t.Z*z[i]
			qn, qt := pn-s.X, pt-s.Y
			u, v := 1-k*qn, k*qt
			d[i] = chord(qn, qn*qn+qt*qt, k, math.Sqrt(u*u+v*v))
			if sec != nil {
				sec.n[i], sec.t[i] = pn, pt
				sec.h[i] = a.X*x[i] + a.Y*y[i] + a.Z*z[i] - s.Z
			}
		}
		return
	}
	jn, jt, js := jac[tiltN][:len(x)], jac[tiltT][:len(x)], jac[swing][:len(x)]
	jr, jk := jac[shift][:len(x)], jac[curve][:len(x)]
	for i := range x {
		pn := n.X*x[i] + n.Y*y[i] + n.Z*z[i]
		pt := t.X*x[i] + t.Y*y[i] + t.Z*z[i]
		pa := a.X*x[i] + a.Y*y[i] + a.Z*z[i]
		qn, qt := pn-s.X, pt-s.Y
		u, v := 1-k*qn, k*qt
		sq := qn*qn + qt*qt
		size := math.Sqrt(u*u + v*v)
		inv, w := 1/size, 1/(1+size)
		di := (k*sq - 2*qn) * w
		gn, gt := -u*inv, v*inv
		d[i] = di
		jn[i] = gt * pa
		jt[i] = -gn * pa
		js[i] = -qt * inv
		jr[i] = -gn
		jk[i] = (sq - di*(k*sq-qn)*inv) * w
		if sec != nil {
			sec.n[i], sec.t[i], sec.h[i] = pn, pt, pa-s.Z
		}
	}
}

// axisSensitivity holds what tilting does to the axis direction: a turn about
// n moves it along -t, one about t along n.
func axisSensitivity(params int) [][]float64 {
	along := make([]float64, params)
	across := make([]float64, params)
	along[tiltT], across[tiltN] = 1, -1
	return [][]float64{along, across}
}

// turning adds to the three rows of an origin's sensitivity what tilting does
// to the point p, given in (n, t, a) coordinates: w x p.
func turning(rows [][]float64, p r3.Vec) {
	rows[0][tiltT] += p.Z
	rows[1][tiltN] -= p.Z
	rows[2][tiltN] += p.Y
	rows[2][tiltT] -= p.X
}

func zeros(rows, params int) [][]float64 {
	out := make([][]float64, rows)
	for i := range out {
		out[i] = make([]float64, params)
	}
	return out
}
