package findtest

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

// Point is a point of a plane outline: x and y of a plate, radius and height
// of a turned part.
type Point struct{ X, Y float64 }

// Lathe turns a closed profile of radius and height about the z axis in n
// steps, the first at angle first. Seen with the radius to the right and the
// height upward the profile runs counter-clockwise; it may touch the axis.
func Lathe(profile []Point, n int, first float64) *mesh.Mesh {
	var at []r3.Vec
	rings := make([][]int32, len(profile))
	for i, p := range profile {
		if p.X == 0 {
			rings[i] = []int32{int32(len(at))}
			at = append(at, r3.Vec{Z: p.Y})
			continue
		}
		for k := range n {
			s, c := math.Sincos(first + 2*math.Pi*float64(k)/float64(n))
			rings[i] = append(rings[i], int32(len(at)))
			at = append(at, r3.Vec{X: p.X * c, Y: p.X * s, Z: p.Y})
		}
	}
	var faces [][]int32
	for i := range profile {
		j := (i + 1) % len(profile)
		faces = append(faces, latheBand(profile[i], profile[j], rings[i], rings[j])...)
	}
	return built(at, faces)
}

// latheBand is the faces between two rings, the lower one first on the outside.
func latheBand(p, q Point, a, b []int32) [][]int32 {
	switch {
	case p.X == 0 && q.X == 0:
		return nil
	case p.Y == q.Y && p.X == 0: // an end that looks down
		f := slices.Clone(b)
		slices.Reverse(f)
		return [][]int32{f}
	case p.Y == q.Y && q.X == 0:
		return [][]int32{slices.Clone(a)}
	}
	n := max(len(a), len(b))
	var faces [][]int32
	for k := range n {
		l := (k + 1) % n
		switch {
		case p.X == 0:
			faces = append(faces, []int32{a[0], b[l], b[k]})
		case q.X == 0:
			faces = append(faces, []int32{a[k], a[l], b[0]})
		default:
			faces = append(faces, []int32{a[k], a[l], b[l], b[k]})
		}
	}
	return faces
}

// Rod is the profile of a rod with rounded or, for one step, chamfered ends.
func Rod(radius, z0, z1, edge float64, steps int) []Point {
	if edge <= 0 {
		return []Point{{0, z0}, {radius, z0}, {radius, z1}, {0, z1}}
	}
	p := []Point{{0, z0}}
	p = append(p, corner(Point{radius - edge, z0 + edge}, edge, -math.Pi/2, 0, steps)...)
	p = append(p, corner(Point{radius - edge, z1 - edge}, edge, 0, math.Pi/2, steps)...)
	return append(p, Point{0, z1})
}

// Tube is the profile of a tube with rounded or chamfered outer edges.
func Tube(inner, outer, z0, z1, edge float64, steps int) []Point {
	p := Rod(outer, z0, z1, edge, steps)
	p[0].X, p[len(p)-1].X = inner, inner
	return p
}

// corner is an arc from one angle to another.
func corner(c Point, r, from, to float64, steps int) []Point {
	var p []Point
	for k := range steps + 1 {
		s, x := math.Sincos(from + (to-from)*float64(k)/float64(steps))
		p = append(p, Point{c.X + r*x, c.Y + r*s})
	}
	return p
}

// Hole is a round hole with n corners.
type Hole struct {
	X, Y, R float64
	N       int
}

// Circle is a round outline with n corners.
func Circle(x, y, r float64, n int) []Point {
	p := corner(Point{x, y}, r, 0, 2*math.Pi, n)
	return p[:n]
}

// Rounded is a rectangle with round corners of k steps; r = 0 leaves them sharp.
func Rounded(x0, y0, x1, y1, r float64, k int) []Point {
	if r <= 0 {
		return []Point{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}}
	}
	p := corner(Point{x1 - r, y0 + r}, r, -math.Pi/2, 0, k)
	p = append(p, corner(Point{x1 - r, y1 - r}, r, 0, math.Pi/2, k)...)
	p = append(p, corner(Point{x0 + r, y1 - r}, r, math.Pi/2, math.Pi, k)...)
	return append(p, corner(Point{x0 + r, y0 + r}, r, math.Pi, 3*math.Pi/2, k)...)
}

// Dogbone is the outline round two circles, with n corners on a full one: a
// link's plate from the origin to x = length.
func Dogbone(length, r0, r1 float64, n int) []Point {
	lean := math.Asin((r0 - r1) / length)
	from := math.Pi/2 - lean
	p := corner(Point{length, 0}, r1, -from, from, max(2, n/2))
	return append(p, corner(Point{}, r0, from, 2*math.Pi-from, max(2, n/2))...)
}

// Extrude is a plate from z0 to z1 with a counter-clockwise outline and round
// holes that neither touch it nor one another.
func Extrude(outline []Point, holes []Hole, z0, z1 float64) *mesh.Mesh {
	loops := [][]Point{outline}
	for _, h := range holes {
		c := Circle(h.X, h.Y, h.R, h.N)
		slices.Reverse(c)
		loops = append(loops, c)
	}
	var flat []Point
	start := []int{0}
	for _, l := range loops {
		flat = append(flat, l...)
		start = append(start, len(flat))
	}
	n := int32(len(flat))
	at := make([]r3.Vec, 2*n)
	for i, p := range flat {
		at[i], at[i+int(n)] = r3.Vec{X: p.X, Y: p.Y, Z: z0}, r3.Vec{X: p.X, Y: p.Y, Z: z1}
	}
	var faces [][]int32
	for i := range loops {
		for k := start[i]; k < start[i+1]; k++ {
			l := k + 1
			if l == start[i+1] {
				l = start[i]
			}
			a, b := int32(k), int32(l)
			faces = append(faces, []int32{a, b, b + n, a + n})
		}
	}
	for _, t := range triangulated(flat, start) {
		faces = append(faces, []int32{t[2], t[1], t[0]}, []int32{t[0] + n, t[1] + n, t[2] + n})
	}
	return built(at, faces)
}
