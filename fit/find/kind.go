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
	threadNear   = 0.02 // nearness of the spots that are looked at for a thread
	threadShare  = 0.2  // of their area, that flanks have
	threadFit    = 0.2  // share of the square of n.(a x r) that a pitch explains
	flankLeast   = 0.15 // axial part of a flank's normal
	flankMost    = 0.95
	plainRod     = 0.97 // share of the surface of a rod that nothing keeps from turning
	threadLead   = 0.01 // radii, least slide for a radian of a thread
)

// kind tells a joint that turns from one that also slides, screws or turns
// every way, by its mating faces.
func (w *work) kind(l *link, c *Candidate) {
	if c.Kind != Revolute {
		return
	}
	if pitch, ok := w.thread(l, c.Origin, c.Axis); ok {
		c.Kind, c.Pitch = Screw, pitch
		return
	}
	if len(l.mates) < leastMates {
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
	if l.barrel(c.Origin, c.Axis) && w.freeAlong(l, c.Axis) {
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

// thread returns the pitch of the flanks of a thread about the axis that either
// part shows near the other: the slide h for a radian that makes
// n.(a x r + h a) least.
func (w *work) thread(l *link, o, axis r3.Vec) (pitch float64, ok bool) {
	for i, spots := range [2][]spot{l.za, l.zb} {
		var xx, xy, yy, flank, radius, area float64
		for _, s := range spots {
			if s.near < threadNear {
				continue
			}
			d := r3.Sub(s.at, o)
			x, y := r3.Dot(s.normal, axis), r3.Dot(s.normal, r3.Cross(axis, d))
			area += s.area
			if math.Abs(x) < flankLeast || math.Abs(x) > flankMost {
				continue
			}
			xx, xy, yy = xx+s.area*x*x, xy+s.area*x*y, yy+s.area*y*y
			radius += s.area * fromLine(s.at, o, axis)
			flank += s.area
		}
		if flank < threadShare*area || flank == 0 || xy*xy < threadFit*xx*yy {
			continue
		}
		if h := -xy / xx; math.Abs(h) > threadLead*radius/flank {
			part := w.parts[l.a].mesh
			if i == 1 {
				part = w.parts[l.b].mesh
			}
			if p, sure := sharpPitch(part.Vertices(), o, axis, radius/flank, 2*math.Pi*h); sure {
				return p, true
			}
		}
	}
	return 0, false
}

// sharpPitch is the pitch near a guess for which the vertices of a thread's
// crest, farther than radius from the axis, lie on helices of the least spread:
// whose phases add up to most. It is sure where they add up to much at all.
func sharpPitch(at []r3.Vec, o, axis r3.Vec, radius, guess float64) (pitch float64, sure bool) {
	x := across(axis)
	y := r3.Cross(axis, x)
	var turn, high []float64
	for _, p := range at {
		d := r3.Sub(p, o)
		u, v := r3.Dot(d, x), r3.Dot(d, y)
		if r := math.Hypot(u, v); r > radius && r < crestMost*radius {
			turn, high = append(turn, math.Atan2(v, u)), append(high, r3.Dot(d, axis))
		}
	}
	sum := func(pitch float64) float64 {
		var c, s float64
		for i, t := range turn {
			sin, cos := math.Sincos(2*math.Pi*high[i]/pitch - t)
			c, s = c+cos, s+sin
		}
		return math.Hypot(c, s)
	}
	best, step := guess, guess*pitchBlur/pitchSteps
	for range pitchPasses {
		mid := best
		for k := -pitchSteps; k <= pitchSteps; k++ {
			if p := mid + float64(k)*step; sum(p) > sum(best) {
				best = p
			}
		}
		step /= pitchSteps / 4
	}
	return best, sum(best) > pitchClear*float64(len(turn))
}

const (
	crestMost   = 1.3  // of the flanks' mean radius, of a crest
	pitchBlur   = 0.65 // of the pitch, error of a guess by the normals of facets
	pitchSteps  = 400
	pitchClear  = 0.5 // share of the vertices' number that their phases add up to
	pitchPasses = 4
)

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
