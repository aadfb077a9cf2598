package fit

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// torusModel has seven parameters. The profile of a point in its axial plane
// is (D, H), D the distance outward from the ring through the surface point
// and H the height above it; the tube's section is a circle of curvature tube
// through the profile's origin, with its centre in the direction
// (cos psi, sin psi), which is also the direction of the shift. (D grows
// away from the axis, against n.)
type torusModel struct {
	c          *cloud
	torus, cur hoop
	sec        *section
}

type hoop struct {
	ring
	psi, tube float64
}

const (
	roll      = shared     // of the tube's section about the surface point
	tubeCurve = shared + 1 // curvature of the tube
	hoopCount = shared + 2
)

func newTorusModel(c *cloud) *torusModel { return &torusModel{c: c, sec: new(section)} }

func (m *torusModel) kind() Kind { return Torus }

func (m *torusModel) bind(c *cloud) { m.c = c }

func (m *torusModel) clone() model { d := *m; return &d }

func (m *torusModel) Size() (int, int) { return m.c.len(), hoopCount }

func (m *torusModel) Eval(lo, hi int, r []float64, jac [][]float64) {
	m.cur.eval(m.c, lo, hi, r, jac, m.sec)
	sin, cos := math.Sincos(m.cur.psi)
	k := m.cur.tube
	h, pn, pt := m.sec.h[:len(r)], m.sec.n[:len(r)], m.sec.t[:len(r)]
	if jac == nil {
		for i, d := range r {
			along := cos*d + sin*h[i]
			u, v := 1-k*along, k*(cos*h[i]-sin*d)
			r[i] = chord(along, d*d+h[i]*h[i], k, math.Sqrt(u*u+v*v))
		}
		return
	}
	jn, jt, js := jac[tiltN][:len(r)], jac[tiltT][:len(r)], jac[swing][:len(r)]
	jr, jk := jac[shift][:len(r)], jac[curve][:len(r)]
	jp, jc := jac[roll][:len(r)], jac[tubeCurve][:len(r)]
	for i, d := range r {
		h := h[i]
		along, across := cos*d+sin*h, cos*h-sin*d
		sq := d*d + h*h
		u, v := 1-k*along, k*across
		size := math.Sqrt(u*u + v*v)
		inv, w := 1/size, 1/(1+size)
		dist := (k*sq - 2*along) * w
		gd, gh := (k*d-cos)*inv, (k*h-sin)*inv
		r[i] = dist
		jn[i] = gd*jn[i] - gh*pt[i]
		jt[i] = gd*jt[i] + gh*pn[i]
		js[i] *= gd
		jr[i] = -gd*cos*jr[i] - gh*sin
		jk[i] *= gd
		jp[i] = -across * inv
		jc[i] = (sq - dist*(k*sq-along)*inv) * w
	}
}

func (m *torusModel) Try(d []float64) {
	t := m.torus
	sin, cos := math.Sincos(t.psi)
	m.cur = hoop{
		ring: t.moved(d, r3.Vec{X: -d[shift] * cos, Z: d[shift] * sin}),
		psi:  t.psi + d[roll],
		tube: t.tube + d[tubeCurve],
	}
}

func (m *torusModel) Accept() { m.torus = m.cur }

func (m *torusModel) settle() bool {
	before := m.torus
	t := &m.torus
	if t.k < 0 {
		t.ring = t.flipped()
		t.psi = math.Pi - t.psi
	}
	if t.tube < 0 {
		t.tube = -t.tube
		t.psi += math.Pi
	}
	t.psi = math.Remainder(t.psi, 2*math.Pi)
	m.cur = m.torus
	return m.torus != before
}

// centre returns the torus centre in (n, t, a) coordinates.
func (t hoop) centre() r3.Vec {
	c := t.ring.centre()
	c.Z += math.Sin(t.psi) / t.tube
	return c
}

// radius returns the radius of the tube's centre circle.
func (t hoop) radius() float64 { return 1/t.k + math.Cos(t.psi)/t.tube }

func (m *torusModel) datum() Datum {
	t := m.torus
	return Datum{
		Kind: Torus, Origin: t.world(t.centre()), Axis: t.a,
		Radius: t.radius(), Radius2: math.Abs(1 / t.tube),
	}
}

func (m *torusModel) sensitivity() sensitivity {
	t := m.torus
	sin, cos := math.Sincos(t.psi)
	k, tube := t.k, t.tube
	s := sensitivity{
		axis: axisSensitivity(hoopCount), origin: zeros(3, hoopCount),
		radius: make([]float64, hoopCount), radius2: make([]float64, hoopCount),
	}
	s.origin[0][shift], s.origin[0][curve] = -cos, -1/(k*k)
	s.origin[1][swing] = 1 / k
	s.origin[2][shift], s.origin[2][roll], s.origin[2][tubeCurve] = sin, cos/tube, -sin/(tube*tube)
	turning(s.origin, t.centre())
	s.radius[curve], s.radius[roll], s.radius[tubeCurve] = -1/(k*k), -sin/tube, -cos/(tube*tube)
	s.radius2[tubeCurve] = -1 / (tube * tube)
	return s
}
