package solid

import "math"

// Lofted returns the body through the sections: closed loops of equal count,
// each counter-clockwise seen from the end of the loft.
func Lofted(sections [][]Vec) Mesh {
	var m Mesh
	var first, prev []int32
	for i, s := range sections {
		r := m.ring(s)
		if i == 0 {
			first = r
		} else {
			m.band(prev, r)
		}
		prev = r
	}
	m.face(reversed(first)...)
	m.face(prev...)
	return m
}

// Section places an outline in the XY plane of a frame.
func Section(outline []P2, f Frame) []Vec {
	p := counterClockwise(outline)
	out := make([]Vec, len(p))
	for i, q := range p {
		out[i] = f.At(Vec{X: q.X, Y: q.Y})
	}
	return out
}

// Pipe returns a round bar of radius r along a smooth curve through the
// points, with n corners and steps sections for each span.
func Pipe(points []Vec, r float64, n, steps int) Mesh {
	path := smooth(points, steps)
	side := path[1].Sub(path[0]).Cross(Vec{0.31, 0.53, 0.79}).Unit()
	sections := make([][]Vec, len(path))
	for i, p := range path {
		dir := path[min(i+1, len(path)-1)].Sub(path[max(i-1, 0)]).Unit()
		side = side.Sub(dir.Mul(side.Dot(dir))).Unit()
		f := Frame{O: p, X: side, Y: dir.Cross(side), Z: dir}
		sections[i] = Section(Circle(0, 0, r, n), f)
	}
	return Lofted(sections)
}

// smooth returns a Catmull-Rom curve through the points, with their chord
// lengths under the square root as knots so that it does not loop.
func smooth(p []Vec, steps int) []Vec {
	out := []Vec{p[0]}
	for i := 0; i+1 < len(p); i++ {
		a, d := p[max(i-1, 0)], p[min(i+2, len(p)-1)]
		if i == 0 {
			a = p[0].Mul(2).Sub(p[1])
		}
		if i+2 >= len(p) {
			d = p[i+1].Mul(2).Sub(p[i])
		}
		for s := 1; s <= steps; s++ {
			out = append(out, catmull(a, p[i], p[i+1], d, float64(s)/float64(steps)))
		}
	}
	return out
}

func catmull(a, b, c, d Vec, u float64) Vec {
	t0 := 0.0
	t1 := t0 + math.Sqrt(b.Sub(a).Norm())
	t2 := t1 + math.Sqrt(c.Sub(b).Norm())
	t3 := t2 + math.Sqrt(d.Sub(c).Norm())
	t := t1 + u*(t2-t1)
	mix := func(p, q Vec, s, e float64) Vec { return lerpV(p, q, (t-s)/(e-s)) }
	ab, bc, cd := mix(a, b, t0, t1), mix(b, c, t1, t2), mix(c, d, t2, t3)
	return mix(mix(ab, bc, t0, t2), mix(bc, cd, t1, t3), t1, t2)
}
