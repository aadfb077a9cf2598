package contact

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

// meets reports whether two features whose planes or lines meet at the hit's
// angle do so within reach of their own extent, and completes the hit.
func (x *solver) meets(e encounter, h *hit, reach float64) bool {
	if e.kind == edgeOnEdge {
		return x.edgesMeet(e, h, reach)
	}
	at := x.motion.at(x.dir * h.angle)
	if e.kind == cornerOnFace {
		h.point, h.normal = at.apply(x.p[e.i]), x.nq
		return within(h.point, &x.q, x.nq, reach)
	}
	h.point, h.normal = x.q[e.j], at.turn(x.np)
	return within(at.undo(x.q[e.j]), &x.p, x.np, reach)
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
	at := x.motion.at(x.dir * t)
	p, u := at.apply(x.p[i]), at.turn(x.u[i])
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
	c.speed = x.dir * x.motion.speed(c.normal, c.p)
	return c, true
}

// isNew reports whether a meeting of features starts a contact, rather than
// carrying on one that was there at rest.
func (x *solver) isNew(h *hit) bool {
	if x.judged && x.touching && x.sameTouch(h.angle) {
		return false
	}
	return len(x.zones) == 0 || !x.wanders(h)
}

// sameTouch reports whether the pair in hand, which meets when turned by t,
// has been within the tolerance all the way from rest, or will be all the way
// to the end of a full turn. What is learnt about a pair is kept until the next.
func (x *solver) sameTouch(t float64) bool {
	if t > math.Pi && x.motion.hinge() {
		return x.touchesAllTheWay(turn, t) == t
	}
	if t > x.touchesTo && t < x.partsAt {
		reached := x.touchesAllTheWay(0, t)
		if reached == t {
			x.touchesTo = t
		} else {
			x.partsAt = reached
		}
	}
	return t <= x.touchesTo
}

// touchesAllTheWay looks at some turns between two and returns the first at
// which the pair in hand is apart, or else the last.
func (x *solver) touchesAllTheWay(from, to float64) float64 {
	const steps = 4
	reach := x.scene.tolerance
	for i := range steps {
		value := from + (to-from)*float64(i)/steps
		if x.gapAt(value, x.mt, x.st, reach) > reach {
			return value
		}
	}
	return to
}

// wanders reports whether a meeting lies where the bodies overlap at rest and
// triangles at the point cross already just before: the crossing of the
// overlapping bodies wanders over their surfaces. Where the motion travels, one
// may also come out at the end of the other.
func (x *solver) wanders(h *hit) bool {
	inside := false
	for i := range x.zones {
		inside = inside || x.zones[i].holds(x.motion, h.point)
	}
	if !inside {
		return false
	}
	if !x.motion.hinge() && x.comesOut(h) {
		return true
	}
	const crossing = -1e-10
	before := max(h.angle-1e-7, h.angle/2)
	at := x.motion.at(x.dir * h.angle)
	moving := x.m.trianglesAt(x.mt, at.undo(h.point))
	for _, st := range x.s.trianglesAt(x.st, h.point) {
		for _, mt := range moving {
			if x.gapAt(before, mt, st, crossing) < crossing {
				return true
			}
		}
	}
	return false
}

// comesOut reports whether, by the normals of the faces at a meeting, neither
// body enters the other there.
func (x *solver) comesOut(h *hit) bool {
	if !x.m.closed || !x.s.closed {
		return false
	}
	const slow = 1e-6
	at := x.motion.at(x.dir * h.angle)
	enters := func(s *side, t int32, p r3.Vec, normal func(n r3.Vec) r3.Vec, sense float64) bool {
		for _, u := range s.trianglesAt(t, p) {
			if sense*x.dir*x.motion.speed(normal(s.normal[u]), h.point) > slow {
				return true
			}
		}
		return false
	}
	return !enters(x.m, x.mt, at.undo(h.point), at.turn, 1) ||
		!enters(x.s, x.st, h.point, func(n r3.Vec) r3.Vec { return n }, -1)
}

// gapAt returns the gap of two triangles turned by t, exactly so unless it is
// above limit.
func (x *solver) gapAt(t float64, mt, st int32, limit float64) float64 {
	at := x.motion.at(x.dir * t)
	p, q := x.m.placed(mt, &at), x.s.corners(st)
	x.sep.p, x.sep.np = &p, at.turn(x.m.normal[mt])
	x.sep.q, x.sep.nq = &q, x.s.normal[st]
	x.sep.touch = 0
	x.sep.search(limit)
	return x.sep.widest.gap
}

// trianglesAt returns the triangles that share the point p of triangle t: at a
// corner all round it, on an edge those beside it.
func (s *side) trianglesAt(t int32, p r3.Vec) []int32 {
	const near = 1e-9
	top := s.mesh.Topology()
	c := s.corners(t)
	for k, v := range s.tris[t] {
		if r3.Norm(r3.Sub(p, c[k])) <= near {
			return top.VertexTris(int(v))
		}
	}
	for k, e := range top.TriEdges[t] {
		if q, _ := mesh.ClosestOnSegment(p, c[k], c[(k+1)%3]); r3.Norm(r3.Sub(p, q)) <= near {
			return top.EdgeFaces(int(e))
		}
	}
	return []int32{t}
}
