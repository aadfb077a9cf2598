package draft

import (
	"fmt"
	"image/color"
	"math"
	"strconv"

	"gonum.org/v1/gonum/spatial/r3"
)

// Compass shows at the lower left which way the model's axes run.
type Compass struct{}

func (Compass) draw(c *canvas) {
	reach := c.px(26)
	at := Pixel{X: c.px(46), Y: float64(c.view.Height) - c.px(46)}
	if at.Y < reach {
		return
	}
	ink := c.palette.Color(InkFaint)
	c.taken = append(c.taken, box{at.X - reach, at.Y - reach, at.X + reach, at.Y + reach}.grow(c.px(8)))
	right, up, _ := c.view.Basis()
	for i, d := range []r3.Vec{{X: 1}, {Y: 1}, {Z: 1}} {
		dx, dy := r3.Dot(d, right), -r3.Dot(d, up)
		name := string(rune('X' + i))
		if l := math.Hypot(dx, dy); l > 0.12 {
			tip := at.offset(dx*reach, dy*reach)
			c.stroke(layerBlock, pen{color: ink, width: c.px(1.2)}, newPath([]Pixel{at, tip}))
			c.centred(name, tip.offset(dx/l*c.px(9), dy/l*c.px(9)), ink, smallSize)
		}
	}
}

// centred sets a short text with its middle at p.
func (c *canvas) centred(s string, p Pixel, ink color.NRGBA, size float64) {
	w, asc, desc := c.measure.Measure(s, c.px(size), Plainface)
	c.add(layerBlock, Item{Color: ink, Text: &Text{
		S: s, X: p.X - w/2, Y: p.Y + (asc-desc)/2, Size: c.px(size), Halo: fade(c.palette.Color(InkPaper), 0.85),
	}})
}

// ScaleBar shows at the lower left how long a round number of model units is,
// at the camera's target.
type ScaleBar struct {
	Unit string
}

// barLength is how long a scale bar is at most, in pen units.
const barLength = 150.0

func (m ScaleBar) draw(c *canvas) {
	most := c.px(barLength) * c.view.perPixel
	length := roundDown(most)
	w := length / c.view.perPixel
	x, y := c.px(96), float64(c.view.Height)-c.px(22)
	if !(w > 0) || x+w > float64(c.view.Width) || y < 0 {
		return
	}
	ink := c.palette.Color(InkFaint)
	tick := func(t, h float64) path {
		return newPath([]Pixel{{X: x + t*w, Y: y - c.px(h)}, {X: x + t*w, Y: y}})
	}
	c.stroke(layerBlock, pen{color: ink, width: c.px(narrowPen)},
		newPath([]Pixel{{X: x, Y: y}, {X: x + w, Y: y}}), tick(0, 7), tick(0.5, 4), tick(1, 7))
	text := strconv.FormatFloat(length, 'g', 4, 64)
	if m.Unit != "" {
		text = fmt.Sprintf("%s %s", text, m.Unit)
	}
	c.centred(text, Pixel{X: x + w/2, Y: y - c.px(14)}, ink, smallSize)
	c.taken = append(c.taken, box{x, y - c.px(22), x + w, y}.grow(c.px(4)))
}

// roundDown returns the largest of 1, 2 or 5 times a power of ten up to x.
func roundDown(x float64) float64 {
	if !(x > 0) || math.IsInf(x, 0) {
		return 0
	}
	p := math.Pow(10, math.Floor(math.Log10(x)))
	switch {
	case x >= 5*p:
		return 5 * p
	case x >= 2*p:
		return 2 * p
	}
	return p
}
