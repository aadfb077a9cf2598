package draft

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/kinematics"
)

// Revolved is a cylinder or a piece of a cone as a drawing shows it: its two
// end circles, its two outlines in this view, and its axis as a centre line
// that reaches a little beyond both ends. It stands for a fitted datum, so it
// is drawn over the parts and lighter where they hide it.
type Revolved struct {
	Axis    kinematics.Axis
	From    float64 // along the axis from its point, model units
	To      float64
	Radius  float64 // at From
	Radius2 float64 // at To; equal for a cylinder
	Ink     Ink
}

func (m Revolved) draw(c *canvas) {
	at := func(t float64) r3.Vec { return r3.Add(m.Axis.Point, r3.Scale(t, m.Axis.Dir)) }
	for _, e := range [2][2]float64{{m.From, m.Radius}, {m.To, m.Radius2}} {
		Ring{Axis: kinematics.Axis{Point: at(e[0]), Dir: m.Axis.Dir}, Radius: e[1], Ink: m.Ink}.draw(c)
	}
	u, w := across(m.Axis.Dir)
	sight := c.view.Sight(at((m.From + m.To) / 2))
	// The surface turns from the viewer where its normal is square to the line
	// of sight: cos(phi - phi0) = slope (sight . axis) / (sight across the axis).
	slope := (m.Radius2 - m.Radius) / (m.To - m.From)
	su, sw := r3.Dot(sight, u), r3.Dot(sight, w)
	flat := math.Hypot(su, sw)
	k := slope * r3.Dot(sight, m.Axis.Dir) / flat
	if flat > 1e-9 && math.Abs(k) < 1 {
		phi0 := math.Atan2(sw, su)
		for _, turn := range [2]float64{math.Acos(k), -math.Acos(k)} {
			s, co := math.Sincos(phi0 + turn)
			out := r3.Add(r3.Scale(co, u), r3.Scale(s, w))
			Line{
				From: r3.Add(at(m.From), r3.Scale(m.Radius, out)),
				To:   r3.Add(at(m.To), r3.Scale(m.Radius2, out)),
				Ink:  m.Ink, Depth: Faded,
			}.draw(c)
		}
	}
	over := math.Max(0.12*(m.To-m.From), c.px(8)*c.view.UnitsPerPixel(m.Axis.Point))
	Line{
		From: at(m.From - over), To: at(m.To + over), Type: LongDashDot, Ink: m.Ink,
	}.draw(c)
}

// across returns two unit vectors square to the unit vector d and to each other.
func across(d r3.Vec) (u, w r3.Vec) {
	e := r3.Vec{X: 1}
	if math.Abs(d.X) > 0.7 {
		e = r3.Vec{Y: 1}
	}
	u = r3.Unit(r3.Cross(d, e))
	return u, r3.Cross(d, u)
}

// Ring is a circle about an axis, in the plane through the axis's point.
type Ring struct {
	Axis   kinematics.Axis
	Radius float64
	Type   LineType
	Wide   bool
	Ink    Ink
	Centre bool // mark the centre with a cross
}

func (m Ring) draw(c *canvas) {
	u, _ := across(m.Axis.Dir)
	f := kinematics.Frame{Origin: m.Axis.Point, Hinge: m.Axis.Dir, Reach: u}
	points := c.arcPoints(f, kinematics.Range{Lower: 0, Upper: 2 * math.Pi}, m.Radius)
	c.stroke(layerLine, c.pen(m.Ink, m.Wide, m.Type, Faded), c.project(points, false)...)
	if m.Centre {
		Point{At: m.Axis.Point, Shape: CrossSign, Ink: m.Ink}.draw(c)
	}
}

// Ball is a sphere: its outline and, lighter, the circles in which the model's
// axis planes cut it.
type Ball struct {
	Centre r3.Vec
	Radius float64
	Ink    Ink
}

func (m Ball) draw(c *canvas) {
	sight := c.view.Sight(m.Centre)
	// From a near eye the outline is a smaller circle this side of the centre.
	near, r := m.Centre, m.Radius
	if eye, perspective := c.view.Eye(); perspective {
		d := r3.Norm(r3.Sub(m.Centre, eye))
		if d <= m.Radius {
			return
		}
		near = r3.Sub(m.Centre, r3.Scale(m.Radius*m.Radius/d, sight))
		r = m.Radius * math.Sqrt(1-m.Radius*m.Radius/(d*d))
	}
	Ring{Axis: kinematics.Axis{Point: near, Dir: sight}, Radius: r, Ink: m.Ink}.draw(c)
	for _, d := range []r3.Vec{{X: 1}, {Y: 1}, {Z: 1}} {
		Ring{Axis: kinematics.Axis{Point: m.Centre, Dir: d}, Radius: m.Radius, Type: Dashed, Ink: m.Ink}.draw(c)
	}
	Point{At: m.Centre, Shape: CrossSign, Ink: m.Ink}.draw(c)
}

// Tube is a torus: its outermost, innermost, top and bottom circles, its
// centre circle as a centre line, and its axis.
type Tube struct {
	Axis    kinematics.Axis
	Radius  float64 // of the centre circle
	Radius2 float64 // of the tube
	Ink     Ink
}

func (m Tube) draw(c *canvas) {
	ring := func(off, r float64, t LineType) {
		at := r3.Add(m.Axis.Point, r3.Scale(off, m.Axis.Dir))
		Ring{Axis: kinematics.Axis{Point: at, Dir: m.Axis.Dir}, Radius: r, Type: t, Ink: m.Ink}.draw(c)
	}
	ring(0, m.Radius+m.Radius2, Continuous)
	ring(0, m.Radius-m.Radius2, Continuous)
	ring(m.Radius2, m.Radius, Continuous)
	ring(-m.Radius2, m.Radius, Continuous)
	ring(0, m.Radius, LongDashDot)
	l := 1.6 * m.Radius2
	AxisLine{Axis: m.Axis, Before: -l, After: l, Ink: m.Ink}.draw(c)
}

// Plane is a plane as a square of it, with its normal.
type Plane struct {
	Point  r3.Vec // middle of the square
	Normal r3.Vec // unit
	Half   float64
	Ink    Ink
}

func (m Plane) draw(c *canvas) {
	u, w := across(m.Normal)
	corner := func(a, b float64) r3.Vec {
		return r3.Add(m.Point, r3.Add(r3.Scale(a*m.Half, u), r3.Scale(b*m.Half, w)))
	}
	p := []r3.Vec{corner(1, 1), corner(-1, 1), corner(-1, -1), corner(1, -1)}
	tris := c.triangle(c.triangle(nil, p[0], p[1], p[2]), p[0], p[2], p[3])
	c.add(layerWash, Item{Color: fade(c.palette.Color(m.Ink), c.palette.Wash*0.5), Tris: tris, Test: !c.seeThrough})
	Polyline{Points: p, Closed: true, Ink: m.Ink, Depth: Faded}.draw(c)
	tip := r3.Add(m.Point, r3.Scale(0.6*m.Half, m.Normal))
	Line{From: m.Point, To: tip, Ink: m.Ink}.draw(c)
	if a, b, ok := c.view.Segment(m.Point, tip); ok {
		c.arrow(layerLine, b, a, c.palette.Color(m.Ink))
	}
}
