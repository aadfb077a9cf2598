package draft

import (
	"image/color"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// layer orders items: what stands behind in this list is drawn over what
// stands before.
type layer uint8

const (
	layerWash layer = iota
	layerLine
	layerSymbol
	layerCallout
	layerBlock
	layerCount
)

// Pen widths and sizes in units of View.Scale. Wide to narrow is 2 to 1, as
// ISO 128-2 asks for.
const (
	narrowPen   = 1.0
	widePen     = 2.0
	patternUnit = 0.85 // what d of the dash patterns is: a screen is nearer than a sheet
	textSize    = 13.0
	smallSize   = 11.5
	arrowLength = 12.0
	arrowHalf   = 2.6 // half the arrowhead's width: about 25 degrees, closed and filled
	hiddenTone  = 0.34
)

// canvas gathers the items of one drawing.
type canvas struct {
	view     View
	palette  Palette
	measure  Measurer
	depths   Depths
	layers   [layerCount][]Item
	callouts []callout
	taken    []box     // where texts and symbols already are
	leaders  []segment // leaders already drawn
	lines    []segment // lines that texts would rather not stand on
	centre   Pixel     // of the parts, in the picture

	memo       *Memo
	seeThrough bool // nothing hides anything
}

func newCanvas(s Scene, v View, t Tools) *canvas {
	c := &canvas{
		view: v, palette: s.Palette.orPaper(), measure: t.Measurer, depths: t.Depths, memo: t.Memo,
		seeThrough: s.Style.SeeThrough,
	}
	b := s.Bounds()
	mid, ok := v.Project(r3.Scale(0.5, r3.Add(b.Min, b.Max)))
	if !ok {
		mid = Pixel{X: float64(v.Width) / 2, Y: float64(v.Height) / 2}
	}
	c.centre = mid
	return c
}

func (c *canvas) drawing() Drawing {
	var d Drawing
	for _, items := range c.layers {
		d.Items = append(d.Items, items...)
	}
	return d
}

// px converts a length in units of pen width to pixels.
func (c *canvas) px(u float64) float64 { return u * c.view.Scale }

func (c *canvas) add(l layer, item Item) { c.layers[l] = append(c.layers[l], item) }

// avoid notes paths that texts and balloons should keep clear of, coarsely.
func (c *canvas) avoid(paths ...path) {
	const stretch = 40.0 // pixels
	for _, p := range paths {
		for _, w := range p.windows(float64(c.view.Width), float64(c.view.Height), 0) {
			n := int(clamp(math.Ceil((w.To-w.From)/stretch), 1, 64))
			if len(p.at) == 2 {
				n = 1
			}
			a := p.point(w.From)
			for i := 1; i <= n; i++ {
				b := p.point(w.From + (w.To-w.From)*float64(i)/float64(n))
				c.lines = append(c.lines, segment{a, b})
				a = b
			}
		}
	}
}

// project returns the projected points of a polyline, cut where it passes the
// near plane; every returned path is connected.
func (c *canvas) project(points []r3.Vec, closed bool) []path {
	var paths []path
	var run []Pixel
	n := len(points)
	if closed && n > 2 {
		points = append(points[:n:n], points[0])
	}
	for i := 1; i < len(points); i++ {
		p, q, ok := c.view.Segment(points[i-1], points[i])
		if !ok {
			continue
		}
		if k := len(run); k == 0 || run[k-1] != p {
			if k > 1 {
				paths = append(paths, newPath(run))
			}
			run = []Pixel{p}
		}
		run = append(run, q)
	}
	if len(run) > 1 {
		paths = append(paths, newPath(run))
	}
	return paths
}

// pen is how a line is drawn.
type pen struct {
	color color.NRGBA
	width float64 // pixels
	kind  LineType
	depth Depth
}

func (c *canvas) pen(ink Ink, wide bool, kind LineType, depth Depth) pen {
	w := narrowPen
	if wide {
		w = widePen
	}
	return pen{color: c.palette.Color(ink), width: c.px(w), kind: kind, depth: depth}
}

// stroke draws paths with one pen; where they overlap the colour is laid on once.
func (c *canvas) stroke(l layer, n pen, paths ...path) {
	unit := math.Max(n.width, c.px(1)) * patternUnit
	clear, dim := &strip{width: n.width}, &strip{width: n.width}
	for _, p := range paths {
		total := p.length()
		if !(total > 0) || math.IsInf(total, 0) {
			continue
		}
		for _, w := range p.windows(float64(c.view.Width), float64(c.view.Height), 2*n.width) {
			for _, s := range n.kind.Spans(total, unit, w) {
				c.split(p.sub(s), n.depth, clear, dim)
			}
		}
	}
	if len(dim.tris) > 0 && n.depth == Faded {
		c.add(l, Item{Color: fade(n.color, hiddenTone), Tris: dim.tris})
	}
	if len(clear.tris) > 0 {
		c.add(l, Item{Color: n.color, Tris: clear.tris})
	}
}

// depthStep is the distance in pixels at which a line is tested for being
// hidden.
const depthStep = 2.0

// split adds the visible runs of a polyline to clear and the hidden ones to dim.
func (c *canvas) split(points []Pixel, mode Depth, clear, dim *strip) {
	if mode == OnTop || c.depths == nil || c.seeThrough {
		clear.polyline(points)
		return
	}
	run := []Pixel{points[0]}
	hidden := c.hidden(points[0])
	flush := func() {
		if hidden {
			dim.polyline(run)
		} else {
			clear.polyline(run)
		}
	}
	for i := 1; i < len(points); i++ {
		a, b := points[i-1], points[i]
		steps := 1 + int(math.Hypot(b.X-a.X, b.Y-a.Y)/depthStep)
		for k := 1; k <= steps; k++ {
			q := between(a, b, float64(k)/float64(steps))
			if h := c.hidden(q); h != hidden {
				run = append(run, q)
				flush()
				run, hidden = []Pixel{q}, h
			} else if k == steps {
				run = append(run, q)
			}
		}
	}
	flush()
}

// hidden reports whether the shaded picture has something nearer at p. The
// farthest of the pixel and its neighbours decides, so that a line on a part's
// outline counts as visible.
func (c *canvas) hidden(p Pixel) bool {
	if c.depths == nil || c.seeThrough {
		return false
	}
	x, y := int(math.Floor(p.X)), int(math.Floor(p.Y))
	far := 0.0
	for _, o := range [5][2]int{{0, 0}, {-1, 0}, {1, 0}, {0, -1}, {0, 1}} {
		far = math.Max(far, c.depths.Depth(x+o[0], y+o[1]))
	}
	return p.Depth > far+c.depthSlack()
}

// depthSlack is the depth of two pixels, within which a line on a surface is
// taken to lie on it.
func (c *canvas) depthSlack() float64 {
	return 2*c.view.perPixel/(c.view.far-c.view.near) + 1e-5
}

// strip gathers the triangles of lines of one width.
type strip struct {
	width float64
	tris  []Pixel
}

// joinSteps is the number of triangles that round a corner of a line.
const joinSteps = 8

// polyline adds a line of the strip's width through the points, with square
// ends and round corners.
func (s *strip) polyline(points []Pixel) {
	h := s.width / 2
	for i := 1; i < len(points); i++ {
		a, b := points[i-1], points[i]
		dx, dy := b.X-a.X, b.Y-a.Y
		l := math.Hypot(dx, dy)
		if l == 0 {
			continue
		}
		nx, ny := -dy/l*h, dx/l*h
		s.quad(a, b, nx, ny)
		if i+1 < len(points) && h > 0.6 {
			s.disc(b, h)
		}
	}
}

func (s *strip) quad(a, b Pixel, nx, ny float64) {
	a0, a1 := a.offset(nx, ny), a.offset(-nx, -ny)
	b0, b1 := b.offset(nx, ny), b.offset(-nx, -ny)
	s.tris = append(s.tris, a0, a1, b1, a0, b1, b0)
}

// disc adds a filled circle.
func (s *strip) disc(p Pixel, r float64) {
	steps := discSteps(r)
	last := p.offset(r, 0)
	for k := 1; k <= steps; k++ {
		sin, cos := math.Sincos(2 * math.Pi * float64(k) / float64(steps))
		next := p.offset(r*cos, r*sin)
		s.tris = append(s.tris, p, last, next)
		last = next
	}
}

func discSteps(r float64) int {
	return joinSteps + int(math.Min(4*math.Sqrt(r), 56))
}

func (p Pixel) offset(dx, dy float64) Pixel {
	p.X += dx
	p.Y += dy
	return p
}
