package draft

import (
	"image/color"
	"math"
	"sort"
)

// balloonRadius is the radius of an item balloon in pen units. All balloons
// of a drawing are equal (ISO 6433).
const balloonRadius = 13.0

// What a place costs. Overlap with a text already placed outweighs all else;
// then come crossing leaders, then covering the parts.
const (
	costOverlap = 60.0 // per part of the callout's own area
	costOutside = 80.0 // per part of the callout's own area
	costCross   = 6.0  // per leader crossed
	costThrough = 5.0  // per text that the leader runs through
	costCover   = 3.2  // for a callout wholly over parts
	costLine    = 0.8  // per line that the callout stands on
	mostLines   = 3    // lines that are counted
)

// extent returns the size of a callout's box.
func (c *canvas) extent(k callout) (w, h float64) {
	if k.balloon {
		d := 2 * c.px(balloonRadius)
		if tw, _, _ := c.measure.Measure(k.text, k.size, k.face); tw > 0.72*d {
			return d + tw - 0.72*d, d
		}
		return d, d
	}
	tw, asc, desc := c.measure.Measure(k.text, k.size, k.face)
	return tw + c.px(4), asc + desc
}

// placeCallouts gives every callout the cheapest of its places and draws it.
// Texts tied to a line go first, then balloons from the outside in, then free
// labels: who has least choice chooses first.
func (c *canvas) placeCallouts() {
	order := make([]int, len(c.callouts))
	for i := range order {
		order[i] = i
	}
	rank := func(k callout) int {
		switch {
		case k.balloon:
			return 1
		case k.leader:
			return 2
		}
		return 0
	}
	sort.SliceStable(order, func(i, j int) bool {
		return rank(c.callouts[order[i]]) < rank(c.callouts[order[j]])
	})
	for _, i := range order {
		c.place(c.callouts[i])
	}
}

func (c *canvas) place(k callout) {
	w, h := c.extent(k)
	best, bestCost := spot{}, math.Inf(1)
	for _, s := range k.spots {
		if s.cost >= bestCost {
			continue
		}
		if cost := s.cost + c.spotCost(k, s, w, h, bestCost-s.cost); cost < bestCost {
			best, bestCost = s, cost
		}
	}
	at := k.anchor.offset(best.dx, best.dy)
	b := box{at.X - w/2, at.Y - h/2, at.X + w/2, at.Y + h/2}
	c.taken = append(c.taken, b.grow(c.px(2)))
	if k.leader {
		c.leaders = append(c.leaders, segment{k.anchor, at})
	}
	c.drawCallout(k, at, w)
}

// spotCost adds up what the place would disturb, and may stop at limit.
func (c *canvas) spotCost(k callout, s spot, w, h, limit float64) float64 {
	at := k.anchor.offset(s.dx, s.dy)
	b := box{at.X - w/2, at.Y - h/2, at.X + w/2, at.Y + h/2}
	page := box{c.px(4), c.px(4), float64(c.view.Width) - c.px(4), float64(c.view.Height) - c.px(4)}
	cost := costOutside * (1 - b.overlap(page)/b.area())
	for _, t := range c.taken {
		cost += costOverlap * b.overlap(t) / b.area()
	}
	own := segment{k.anchor, at}
	for _, l := range c.leaders {
		if l.touches(b) {
			cost += costThrough
		}
		if k.leader && own.crosses(l) {
			cost += costCross
		}
	}
	if cost >= limit {
		return cost
	}
	if k.leader {
		for _, t := range c.taken {
			if own.touches(t) {
				cost += costThrough
			}
		}
	}
	stands := 0
	for _, l := range c.lines {
		if stands < mostLines && l.touches(b) {
			stands++
		}
	}
	return cost + costLine*float64(stands) + costCover*c.covered(b)
}

// coverSamples is the number of samples along each side of a callout's box.
const coverSamples = 4

// covered returns the part of the box that lies over drawn parts, sampled.
func (c *canvas) covered(b box) float64 {
	if c.depths == nil {
		return 0
	}
	hit := 0
	for i := range coverSamples {
		for j := range coverSamples {
			x := b.x0 + (b.x1-b.x0)*float64(i)/(coverSamples-1)
			y := b.y0 + (b.y1-b.y0)*float64(j)/(coverSamples-1)
			if c.depths.Depth(int(x), int(y)) < 1 {
				hit++
			}
		}
	}
	return float64(hit) / (coverSamples * coverSamples)
}

// drawCallout draws a placed callout with its centre at the pixel at.
func (c *canvas) drawCallout(k callout, at Pixel, w float64) {
	ink := c.palette.Color(k.ink)
	if k.balloon {
		c.drawBalloon(k, at, w)
		return
	}
	tw, asc, desc := c.measure.Measure(k.text, k.size, k.face)
	if k.leader {
		edge := c.leaderEnd(k.anchor, at, tw/2+c.px(5), (asc+desc)/2+c.px(2))
		c.stroke(layerCallout, pen{color: ink, width: c.px(narrowPen)}, newPath([]Pixel{k.anchor, edge}))
	}
	c.add(layerCallout, Item{Color: ink, Text: &Text{
		S: k.text, X: at.X - tw/2, Y: at.Y + (asc-desc)/2, Size: k.size, Face: k.face,
		Halo: fade(c.palette.Color(InkPaper), 0.88),
	}})
}

// leaderEnd returns where the line from a to the centre of a box of half size
// w x h meets the box.
func (c *canvas) leaderEnd(a, centre Pixel, w, h float64) Pixel {
	dx, dy := a.X-centre.X, a.Y-centre.Y
	t := 1.0
	if dx != 0 {
		t = math.Min(t, w/math.Abs(dx))
	}
	if dy != 0 {
		t = math.Min(t, h/math.Abs(dy))
	}
	return centre.offset(dx*t, dy*t)
}

// drawBalloon draws a balloon with its leader, which ends in a dot inside an
// outline (ISO 6433).
func (c *canvas) drawBalloon(k callout, at Pixel, w float64) {
	ink, paper := c.palette.Color(k.ink), c.palette.Color(InkPaper)
	r := c.px(balloonRadius)
	wide := w/2 - r // straight part of a balloon for a long number
	line := pen{color: c.palette.Color(InkMain), width: c.px(narrowPen)}
	dx, dy := k.anchor.X-at.X, k.anchor.Y-at.Y
	if n := math.Hypot(dx, dy); n > r {
		edge := at.offset(dx/n*r+math.Copysign(math.Min(wide, math.Abs(dx)), dx), dy/n*r)
		c.stroke(layerCallout, line, newPath([]Pixel{edge, k.anchor}))
		dot := &strip{}
		dot.disc(k.anchor, c.px(2.2))
		c.add(layerCallout, Item{Color: line.color, Tris: dot.tris})
	}
	ground, text, rim := paper, ink, ink
	if k.filled {
		ground, text, rim = ink, paper, ink
	}
	c.capsule(at, wide, r, rim)
	c.capsule(at, wide, r-c.px(1.25), ground)
	tw, asc, desc := c.measure.Measure(k.text, k.size, k.face)
	c.add(layerCallout, Item{Color: text, Text: &Text{
		S: k.text, X: at.X - tw/2, Y: at.Y + (asc-desc)/2, Size: k.size, Face: k.face,
	}})
}

// capsule adds a filled circle, drawn out to both sides by wide.
func (c *canvas) capsule(at Pixel, wide, r float64, color color.NRGBA) {
	s := &strip{width: 2 * r}
	if wide > 0 {
		s.polyline([]Pixel{at.offset(-wide, 0), at.offset(wide, 0)})
		s.disc(at.offset(-wide, 0), r)
	}
	s.disc(at.offset(math.Max(wide, 0), 0), r)
	c.add(layerCallout, Item{Color: color, Tris: s.tris})
}

// ring draws an open circle on a halo of paper.
func (c *canvas) ring(p Pixel, r float64, color color.NRGBA) {
	halo := &strip{}
	halo.disc(p, r+c.px(1))
	c.add(layerSymbol, Item{Color: c.palette.Color(InkPaper), Tris: halo.tris})
	n := discSteps(r) * 2
	points := make([]Pixel, n+1)
	for i := range points {
		s, co := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		points[i] = p.offset(r*co, r*s)
	}
	s := &strip{width: c.px(1.5)}
	s.polyline(points)
	c.add(layerSymbol, Item{Color: color, Tris: s.tris})
}
