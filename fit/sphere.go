package fit

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// ball is a sphere through the surface point s of its pose with signed
// curvature k, its centre on the n side.
type ball struct {
	pose
	k float64
}

// sphereModel has four parameters: n swings towards t and towards a, the
// surface point shifts along n, the curvature changes.
type sphereModel struct {
	c         *cloud
	ball, cur ball
}

const (
	swingT = iota
	swingA
	ballShift
	ballCurve
	ballParams
)

func (m *sphereModel) kind() Kind { return Sphere }

func (m *sphereModel) bind(c *cloud) { m.c = c }

func (m *sphereModel) clone() model { d := *m; return &d }

func (m *sphereModel) Size() (int, int) { return m.c.len(), ballParams }

// Eval works as ring.eval does, in three dimensions.
func (m *sphereModel) Eval(lo, hi int, r []float64, jac [][]float64) {
	n, t, a, k := m.cur.n, m.cur.t, m.cur.a, m.cur.k
	s := m.cur.s
	x, y, z := m.c.x[lo:hi], m.c.y[lo:hi], m.c.z[lo:hi]
	y, z, r = y[:len(x)], z[:len(x)], r[:len(x)]
	var jt, ja, jr, jk []float64
	if jac != nil {
		jt, ja, jr, jk = jac[swingT][:len(x)], jac[swingA][:len(x)], jac[ballShift][:len(x)], jac[ballCurve][:len(x)]
	}
	for i := range x {
		qn := n.X*x[i] + n.Y*y[i] + n.Z*z[i] - s.X
		qt := t.X*x[i] + t.Y*y[i] + t.Z*z[i] - s.Y
		qa := a.X*x[i] + a.Y*y[i] + a.Z*z[i] - s.Z
		sq := qn*qn + qt*qt + qa*qa
		u, v := 1-k*qn, k*k*(qt*qt+qa*qa)
		size := math.Sqrt(u*u + v)
		w := 1 / (1 + size)
		d := (k*sq - 2*qn) * w
		r[i] = d
		if jac != nil {
			inv := 1 / size
			jt[i] = -qt * inv
			ja[i] = -qa * inv
			jr[i] = u * inv
			jk[i] = (sq - d*(k*sq-qn)*inv) * w
		}
	}
}

func (m *sphereModel) Try(d []float64) {
	b := m.ball
	s := b.world(r3.Add(b.s, r3.Vec{X: d[ballShift]}))
	// n turns towards t and a: a rotation by n x (that direction).
	w := r3.Sub(r3.Scale(d[swingT], b.a), r3.Scale(d[swingA], b.t))
	n := r3.Unit(turned(b.n, w))
	q := poseAlong(n, turned(b.t, w)) // here n is the leading axis
	p := pose{n: n, t: q.n, a: r3.Cross(n, q.n)}
	p.s = r3.Vec{X: r3.Dot(p.n, s), Y: r3.Dot(p.t, s), Z: r3.Dot(p.a, s)}
	m.cur = ball{pose: p, k: b.k + d[ballCurve]}
}

func (m *sphereModel) Accept() { m.ball = m.cur }

// begin fits algebraically, or, given a direction, starts from the plane
// through the centroid with that normal.
func (m *sphereModel) begin(g guess) bool {
	if g.dir == (r3.Vec{}) {
		b, ok := taubinBall(m.c)
		m.ball, m.cur = b, b
		return ok
	}
	q := poseAlong(g.dir, r3.Vec{})
	m.ball = ball{pose: pose{n: g.dir, t: q.n, a: r3.Cross(g.dir, q.n)}}
	m.cur = m.ball
	return true
}

func (m *sphereModel) settle() bool {
	b := &m.ball
	flip := b.k < 0
	if flip {
		b.n, b.t = r3.Scale(-1, b.n), r3.Scale(-1, b.t)
		b.s.X, b.s.Y = -b.s.X, -b.s.Y
		b.k = -b.k
	}
	m.cur = m.ball
	return flip
}

func (m *sphereModel) datum() Datum {
	b := m.ball
	return Datum{Kind: Sphere, Origin: b.world(r3.Add(b.s, r3.Vec{X: 1 / b.k})), Radius: math.Abs(1 / b.k)}
}

func (m *sphereModel) sensitivity() sensitivity {
	k := m.ball.k
	s := sensitivity{origin: zeros(3, ballParams), radius: make([]float64, ballParams)}
	s.origin[0][ballShift], s.origin[0][ballCurve] = 1, -1/(k*k)
	s.origin[1][swingT] = 1 / k
	s.origin[2][swingA] = 1 / k
	s.radius[ballCurve] = -1 / (k * k)
	return s
}
