package fit

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// cylinderModel is a ring swept along its axis: five parameters.
type cylinderModel struct {
	c         *cloud
	ring, cur ring
}

func (m *cylinderModel) kind() Kind { return Cylinder }

func (m *cylinderModel) bind(c *cloud) { m.c = c }

func (m *cylinderModel) clone() model { d := *m; return &d }

func (m *cylinderModel) Size() (int, int) { return m.c.len(), shared }

func (m *cylinderModel) Eval(lo, hi int, r []float64, jac [][]float64) {
	m.cur.eval(m.c, lo, hi, r, jac, nil)
}

func (m *cylinderModel) Try(d []float64) { m.cur = m.ring.moved(d, r3.Vec{X: d[shift]}) }

func (m *cylinderModel) Accept() { m.ring = m.cur }

func (m *cylinderModel) begin(g guess) bool {
	var ok bool
	m.ring, ok = ringAbout(m.c, g)
	m.cur = m.ring
	return ok
}

func (m *cylinderModel) settle() bool {
	flip := m.ring.k < 0
	if flip {
		m.ring = m.ring.flipped()
	}
	m.cur = m.ring
	return flip
}

func (m *cylinderModel) datum() Datum {
	c := m.ring.centre()
	c.Z = 0 // the point nearest the centroid
	return Datum{Kind: Cylinder, Origin: m.ring.world(c), Axis: m.ring.a, Radius: math.Abs(1 / m.ring.k)}
}

func (m *cylinderModel) sensitivity() sensitivity {
	k := m.ring.k
	s := sensitivity{axis: axisSensitivity(shared), origin: zeros(2, shared), radius: make([]float64, shared)}
	s.origin[0][shift], s.origin[0][curve] = 1, -1/(k*k)
	s.origin[1][swing] = 1 / k
	s.radius[curve] = -1 / (k * k)
	return s
}
