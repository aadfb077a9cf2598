package findtest

import (
	"cmp"
	"math"
	"slices"
)

// triangulated cuts an outline with holes into triangles: the first loop runs
// counter-clockwise, the holes clockwise. Every hole, the one farthest to the
// right first, is joined to what is round it by a bridge; ears are then clipped
// (D. Eberly, Triangulation by Ear Clipping, 2002).
func triangulated(p []Point, start []int) [][3]int32 {
	ring := make([]int32, start[1])
	for i := range ring {
		ring[i] = int32(i)
	}
	var holes [][]int32
	for i := 1; i+1 < len(start); i++ {
		h := make([]int32, 0, start[i+1]-start[i])
		right := start[i]
		for k := start[i]; k < start[i+1]; k++ {
			if p[k].X > p[right].X {
				right = k
			}
		}
		for k := right; k < start[i+1]; k++ {
			h = append(h, int32(k))
		}
		for k := start[i]; k < right; k++ {
			h = append(h, int32(k))
		}
		holes = append(holes, h)
	}
	slices.SortStableFunc(holes, func(a, b []int32) int { return cmp.Compare(p[b[0]].X, p[a[0]].X) })
	for k, h := range holes {
		i := bridge(p, ring, h[0], holes[k:])
		joined := append(slices.Clone(ring[:i+1]), h...)
		joined = append(joined, h[0])
		ring = append(joined, ring[i:]...)
	}
	return clip(p, ring)
}

// bridge is the place in the ring of the nearest vertex that v sees.
func bridge(p []Point, ring []int32, v int32, others [][]int32) int {
	best, least := -1, math.Inf(1)
	for i, w := range ring {
		d := math.Hypot(p[w].X-p[v].X, p[w].Y-p[v].Y)
		if d >= least || !opens(p, ring, i, p[v]) {
			continue
		}
		free := true
		for k := range ring {
			free = free && !crosses(p[v], p[w], p[ring[k]], p[ring[(k+1)%len(ring)]])
		}
		for _, h := range others {
			for k := range h {
				free = free && !crosses(p[v], p[w], p[h[k]], p[h[(k+1)%len(h)]])
			}
		}
		if free {
			best, least = i, d
		}
	}
	return best
}

// opens reports whether q lies between the two sides of the ring at place i,
// on the inside.
func opens(p []Point, ring []int32, i int, q Point) bool {
	n := len(ring)
	a, b, c := p[ring[(i+n-1)%n]], p[ring[i]], p[ring[(i+1)%n]]
	left, right := side(a, b, q) > 0, side(b, c, q) > 0
	if side(a, b, c) >= 0 {
		return left && right
	}
	return left || right
}

// side is positive for c left of the line from a to b.
func side(a, b, c Point) float64 { return (b.X-a.X)*(c.Y-a.Y) - (b.Y-a.Y)*(c.X-a.X) }

// crosses reports whether two segments meet anywhere but at a common end.
func crosses(a, b, c, d Point) bool {
	if a == c || a == d || b == c || b == d {
		return false
	}
	return side(a, b, c)*side(a, b, d) <= 0 && side(c, d, a)*side(c, d, b) <= 0 && math.Max(a.X, b.X) >= math.Min(c.X, d.X) &&
		math.Max(c.X, d.X) >= math.Min(a.X, b.X) && math.Max(a.Y, b.Y) >= math.Min(c.Y, d.Y) && math.Max(c.Y, d.Y) >= math.Min(a.Y, b.Y)
}

// clip cuts ears off a ring, the best shaped first. A corner that was no ear is
// looked at again when its neighbours change or no ear is left.
func clip(p []Point, ring []int32) [][3]int32 {
	ring = slices.Clone(ring)
	shape := make([]float64, len(ring))
	look := func(i int) { shape[i] = ear(p, ring, i) }
	for i := range ring {
		look(i)
	}
	var out [][3]int32
	for len(ring) > 3 {
		best := 0
		for i, s := range shape {
			if s > shape[best] {
				best = i
			}
		}
		if math.IsInf(shape[best], -1) {
			for i := range ring {
				if look(i); shape[i] > shape[best] {
					best = i
				}
			}
		}
		n := len(ring)
		out = append(out, [3]int32{ring[(best+n-1)%n], ring[best], ring[(best+1)%n]})
		ring, shape = slices.Delete(ring, best, best+1), slices.Delete(shape, best, best+1)
		n--
		look((best + n - 1) % n)
		look(best % n)
	}
	return append(out, [3]int32{ring[0], ring[1], ring[2]})
}

// ear is how well shaped the triangle at a place of the ring is, -Inf for none.
func ear(p []Point, ring []int32, i int) float64 {
	n := len(ring)
	a, b, c := p[ring[(i+n-1)%n]], p[ring[i]], p[ring[(i+1)%n]]
	twice := side(a, b, c)
	if twice <= 0 {
		return math.Inf(-1)
	}
	shape := -math.Hypot(c.X-a.X, c.Y-a.Y)
	for _, v := range ring {
		q := p[v]
		if q != a && q != b && q != c && side(a, b, q) >= 0 && side(b, c, q) >= 0 && side(c, a, q) >= 0 {
			return math.Inf(-1)
		}
	}
	return shape
}
