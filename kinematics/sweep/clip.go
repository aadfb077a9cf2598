package sweep

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// clipper holds a loop while corners are cut off it.
type clipper struct {
	next, prev []int
	at         []r3.Vec
}

// clip spans any loop by cutting off corners, the one with the shortest new
// edge first, which lays strips between walls that stand side by side. No new
// edge may lie in a side of the prism, where the next prism could make the
// same one; what cannot be cut without is joined to a vertex in its middle.
func (w *stitcher) clip(l *loop) {
	n := len(l.ids)
	c := &w.clipper
	c.next, c.prev, c.at = c.next[:0], c.prev[:0], c.at[:0]
	for k, id := range l.ids {
		c.next = append(c.next, (k+1)%n)
		c.prev = append(c.prev, (k+n-1)%n)
		c.at = append(c.at, w.space(w.vertex(id)))
	}
	k := 0
	for ; n > 3; n-- {
		best, least := -1, math.Inf(1)
		for range n {
			a, b := c.prev[k], c.next[k]
			if l.on[a]&l.on[b] == 0 {
				if d := r3.Norm2(r3.Sub(c.at[a], c.at[b])); d < least {
					best, least = k, d
				}
			}
			k = b
		}
		if best < 0 {
			break
		}
		a, b := c.prev[best], c.next[best]
		w.triangle(l.ids[a], l.ids[best], l.ids[b])
		c.next[a], c.prev[b] = b, a
		k = a
	}
	var ids []int32
	var angle []float64
	for range n {
		ids = append(ids, l.ids[k])
		angle = append(angle, l.angle[k])
		k = c.next[k]
	}
	if n == 3 {
		w.triangle(ids[0], ids[1], ids[2])
		return
	}
	w.fan(ids, angle)
}

// space returns the point in right-angled coordinates.
func (f *frame) space(p point) r3.Vec {
	if f.straight {
		return r3.Vec{X: p.r, Y: p.a / f.scale, Z: p.z}
	}
	sin, cos := math.Sincos(p.a)
	return r3.Vec{X: p.r * cos, Y: p.r * sin, Z: p.z}
}

// fan joins a closed walk to a new vertex in its middle.
func (w *stitcher) fan(ids []int32, angle []float64) {
	var m point
	for k, id := range ids {
		p := w.vertex(id)
		m.r += p.r
		m.a += angle[k]
		m.z += p.z
	}
	n := float64(len(ids))
	c := w.inward(m.r, m.a/n, m.z, n)
	for k := range ids {
		w.triangle(ids[k], ids[(k+1)%len(ids)], c)
	}
}

// inward adds a vertex at the mean of n points, whose radii and heights sum to
// r and z, drawn toward the middle of the prism so that it lies in no side.
// The odd shares keep it off the lines between other points.
func (w *stitcher) inward(r, a, z, n float64) int32 {
	const alongR, alongZ = 0.3819, 0.2679
	return w.add(point{r/n + alongR*(w.middle.r-r/n), a, z/n + alongZ*(w.middle.z-z/n)})
}

// doubt counts the whole prism as uncertain over the angles a loop's walls
// span.
func (w *stitcher) doubt(l *loop) {
	for _, s := range l.spans {
		v := w.dr * w.dz * w.arm(s.wall.middle.r) * (s.wall.high - s.wall.low) / 2
		w.skipped += v * v
	}
}
