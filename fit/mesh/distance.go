package mesh

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// ClosestOnSegments returns the nearest points p on the segment p0 p1 and q on
// q0 q1 with their parameters s and t in [0, 1]. Parallel segments and segments
// of no length are sound input; of equally near pairs it returns one.
func ClosestOnSegments(p0, p1, q0, q1 r3.Vec) (p, q r3.Vec, s, t float64) {
	best := math.Inf(1)
	try := func(s1, t1 float64, p1, q1 r3.Vec) {
		if d := r3.Norm2(r3.Sub(p1, q1)); d < best {
			p, q, s, t, best = p1, q1, s1, t1, d
		}
	}
	if s, t, p, q, ok := crossing(p0, p1, q0, q1); ok {
		try(s, t, p, q)
	}
	// The ends make up for whatever rounding does to nearly parallel lines.
	x, u := ClosestOnSegment(p0, q0, q1)
	try(0, u, p0, x)
	x, u = ClosestOnSegment(p1, q0, q1)
	try(1, u, p1, x)
	x, u = ClosestOnSegment(q0, p0, p1)
	try(u, 0, x, q0)
	x, u = ClosestOnSegment(q1, p0, p1)
	try(u, 1, x, q1)
	return p, q, s, t
}

// crossing returns the feet of the common perpendicular of two segments if both
// lie inside.
func crossing(p0, p1, q0, q1 r3.Vec) (s, t float64, p, q r3.Vec, ok bool) {
	d, e, r := r3.Sub(p1, p0), r3.Sub(q1, q0), r3.Sub(q0, p0)
	n := r3.Cross(d, e)
	n2 := r3.Norm2(n)
	s, t = r3.Dot(r3.Cross(r, e), n)/n2, r3.Dot(r3.Cross(r, d), n)/n2
	if !(s > 0 && s < 1 && t > 0 && t < 1) { // also 0/0
		return 0, 0, p, q, false
	}
	return s, t, r3.Add(p0, r3.Scale(s, d)), r3.Add(q0, r3.Scale(t, e)), true
}

// TriangleDistance returns the distance between two triangles and a pair of
// nearest points pa on a, pb on b: 0 and one common point where they meet.
// Triangles without area are sound input.
func TriangleDistance(a, b [3]r3.Vec) (dist float64, pa, pb r3.Vec) {
	c := trianglePair{best: math.Inf(1)}
	if c.pierce(&a, &b, false) || c.pierce(&b, &a, true) {
		return 0, c.pa, c.pb
	}
	for i := range 3 {
		c.face(a[i], &b, false)
		c.face(b[i], &a, true)
		for j := range 3 {
			p, q, _, _ := ClosestOnSegments(a[i], a[(i+1)%3], b[j], b[(j+1)%3])
			c.try(p, q, false)
		}
	}
	return math.Sqrt(c.best), c.pa, c.pb
}

// isBeyond reports whether it is easy to see that triangles are limit or more
// apart: by their boxes, or because one lies beyond the other's plane.
func isBeyond(a, b *[3]r3.Vec, limit float64) bool {
	boxA, boxB := extend(extend(r3.Box{Min: a[0], Max: a[0]}, a[1]), a[2]), extend(extend(r3.Box{Min: b[0], Max: b[0]}, b[1]), b[2])
	limit2 := limit * limit
	return boxGap2(&boxA, &boxB) >= limit2 || planeGap2(a, b) >= limit2 || planeGap2(b, a) >= limit2
}

// planeGap2 returns the squared distance of b from the plane of a, 0 if the
// plane goes through b.
func planeGap2(a, b *[3]r3.Vec) float64 {
	n := areaNormal(a[0], a[1], a[2])
	h0, h1, h2 := r3.Dot(n, r3.Sub(b[0], a[0])), r3.Dot(n, r3.Sub(b[1], a[0])), r3.Dot(n, r3.Sub(b[2], a[0]))
	h := max(min(h0, h1, h2), -max(h0, h1, h2))
	if n2 := r3.Norm2(n); h > 0 && n2 > 0 {
		return h * h / n2
	}
	return 0
}

// trianglePair keeps the nearest points found so far.
type trianglePair struct {
	best   float64 // squared distance
	pa, pb r3.Vec
}

func (c *trianglePair) try(p, q r3.Vec, swapped bool) {
	if d := r3.Norm2(r3.Sub(p, q)); d < c.best {
		c.best, c.pa, c.pb = d, p, q
		if swapped {
			c.pa, c.pb = q, p
		}
	}
}

// face tries the foot of p on the plane of t if it lies inside t.
func (c *trianglePair) face(p r3.Vec, t *[3]r3.Vec, swapped bool) {
	if q, ok := footInside(p, t[0], t[1], t[2]); ok {
		c.try(p, q, swapped)
	}
}

// pierce looks for an edge of a that goes through b.
func (c *trianglePair) pierce(a, b *[3]r3.Vec, swapped bool) bool {
	n := areaNormal(b[0], b[1], b[2])
	var h [3]float64
	for i := range h {
		h[i] = r3.Dot(n, r3.Sub(a[i], b[0]))
	}
	for i := range h {
		j := (i + 1) % 3
		if !(h[i] > 0 && h[j] < 0 || h[i] < 0 && h[j] > 0) {
			continue
		}
		p := r3.Add(a[i], r3.Scale(h[i]/(h[i]-h[j]), r3.Sub(a[j], a[i])))
		if _, ok := footInside(p, b[0], b[1], b[2]); ok {
			c.best, c.pa, c.pb = 0, p, p
			return true
		}
	}
	return false
}

// footInside returns the foot of p on the triangle's plane if it lies inside
// the triangle.
func footInside(p, a, b, c r3.Vec) (r3.Vec, bool) {
	n := areaNormal(a, b, c)
	if r3.Dot(r3.Cross(r3.Sub(b, a), r3.Sub(p, a)), n) > 0 &&
		r3.Dot(r3.Cross(r3.Sub(c, b), r3.Sub(p, b)), n) > 0 &&
		r3.Dot(r3.Cross(r3.Sub(a, c), r3.Sub(p, c)), n) > 0 {
		return r3.Sub(p, r3.Scale(r3.Dot(r3.Sub(p, a), n)/r3.Norm2(n), n)), true
	}
	return r3.Vec{}, false
}
