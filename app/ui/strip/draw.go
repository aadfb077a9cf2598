package strip

import (
	"math"
	"strconv"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"

	"pintle/app/ui/style"
)

const top float32 = 18 // room above the plot for the flags' figures

func (rr *rulerRenderer) draw() {
	rr.objects = rr.objects[:0]
	sp := rr.r.span()
	rr.drawRange(sp)
	rr.drawTicks(sp)
	rr.drawCurve(sp)
	rr.drawFlags(sp)
	rr.drawCursor(sp)
}

func (rr *rulerRenderer) drawRange(sp span) {
	d := rr.r.data
	x0, x1 := sp.left, sp.left+sp.width
	if d.Searched != nil {
		x0, x1 = sp.x(d.Searched[0]), sp.x(d.Searched[1])
	}
	if d.Lower != nil {
		x0 = sp.x(*d.Lower)
	}
	if d.Upper != nil {
		x1 = sp.x(*d.Upper)
	}
	box := canvas.NewRectangle(rr.tone(style.Range))
	box.Move(fyne.NewPos(x0, top))
	box.Resize(fyne.NewSize(max(0, x1-x0), rr.baseline()-top))
	rr.add(box)
	if d.Limits == nil {
		return
	}
	for _, v := range d.Limits {
		x := sp.x(v)
		for y := top; y < rr.baseline(); y += 8 {
			rr.line(x, y, x, min(y+5, rr.baseline()), 1, style.Check)
		}
	}
}

func (rr *rulerRenderer) drawTicks(sp span) {
	y := rr.baseline()
	rr.line(sp.left, y, sp.left+sp.width, y, 1, style.Ink)
	angles := !rr.r.data.Slider
	major := niceStep(sp.hi-sp.lo, int(max(2, sp.width/72)), angles)
	minor := niceStep(sp.hi-sp.lo, int(max(4, sp.width/18)), angles)
	if math.Abs(math.Remainder(major, minor)) > 1e-9*major {
		minor = major / 5
	}
	for i := math.Ceil(sp.lo/minor - 1e-9); i*minor <= sp.hi+1e-9*minor; i++ {
		x := sp.x(i * minor)
		rr.line(x, y, x, y+4, 1, style.Ink)
	}
	prec := max(0, int(-math.Floor(math.Log10(major)+1e-9)))
	for i := math.Ceil(sp.lo/major - 1e-9); i*major <= sp.hi+1e-9*major; i++ {
		x := sp.x(i * major)
		rr.line(x, y, x, y+8, 1, style.Ink)
		rr.text(rr.format(i*major, prec), x, y+9, 0, style.Faded, false)
	}
}

// drawCurve scales the curve to the height of the plot, zero at the ruler.
func (rr *rulerRenderer) drawCurve(sp span) {
	c := rr.r.data.Curve
	peak := c.peak()
	if !(peak > 0) {
		return
	}
	h := rr.baseline() - top - 8
	y := func(v float64) float32 { return rr.baseline() - h*float32(v/peak) }
	last := 0
	for i := 1; i < len(c.At); i++ {
		a, b := c.Value[last], c.Value[i]
		if !c.matters(i) && sp.x(c.At[i])-sp.x(c.At[last]) < 1.5 {
			continue // a line for each of thousands of samples would be slow
		}
		if !math.IsNaN(a) && !math.IsNaN(b) {
			rr.line(sp.x(c.At[last]), y(a), sp.x(c.At[i]), y(b), 1.4, style.Ink)
		}
		last = i
	}
	rr.text(c.Name+", "+c.Unit+", to "+threeDigits(peak), rr.r.Size().Width-4, 0, -1, style.Faded, false)
	if l := c.Least; l != nil {
		rr.least(sp.x(l[0]), y(l[1]), threeDigits(l[1]))
	}
}

// least marks the least value of a curve by a caret below it, or above where
// there is no room.
func (rr *rulerRenderer) least(x, y float32, s string) {
	tip, end, text := y+2, y+8, y+8
	if end > rr.baseline()-14 {
		tip, end, text = y-2, y-8, y-22
	}
	rr.line(x, tip, x-4, end, 1.4, style.Check)
	rr.line(x, tip, x+4, end, 1.4, style.Check)
	rr.text(s, x, text, 0, style.Check, false)
}

// matters reports whether the curve turns, ends or breaks off at point i.
func (c Curve) matters(i int) bool {
	if i == 0 || i == len(c.At)-1 {
		return true
	}
	a, v, b := c.Value[i-1], c.Value[i], c.Value[i+1]
	return math.IsNaN(a) || math.IsNaN(v) || math.IsNaN(b) || (v-a)*(b-v) < 0
}

func (c Curve) peak() float64 {
	peak := 0.0
	for _, v := range c.Value {
		if !math.IsNaN(v) && !math.IsInf(v, 0) {
			peak = max(peak, v)
		}
	}
	return peak
}

// at interpolates the curve linearly; NaN outside it.
func (c Curve) at(v float64) float64 {
	for i := 1; i < len(c.At); i++ {
		if a, b := c.At[i-1], c.At[i]; v >= a && v <= b {
			if b == a {
				return c.Value[i]
			}
			t := (v - a) / (b - a)
			return c.Value[i-1] + t*(c.Value[i]-c.Value[i-1])
		}
	}
	return math.NaN()
}

// told returns what was measured at a value, or else what the curve says.
func (c Curve) told(v float64) float64 {
	if c.Here != nil && c.Here[0] == v {
		return c.Here[1]
	}
	return c.at(v)
}

// threeDigits prints a length with three significant figures, never as a power.
func threeDigits(v float64) string {
	if v == 0 {
		return "0"
	}
	prec := max(0, 2-int(math.Floor(math.Log10(math.Abs(v)))))
	return strconv.FormatFloat(v, 'f', min(prec, 6), 64)
}

func (rr *rulerRenderer) drawFlags(sp span) {
	d := rr.r.data
	// Figures of contacts with little room between them, or between them and the
	// cursor's, stand outside.
	const room = 60
	side := 1
	if d.Searched != nil && (d.Lower != nil && sp.x(0)-sp.x(*d.Lower) < room || d.Upper != nil && sp.x(*d.Upper)-sp.x(0) < room) {
		side = -1
	}
	if d.Lower != nil {
		rr.flag(sp.x(*d.Lower), rr.format(*d.Lower, 2), 1, side)
	}
	if d.Upper != nil {
		rr.flag(sp.x(*d.Upper), "+"+rr.format(*d.Upper, 2), -1, -side)
	}
}

// flag marks a first contact: a post with a pennant that points into the
// free range and the figure beside it, to the right where beside is 1, to the left
// where it is -1.
func (rr *rulerRenderer) flag(x float32, s string, into, beside int) {
	rr.line(x, top-4, x, rr.baseline(), 1.4, style.Accent)
	for i := float32(0); i <= 9; i++ {
		half := 5 * (1 - i/9)
		px := x + float32(into)*i
		rr.line(px, top+1-half, px, top+1+half, 1.1, style.Accent)
	}
	rr.text(s, x+float32(beside)*13, top-6, beside, style.Accent, false)
}

func (rr *rulerRenderer) drawCursor(sp span) {
	x, y := sp.x(rr.r.value), rr.baseline()
	rr.line(x, top-8, x, y+6, 1.6, style.Reach)
	dot := canvas.NewCircle(rr.tone(style.Reach))
	radius := float32(5)
	if rr.r.focused {
		radius = 7
	}
	dot.Move(fyne.NewPos(x-radius, y-radius))
	dot.Resize(fyne.NewSquareSize(2 * radius))
	rr.add(dot)
	s := rr.format(rr.r.value, 1)
	if v := rr.r.data.Curve.told(rr.r.value); !math.IsNaN(v) {
		s += "  " + threeDigits(v) + " " + rr.r.data.Curve.Unit
	}
	align, off := 1, float32(8)
	if x > sp.left+sp.width*0.75 {
		align, off = -1, -8
	}
	rr.text(s, x+off, top+14, align, style.Reach, true)
}
