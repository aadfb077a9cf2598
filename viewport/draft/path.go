package draft

import "math"

// path is a projected polyline with the length run to each of its points.
type path struct {
	at  []Pixel
	run []float64
}

func newPath(points []Pixel) path {
	p := path{at: points, run: make([]float64, len(points))}
	for i := 1; i < len(points); i++ {
		p.run[i] = p.run[i-1] + math.Hypot(points[i].X-points[i-1].X, points[i].Y-points[i-1].Y)
	}
	return p
}

func (p path) length() float64 {
	if len(p.run) == 0 {
		return 0
	}
	return p.run[len(p.run)-1]
}

// windows returns the stretches of the path that may be seen in a picture of
// w x h pixels when drawn with the given margin round it.
func (p path) windows(w, h, margin float64) []Span {
	var out []Span
	for i := 1; i < len(p.at); i++ {
		t0, t1, ok := clipSegment(p.at[i-1], p.at[i], -margin, -margin, w+margin, h+margin)
		if !ok {
			continue
		}
		l := p.run[i] - p.run[i-1]
		s := Span{p.run[i-1] + t0*l, p.run[i-1] + t1*l}
		if k := len(out) - 1; k >= 0 && s.From <= out[k].To {
			out[k].To = s.To
		} else {
			out = append(out, s)
		}
	}
	return out
}

// clipSegment returns the parameters between which the segment lies in the
// rectangle (Liang and Barsky, A new concept and method for line clipping, 1984).
func clipSegment(a, b Pixel, x0, y0, x1, y1 float64) (t0, t1 float64, ok bool) {
	t0, t1 = 0, 1
	dx, dy := b.X-a.X, b.Y-a.Y
	for _, e := range [4][2]float64{{-dx, a.X - x0}, {dx, x1 - a.X}, {-dy, a.Y - y0}, {dy, y1 - a.Y}} {
		switch {
		case e[0] == 0:
			if e[1] < 0 {
				return 0, 0, false
			}
		case e[0] < 0:
			t0 = math.Max(t0, e[1]/e[0])
		default:
			t1 = math.Min(t1, e[1]/e[0])
		}
	}
	return t0, t1, t0 <= t1
}

// sub returns the part of the path between two lengths along it.
func (p path) sub(s Span) []Pixel {
	out := []Pixel{p.point(s.From)}
	for i, r := range p.run {
		if r > s.From && r < s.To {
			out = append(out, p.at[i])
		}
	}
	return append(out, p.point(s.To))
}

// point returns the point at length s along the path.
func (p path) point(s float64) Pixel {
	lo, hi := 0, len(p.run)-1
	for hi-lo > 1 {
		if mid := (lo + hi) / 2; p.run[mid] <= s {
			lo = mid
		} else {
			hi = mid
		}
	}
	l := p.run[hi] - p.run[lo]
	if l == 0 {
		return p.at[lo]
	}
	return between(p.at[lo], p.at[hi], clamp((s-p.run[lo])/l, 0, 1))
}

func between(a, b Pixel, t float64) Pixel {
	return Pixel{
		X:     a.X + t*(b.X-a.X),
		Y:     a.Y + t*(b.Y-a.Y),
		Depth: a.Depth + t*(b.Depth-a.Depth),
	}
}
