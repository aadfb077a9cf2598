package draft

import (
	"image/color"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/kinematics"
)

// arrow adds a closed filled arrowhead (ISO 129-1) with its tip at tip,
// pointing away from tail.
func (c *canvas) arrow(l layer, tip, tail Pixel, ink color.NRGBA) {
	dx, dy := tip.X-tail.X, tip.Y-tail.Y
	n := math.Hypot(dx, dy)
	if n == 0 {
		return
	}
	dx, dy = dx/n, dy/n
	length, half := c.px(arrowLength), c.px(arrowHalf)
	base := tip.offset(-dx*length, -dy*length)
	tris := appendTriangle(nil, tip, base.offset(-dy*half, dx*half), base.offset(dy*half, -dx*half))
	c.add(l, Item{Color: ink, Tris: tris})
}

// DimArc is an angular dimension: an arc about the frame's hinge with
// arrowheads at both ends and its figure on it. Angles count from Reach.
type DimArc struct {
	Frame  kinematics.Frame
	Range  kinematics.Range
	Radius float64 // model units
	Text   string
	Ink    Ink
}

func (m DimArc) draw(c *canvas) {
	points := c.arcPoints(m.Frame, m.Range, m.Radius)
	if len(points) < 2 {
		return
	}
	pn := c.pen(m.Ink, false, Continuous, OnTop)
	for _, p := range c.project(points, false) {
		c.stroke(layerLine, pn, p)
		c.arcEnds(p, pn)
		c.avoid(p)
		if m.Text != "" {
			c.figure(p, m.Text, m.Ink)
		}
	}
}

// arcEnds puts arrowheads at both ends of a dimension line: inside when there
// is room, otherwise outside, pointing inward (ISO 129-1).
func (c *canvas) arcEnds(p path, pn pen) {
	total, length := p.length(), c.px(arrowLength)
	first, last := p.at[0], p.at[len(p.at)-1]
	if total > 3*length {
		c.arrow(layerLine, first, p.point(length), pn.color)
		c.arrow(layerLine, last, p.point(total-length), pn.color)
		return
	}
	reach := math.Min(total, length) / 2
	for _, end := range [2][2]Pixel{{first, p.point(reach)}, {last, p.point(total - reach)}} {
		dx, dy := end[0].X-end[1].X, end[0].Y-end[1].Y
		n := math.Hypot(dx, dy)
		if n == 0 {
			continue
		}
		out := end[0].offset(dx/n*2*length, dy/n*2*length)
		c.stroke(layerLine, pn, newPath([]Pixel{end[0], out}))
		c.arrow(layerLine, end[0], out, pn.color)
	}
}

// Dimension is a linear dimension between two model points, set off by Offset
// (model axes) with extension lines; a zero offset draws it between the points.
type Dimension struct {
	A, B   r3.Vec
	Offset r3.Vec
	Text   string
	Ink    Ink
}

func (m Dimension) draw(c *canvas) {
	pn := c.pen(m.Ink, false, Continuous, OnTop)
	a, b := r3.Add(m.A, m.Offset), r3.Add(m.B, m.Offset)
	if m.Offset != (r3.Vec{}) {
		// Extension lines run a little beyond the dimension line.
		over := r3.Scale(c.px(5)*c.view.UnitsPerPixel(a)/r3.Norm(m.Offset), m.Offset)
		for _, e := range [2][2]r3.Vec{{m.A, a}, {m.B, b}} {
			c.stroke(layerLine, pn, c.project([]r3.Vec{e[0], r3.Add(e[1], over)}, false)...)
		}
	}
	for _, p := range c.project([]r3.Vec{a, b}, false) {
		c.stroke(layerLine, pn, p)
		c.arcEnds(p, pn)
		c.avoid(p)
		if m.Text != "" {
			c.figure(p, m.Text, m.Ink)
		}
	}
}
