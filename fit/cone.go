package fit

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// coneModel is a ring that grows along its axis with slope tan psi: six
// parameters. The residual cos psi D - sin psi H, with D the distance from the
// section's cylinder and H the height above the section, is the distance from
// the cone's surface line through the point's axial plane.
type coneModel struct {
	c         *cloud
	cone, cur taper
	sec       *section
}

type taper struct {
	ring
	psi float64
}

// slope is the cone's half-angle parameter.
const slope = shared

func newConeModel(c *cloud) *coneModel { return &coneModel{c: c, sec: new(section)} }

func (m *coneModel) kind() Kind { return Cone }

func (m *coneModel) bind(c *cloud) { m.c = c }

func (m *coneModel) clone() model { d := *m; return &d }

func (m *coneModel) Size() (int, int) { return m.c.len(), shared + 1 }

func (m *coneModel) Eval(lo, hi int, r []float64, jac [][]float64) {
	m.cur.eval(m.c, lo, hi, r, jac, m.sec)
	sin, cos := math.Sincos(m.cur.psi)
	h := m.sec.h[:len(r)]
	if jac == nil {
		for i := range r {
			r[i] = cos*r[i] - sin*h[i]
		}
		return
	}
	pn, pt := m.sec.n[:len(r)], m.sec.t[:len(r)]
	jn, jt, js := jac[tiltN][:len(r)], jac[tiltT][:len(r)], jac[swing][:len(r)]
	jr, jk, jp := jac[shift][:len(r)], jac[curve][:len(r)], jac[slope][:len(r)]
	for i := range r {
		jn[i] = cos*jn[i] + sin*pt[i]
		jt[i] = cos*jt[i] - sin*pn[i]
		js[i] *= cos
		jr[i] *= cos
		jk[i] *= cos
		jp[i] = -sin*r[i] - cos*h[i]
		r[i] = cos*r[i] - sin*h[i]
	}
}

func (m *coneModel) Try(d []float64) {
	m.cur = taper{ring: m.cone.moved(d, r3.Vec{X: d[shift]}), psi: m.cone.psi + d[slope]}
}

func (m *coneModel) Accept() { m.cone = m.cur }

func (m *coneModel) settle() bool {
	before := m.cone
	if m.cone.k < 0 {
		m.cone.ring = m.cone.flipped()
		m.cone.psi = -m.cone.psi
	}
	m.cone.psi = math.Remainder(m.cone.psi, math.Pi)
	if m.cone.psi < 0 {
		m.cone.pose = m.cone.reversed()
		m.cone.psi = -m.cone.psi
	}
	m.cur = m.cone
	return m.cone != before
}

// apex returns the cone's apex in (n, t, a) coordinates.
func (t taper) apex() r3.Vec {
	c := t.centre()
	c.Z -= 1 / (t.k * math.Tan(t.psi))
	return c
}

func (m *coneModel) datum() Datum {
	return Datum{Kind: Cone, Origin: m.cone.world(m.cone.apex()), Axis: m.cone.a, HalfAngle: m.cone.psi}
}

func (m *coneModel) sensitivity() sensitivity {
	const p = shared + 1
	k, sin, cos := m.cone.k, math.Sin(m.cone.psi), math.Cos(m.cone.psi)
	s := sensitivity{axis: axisSensitivity(p), origin: zeros(3, p), half: make([]float64, p)}
	s.origin[0][shift], s.origin[0][curve] = 1, -1/(k*k)
	s.origin[1][swing] = 1 / k
	s.origin[2][curve] = cos / (sin * k * k)
	s.origin[2][slope] = 1 / (k * sin * sin)
	turning(s.origin, m.cone.apex())
	s.half[slope] = 1
	return s
}
