package mesh

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

// cutter cuts polygons into triangles. It keeps its scratch memory between
// polygons, so cutting many costs no allocations per polygon.
type cutter struct {
	vertices []r3.Vec
	rounding float64 // a triangle lower than this has no area

	space      []r3.Vec  // corners relative to the first
	point      []r2      // corners projected along the normal, counter-clockwise
	prev, next []int32   // corners that are left, linked round
	isBlocker  []bool    // corner is reflex or straight
	blockers   []int32   // such corners sorted by their place along the polygon's longer side
	blockerAt  []float64 // that place
	byY        bool      // the longer side is y
	heap       []ear
}

type r2 struct{ x, y float64 }

// ear is a corner that may be cut off; it is stale when the corner's neighbours
// are no longer those it was judged with.
type ear struct {
	base             float32 // length of the cut; coarse, so that rounding does not decide
	corner, from, to int32
}

// appendTriangles appends the triangles of polygon f, which has at least three
// corners, in f's sense of rotation. Triangles without area are left out. It
// reports whether the polygon crosses itself.
func (c *cutter) appendTriangles(dst [][3]int32, f []int32) (_ [][3]int32, crossing bool) {
	switch len(f) {
	case 3:
		return c.appendSound(dst, f[0], f[1], f[2]), false
	case 4:
		return c.appendQuad(dst, f)
	}
	return c.appendPolygon(dst, f)
}

// appendSound appends the triangle unless its least height is rounding error.
func (c *cutter) appendSound(dst [][3]int32, i, j, k int32) [][3]int32 {
	p, q, r := c.vertices[i], c.vertices[j], c.vertices[k]
	longest2 := max(r3.Norm2(r3.Sub(q, p)), r3.Norm2(r3.Sub(r, q)), r3.Norm2(r3.Sub(p, r)))
	if r3.Norm2(areaNormal(p, q, r)) <= c.rounding*c.rounding*longest2 {
		return dst
	}
	return append(dst, [3]int32{i, j, k})
}

// appendQuad splits along the diagonal that lies inside, and if both do along
// the shorter one. Equal diagonals, as of a rectangle, are split at the first
// corner whatever the rounding, so that a grid's diagonals run one way.
func (c *cutter) appendQuad(dst [][3]int32, f []int32) (_ [][3]int32, crossing bool) {
	p0, p1, p2, p3 := c.vertices[f[0]], c.vertices[f[1]], c.vertices[f[2]], c.vertices[f[3]]
	d02, d13 := r3.Sub(p2, p0), r3.Sub(p3, p1)
	n := r3.Cross(d02, d13) // Newell normal of a quad
	worst := func(a, b r3.Vec) float64 { return min(r3.Dot(a, n), r3.Dot(b, n)) }
	inside02 := worst(areaNormal(p0, p1, p2), areaNormal(p0, p2, p3))
	inside13 := worst(areaNormal(p0, p1, p3), areaNormal(p1, p2, p3))
	split13, rounding := false, 1e-9*r3.Norm2(n)
	if inside02 > rounding && inside13 > rounding {
		split13 = r3.Norm2(d13) < (1-1e-9)*r3.Norm2(d02)
	} else {
		split13 = inside13 > inside02
	}
	// Parallel diagonals are those of two equal and opposite triangles.
	crossing = max(inside02, inside13) < -rounding || r3.Norm(n) <= 1e-12*r3.Norm(d02)*r3.Norm(d13)
	if split13 {
		return c.appendSound(c.appendSound(dst, f[0], f[1], f[3]), f[1], f[2], f[3]), crossing
	}
	return c.appendSound(c.appendSound(dst, f[0], f[1], f[2]), f[0], f[2], f[3]), crossing
}

// newell returns twice the vector area of the polygon.
func (c *cutter) newell(f []int32) r3.Vec {
	var n r3.Vec
	origin := c.vertices[f[0]]
	for i := 1; i+1 < len(f); i++ {
		a := r3.Sub(c.vertices[f[i]], origin)
		b := r3.Sub(c.vertices[f[i+1]], origin)
		n = r3.Add(n, r3.Cross(a, b))
	}
	return n
}

// appendPolygon clips ears, those with the shortest cut first: a round face
// then falls into well-shaped triangles, not into a fan of needles.
func (c *cutter) appendPolygon(dst [][3]int32, f []int32) (_ [][3]int32, crossing bool) {
	if !c.project(f) {
		return dst, false
	}
	c.start(len(f))
	crossing = c.turnsTwice()
	left := len(f)
	for left > 3 {
		e, ok := c.pop()
		if !ok {
			c.refill()
			if e, ok = c.pop(); !ok {
				crossing = true
				e = c.leastBad()
			}
		}
		dst = c.appendSound(dst, f[e.from], f[e.corner], f[e.to])
		c.next[e.from], c.prev[e.to] = e.to, e.from
		c.next[e.corner] = -1
		c.judge(e.from)
		c.judge(e.to)
		left--
	}
	i := c.first()
	return c.appendSound(dst, f[c.prev[i]], f[i], f[c.next[i]]), crossing
}

// project drops the coordinate along which the polygon has its largest shadow;
// that keeps straight lines straight to the last bit. It reports whether the
// polygon has any area.
func (c *cutter) project(f []int32) bool {
	n := c.newell(f)
	size := r3.Norm(n)
	if !(size > c.rounding*c.rounding) {
		return false
	}
	c.space, c.point = c.space[:0], c.point[:0]
	origin := c.vertices[f[0]]
	ax, ay, az := math.Abs(n.X), math.Abs(n.Y), math.Abs(n.Z)
	for _, v := range f {
		p := r3.Sub(c.vertices[v], origin)
		var q r2
		switch {
		case ax >= ay && ax >= az:
			q = r2{p.Y, math.Copysign(1, n.X) * p.Z}
		case ay >= az:
			q = r2{p.Z, math.Copysign(1, n.Y) * p.X}
		default:
			q = r2{p.X, math.Copysign(1, n.Z) * p.Y}
		}
		c.space, c.point = append(c.space, p), append(c.point, q)
	}
	return true
}

// start links all n corners, finds those that may block an ear and fills the heap.
func (c *cutter) start(n int) {
	c.prev, c.next = resize(c.prev, n), resize(c.next, n)
	c.isBlocker = resize(c.isBlocker, n)
	c.blockers, c.blockerAt = c.blockers[:0], c.blockerAt[:0]
	lo, hi := c.point[0], c.point[0]
	for i, p := range c.point {
		c.prev[i], c.next[i] = int32((i+n-1)%n), int32((i+1)%n)
		lo, hi = r2{min(lo.x, p.x), min(lo.y, p.y)}, r2{max(hi.x, p.x), max(hi.y, p.y)}
	}
	c.byY = hi.y-lo.y > hi.x-lo.x
	for i := range n {
		c.isBlocker[i] = c.height(c.prev[i], int32(i), c.next[i]) <= c.rounding
		if c.isBlocker[i] {
			c.blockers = append(c.blockers, int32(i))
		}
	}
	slices.SortFunc(c.blockers, func(a, b int32) int {
		return cmp.Or(cmp.Compare(c.place(a), c.place(b)), cmp.Compare(a, b))
	})
	for _, b := range c.blockers {
		c.blockerAt = append(c.blockerAt, c.place(b))
	}
	c.refill()
}

// place returns where corner i is along the polygon's longer side.
func (c *cutter) place(i int32) float64 {
	if c.byY {
		return c.point[i].y
	}
	return c.point[i].x
}

func resize[T any](s []T, n int) []T {
	return slices.Grow(s[:0], n)[:n]
}

// refill judges every corner that is left.
func (c *cutter) refill() {
	c.heap = c.heap[:0]
	for i := range c.next {
		if c.next[i] >= 0 {
			c.judge(int32(i))
		}
	}
}

func (c *cutter) first() int32 {
	for i := range c.next {
		if c.next[i] >= 0 {
			return int32(i)
		}
	}
	return -1
}

// turn returns twice the signed area of the projected corners i, j, k.
func (c *cutter) turn(i, j, k int32) float64 {
	p, q, r := c.point[i], c.point[j], c.point[k]
	return float64((q.x-p.x)*(r.y-p.y)) - float64((r.x-p.x)*(q.y-p.y))
}

// judge pushes corner i if it is an ear.
func (c *cutter) judge(i int32) {
	from, to := c.prev[i], c.next[i]
	if !(c.height(from, i, to) > c.rounding) {
		return
	}
	c.isBlocker[i] = false
	if c.isBlocked(from, i, to) {
		return
	}
	c.push(ear{float32(r3.Norm(r3.Sub(c.space[from], c.space[to]))), i, from, to})
}

// height returns the signed height of the projected triangle over its longest
// side, NaN if it is a point.
func (c *cutter) height(i, j, k int32) float64 { return c.turn(i, j, k) / c.longest(i, j, k) }

func (c *cutter) longest(i, j, k int32) float64 {
	d2 := func(a, b r2) float64 { return float64((a.x-b.x)*(a.x-b.x)) + float64((a.y-b.y)*(a.y-b.y)) }
	p, q, r := c.point[i], c.point[j], c.point[k]
	return math.Sqrt(max(d2(p, q), d2(q, r), d2(r, p)))
}

// isBlocked reports whether a reflex or straight corner lies in or on the
// triangle. Corners at the place of one of the triangle's own do not count:
// they are the bridge to a hole.
func (c *cutter) isBlocked(i, j, k int32) bool {
	p, q, r := c.point[i], c.point[j], c.point[k]
	x, y, z := c.place(i), c.place(j), c.place(k)
	lo, hi := min(x, y, z)-c.rounding, max(x, y, z)+c.rounding
	outside := -c.rounding * c.longest(i, j, k)
	n, _ := slices.BinarySearch(c.blockerAt, lo)
	for ; n < len(c.blockers) && c.blockerAt[n] <= hi; n++ {
		b := c.blockers[n]
		if !c.isBlocker[b] || c.next[b] < 0 || b == i || b == j || b == k {
			continue
		}
		if s := c.point[b]; s == p || s == q || s == r {
			continue
		}
		if c.turn(i, j, b) >= outside && c.turn(j, k, b) >= outside && c.turn(k, i, b) >= outside {
			return true
		}
	}
	return false
}

// turnsTwice reports whether the exterior angles do not add up to one turn.
func (c *cutter) turnsTwice() bool {
	total := 0.0
	for i := range c.point {
		p, q, r := c.point[c.prev[i]], c.point[i], c.point[c.next[i]]
		ux, uy, vx, vy := q.x-p.x, q.y-p.y, r.x-q.x, r.y-q.y
		total += math.Atan2(ux*vy-uy*vx, ux*vx+uy*vy)
	}
	return math.Abs(total-2*math.Pi) > 1
}

// leastBad picks a corner to cut where a crossing leaves no proper ear.
func (c *cutter) leastBad() ear {
	best, highest := ear{}, math.Inf(-1)
	for i := range c.next {
		if c.next[i] < 0 {
			continue
		}
		from, to := c.prev[i], c.next[i]
		if h := c.height(from, int32(i), to); h > highest || best.from == best.to {
			best, highest = ear{0, int32(i), from, to}, h
		}
	}
	return best
}

// above orders the heap: the shortest cut first, then the lowest corner.
func (e ear) above(f ear) bool {
	return e.base < f.base || e.base == f.base && e.corner < f.corner
}

func (c *cutter) push(e ear) {
	h := append(c.heap, e)
	i := len(h) - 1
	for i > 0 && h[i].above(h[(i-1)/2]) {
		h[i], h[(i-1)/2] = h[(i-1)/2], h[i]
		i = (i - 1) / 2
	}
	c.heap = h
}

// pop returns the best ear that is not stale.
func (c *cutter) pop() (ear, bool) {
	for len(c.heap) > 0 {
		h := c.heap
		top := h[0]
		n := len(h) - 1
		h[0] = h[n]
		h = h[:n]
		for i := 0; ; {
			k := 2*i + 1
			if k >= n {
				break
			}
			if k+1 < n && h[k+1].above(h[k]) {
				k++
			}
			if !h[k].above(h[i]) {
				break
			}
			h[i], h[k] = h[k], h[i]
			i = k
		}
		c.heap = h
		if c.next[top.corner] == top.to && c.prev[top.corner] == top.from {
			return top, true
		}
	}
	return ear{}, false
}
