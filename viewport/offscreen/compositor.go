package offscreen

import (
	"image"
	"image/color"
	"math"

	"pintle/viewport/draft"
)

// compositor lays drawings over shaded pictures. It keeps scratch memory and
// fonts, so one goroutine at a time may use it.
type compositor struct {
	fonts
	raster raster
}

func newCompositor() (*compositor, error) {
	c := &compositor{}
	return c, c.load()
}

// over returns a copy of the picture with the drawing laid over it.
func (c *compositor) over(picture *image.RGBA, d draft.Drawing, depth []float32, v draft.View) *image.RGBA {
	out := image.NewRGBA(picture.Rect)
	copy(out.Pix, picture.Pix)
	c.raster.aim(v.Width, v.Height)
	near, far, _ := v.Planes()
	slack := 2*v.UnitsPerPixel(v.Camera.Target)/(far-near) + 1e-5
	for _, item := range d.Items {
		switch {
		case item.Text != nil:
			c.text(out, *item.Text, item.Color)
		case item.Test && len(depth) > 0:
			c.raster.wash(out, item, depth, float32(slack))
		default:
			c.raster.fill(out, item.Tris, item.Color)
		}
	}
	return out
}

// raster fills triangles with exact pixel coverage. Signed areas of all
// triangles of one item are summed up in a buffer of one float per pixel and
// swept along the rows; since they all turn the same way, shared sides cancel
// and overlaps are cut off at full coverage.
type raster struct {
	w, h   int
	row    int // floats per row of sum
	sum    []float32
	lo, hi []int32 // touched columns per row
	top    int
	bottom int
	mark   []uint8 // pixels washed
}

func (r *raster) aim(w, h int) {
	if r.w == w && r.h == h {
		return
	}
	r.w, r.h = w, h
	// Two spare columns per row take what lies at the right edge and beyond.
	r.row = w + 2
	r.sum, r.mark = make([]float32, r.row*h), make([]uint8, w*h)
	r.lo, r.hi = make([]int32, h), make([]int32, h)
	for i := range r.lo {
		r.lo[i] = int32(w)
	}
	r.top, r.bottom = h, 0
}

// fill draws the triangles in one colour.
func (r *raster) fill(img *image.RGBA, tris []draft.Pixel, c color.NRGBA) {
	for i := 0; i+2 < len(tris); i += 3 {
		r.triangle(tris[i], tris[i+1], tris[i+2])
	}
	r.sweep(img, c)
}

// farAway is a size in pixels at which a triangle has lost its shape to
// rounding; NaN and infinity count as such.
const farAway = 1e12

// triangle adds the coverage of a triangle, cut to the picture.
func (r *raster) triangle(a, b, c draft.Pixel) {
	w, h := float64(r.w), float64(r.h)
	x0, x1 := math.Min(a.X, math.Min(b.X, c.X)), math.Max(a.X, math.Max(b.X, c.X))
	y0, y1 := math.Min(a.Y, math.Min(b.Y, c.Y)), math.Max(a.Y, math.Max(b.Y, c.Y))
	if !(x0 < w && x1 > 0 && y0 < h && y1 > 0) || !(math.Max(x1-x0, y1-y0) < farAway) {
		return
	}
	if x0 >= 0 && x1 <= w && y0 >= 0 && y1 <= h {
		r.line(a.X, a.Y, b.X, b.Y)
		r.line(b.X, b.Y, c.X, c.Y)
		r.line(c.X, c.Y, a.X, a.Y)
		return
	}
	p := clipPolygon([]draft.Pixel{a, b, c}, w, h)
	for i := range p {
		q := p[(i+1)%len(p)]
		r.line(p[i].X, p[i].Y, q.X, q.Y)
	}
}

// clipPolygon cuts a polygon to the rectangle from 0,0 to w,h (Sutherland and
// Hodgman, Reentrant polygon clipping, 1974).
func clipPolygon(p []draft.Pixel, w, h float64) []draft.Pixel {
	sides := [4]func(q draft.Pixel) float64{
		func(q draft.Pixel) float64 { return q.X },
		func(q draft.Pixel) float64 { return w - q.X },
		func(q draft.Pixel) float64 { return q.Y },
		func(q draft.Pixel) float64 { return h - q.Y },
	}
	for _, side := range sides {
		var out []draft.Pixel
		for i, q := range p {
			next := p[(i+1)%len(p)]
			s, t := side(q), side(next)
			if s >= 0 {
				out = append(out, q)
			}
			if (s >= 0) != (t >= 0) {
				k := s / (s - t)
				out = append(out, draft.Pixel{X: q.X + k*(next.X-q.X), Y: q.Y + k*(next.Y-q.Y)})
			}
		}
		p = out
	}
	for i := range p { // rounding may have left a corner just outside
		p[i].X = math.Max(0, math.Min(w, p[i].X))
		p[i].Y = math.Max(0, math.Min(h, p[i].Y))
	}
	return p
}

// line adds the signed area to the right of a line inside the picture.
func (r *raster) line(xa, ya, xb, yb float64) {
	if ya == yb {
		return
	}
	sign := float32(1)
	if ya > yb {
		xa, ya, xb, yb, sign = xb, yb, xa, ya, -1
	}
	slope := (xb - xa) / (yb - ya)
	first, last := int(ya), min(int(math.Ceil(yb)), r.h)
	r.top, r.bottom = min(r.top, first), max(r.bottom, last)
	for y := first; y < last; y++ {
		y0, y1 := math.Max(ya, float64(y)), math.Min(yb, float64(y+1))
		dy := y1 - y0
		if dy <= 0 {
			continue
		}
		p, q := xa+(y0-ya)*slope, xa+(y1-ya)*slope
		if p > q {
			p, q = q, p
		}
		r.cross(y, math.Max(p, 0), math.Min(math.Max(q, 0), float64(r.w)), sign*float32(dy))
	}
}

// cross adds the coverage change of a stretch of line that crosses the row from
// column x0 to x1 and spans the signed height d of it.
func (r *raster) cross(y int, x0, x1 float64, d float32) {
	first, last := int(x0), int(x1)
	r.lo[y] = min(r.lo[y], int32(first))
	r.hi[y] = max(r.hi[y], int32(last+2))
	sum := r.sum[y*r.row : (y+1)*r.row]
	if first == last {
		mid := float32(x0+x1)/2 - float32(first)
		sum[first] += d * (1 - mid)
		sum[first+1] += d * mid
		return
	}
	inv := d / float32(x1-x0)
	left := float32(float64(first+1) - x0)
	area := 0.5 * inv * left * left
	sum[first] += area
	done := area
	acc := inv * left
	for x := first + 1; x < last; x++ {
		v := acc - done + 0.5*inv
		sum[x] += v
		done += v
		acc += inv
	}
	right := float32(x1 - float64(last))
	v := acc - done + inv*right*(1-0.5*right)
	sum[last] += v
	done += v
	sum[last+1] += d - done
}

// sweep lays the colour on by the summed coverage and clears the sums.
func (r *raster) sweep(img *image.RGBA, c color.NRGBA) {
	for y := r.top; y < r.bottom; y++ {
		lo, hi := int(r.lo[y]), int(r.hi[y])
		r.lo[y], r.hi[y] = int32(r.w), 0
		sum := r.sum[y*r.row : (y+1)*r.row]
		var acc float32
		for x := lo; x < min(hi, r.w); x++ {
			acc += sum[x]
			sum[x] = 0
			cover := acc
			if cover < 0 {
				cover = -cover
			}
			if cover > 1 {
				cover = 1
			}
			if a := uint32(cover*float32(c.A) + 0.5); a > 0 {
				blend(img.Pix[y*img.Stride+4*x:], c, a)
			}
		}
		sum[r.w], sum[r.w+1] = 0, 0
	}
	r.top, r.bottom = r.h, 0
}

// blend lays a colour of opacity a (0 to 255) over an opaque pixel.
func blend(pix []uint8, c color.NRGBA, a uint32) {
	f := func(old, new uint8) uint8 {
		return uint8((uint32(old)*(255-a) + uint32(new)*a + 127) / 255)
	}
	pix[0], pix[1], pix[2] = f(pix[0], c.R), f(pix[1], c.G), f(pix[2], c.B)
}

// wash draws an item's triangles at the pixels whose middle they cover and
// where nothing nearer was shaded, each pixel once.
func (r *raster) wash(img *image.RGBA, item draft.Item, depth []float32, slack float32) {
	var touched []int
	for i := 0; i+2 < len(item.Tris); i += 3 {
		r.scan(item.Tris[i], item.Tris[i+1], item.Tris[i+2], func(at int, z float32) {
			if r.mark[at] == 0 && z <= depth[at]+slack {
				r.mark[at] = 1
				touched = append(touched, at)
			}
		})
	}
	for _, at := range touched {
		r.mark[at] = 0
		blend(img.Pix[4*at:], item.Color, uint32(item.Color.A))
	}
}

// scan visits the pixels whose middle lies in the triangle, with its depth there.
func (r *raster) scan(a, b, c draft.Pixel, visit func(at int, z float32)) {
	area := (b.X-a.X)*(c.Y-a.Y) - (b.Y-a.Y)*(c.X-a.X)
	if area == 0 || !(math.Abs(area) < farAway*farAway) {
		return
	}
	zx := ((b.Depth-a.Depth)*(c.Y-a.Y) - (c.Depth-a.Depth)*(b.Y-a.Y)) / area
	zy := ((c.Depth-a.Depth)*(b.X-a.X) - (b.Depth-a.Depth)*(c.X-a.X)) / area
	y0 := math.Max(0, math.Ceil(math.Min(a.Y, math.Min(b.Y, c.Y))-0.5))
	y1 := math.Min(float64(r.h), math.Ceil(math.Max(a.Y, math.Max(b.Y, c.Y))-0.5))
	for y := y0; y < y1; y++ {
		lo, hi := rowSpan(a, b, c, y+0.5)
		lo, hi = math.Max(0, math.Ceil(lo-0.5)), math.Min(float64(r.w), math.Ceil(hi-0.5))
		for x := lo; x < hi; x++ {
			z := a.Depth + (x+0.5-a.X)*zx + (y+0.5-a.Y)*zy
			visit(int(y)*r.w+int(x), float32(z))
		}
	}
}

// rowSpan returns where a triangle's sides cross the height y.
func rowSpan(a, b, c draft.Pixel, y float64) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, s := range [3][2]draft.Pixel{{a, b}, {b, c}, {c, a}} {
		p, q := s[0], s[1]
		if (p.Y <= y) != (q.Y <= y) {
			x := p.X + (y-p.Y)/(q.Y-p.Y)*(q.X-p.X)
			lo, hi = math.Min(lo, x), math.Max(hi, x)
		}
	}
	return lo, hi
}
