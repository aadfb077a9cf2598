package find

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/find/slippage"
)

const (
	longSlide    = 4    // radii, of a barrel that is more likely to slide than to turn
	mostShoulder = 0.03 // of the mating area, that faces along the axis
	ballSlip     = 0.06 // root mean square speed across the faces of a ball
	ballKept     = 0.95 // share of the mating area that faces its centre
	ballOff      = 3e-3 // of the smaller part's diagonal, of the centre from the axis
	threadFit    = 0.7  // share of the variance of n.(a x r) that a pitch explains
	plainRod     = 0.97 // share of the surface of a rod that nothing keeps from turning
	threadLead   = 0.01 // radii, least slide for a radian of a thread
)

// kind tells a joint that turns from one that also slides, screws or turns
// every way, by its mating faces.
func (w *work) kind(l *link, c *Candidate) {
	if len(l.mates) < leastMates || c.Kind != Revolute {
		return
	}
	if o, ok := l.ball(c.Origin, c.Axis); ok {
		c.Kind, c.Origin, c.Confidence = Spherical, o, 0
		for _, h := range l.axes { // any turn about the centre will do
			if h.Kind == Revolute && fromLine(o, h.Origin, h.Axis.Axis) < ballOff*l.size {
				c.Confidence = min(c.Confidence+h.p, 1)
			}
		}
		return
	}
	if pitch, ok := l.thread(c.Origin, c.Axis); ok {
		c.Kind, c.Pitch = Screw, pitch
		return
	}
	if l.barrel(c.Origin, c.Axis) {
		c.Kind = Prismatic
		if w.parts[c.Child].turnedAbout(c.Origin, c.Axis) > plainRod {
			c.Kind = Cylindrical
		}
	}
}

func (l *link) faces() []slippage.Face {
	out := make([]slippage.Face, len(l.mates))
	for i, m := range l.mates {
		out[i] = slippage.Face{At: m.at, Normal: m.normal, Area: m.area}
	}
	return out
}

// ball returns the common centre, on the axis, of mating faces that are parts
// of a sphere.
func (l *link) ball(o, axis r3.Vec) (r3.Vec, bool) {
	f, err := slippage.Of(l.faces(), ballSlip)
	if err != nil || f.Group != slippage.Sphere || fromLine(f.Origin, o, axis) > ballOff*l.size {
		return r3.Vec{}, false
	}
	c := r3.Add(o, r3.Scale(r3.Dot(r3.Sub(f.Origin, o), axis), axis))
	good, all := 0.0, 0.0
	for _, m := range l.mates {
		d := r3.Sub(m.at, c)
		if math.Abs(r3.Dot(d, m.normal)) > math.Cos(slipLean)*r3.Norm(d) {
			good += m.area
		}
		all += m.area
	}
	return c, good > ballKept*all
}

// thread returns the pitch of mating faces that are flanks of a thread about
// the axis: the slide h for a radian that makes n.(a x r + h a) least.
func (l *link) thread(o, axis r3.Vec) (pitch float64, ok bool) {
	var xx, xy, yy, radius, area float64
	for _, m := range l.mates {
		d := r3.Sub(m.at, o)
		x, y := r3.Dot(m.normal, axis), r3.Dot(m.normal, r3.Cross(axis, d))
		xx, xy, yy = xx+m.area*x*x, xy+m.area*x*y, yy+m.area*y*y
		radius += m.area * fromLine(m.at, o, axis)
		area += m.area
	}
	if area == 0 || xx < 0.02*area || xy*xy < threadFit*xx*yy {
		return 0, false
	}
	h := -xy / xx
	return 2 * math.Pi * h, math.Abs(h) > threadLead*radius/area
}

// barrel reports whether the mating faces make a long straight barrel about the
// axis without a shoulder, as a rod's in its guide: it turns and slides alike.
func (l *link) barrel(o, axis r3.Vec) bool {
	lo, hi := math.Inf(1), math.Inf(-1)
	area, shoulder, radius := 0.0, 0.0, 0.0
	for _, m := range l.mates {
		area += m.area
		if math.Abs(r3.Dot(m.normal, axis)) > slipLean {
			shoulder += m.area
			continue
		}
		h := r3.Dot(r3.Sub(m.at, o), axis)
		lo, hi = min(lo, h), max(hi, h)
		radius += m.area * fromLine(m.at, o, axis)
	}
	return area > 0 && shoulder <= mostShoulder*area && hi-lo > longSlide*radius/area
}

// turnedAbout is the share of a part's surface that a turn moves along itself.
func (p *part) turnedAbout(o, axis r3.Vec) float64 {
	m := p.mesh
	turn := slippage.About(o, axis)
	good, all := 0.0, 0.0
	for t := range m.Triangles() {
		n := m.AreaNormal(t)
		v := turn.Speed(centre(m, t))
		l := r3.Norm(n)
		all += l
		if math.Abs(r3.Dot(n, v)) <= slipLean*l*r3.Norm(v) {
			good += l
		}
	}
	return good / all
}
