package contact

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// crate is a box along the axes of the axis frame, by its middle and half its
// extents, and a slab that lies along what is in it: faces that are flat, but
// oblique to the axes, fill their slab much better than their box.
type crate struct {
	mid, half r3.Vec
	slab      slab
}

// slab is a box along the mean normal and the longest edge of some triangles.
type slab struct {
	normal, along r3.Vec // unit, or zero where there is no slab
	off, deep     r3.Vec // its middle from that of the crate and half its extents: along normal, along, normal x along
}

// mostInSlab is up to how many triangles a node gets a slab: more are seldom flat.
// Nodes in which nothing can be hit need none.
const mostInSlab = 1 << 9

// findCrates bounds the triangles of every node of the hierarchy.
func findCrates(s *side) []crate {
	list := make([]crate, len(s.nodes))
	first, count := make([]int32, len(s.nodes)), make([]int32, len(s.nodes))
	for i := len(s.nodes) - 1; i >= 0; i-- {
		n := &s.nodes[i]
		if n.Count == 0 {
			list[i] = list[i+1].union(&list[n.Right])
			first[i], count[i] = first[i+1], count[i+1]+count[n.Right]
			if first[n.Right] == first[i]+count[i+1] && count[i] <= mostInSlab && s.live[i] {
				list[i].findSlab(s, s.order[first[i]:first[i]+count[i]])
			}
			continue
		}
		first[i], count[i] = n.First, n.Count
		for k := n.First; k < n.First+n.Count; k++ {
			p := s.corners(s.order[k])
			c := crateOf(&p)
			if k > n.First {
				c = list[i].union(&c)
			}
			list[i] = c
		}
		if s.live[i] {
			list[i].findSlab(s, s.order[n.First:n.First+n.Count])
		}
	}
	return list
}

// findSlab fits the slab round some triangles.
func (a *crate) findSlab(s *side, tris []int32) {
	var n, u r3.Vec
	for _, t := range tris {
		p := s.corners(t)
		e := [3]r3.Vec{r3.Sub(p[1], p[0]), r3.Sub(p[2], p[1]), r3.Sub(p[0], p[2])}
		n = r3.Sub(n, r3.Cross(e[0], e[2]))
		for _, d := range e {
			if r3.Norm2(d) > r3.Norm2(u) {
				u = d
			}
		}
	}
	length := r3.Norm(n)
	if !(length > 0) {
		return
	}
	n = r3.Scale(1/length, n)
	u = r3.Sub(u, r3.Scale(r3.Dot(u, n), n))
	if length = r3.Norm(u); !(length > 0) {
		return
	}
	u = r3.Scale(1/length, u)
	v := r3.Cross(n, u)
	inf := math.Inf(1)
	lo, hi := [3]float64{inf, inf, inf}, [3]float64{-inf, -inf, -inf}
	for _, t := range tris {
		for _, p := range s.corners(t) {
			d := r3.Sub(p, a.mid)
			for k, h := range [3]float64{r3.Dot(n, d), r3.Dot(u, d), r3.Dot(v, d)} {
				lo[k], hi[k] = min(lo[k], h), max(hi[k], h)
			}
		}
	}
	c := crateBetween(r3.Vec{X: lo[0], Y: lo[1], Z: lo[2]}, r3.Vec{X: hi[0], Y: hi[1], Z: hi[2]})
	a.slab = slab{n, u, c.mid, c.half}
}

func crateOf(p *[3]r3.Vec) crate {
	return crateBetween(
		r3.Vec{X: min(p[0].X, p[1].X, p[2].X), Y: min(p[0].Y, p[1].Y, p[2].Y), Z: min(p[0].Z, p[1].Z, p[2].Z)},
		r3.Vec{X: max(p[0].X, p[1].X, p[2].X), Y: max(p[0].Y, p[1].Y, p[2].Y), Z: max(p[0].Z, p[1].Z, p[2].Z)},
	)
}

func crateBetween(lo, hi r3.Vec) crate {
	return crate{mid: r3.Scale(0.5, r3.Add(lo, hi)), half: r3.Scale(0.5, r3.Sub(hi, lo))}
}

func (a *crate) union(b *crate) crate {
	return crateBetween(
		r3.Vec{
			X: min(a.mid.X-a.half.X, b.mid.X-b.half.X), Y: min(a.mid.Y-a.half.Y, b.mid.Y-b.half.Y),
			Z: min(a.mid.Z-a.half.Z, b.mid.Z-b.half.Z),
		},
		r3.Vec{
			X: max(a.mid.X+a.half.X, b.mid.X+b.half.X), Y: max(a.mid.Y+a.half.Y, b.mid.Y+b.half.Y),
			Z: max(a.mid.Z+a.half.Z, b.mid.Z+b.half.Z),
		},
	)
}

// size is a measure of a crate by which the larger of two is split first.
func (a *crate) size() float64 { return a.half.X + a.half.Y + a.half.Z }

// crateDistance returns a lower bound, below it by more than rounding, on the
// distance of the contents of the crate a, moved to p, from those of b: that of
// the boxes round them, or along the unit direction n, which points from b to a
// and is back in the frame that moves with a.
func crateDistance(a, b *crate, p *place, n, back r3.Vec) float64 {
	c, s := math.Abs(p.cos), math.Abs(p.sin)
	d := r3.Vec{
		X: p.cos*a.mid.X - p.sin*a.mid.Y - b.mid.X,
		Y: p.sin*a.mid.X + p.cos*a.mid.Y - b.mid.Y,
		Z: a.mid.Z + p.lift - b.mid.Z,
	}
	x := max(math.Abs(d.X)-(c*a.half.X+s*a.half.Y+b.half.X), 0)
	y := max(math.Abs(d.Y)-(s*a.half.X+c*a.half.Y+b.half.Y), 0)
	z := max(math.Abs(d.Z)-(a.half.Z+b.half.Z), 0)
	along := r3.Dot(n, d) - a.support(r3.Scale(-1, back)) - b.support(n)
	return max(math.Sqrt(x*x+y*y+z*z), along) - angleEps
}

// support returns how far the crate reaches from its middle along n, which is
// not longer than a unit: by its box or by its slab.
func (a *crate) support(n r3.Vec) float64 {
	box := math.Abs(n.X)*a.half.X + math.Abs(n.Y)*a.half.Y + math.Abs(n.Z)*a.half.Z
	b := &a.slab
	if b.normal == (r3.Vec{}) {
		return box
	}
	x, y, z := r3.Dot(n, b.normal), r3.Dot(n, b.along), r3.Dot(n, r3.Cross(b.normal, b.along))
	return min(box, x*b.off.X+y*b.off.Y+z*b.off.Z+math.Abs(x)*b.deep.X+math.Abs(y)*b.deep.Y+math.Abs(z)*b.deep.Z)
}

// standsOff returns by how much the triangle p stands beyond q along n: a lower
// bound on their distance if n is a unit vector.
func standsOff(p, q *[3]r3.Vec, n r3.Vec) float64 {
	return min(r3.Dot(n, p[0]), r3.Dot(n, p[1]), r3.Dot(n, p[2])) - max(r3.Dot(n, q[0]), r3.Dot(n, q[1]), r3.Dot(n, q[2]))
}
