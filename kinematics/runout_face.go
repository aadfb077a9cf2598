package kinematics

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

// cutFace adds where the circle about the joint axis of radius s.level crosses
// triangle k of an axial face, and its highest and lowest points in between.
// Facets are flat like the face, so all of them are points of the surface.
func (p *runoutPatch) cutFace(s *section, k int) {
	t := &p.tris[k]
	var on []sectionPoint
	var cross []sectionPoint
	for c := range 3 {
		a, b := t.v[c], t.v[(c+1)%3]
		if p.isOn(a, s.level) {
			on = append(on, p.vertexPoint(a))
		}
		cross = p.appendCrossings(cross, a, b, s.level)
	}
	s.points = append(append(s.points, on...), cross...)
	switch len(on) {
	case 2: // a chord of the rim: the round beyond it counts as covered
		s.arcs = append(s.arcs, arcBetween(on[0], on[1]))
	case 3:
		s.addInscribed([3]sectionPoint(on))
	}
	p.cutInside(s, k, append(cross, on...))
}

// isOn reports whether vertex v lies on the level.
func (p *runoutPatch) isOn(v int32, level float64) bool { return math.Abs(p.level[v]-level) <= p.tol }

// appendCrossings appends where the straight edge between vertices a and b
// passes the distance q from the joint axis, its own ends left out: up to two
// points.
func (p *runoutPatch) appendCrossings(out []sectionPoint, a, b int32, q float64) []sectionPoint {
	a, b = min(a, b), max(a, b)
	from, to := p.pts[a], p.pts[b]
	d := r3.Sub(to, from)
	// |from + s d|^2 = q^2 across the axis; the roots without cancellation.
	k, h, c := d.X*d.X+d.Y*d.Y, from.X*d.X+from.Y*d.Y, (p.level[a]-q)*(p.level[a]+q)
	disc := h*h - k*c
	if !(disc > 0) || k == 0 {
		return out
	}
	w := -h - math.Copysign(math.Sqrt(disc), h)
	roots := [2]float64{w / k, c / w}
	if roots[0] > roots[1] {
		roots[0], roots[1] = roots[1], roots[0]
	}
	drop := [2]bool{}
	if p.isOn(a, q) {
		drop[nearerRoot(roots, 0)] = true
	}
	if p.isOn(b, q) {
		drop[nearerRoot(roots, 1)] = true
	}
	keys := [2]uint64{uint64(a)<<32 | uint64(b), uint64(b)<<32 | uint64(a)}
	for i, s := range roots {
		if drop[i] || !(s > 0 && s < 1) {
			continue
		}
		x := r3.Add(from, r3.Scale(s, d))
		out = append(out, sectionPoint{key: keys[i], angle: turnOf(math.Atan2(x.Y, x.X)), value: x.Z})
	}
	return out
}

func nearerRoot(roots [2]float64, end float64) int {
	if math.Abs(roots[0]-end) <= math.Abs(roots[1]-end) {
		return 0
	}
	return 1
}

// cutInside adds the arcs of the circle that run inside triangle k, between
// neighbouring ones of the points where it meets the triangle's edges, and the
// turning points of the facet's height along them.
func (p *runoutPatch) cutInside(s *section, k int, meets []sectionPoint) {
	t := &p.tris[k]
	inside := func(angle float64) bool {
		sin, cos := math.Sincos(angle)
		return p.over(t, s.level*cos, s.level*sin)
	}
	var arcs [][2]float64
	slices.SortFunc(meets, func(a, b sectionPoint) int { return cmp.Compare(a.angle, b.angle) })
	for i, m := range meets {
		length := meets[(i+1)%len(meets)].angle - m.angle
		if i == len(meets)-1 {
			length += 2 * math.Pi
		}
		if length > 0 && inside(m.angle+length/2) {
			arcs = append(arcs, [2]float64{m.angle, length})
		}
	}
	if len(meets) == 0 && inside(0) {
		arcs = append(arcs, [2]float64{0, 2 * math.Pi})
	}
	s.arcs = append(s.arcs, arcs...)
	at, gx, gy := p.facet(t)
	if gx == 0 && gy == 0 {
		return
	}
	up := math.Atan2(gy, gx)
	for i, angle := range [2]float64{turnOf(up), turnOf(up + math.Pi)} {
		for _, a := range arcs {
			if ahead := math.Mod(angle-a[0]+2*math.Pi, 2*math.Pi); ahead < a[1] {
				sin, cos := math.Sincos(angle)
				s.points = append(s.points, sectionPoint{
					key: 1<<63 | uint64(k)<<1 | uint64(i), angle: angle, value: at + s.level*(gx*cos+gy*sin),
				})
			}
		}
	}
}

// facet returns the plane z = at + gx x + gy y of a triangle that is not upright;
// an upright one has no slope.
func (p *runoutPatch) facet(t *patchTriangle) (at, gx, gy float64) {
	a, b, c := p.pts[t.v[0]], p.pts[t.v[1]], p.pts[t.v[2]]
	n := r3.Cross(r3.Sub(b, a), r3.Sub(c, a))
	if n.Z == 0 {
		return a.Z, 0, 0
	}
	gx, gy = -n.X/n.Z, -n.Y/n.Z
	return a.Z - gx*a.X - gy*a.Y, gx, gy
}

// over reports whether the triangle, seen along the joint axis, covers (x, y).
func (p *runoutPatch) over(t *patchTriangle, x, y float64) bool {
	var positive, negative bool
	for c := range 3 {
		a, b := p.pts[t.v[c]], p.pts[t.v[(c+1)%3]]
		side := (b.X-a.X)*(y-a.Y) - (b.Y-a.Y)*(x-a.X)
		positive, negative = positive || side > 0, negative || side < 0
	}
	return positive != negative
}

// nearest returns the least distance from the joint axis of any point of the
// triangle, as seen along the axis.
func (p *runoutPatch) nearest(t *patchTriangle) float64 {
	if p.over(t, 0, 0) {
		return 0
	}
	low := math.Inf(1)
	for c := range 3 {
		a, b := p.pts[t.v[c]], p.pts[t.v[(c+1)%3]]
		dx, dy := b.X-a.X, b.Y-a.Y
		s := 0.0
		if k := dx*dx + dy*dy; k > 0 {
			s = min(max(-(a.X*dx+a.Y*dy)/k, 0), 1)
		}
		low = min(low, math.Hypot(a.X+s*dx, a.Y+s*dy))
	}
	return low
}

// addInscribed adds the arcs of a triangle with all corners on the circle of
// the station, as in a cap that has no vertices but on its rim. The longest
// chord of a triangle beside the centre spans the other two and says nothing.
func (s *section) addInscribed(corners [3]sectionPoint) {
	var arcs [3][2]float64
	longest, sum := 0, 0.0
	for c := range arcs {
		arcs[c] = arcBetween(corners[c], corners[(c+1)%3])
		sum += math.Abs(arcs[c][1])
		if math.Abs(arcs[c][1]) > math.Abs(arcs[longest][1]) {
			longest = c
		}
	}
	round := sum > 2*math.Pi-1e-9 // the centre lies inside
	for c, a := range arcs {
		if c != longest || round {
			s.arcs = append(s.arcs, a)
		}
	}
}
