package fit

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// circleModel is a circle in space: six parameters, and two residuals for
// each point, first all radial ones, then all heights above the circle's
// plane. Their squares add up to the true orthogonal distance.
type circleModel struct {
	c         *cloud
	ring, cur ring
	sec       *section
}

// rise is the circle's shift along its normal.
const rise = shared

func newCircleModel(c *cloud) *circleModel { return &circleModel{c: c, sec: new(section)} }

func (m *circleModel) kind() Kind { return Circle }

func (m *circleModel) bind(c *cloud) { m.c = c }

func (m *circleModel) clone() model { d := *m; return &d }

func (m *circleModel) Size() (int, int) { return 2 * m.c.len(), shared + 1 }

func (m *circleModel) Eval(lo, hi int, r []float64, jac [][]float64) {
	n := m.c.len()
	if mid := min(hi, n) - lo; mid > 0 {
		m.cur.eval(m.c, lo, lo+mid, r[:mid], jac, nil)
		if jac != nil {
			clear(jac[rise][:mid])
		}
	}
	if first := max(lo, n); first < hi {
		var at [shared + 1][]float64
		for j := range jac {
			at[j] = jac[j][first-lo:]
		}
		m.heights(first-n, hi-n, r[first-lo:], at[:len(jac)])
	}
}

func (m *circleModel) heights(lo, hi int, r []float64, jac [][]float64) {
	n, t, a, s := m.cur.n, m.cur.t, m.cur.a, m.cur.s.Z
	for i := lo; i < hi; i++ {
		p := m.c.at(i)
		r[i-lo] = r3.Dot(a, p) - s
		if len(jac) != 0 {
			jac[tiltN][i-lo] = -r3.Dot(t, p)
			jac[tiltT][i-lo] = r3.Dot(n, p)
			jac[swing][i-lo], jac[shift][i-lo], jac[curve][i-lo] = 0, 0, 0
			jac[rise][i-lo] = -1
		}
	}
}

func (m *circleModel) Try(d []float64) {
	m.cur = m.ring.moved(d, r3.Vec{X: d[shift], Z: d[rise]})
}

func (m *circleModel) Accept() { m.ring = m.cur }

func (m *circleModel) begin(g guess) bool {
	var ok bool
	m.ring, ok = ringAbout(m.c, g)
	h := 0.0
	for i := range m.c.x {
		h += r3.Dot(m.ring.a, m.c.at(i))
	}
	m.ring.s.Z = h / float64(m.c.len())
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
