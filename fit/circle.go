package fit

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// circleModel is a circle in space: six parameters. The residuals are the
// radial distance of each point and then four that stand for all heights above
// the circle's plane: heights are linear in the points, so the triangular
// factor of the points has the same sum of squares and the same products with
// the derivatives. All squares add up to the true orthogonal distance.
type circleModel struct {
	c         *cloud
	ring, cur ring
}

// rise is the circle's shift along its normal.
const rise = shared

// flatRows is the number of residuals that the heights are reduced to.
const flatRows = 4

func newCircleModel(c *cloud) *circleModel { return &circleModel{c: c} }

func (m *circleModel) kind() Kind { return Circle }

func (m *circleModel) bind(c *cloud) { m.c = c }

func (m *circleModel) clone() model { d := *m; return &d }

func (m *circleModel) Size() (int, int) { return m.c.len() + flatRows, shared + 1 }

func (m *circleModel) Eval(lo, hi int, r []float64, jac [][]float64) {
	n := m.c.len()
	if mid := min(hi, n) - lo; mid > 0 {
		m.cur.eval(m.c, lo, lo+mid, r[:mid], jac, nil)
		if jac != nil {
			clear(jac[rise][:mid])
		}
	}
	for i := max(lo, n); i < hi; i++ {
		m.flat(i-n, i-lo, r, jac)
	}
}

// flat writes row i of the reduced heights into place at. The first three rows
// are those of the centred points, the last is their centroid.
func (m *circleModel) flat(i, at int, r []float64, jac [][]float64) {
	f := m.c.factor()
	p, one := f.row(i), 0.0
	if i == flatRows-1 {
		one = math.Sqrt(float64(m.c.len()))
		p = r3.Scale(one, f.mean)
	}
	r[at] = r3.Dot(m.cur.a, p) - one*m.cur.s.Z
	if jac != nil {
		jac[tiltN][at] = -r3.Dot(m.cur.t, p)
		jac[tiltT][at] = r3.Dot(m.cur.n, p)
		jac[swing][at], jac[shift][at], jac[curve][at] = 0, 0, 0
		jac[rise][at] = -one
	}
}

func (m *circleModel) Try(d []float64) {
	m.cur = m.ring.moved(d, r3.Vec{X: d[shift], Z: d[rise]})
}

func (m *circleModel) Accept() { m.ring = m.cur }

func (m *circleModel) begin(g guess) bool {
	var ok bool
	m.ring, ok = ringAbout(m.c, g)
	m.ring.s.Z = r3.Dot(m.ring.a, m.c.factor().mean)
	m.cur = m.ring
	return ok
}

func (m *circleModel) settle() bool {
	flip := m.ring.k < 0
	if flip {
		m.ring = m.ring.flipped()
	}
	m.cur = m.ring
	return flip
}

func (m *circleModel) datum() Datum {
	return Datum{Kind: Circle, Origin: m.ring.world(m.ring.centre()), Axis: m.ring.a, Radius: math.Abs(1 / m.ring.k)}
}

func (m *circleModel) sensitivity() sensitivity {
	const p = shared + 1
	k := m.ring.k
	s := sensitivity{axis: axisSensitivity(p), origin: zeros(3, p), radius: make([]float64, p)}
	s.origin[0][shift], s.origin[0][curve] = 1, -1/(k*k)
	s.origin[1][swing] = 1 / k
	s.origin[2][rise] = 1
	turning(s.origin, m.ring.centre())
	s.radius[curve] = -1 / (k * k)
	return s
}
