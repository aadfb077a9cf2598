package solid

import (
	"math"
	"sort"
)

// Corner is a corner of an outline with the radius it is rounded by.
type Corner struct{ X, Y, R float64 }

// Rounded returns the outline through the corners, each rounded by its radius
// with one point for about every step radians.
func Rounded(corners []Corner, step float64) []P2 {
	var out []P2
	n := len(corners)
	for i, c := range corners {
		p := P2{c.X, c.Y}
		if c.R <= 0 {
			out = append(out, p)
			continue
		}
		a, b := corners[(i+n-1)%n], corners[(i+1)%n]
		u := P2{a.X, a.Y}.sub(p).unit()
		v := P2{b.X, b.Y}.sub(p).unit()
		half := math.Atan2(math.Abs(u.cross(v)), u.dot(v)) / 2
		centre := p.add(u.add(v).unit().mul(c.R / math.Sin(half)))
		from := p.add(u.mul(c.R / math.Tan(half))).sub(centre)
		to := p.add(v.mul(c.R / math.Tan(half))).sub(centre)
		turn := math.Atan2(from.cross(to), from.dot(to))
		steps := max(1, int(math.Ceil(math.Abs(turn)/step-1e-9)))
		start := math.Atan2(from.Y, from.X)
		for s := 0; s <= steps; s++ {
			out = append(out, centre.add(polar(c.R, start+turn*float64(s)/float64(steps))))
		}
	}
	return out
}

// Circle returns n points on a circle, counter-clockwise.
func Circle(x, y, r float64, n int) []P2 {
	out := make([]P2, n)
	for i := range out {
		out[i] = P2{x, y}.add(polar(r, 2*math.Pi*float64(i)/float64(n)))
	}
	return out
}

// Rect returns a rounded rectangle w by h round (x, y).
func Rect(x, y, w, h, r float64) []P2 {
	return Rounded([]Corner{
		{x - w/2, y - h/2, r}, {x + w/2, y - h/2, r}, {x + w/2, y + h/2, r}, {x - w/2, y + h/2, r},
	}, Deg(30))
}

// Slot returns an oblong hole of radius r between two points.
func Slot(a, b P2, r float64, n int) []P2 {
	return Hull(append(Circle(a.X, a.Y, r, n), Circle(b.X, b.Y, r, n)...))
}

// Hull returns the convex hull of the points, counter-clockwise.
func Hull(points []P2) []P2 {
	p := append([]P2(nil), points...)
	sort.Slice(p, func(i, j int) bool {
		if p[i].X != p[j].X {
			return p[i].X < p[j].X
		}
		return p[i].Y < p[j].Y
	})
	half := func(p []P2) []P2 {
		var h []P2
		for _, q := range p {
			for len(h) >= 2 && orient(h[len(h)-2], h[len(h)-1], q) <= 1e-9 {
				h = h[:len(h)-1]
			}
			h = append(h, q)
		}
		return h[:len(h)-1]
	}
	low := half(p)
	for i, j := 0, len(p)-1; i < j; i, j = i+1, j-1 {
		p[i], p[j] = p[j], p[i]
	}
	return append(low, half(p)...)
}

// Gear returns a spur outline with n straight-flanked teeth between the two
// radii.
func Gear(n int, root, tip float64) []P2 {
	var out []P2
	pitch := 2 * math.Pi / float64(n)
	for i := range n {
		a := pitch * float64(i)
		for _, s := range [...]struct{ r, at float64 }{{root, -0.27}, {tip, -0.13}, {tip, 0.13}, {root, 0.27}} {
			out = append(out, polar(s.r, a+s.at*pitch))
		}
	}
	return out
}

// area2 returns twice the signed area of an outline.
func area2(p []P2) float64 {
	var a float64
	for i := range p {
		a += p[i].cross(p[(i+1)%len(p)])
	}
	return a
}

// counterClockwise returns p, turned round if need be.
func counterClockwise(p []P2) []P2 {
	out := append([]P2(nil), p...)
	if area2(out) < 0 {
		for i, j := 0, len(out)-1; i < j; i, j = i+1, j-1 {
			out[i], out[j] = out[j], out[i]
		}
	}
	return out
}

// inset returns the counter-clockwise outline moved inward by d, corner by
// corner (outward for d < 0), so that both outlines pair vertex by vertex.
func inset(p []P2, d float64) []P2 {
	out := make([]P2, len(p))
	for i := range p {
		n1 := leftNormal(p[i].sub(p[(i+len(p)-1)%len(p)]).unit())
		n2 := leftNormal(p[(i+1)%len(p)].sub(p[i]).unit())
		s := n1.add(n2)
		out[i] = p[i].add(s.mul(d / (1 + n1.dot(n2))))
	}
	return out
}
