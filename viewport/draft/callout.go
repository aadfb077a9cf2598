package draft

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// box is a rectangle of the picture, in pixels.
type box struct {
	x0, y0, x1, y1 float64
}

func (b box) grow(m float64) box { return box{b.x0 - m, b.y0 - m, b.x1 + m, b.y1 + m} }

func (b box) area() float64 {
	return math.Max(b.x1-b.x0, 0) * math.Max(b.y1-b.y0, 0)
}

// overlap returns the area common to two boxes.
func (b box) overlap(o box) float64 {
	w := math.Min(b.x1, o.x1) - math.Max(b.x0, o.x0)
	h := math.Min(b.y1, o.y1) - math.Max(b.y0, o.y0)
	return math.Max(w, 0) * math.Max(h, 0)
}

// segment is a leader already drawn.
type segment struct{ a, b Pixel }

// crosses reports whether two segments cross at inner points.
func (s segment) crosses(o segment) bool {
	side := func(p, q, r Pixel) float64 { return (q.X-p.X)*(r.Y-p.Y) - (q.Y-p.Y)*(r.X-p.X) }
	return side(s.a, s.b, o.a)*side(s.a, s.b, o.b) < 0 && side(o.a, o.b, s.a)*side(o.a, o.b, s.b) < 0
}

// touches reports whether the segment passes through the box.
func (s segment) touches(b box) bool {
	_, _, ok := clipSegment(s.a, s.b, b.x0, b.y0, b.x1, b.y1)
	return ok
}

// callout is a text or balloon waiting for a place.
type callout struct {
	anchor  Pixel
	text    string
	ink     Ink
	size    float64 // type size, pixels
	face    Face
	balloon bool
	filled  bool
	leader  bool
	spots   []spot // tried in order; earlier ones are preferred
}

// spot is a possible centre of a callout relative to its anchor, with a
// penalty for being less liked.
type spot struct {
	dx, dy, cost float64
}

// Label is a text at a model point, put where there is room near it.
type Label struct {
	At     r3.Vec
	Text   string
	Ink    Ink
	Bold   bool
	Leader bool // join text and point by a leader and stand well off
}

func (m Label) draw(c *canvas) {
	p, ok := c.view.Project(m.At)
	if !ok || m.Text == "" || !c.inside(p) {
		return
	}
	k := callout{anchor: p, text: m.Text, ink: m.Ink, size: c.px(textSize), leader: m.Leader}
	if m.Bold {
		k.face = Boldface
	}
	k.spots = c.ringSpots(p, c.labelRings(k))
	c.callouts = append(c.callouts, k)
}

// labelRings returns the distances at which a label is tried.
func (c *canvas) labelRings(k callout) []float64 {
	if k.leader {
		return []float64{c.px(56), c.px(84), c.px(120), c.px(170)}
	}
	return []float64{c.px(16), c.px(26), c.px(42), c.px(64)}
}

// Balloon is an item balloon (ISO 6433): a number in a circle outside the
// outlines, joined to its part by a short oblique leader.
type Balloon struct {
	At     r3.Vec
	Text   string
	Ink    Ink
	Filled bool // the selected one
}

func (m Balloon) draw(c *canvas) {
	p, ok := c.view.Project(m.At)
	if !ok || !c.inside(p) {
		return
	}
	rings := []float64{c.px(58), c.px(84), c.px(116), c.px(156), c.px(210)}
	c.callouts = append(c.callouts, callout{
		anchor: p, text: m.Text, ink: m.Ink, size: c.px(textSize), face: Boldface,
		balloon: true, filled: m.Filled, leader: true, spots: c.ringSpots(p, rings),
	})
}

// inside reports whether p lies in the picture: what does not is not named.
func (c *canvas) inside(p Pixel) bool {
	return p.X >= 0 && p.Y >= 0 && p.X <= float64(c.view.Width) && p.Y <= float64(c.view.Height)
}

// ringDirections is the number of directions in which a place is tried.
const ringDirections = 16

// ringSpots returns places on circles round p. Places away from the middle of
// the parts cost least, and oblique ones less than level or upright ones.
func (c *canvas) ringSpots(p Pixel, radii []float64) []spot {
	away := math.Atan2(p.Y-c.centre.Y, p.X-c.centre.X)
	if math.Hypot(p.Y-c.centre.Y, p.X-c.centre.X) < c.px(4) {
		away = -math.Pi / 4
	}
	var out []spot
	for i, r := range radii {
		for k := range ringDirections {
			a := 2 * math.Pi * (float64(k) + 0.5) / ringDirections
			turn := math.Abs(math.Remainder(a-away, 2*math.Pi)) / math.Pi
			s, co := math.Sincos(a)
			out = append(out, spot{dx: r * co, dy: r * s, cost: 0.45*float64(i) + 0.9*turn})
		}
	}
	return out
}

// endLabel asks for a text just beyond the end of a line.
func (c *canvas) endLabel(p path, text string, ink Ink) {
	end := p.at[len(p.at)-1]
	if !c.inside(end) {
		return
	}
	before := p.point(math.Max(0, p.length()-c.px(20)))
	dx, dy := end.X-before.X, end.Y-before.Y
	if n := math.Hypot(dx, dy); n > 0 {
		dx, dy = dx/n, dy/n
	} else {
		dx, dy = 0, -1
	}
	k := callout{anchor: end, text: text, ink: ink, size: c.px(textSize), face: Boldface}
	w, h := c.extent(k)
	away := math.Atan2(dy, dx)
	for i, gap := range []float64{c.px(6), c.px(14), c.px(26)} {
		for _, turn := range []float64{0, 0.5, -0.5, 1, -1, 1.5, -1.5} {
			s, co := math.Sincos(away + turn)
			// Stand off so that the box, not its centre, keeps the gap.
			k.spots = append(k.spots, spot{
				dx: co * (gap + w/2), dy: s * (gap + h/2),
				cost: 0.4*float64(i) + 0.5*math.Abs(turn),
			})
		}
	}
	c.callouts = append(c.callouts, k)
}

// figure asks for a dimension's figure, above the middle of its line if that
// is free and otherwise elsewhere along it.
func (c *canvas) figure(p path, text string, ink Ink) {
	k := callout{text: text, ink: ink, size: c.px(textSize), face: Boldface}
	w, h := c.extent(k)
	k.anchor = p.point(p.length() / 2)
	for i, t := range []float64{0.5, 0.38, 0.62, 0.26, 0.74, 0.14, 0.86} {
		at := p.point(p.length() * t)
		q := p.point(p.length()*t + 1)
		nx, ny := q.Y-at.Y, at.X-q.X
		if n := math.Hypot(nx, ny); n > 0 {
			nx, ny = nx/n, ny/n
		}
		reach := math.Abs(nx)*w/2 + math.Abs(ny)*h/2 + c.px(3)
		for j, side := range []float64{1, -1} {
			k.spots = append(k.spots, spot{
				dx: at.X - k.anchor.X + side*nx*reach, dy: at.Y - k.anchor.Y + side*ny*reach,
				cost: 0.25*float64(i) + 0.2*float64(j),
			})
		}
	}
	if c.inside(k.anchor) {
		c.callouts = append(c.callouts, k)
	}
}
