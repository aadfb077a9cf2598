package find

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit"
	"pintle/fit/mesh"
)

// ring is a circle that a part shows: a loop of edges, or arcs of one circle.
type ring struct {
	centre, axis r3.Vec
	radius       float64
	arc          float64 // covered, radians, at most 2 pi
	form         float64 // 1 for vertices on the circle, towards 0 for a rough one
	tilt, shift  float64 // how well axis and centre are known: radians and model units
	points       []r3.Vec
}

// weight is how much a ring says about its axis: long arcs of large circles
// say most.
func (r ring) weight() float64 { return r.form * r.radius * r.arc / (2 * math.Pi) }

const (
	featureAngle    = 20 * math.Pi / 180
	roundness       = 2e-3               // of the radius, for the distance of a loop's vertices from its circle
	roughness       = 2e-2               // the same, for a closed loop that is only about round
	fileRounding    = 1e-6               // of the radius
	leastTurns      = 6                  // vertices of a loop that is a circle
	leastRun        = 5                  // vertices of an arc
	leastArc        = 50 * math.Pi / 180 // of an arc
	mostStep        = 62 * math.Pi / 180 // between neighbouring vertices of a circle
	leastCover      = 85 * math.Pi / 180 // of a circle in all
	ringSample      = 64                 // vertices that are fitted
	ringPoints      = 12                 // that a ring keeps
	mostRingsOfPart = 3000               // the heaviest
	leastRadius     = 2e-4               // of the part's diagonal
)

// rings returns the circles of a part: those of its sharp and open edges,
// those along which its curvature jumps, those round its flat faces, and one
// for each turned surface without any.
func rings(m *mesh.Mesh) []ring {
	top := m.Topology()
	c := collector{mesh: m, seen: map[loopKey]bool{}}
	for _, l := range top.FeatureLoops(featureAngle) {
		c.add(l)
	}
	for _, patch := range patches(m, top.EvenPatches, evenAngle, false) {
		for _, l := range top.Outline(patch) {
			c.add(l)
		}
	}
	for _, patch := range patches(m, top.SmoothPatches, flatAngle, true) {
		for _, l := range top.Outline(patch) {
			if c.add(l) {
				continue
			}
			if r, ok := mostly(fit.FromLoop(m, l)); ok {
				c.rings = append(c.rings, r)
			}
		}
	}
	for _, patch := range patches(m, top.SmoothPatches, evenAngle, false) {
		if r, ok := turned(m, patch); ok {
			c.rings = append(c.rings, r)
		}
	}
	return merged(c.rings, leastRadius*m.Diagonal())
}

// collector gathers the rings of loops, each loop once.
type collector struct {
	mesh  *mesh.Mesh
	seen  map[loopKey]bool // whether the loop has rings
	rings []ring
}

// loopKey tells loops apart, whatever vertex they start at.
type loopKey struct {
	least, most int32
	sum         int64
	count       int
}

// add adds the rings of a loop, unless it has seen it, and reports whether it
// has any.
func (c *collector) add(l mesh.Loop) bool {
	k := loopKey{least: math.MaxInt32, count: len(l.Edges)}
	for _, e := range l.Edges {
		k.least, k.most, k.sum = min(k.least, e), max(k.most, e), k.sum+int64(e)
	}
	if has, ok := c.seen[k]; ok {
		return has
	}
	before := len(c.rings)
	c.rings = appendRings(c.rings, fit.FromLoop(c.mesh, l), l.Closed)
	c.seen[k] = len(c.rings) > before
	return c.seen[k]
}

const (
	evenAngle = 35 * math.Pi / 180 // between the faces of a bent patch
	flatAngle = 0.5 * math.Pi / 180
)

// patches returns the patches of a kind that are flat, or those that are not.
func patches(m *mesh.Mesh, of func(float64) ([]int32, int), angle float64, flat bool) [][]int32 {
	label, n := of(angle)
	out := make([][]int32, n)
	for t, l := range label {
		out[l] = append(out[l], int32(t))
	}
	return slices.DeleteFunc(out, func(p []int32) bool { return len(p) < leastRun-1 || isFlat(m, p) != flat })
}

func isFlat(m *mesh.Mesh, tris []int32) bool {
	n := m.AreaNormal(int(tris[0]))
	for _, t := range tris {
		if angle(n, m.AreaNormal(int(t))) > 0.01 {
			return false
		}
	}
	return true
}

// appendRings adds the circle that a chain of vertices lies on, or the arcs
// it is made of.
func appendRings(found []ring, p []r3.Vec, closed bool) []ring {
	if closed && len(p) >= leastTurns {
		if r, ok := fitRing(p, true); ok {
			return append(found, r)
		}
	}
	if closed {
		p = startAtBend(p)
	}
	for i := 0; i+leastRun <= len(p); {
		j := runFrom(p, i)
		if j-i >= leastRun {
			if r, ok := fitRing(p[i:j], false); ok && r.arc >= leastArc {
				found = append(found, r)
			}
			i = j - 1
			continue
		}
		i++
	}
	return found
}

// startAtBend turns a closed chain so that no arc runs over its seam, which is
// closed by repeating the first vertex.
func startAtBend(p []r3.Vec) []r3.Vec {
	n := len(p)
	at := func(i int) r3.Vec { return p[(i+n)%n] }
	best, most := 0, -1.0
	for i := range p {
		a := angle(r3.Sub(at(i), at(i-1)), r3.Sub(at(i+1), at(i)))
		if a > most+1e-9 {
			best, most = i, a
		}
	}
	turned := append(slices.Clone(p[best:]), p[:best]...)
	return append(turned, turned[0])
}

// runFrom returns the end of the longest run of vertices from i on that keep
// turning about one centre.
func runFrom(p []r3.Vec, i int) int {
	if i+3 > len(p) {
		return i
	}
	for j := i + 3; j < len(p); j++ {
		mid := (i + j - 1) / 2
		c, axis, r, ok := through(p[i], p[mid], p[j-1])
		if !ok || offCircle(p[j], c, axis, r) > 2*roundness*r || angle(r3.Sub(p[j], c), r3.Sub(p[j-1], c)) > mostStep {
			return j
		}
		// A run is also straight where it turns by nothing.
		if angle(r3.Sub(p[j], p[j-1]), r3.Sub(p[j-1], p[j-2])) < 1e-4 {
			return j
		}
	}
	return len(p)
}

// fitRing fits a circle to a chain of vertices; it is false where they do not
// lie on one.
func fitRing(p []r3.Vec, closed bool) (ring, bool) {
	n := len(p)
	last := n - 1
	if closed {
		last = 2 * n / 3
	}
	c, axis, r, ok := through(p[0], p[last/2], p[last])
	if !ok {
		return ring{}, false
	}
	for _, q := range p {
		if offCircle(q, c, axis, r) > 5*roughness*r {
			return ring{}, false
		}
	}
	d, err := fit.FitCircle(thin(p, ringSample), fit.Options{Closed: closed, Start: &fit.Datum{Kind: fit.Circle, Origin: c, Axis: axis, Radius: r}})
	if err != nil {
		return ring{}, false
	}
	limit := roundness
	if closed {
		limit = roughness
	}
	arc, worst := 0.0, 0.0
	for i := range p {
		worst = max(worst, offCircle(p[i], d.Origin, d.Axis, d.Radius)/d.Radius)
		if i == n-1 && !closed {
			break
		}
		step := angle(r3.Sub(p[i], d.Origin), r3.Sub(p[(i+1)%n], d.Origin))
		if step > mostStep {
			return ring{}, false
		}
		arc += step
	}
	if worst > limit || closed && worst > roundness && n < 2*leastTurns {
		return ring{}, false
	}
	return newRing(d, min(arc, 2*math.Pi), worst, p), true
}

func newRing(d fit.Datum, arc, worst float64, p []r3.Vec) ring {
	rough := worst / (2 * roundness)
	share := arc / (2 * math.Pi)
	least := fileRounding / (share * share)
	known := func(sigma, least float64) float64 {
		if sigma > least { // false for NaN
			return sigma
		}
		return least
	}
	return ring{
		centre: d.Origin, axis: d.Axis, radius: d.Radius, arc: arc, form: 1 / (1 + rough*rough),
		tilt: known(d.SigmaAxis, least), shift: known(d.SigmaOrigin, least*d.Radius), points: thin(p, ringPoints),
	}
}

// mostly returns the circle that most of a loop lies on, such as the edge of a
// disc with a tab.
func mostly(p []r3.Vec) (ring, bool) {
	if len(p) < 3*leastTurns {
		return ring{}, false
	}
	p = thin(p, 2*ringSample)
	d, err := fit.FitCircle(p, fit.Options{Robust: true})
	if err != nil {
		return ring{}, false
	}
	on := slices.DeleteFunc(slices.Clone(p), func(q r3.Vec) bool { return offCircle(q, d.Origin, d.Axis, d.Radius) > 3*roundness*d.Radius })
	if 2*len(on) < len(p) || len(on) < 2*leastTurns {
		return ring{}, false
	}
	arc := 0.0
	for i, q := range on {
		if step := angle(r3.Sub(q, d.Origin), r3.Sub(on[(i+1)%len(on)], d.Origin)); step < mostStep {
			arc += step
		}
	}
	r := newRing(d, min(arc, 2*math.Pi), roundness, on)
	return r, r.arc > math.Pi
}

// merged joins rings that lie on one circle, drops the small and the short
// ones and sorts by weight.
func merged(all []ring, least float64) []ring {
	slices.SortStableFunc(all, func(a, b ring) int { return compare(b.radius*b.arc, a.radius*a.arc) })
	var out []ring
	byRadius := map[int][]int{} // of out, in steps of 1 %
	for _, r := range all {
		if !(r.radius > least) {
			continue
		}
		step := int(math.Floor(100 * math.Log(r.radius/least)))
		i := -1
		for s := step - 1; s <= step+1; s++ {
			for _, k := range byRadius[s] {
				if out[k].same(r) && (i < 0 || k < i) {
					i = k
				}
			}
		}
		if i < 0 {
			byRadius[step] = append(byRadius[step], len(out))
			out = append(out, r)
			continue
		}
		o := &out[i]
		if isNew := apart(o.points, r.points) > 0.1*r.radius; isNew {
			o.arc = min(o.arc+r.arc, 2*math.Pi)
			o.points = append(o.points, r.points...)
		}
	}
	for i := range out {
		out[i].points = thin(out[i].points, ringPoints)
	}
	out = slices.DeleteFunc(out, func(r ring) bool { return r.arc < leastCover })
	slices.SortStableFunc(out, func(a, b ring) int { return compare(b.weight(), a.weight()) })
	return out[:min(len(out), mostRingsOfPart)]
}

func (r ring) same(o ring) bool {
	return math.Abs(r.radius-o.radius) < 5e-3*r.radius && r3.Norm(r3.Sub(r.centre, o.centre)) < 1e-2*r.radius && lineAngle(r.axis, o.axis) < 0.02
}

// apart is the largest distance of a point of b from all points of a.
func apart(a, b []r3.Vec) float64 {
	far := 0.0
	for _, q := range b {
		near := math.Inf(1)
		for _, p := range a {
			near = min(near, r3.Norm(r3.Sub(p, q)))
		}
		far = max(far, near)
	}
	return far
}
