package contact

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// meets reports whether two features whose planes or lines meet at the hit's
// angle do so within reach of their own extent, and completes the hit.
func (x *solver) meets(e encounter, h *hit, reach float64) bool {
	if e.kind == edgeOnEdge {
		return x.edgesMeet(e, h, reach)
	}
	sin, cos := math.Sincos(x.dir * h.angle)
	if e.kind == cornerOnFace {
		h.point, h.normal = turned(x.p[e.i], cos, sin), x.nq
		return within(h.point, &x.q, x.nq, reach)
	}
	h.point, h.normal = x.q[e.j], turned(x.np, cos, sin)
	return within(turned(x.q[e.j], cos, -sin), &x.p, x.np, reach)
}

// edgesMeet is meets for two edges. Nearly parallel edges make g small and its
// root coarse, so that is refined on the distance of the lines where they pass
// one another; parallel edges are left to their corners.
func (x *solver) edgesMeet(e encounter, h *hit, reach float64) bool {
	const refinements = 2
	for range refinements {
		c, ok := x.passing(e.i, e.j, h.angle)
		if !ok {
			return false
		}
		if step := c.distance / c.speed; math.Abs(step) < 1e-4 && h.angle >= step {
			h.angle -= step
		}
	}
	c, ok := x.passing(e.i, e.j, h.angle)
	h.point, h.normal = c.q, c.normal
	return ok && r3.Norm2(r3.Sub(c.p, c.q)) <= reach*reach
}

// passage is how the lines of two edges pass one another: their distance along
// the common normal, its rate, and the points of the edges nearest to it.
type passage struct {
	distance, speed float64
	p, q, normal    r3.Vec
}

// passing returns how edge i of the moving triangle, turned by t, passes edge
// j of the still one; not ok if they are parallel.
func (x *solver) passing(i, j int, t float64) (c passage, ok bool) {
	const parallel = 1e-18 // squared sine
	sin, cos := math.Sincos(x.dir * t)
	p, u := turned(x.p[i], cos, sin), turned(x.u[i], cos, sin)
	q, w := x.q[j], x.w[j]
	n := r3.Cross(u, w)
	n2 := r3.Norm2(n)
	if n2 <= parallel*r3.Norm2(u)*r3.Norm2(w) {
		return c, false
	}
	e := r3.Sub(q, p)
	a := r3.Dot(r3.Cross(e, w), n) / n2
	b := r3.Dot(r3.Cross(e, u), n) / n2
	c.p = r3.Add(p, r3.Scale(min(max(a, 0), 1), u))
	c.q = r3.Add(q, r3.Scale(min(max(b, 0), 1), w))
	c.normal = r3.Scale(1/math.Sqrt(n2), n)
	c.distance = r3.Dot(r3.Sub(c.p, c.q), c.normal)
	c.speed = x.dir * (c.normal.Y*c.p.X - c.normal.X*c.p.Y)
	return c, true
}

// isNew reports whether a meeting of features starts a contact, rather than
// carrying on one that was there at rest.
func (x *solver) isNew(e encounter, h *hit) bool {
	if x.judged && x.touching && x.sameTouch(h.angle) {
		return false
	}
	return len(x.zones) == 0 || !x.wanders(e, h)
}

// sameTouch reports whether the pair in hand, which meets when turned by t,
// has been within the tolerance all the way from rest, or will be all the way
// to the end of a full turn.
func (x *solver) sameTouch(t float64) bool {
	const steps = 8
	from := 0.0
	if t > math.Pi {
		from = turn
	}
	reach := x.scene.tolerance
	for i := range steps {
		turnBy := from + (t-from)*float64(i)/steps
		if x.gapAt(turnBy, x.mt, x.st, reach) > reach {
			return false
		}
	}
	return true
}

// wanders reports whether a meeting lies where the bodies overlap at rest and
// triangles at the two features cross already just before: the crossing of the
// overlapping bodies wanders over their surfaces.
func (x *solver) wanders(e encounter, h *hit) bool {
	inside := false
	for i := range x.zones {
		inside = inside || x.zones[i].holds(h.point, x.scene.tolerance)
	}
	if !inside {
		return false
	}
	const crossing = -1e-10
	before := max(h.angle-1e-7, h.angle/2)
	moving, still := []int32{x.mt}, []int32{x.st}
	switch e.kind {
	case cornerOnFace:
		moving = x.m.cornerTris(x.mt, e.i)
	case faceOnCorner:
		still = x.s.cornerTris(x.st, e.j)
	case edgeOnEdge:
		moving, still = x.m.edgeTris(x.mt, e.i), x.s.edgeTris(x.st, e.j)
	}
	for _, mt := range moving {
		for _, st := range still {
			if x.gapAt(before, mt, st, crossing) < crossing {
				return true
			}
		}
	}
	return false
}

// gapAt returns the gap of two triangles turned by t, exactly so unless it is
// above limit.
func (x *solver) gapAt(t float64, mt, st int32, limit float64) float64 {
	sin, cos := math.Sincos(x.dir * t)
	p, q := x.m.corners(mt), x.s.corners(st)
	for i := range p {
		p[i] = turned(p[i], cos, sin)
	}
	x.sep.p, x.sep.np = &p, turned(x.m.normal[mt], cos, sin)
	x.sep.q, x.sep.nq = &q, x.s.normal[st]
	x.sep.touch = 0
	x.sep.search(limit)
	return x.sep.widest.gap
}

// cornerTris returns the triangles at corner k of triangle t.
func (s *side) cornerTris(t int32, k int) []int32 {
	return s.mesh.Topology().VertexTris(int(s.tris[t][k]))
}

// edgeTris returns the triangles at edge k of triangle t.
func (s *side) edgeTris(t int32, k int) []int32 {
	top := s.mesh.Topology()
	return top.EdgeFaces(int(top.TriEdges[t][k]))
}
