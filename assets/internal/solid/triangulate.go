package solid

import (
	"math"
	"sort"
)

// triangulate cuts the area between loops[0] and the holes loops[1:] (all
// counter-clockwise) into triangles by joining the holes to the outline,
// clipping ears and then flipping inner edges until they are Delaunay.
func triangulate(loops [][]int32, at func(int32) P2) [][3]int32 {
	poly := append([]int32(nil), loops[0]...)
	holes := make([][]int32, 0, len(loops)-1)
	for _, h := range loops[1:] {
		holes = append(holes, reversed(h))
	}
	rightmost := func(h []int32) int {
		best := 0
		for i := range h {
			if at(h[i]).X > at(h[best]).X {
				best = i
			}
		}
		return best
	}
	sort.SliceStable(holes, func(i, j int) bool {
		return at(holes[i][rightmost(holes[i])]).X > at(holes[j][rightmost(holes[j])]).X
	})
	for k, h := range holes {
		poly = bridge(poly, h, rightmost(h), holes[k+1:], at)
	}
	return flipped(clipEars(poly, at), loops, at)
}

// bridge splices a hole into poly along the shortest segment from the hole's
// vertex s to a vertex of poly that crosses nothing.
func bridge(poly, hole []int32, s int, rest [][]int32, at func(int32) P2) []int32 {
	p := at(hole[s])
	order := make([]int, len(poly))
	for i := range order {
		order[i] = i
	}
	sort.SliceStable(order, func(i, j int) bool {
		return at(poly[order[i]]).sub(p).norm() < at(poly[order[j]]).sub(p).norm()
	})
	clear := func(q P2, skip int32) bool {
		for _, l := range append([][]int32{poly, hole}, rest...) {
			for i := range l {
				a, b := l[i], l[(i+1)%len(l)]
				if a == skip || b == skip || a == hole[s] || b == hole[s] {
					continue
				}
				if crosses(p, q, at(a), at(b)) {
					return false
				}
			}
		}
		return true
	}
	for _, i := range order {
		n := len(poly)
		a, v, b := at(poly[(i+n-1)%n]), at(poly[i]), at(poly[(i+1)%n])
		if !inCone(a, v, b, p) || !clear(v, poly[i]) {
			continue
		}
		out := append([]int32(nil), poly[:i+1]...)
		out = append(out, hole[s:]...)
		out = append(out, hole[:s+1]...)
		return append(out, poly[i:]...)
	}
	panic("solid: a hole lies outside its outline")
}

// inCone tells whether p lies inside the corner a, v, b of a counter-clockwise
// outline.
func inCone(a, v, b, p P2) bool {
	if orient(a, v, b) > 0 {
		return orient(a, v, p) > 0 && orient(v, b, p) > 0
	}
	return orient(a, v, p) > 0 || orient(v, b, p) > 0
}

func crosses(a, b, c, d P2) bool {
	return orient(a, b, c)*orient(a, b, d) < 0 && orient(c, d, a)*orient(c, d, b) < 0
}

// clipEars cuts a simple polygon, whose bridges are walked twice, into
// triangles, best-shaped ear first among those that are empty.
func clipEars(poly []int32, at func(int32) P2) [][3]int32 {
	p := append([]int32(nil), poly...)
	var out [][3]int32
	for len(p) > 3 {
		best, quality := -1, 0.0
		for i := range p {
			if q := earQuality(p, i, at); q > quality {
				best, quality = i, q
			}
		}
		if best < 0 {
			panic("solid: an outline crosses itself")
		}
		n := len(p)
		out = append(out, [3]int32{p[(best+n-1)%n], p[best], p[(best+1)%n]})
		p = append(p[:best], p[best+1:]...)
	}
	return append(out, [3]int32{p[0], p[1], p[2]})
}

// earQuality returns a positive number, larger for better shape, when corner i
// is an ear, else 0.
func earQuality(p []int32, i int, at func(int32) P2) float64 {
	n := len(p)
	ia, ib, ic := p[(i+n-1)%n], p[i], p[(i+1)%n]
	a, b, c := at(ia), at(ib), at(ic)
	twice := orient(a, b, c)
	if twice <= 1e-9 {
		return 0
	}
	for _, v := range p {
		if v == ia || v == ib || v == ic {
			continue
		}
		q := at(v)
		if orient(a, b, q) >= 0 && orient(b, c, q) >= 0 && orient(c, a, q) >= 0 {
			return 0
		}
	}
	l := math.Max(a.sub(b).norm(), math.Max(b.sub(c).norm(), c.sub(a).norm()))
	return twice / (l * l)
}

// flipped swaps the diagonals of neighbouring triangles until none gains,
// leaving the edges of the loops alone.
func flipped(tris [][3]int32, loops [][]int32, at func(int32) P2) [][3]int32 {
	fixed := map[[2]int32]bool{}
	for _, l := range loops {
		for i := range l {
			a, b := l[i], l[(i+1)%len(l)]
			fixed[[2]int32{a, b}], fixed[[2]int32{b, a}] = true, true
		}
	}
	for range 40 * len(tris) {
		owner := map[[2]int32]int{}
		for t, v := range tris {
			for k := range 3 {
				owner[[2]int32{v[k], v[(k+1)%3]}] = t
			}
		}
		if !flipOne(tris, owner, fixed, at) {
			break
		}
	}
	return tris
}

// flipOne flips every edge of one sweep that gains and whose two triangles
// have not been touched in this sweep.
func flipOne(tris [][3]int32, owner map[[2]int32]int, fixed map[[2]int32]bool, at func(int32) P2) bool {
	touched := make([]bool, len(tris))
	any := false
	for t := range tris {
		for k := range 3 {
			v := tris[t]
			a, b, c := v[k], v[(k+1)%3], v[(k+2)%3]
			o, ok := owner[[2]int32{b, a}]
			if !ok || touched[t] || touched[o] || fixed[[2]int32{a, b}] {
				continue
			}
			d := opposite(tris[o], a, b)
			if orient(at(c), at(a), at(d)) <= 1e-9 || orient(at(c), at(d), at(b)) <= 1e-9 {
				continue
			}
			if inCircle(at(a), at(b), at(c), at(d)) <= 1e-7 {
				continue
			}
			tris[t], tris[o] = [3]int32{c, a, d}, [3]int32{c, d, b}
			touched[t], touched[o] = true, true
			any = true
		}
	}
	return any
}

func opposite(t [3]int32, a, b int32) int32 {
	for _, v := range t {
		if v != a && v != b {
			return v
		}
	}
	panic("solid: a triangle has two equal corners")
}

// inCircle is positive when d lies inside the circle through the
// counter-clockwise triangle a, b, c; scaled to be free of units.
func inCircle(a, b, c, d P2) float64 {
	a, b, c = a.sub(d), b.sub(d), c.sub(d)
	s := math.Max(a.norm(), math.Max(b.norm(), c.norm()))
	a, b, c = a.mul(1/s), b.mul(1/s), c.mul(1/s)
	return a.dot(a)*b.cross(c) - b.dot(b)*a.cross(c) + c.dot(c)*a.cross(b)
}
