package contact

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

const (
	// margin is by how much triangles and segments count as larger, so that a
	// contact on a shared edge or corner is not turned away by all neighbours.
	margin = 1e-11
	// valueEps is the rounding of g for lengths of about 1.
	valueEps = 4 * lengthEps
	// fullTurn ends the search: a full turn is the rest pose again.
	fullTurn = turn - 1e-9
)

// solver finds the first contact of pairs of triangles in one direction.
type solver struct {
	scene  *Scene
	motion motion
	dir    float64 // +1 or -1
	best   hit     // angle is the limit while nothing is found
	found  bool
	list   []float64 // of roots

	// The pair of bodies in hand.
	mi, si int32
	m, s   *side
	judged bool   // some of their patches are left out of account, or touch
	zones  []zone // where they overlap at rest

	// The pair of triangles in hand.
	mt, st     int32
	p, q       [3]r3.Vec // corners, moving and still
	np, nq     r3.Vec
	after      float64 // of a screw, the turn from here on is looked at
	from, to   float64 // the window
	cos, sin   float64 // of its middle
	half       float64
	u, k, w, l [3]r3.Vec // edges and their moments about the origin, moving and still
	touching   bool      // the patches touch at rest but count once they part
	touchesTo  float64   // turned so far the pair still touches
	partsAt    float64   // turned so far it is apart
	sep        separators
}

// encounter names two features that may meet: corner i of the moving triangle
// and the still face, the moving face and corner j of the still triangle, or
// edges i and j.
type encounter struct {
	kind uint8
	i, j int
}

const (
	cornerOnFace = iota
	faceOnCorner
	edgeOnEdge
)

// bodies sets the pair of bodies to work on.
func (x *solver) bodies(mi, si int32) {
	at := &x.scene.at
	b := bodyPair{mi, si}
	x.mi, x.si = mi, si
	x.m, x.s = x.scene.moving[mi], x.scene.still[si]
	x.zones, x.judged = at.zones[b], at.judged[b]
}

// pair finds contacts of the triangles at positions i and j of the two orders
// that come before the best so far.
func (x *solver) pair(i, j int32) {
	mt, st := x.m.order[i], x.s.order[j]
	ma, sa := x.m.active[mt], x.s.active[st]
	a, b := &x.m.box[i], &x.s.box[j]
	if ma == 0 || sa == 0 ||
		x.motion.overlap(a, b) <= x.flush(mt, st) || x.motion.approach(a, b, x.dir, x.after) > x.best.angle {
		return
	}
	x.mt, x.st = mt, st
	if x.judged {
		p := patchPair{x.mi, x.si, x.m.patches()[mt], x.s.patches()[st]}
		if x.scene.at.skip[p] {
			return
		}
		x.touching, x.touchesTo, x.partsAt = x.scene.at.touching[p], -1, math.Inf(1)
	}
	x.p, x.q = x.m.corners(mt), x.s.corners(st)
	x.np, x.nq = x.m.normal[mt], x.s.normal[st]
	if x.motion.slides() && profileOverlap(shadow(&x.p), shadow(&x.q)) <= x.flush(mt, st) {
		return
	}
	x.from, x.to = x.motion.window(a, b, x.dir, x.best.angle+polishReach)
	if !x.screws() {
		x.features(ma, sa)
		return
	}
	// A turn of a screw, in which the arcs overlap once or, cut in two, twice.
	from, to := max(x.from, x.after), min(x.to, x.after+turn)
	mid, half := arcs(a, b, x.dir)
	if half >= math.Pi {
		x.from, x.to = from, to
		x.features(ma, sa)
		return
	}
	for k := math.Ceil((from - half - mid) / turn); mid+k*turn-half <= min(to, x.best.angle+polishReach); k++ {
		slack := angleEps * (1 + math.Abs(k))
		x.from, x.to = max(from, mid+k*turn-half-slack), min(to, mid+k*turn+half+slack)
		x.features(ma, sa)
	}
}

// screws reports whether the motion both turns and travels.
func (x *solver) screws() bool { return x.motion.turns && x.motion.rate != 0 }

// flush returns up to which overlap across the motion triangles pass.
func (x *solver) flush(mt, st int32) float64 {
	return x.scene.flush + float64(x.m.slack[mt]+x.s.slack[st])
}

// arcs returns the middle and half the width of an interval of turns, counted
// in direction dir, in which the arcs of two sectors overlap.
func arcs(moving, still *sector, dir float64) (mid, half float64) {
	mid = wrap(math.Mod(dir*(still.at-moving.at+(still.width-moving.width)/2), turn))
	return mid, (still.width+moving.width)/2 + angleEps
}

// features looks for contacts within the window.
func (x *solver) features(ma, sa uint8) {
	if x.from > x.to {
		return
	}
	x.sin, x.cos = math.Sincos((x.from + x.to) / 2)
	x.half = (x.to - x.from) / 2
	x.faces(ma, sa)
	x.edges(ma, sa)
}

// faces looks for corners that meet faces. Seen from the moving face the still
// corner turns backwards.
func (x *solver) faces(ma, sa uint8) {
	if sa&faceBit != 0 {
		for c := range 3 {
			if ma&(cornerBit<<c) != 0 {
				x.try(cornerCourse(x.motion, x.nq, x.q[0], x.p[c], x.dir), encounter{cornerOnFace, c, 0})
			}
		}
	}
	if ma&faceBit != 0 {
		for c := range 3 {
			if sa&(cornerBit<<c) != 0 {
				x.try(cornerCourse(x.motion, x.np, x.p[0], x.q[c], -x.dir), encounter{faceOnCorner, 0, c})
			}
		}
	}
}

// cornerHarmonic returns n.(R(t) p - q): the height of the turned corner p
// above the face through q with unit normal n, for turns in direction dir.
func cornerHarmonic(n, q, p r3.Vec, dir float64) harmonic {
	return harmonic{
		G: r3.Dot(n, r3.Sub(p, q)),
		A: n.X*p.X + n.Y*p.Y,
		B: dir * (n.Y*p.X - n.X*p.Y),
	}
}

// cornerCourse returns n.(R(t) p + rate t z - q), as cornerHarmonic does for a
// hinge: t counts in direction dir, towards which a slider does not turn.
func cornerCourse(m motion, n, q, p r3.Vec, dir float64) course {
	g := course{D: dir * m.rate * n.Z}
	if m.turns {
		g.harmonic = cornerHarmonic(n, q, p, dir)
		return g
	}
	g.G = r3.Dot(n, r3.Sub(p, q))
	return g
}

// edges looks for edges that meet.
func (x *solver) edges(ma, sa uint8) {
	for i := range 3 {
		x.u[i] = r3.Sub(x.p[(i+1)%3], x.p[i])
		x.k[i] = r3.Cross(x.p[i], x.u[i])
		x.w[i] = r3.Sub(x.q[(i+1)%3], x.q[i])
		x.l[i] = r3.Cross(x.q[i], x.w[i])
	}
	for i := range 3 {
		if ma&(edgeBit<<i) == 0 {
			continue
		}
		for j := range 3 {
			if sa&(edgeBit<<j) != 0 {
				x.try(edgeCourse(x.motion, x.p[i], x.u[i], x.k[i], x.q[j], x.w[j], x.l[j], x.dir), encounter{edgeOnEdge, i, j})
			}
		}
	}
}

// edgeHarmonic returns the reciprocal product of the Pluecker coordinates of
// two lines, (u, k) turned and (w, l) still, where k = p x u and l = q x w are
// the moments: R(t)u.l + R(t)k.w, zero where the lines meet.
func edgeHarmonic(p, u, k, q, w, l r3.Vec, dir float64) harmonic {
	return harmonic{
		G: r3.Dot(r3.Sub(p, q), r3.Cross(u, w)),
		A: u.X*l.X + u.Y*l.Y + k.X*w.X + k.Y*w.Y,
		B: dir * (u.X*l.Y - u.Y*l.X + k.X*w.Y - k.Y*w.X),
	}
}

// edgeCourse returns edgeHarmonic with what the travel adds to it: rate t z times
// R(t) u x w.
func edgeCourse(m motion, p, u, k, q, w, l r3.Vec, dir float64) course {
	across := dir * m.rate * (u.X*w.Y - u.Y*w.X)
	if m.turns {
		return course{
			harmonic: edgeHarmonic(p, u, k, q, w, l, dir),
			P:        across, Q: -m.rate * (u.X*w.X + u.Y*w.Y),
		}
	}
	return course{harmonic: harmonic{G: r3.Dot(r3.Sub(p, q), r3.Cross(u, w))}, D: across}
}

// try solves g for an encounter, unless it surely has no root while the
// triangles' sectors overlap.
func (x *solver) try(g course, e encounter) {
	unit := 1.0 // of g, as a length
	if e.kind == edgeOnEdge {
		unit = math.Sqrt(r3.Norm2(x.u[e.i]) * r3.Norm2(x.w[e.j]))
	}
	switch {
	case x.motion.hinge():
		if !g.misses(x.cos, x.sin, x.half) {
			roots, n := g.harmonic.roots(valueEps*unit, x.best.angle+polishReach)
			x.take(&g, unit, roots[:n], e)
		}
	case x.motion.slides():
		if t, ok := g.linear(valueEps*unit, x.best.angle+polishReach); ok {
			x.take(&g, unit, []float64{t}, e)
		}
	default:
		if math.Hypot(g.A, g.B)+math.Abs(g.D)+math.Hypot(g.P, g.Q) > valueEps*unit {
			x.list = g.roots(x.from, x.to, valueEps*unit*(1+x.to), x.list[:0])
			x.take(&g, unit, x.list, e)
		}
	}
}

// take checks the roots of g, of the given unit as a length, against the extent
// of the features and keeps the first contact that is a new one.
func (x *solver) take(g *course, unit float64, roots []float64, e encounter) {
	size := 1.0 // of the terms of g
	for _, t := range roots {
		if t > x.best.angle+polishReach {
			return
		}
		// How far rounding of g lets the root, and with it the features, stray.
		s, c := math.Sincos(t)
		if !x.motion.hinge() {
			size = 1 + t
		}
		stray := valueEps * unit * size / max(math.Abs(g.slope(t, c, s)), math.Sqrt(valueEps)*unit)
		h := hit{angle: t, moving: x.mi, still: x.si, mTri: x.mt, sTri: x.st}
		if !x.meets(e, &h, margin+stray) || !x.isNew(&h) {
			continue
		}
		// Against the motion: the velocity of the point, in this direction.
		if x.dir*x.motion.speed(h.normal, h.point) > 0 {
			h.normal = r3.Scale(-1, h.normal)
		}
		if x.found && h.before(&x.best) || !x.found && h.angle <= x.best.angle {
			x.best, x.found = h, true
		}
		return
	}
}
