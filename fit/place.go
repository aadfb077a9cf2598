package fit

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// place sets a model's state to a datum given by the caller in model units.
func place(m model, c *cloud, d Datum) error {
	d.Origin = c.unit(d.Origin)
	d.Radius /= c.scale
	d.Radius2 /= c.scale
	if l := r3.Norm(d.Axis); d.Kind != Sphere {
		if !(l > 0) || math.IsInf(l, 0) {
			return &OptionError{Option: "Start", Reason: "has no axis"}
		}
		d.Axis = r3.Scale(1/l, d.Axis)
	}
	if !assume(m, c, d) {
		return &OptionError{Option: "Start", Reason: "has no finite origin and positive size, or is a cone that opens away from the points"}
	}
	return nil
}

// replant writes the accepted state afresh with its surface point near the
// points of the cloud, where the parameters are least correlated. A state that
// has run to infinity stays as it is.
func replant(m model, c *cloud) { assume(m, c, m.datum()) }

// assume sets the state to a datum of unit space and reports whether that is a
// proper one.
func assume(m model, c *cloud, d Datum) bool {
	size := r3.Norm(d.Origin) + d.Radius + d.Radius2
	if !(size < 1e8) || (d.Kind != Cone && !(d.Radius > 0)) {
		return false
	}
	f := pose{}
	if d.Kind != Sphere {
		f = poseAlong(d.Axis, r3.Vec{})
	}
	u, v, h := r3.Dot(f.n, d.Origin), r3.Dot(f.t, d.Origin), r3.Dot(f.a, d.Origin)
	switch m := m.(type) {
	case *sphereModel:
		m.put(d.Origin, d.Radius)
	case *circleModel:
		m.ring = ringAt(f, u, v, d.Radius, h)
		m.cur = m.ring
	case *cylinderModel:
		m.ring = ringAt(f, u, v, d.Radius, 0)
		m.cur = m.ring
	case *coneModel:
		return m.put(c, f, u, v, h, d.HalfAngle)
	case *torusModel:
		if !(d.Radius2 > 0) {
			return false
		}
		m.put(c, f, u, v, d.Radius, h, d.Radius2)
	}
	return true
}

func (m *sphereModel) put(o r3.Vec, r float64) {
	n := outward(o, r3.Vec{Z: 1})
	q := poseAlong(n, r3.Vec{})
	p := pose{n: n, t: q.n, a: r3.Cross(n, q.n), s: r3.Vec{X: r3.Norm(o) - r}}
	m.ball = ball{pose: p, k: 1 / r}
	m.cur = m.ball
}

// put sets the cone with its apex at (u, v, h) of the frame f and its section
// at the mean height of the points, which must lie before the apex.
func (m *coneModel) put(c *cloud, f pose, u, v, h, half float64) bool {
	mean := c.centroid()
	level := r3.Dot(f.a, r3.Vec{X: mean[0], Y: mean[1], Z: mean[2]})
	radius := (level - h) * math.Tan(half)
	if !(radius > 0 && half < math.Pi/2) {
		return false
	}
	m.cone = taper{ring: ringAt(f, u, v, radius, level), psi: half}
	m.cur = m.cone
	return true
}

// put sets the torus about the axis of the frame f through (u, v), with its
// centre at height h. The surface point lies on the side of the tube where
// the points are, or, if they surround the tube, on its outside.
func (m *torusModel) put(c *cloud, f pose, u, v, major, h, minor float64) {
	var out, up float64
	for i := range c.x {
		p := c.at(i)
		out += math.Hypot(r3.Dot(f.n, p)-u, r3.Dot(f.t, p)-v) - major
		up += r3.Dot(f.a, p) - h
	}
	n := float64(c.len())
	l := math.Hypot(out, up)
	if l > 0.3*minor*n && major+minor*out/l > 0.2*major {
		out, up = out/l, up/l
	} else {
		out, up = 1, 0
	}
	b := ringAt(f, u, v, major+minor*out, h+minor*up)
	m.torus = hoop{ring: b, psi: math.Atan2(-up, -out), tube: 1 / minor}
	m.cur = m.torus
}
