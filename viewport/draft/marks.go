package draft

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/kinematics"
)

// Mark is something drawn over the shaded parts. The types of this package
// that end in no verb are the marks there are.
type Mark interface {
	draw(c *canvas)
}

// Depth says how a line is drawn where a part hides it.
type Depth uint8

// The ways of drawing hidden stretches.
const (
	OnTop Depth = iota // over everything, as centre lines are
	Faded              // in a lighter tone
	Cut                // not at all
)

// Line is a straight line between two model points.
type Line struct {
	From, To r3.Vec
	Type     LineType
	Wide     bool
	Ink      Ink
	Depth    Depth
	Label    string // set at the far end, in the line's ink
}

func (m Line) draw(c *canvas) {
	pn := c.pen(m.Ink, m.Wide, m.Type, m.Depth)
	for _, p := range c.project([]r3.Vec{m.From, m.To}, false) {
		c.stroke(layerLine, pn, p)
		c.avoid(p)
		if m.Label != "" {
			c.endLabel(p, m.Label, m.Ink)
		}
	}
}

// Polyline is a line through model points.
type Polyline struct {
	Points []r3.Vec
	Closed bool
	Type   LineType
	Wide   bool
	Ink    Ink
	Depth  Depth
}

func (m Polyline) draw(c *canvas) {
	pn := c.pen(m.Ink, m.Wide, m.Type, m.Depth)
	c.stroke(layerLine, pn, c.project(m.Points, m.Closed)...)
}

// AxisLine is a joint axis: a wide long-dash-dot line (ISO 128, 04) that
// reaches from Before (usually negative) to After along the axis, model units
// from its point. With Before and After both zero it reaches 90 pixels beyond
// the point each way.
type AxisLine struct {
	Axis          kinematics.Axis
	Before, After float64
	Ink           Ink
	Depth         Depth
	Label         string
}

func (m AxisLine) draw(c *canvas) {
	if m.Before == 0 && m.After == 0 {
		m.After = c.view.UnitsPerPixel(m.Axis.Point) * c.px(90)
		m.Before = -m.After
	}
	at := func(t float64) r3.Vec { return r3.Add(m.Axis.Point, r3.Scale(t, m.Axis.Dir)) }
	Line{
		From: at(m.Before), To: at(m.After), Type: LongDashDot, Wide: true,
		Ink: m.Ink, Depth: m.Depth, Label: m.Label,
	}.draw(c)
}

// FrameMark is a joint frame: the hinge as an axis line, reach and side as
// plain lines, each with its letter and role. Lengths are model units from the
// origin; a zero length becomes 110 pixels.
type FrameMark struct {
	Frame   kinematics.Frame
	Back    float64   // of the hinge line behind the origin
	Hinge   float64   // of the hinge line before the origin
	Reach   float64   // of the reach line
	Side    float64   // of the side line
	Letters [3]string // of hinge, reach and side, such as Z, Y, X; empty: the role alone
	NoNames bool      // draw no letters
	Depth   Depth
}

func (m FrameMark) draw(c *canvas) {
	auto := c.view.UnitsPerPixel(m.Frame.Origin) * c.px(110)
	pick := func(l float64) float64 {
		if l == 0 {
			return auto
		}
		return l
	}
	name := func(i int, role string) string {
		switch {
		case m.NoNames:
			return ""
		case m.Letters[i] == "":
			return role
		}
		return m.Letters[i] + " " + role
	}
	o := m.Frame.Origin
	ray := func(dir r3.Vec, l float64, ink Ink, label string) Line {
		return Line{From: o, To: r3.Add(o, r3.Scale(l, dir)), Wide: true, Ink: ink, Depth: m.Depth, Label: label}
	}
	ray(m.Frame.Side(), pick(m.Side), InkSide, name(2, "side")).draw(c)
	ray(m.Frame.Reach, pick(m.Reach), InkReach, name(1, "reach")).draw(c)
	AxisLine{
		Axis: m.Frame.Axis(), Before: -pick(m.Back), After: pick(m.Hinge),
		Ink: InkHinge, Depth: m.Depth, Label: name(0, "hinge"),
	}.draw(c)
}

// Sector is a range of angles as a washed sector of a disc about the frame's
// hinge through its origin. Angles count from Reach, positive by the right
// hand about Hinge. Parts in front of it hide it.
type Sector struct {
	Frame  kinematics.Frame
	Range  kinematics.Range
	Radius float64 // model units
	Ink    Ink     // usually InkRange
}

func (m Sector) draw(c *canvas) {
	rim := c.arcPoints(m.Frame, m.Range, m.Radius)
	if len(rim) < 2 {
		return
	}
	var tris []Pixel
	for i := 1; i < len(rim); i++ {
		tris = c.triangle(tris, m.Frame.Origin, rim[i-1], rim[i])
	}
	c.add(layerWash, Item{Color: fade(c.palette.Color(m.Ink), c.palette.Wash*0.75), Tris: tris, Test: !c.seeThrough})
	full := math.Abs(m.Range.Upper-m.Range.Lower) >= 2*math.Pi-1e-9
	if !full {
		rim = append(append([]r3.Vec{m.Frame.Origin}, rim...), m.Frame.Origin)
	}
	pn := c.pen(m.Ink, false, Continuous, Cut)
	paths := c.project(rim, false)
	c.stroke(layerWash, pn, paths...)
	c.avoid(paths...)
}

// arcPoints returns model points along an arc about the frame's hinge, close
// enough together that their chords look round in this view.
func (c *canvas) arcPoints(f kinematics.Frame, r kinematics.Range, radius float64) []r3.Vec {
	span := clamp(r.Upper-r.Lower, -2*math.Pi, 2*math.Pi)
	if span == 0 || !(radius > 0) || !finite(span) || !finite(r.Lower) {
		return nil
	}
	pixels := radius / c.view.UnitsPerPixel(f.Origin)
	// A chord of angle a stands r(1-cos(a/2)), about r a^2/8, inside its arc.
	step := math.Sqrt(8 * 0.05 / math.Max(pixels, 1))
	n := int(clamp(math.Ceil(math.Abs(span)/step), 8, 720))
	out := make([]r3.Vec, n+1)
	side := f.Side()
	for i := range out {
		s, co := math.Sincos(r.Lower + span*float64(i)/float64(n))
		out[i] = r3.Add(f.Origin, r3.Scale(radius, r3.Add(r3.Scale(co, f.Reach), r3.Scale(s, side))))
	}
	return out
}

// triangle appends the projected triangle, turned so that all triangles of an
// item turn the same way; one that reaches behind the eye is left out.
func (c *canvas) triangle(tris []Pixel, p0, p1, p2 r3.Vec) []Pixel {
	a, okA := c.view.Project(p0)
	b, okB := c.view.Project(p1)
	d, okD := c.view.Project(p2)
	if !okA || !okB || !okD {
		return tris
	}
	return appendTriangle(tris, a, b, d)
}

func appendTriangle(tris []Pixel, a, b, d Pixel) []Pixel {
	if (b.X-a.X)*(d.Y-a.Y)-(b.Y-a.Y)*(d.X-a.X) < 0 {
		b, d = d, b
	}
	return append(tris, a, b, d)
}

// PointShape is the sign that a point is drawn with.
type PointShape uint8

// The point signs.
const (
	DotSign   PointShape = iota // filled
	RingSign                    // open circle
	CrossSign                   // centre mark
)

// Point is a model point drawn with a sign of fixed size.
type Point struct {
	At    r3.Vec
	Shape PointShape
	Size  float64 // radius in pen units; 0: 4
	Ink   Ink
}

func (m Point) draw(c *canvas) {
	p, ok := c.view.Project(m.At)
	if !ok || !c.near(p) {
		return
	}
	r := c.px(4)
	if m.Size > 0 {
		r = c.px(m.Size)
	}
	color := c.palette.Color(m.Ink)
	halo := &strip{}
	switch m.Shape {
	case DotSign:
		halo.disc(p, r+c.px(1.2))
		s := &strip{}
		s.disc(p, r)
		c.add(layerSymbol, Item{Color: c.palette.Color(InkPaper), Tris: halo.tris})
		c.add(layerSymbol, Item{Color: color, Tris: s.tris})
	case RingSign:
		c.ring(p, r, color)
	case CrossSign:
		s := &strip{width: c.px(1.4)}
		s.polyline([]Pixel{p.offset(-r*1.6, 0), p.offset(r*1.6, 0)})
		s.polyline([]Pixel{p.offset(0, -r*1.6), p.offset(0, r*1.6)})
		c.add(layerSymbol, Item{Color: color, Tris: s.tris})
	}
}

// near reports whether p lies in the picture or close to it.
func (c *canvas) near(p Pixel) bool {
	m := c.px(40)
	return p.X > -m && p.Y > -m && p.X < float64(c.view.Width)+m && p.Y < float64(c.view.Height)+m
}
