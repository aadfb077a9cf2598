package find

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

// Levels are planes in which several outlines lie. Where a rim is cut into
// short arcs by lugs, ribs and slots, or is round only on the whole, no one
// outline shows its circle, but all of them together do.

const (
	leastRest   = 6    // vertices of an outline that is looked at
	mostRest    = 600  // outlines of a part, the longest first
	mostLevels  = 40   // of a part, the longest outlines first
	levelTrials = 400  // circles through three of a level's vertices
	leastLevel  = 10   // vertices of its circle
	leastBins   = 12   // of coverBins, in which these lie
	levelForm   = 0.5  // what such a circle weighs against a clean one
	levelSample = 400  // vertices of a level that are tried
	levelRough  = 3e-3 // of the radius, off the circle
)

// level gathers the outlines of flat faces in one plane that are no circles.
type level struct {
	at, normal r3.Vec
	points     []r3.Vec
	length     float64
}

// levels adds the circles that the outlines left over show together.
func (k *looker) levels() error {
	for i := range k.rest {
		k.rest[i].measure()
	}
	slices.SortStableFunc(k.rest, func(a, b outline) int { return compare(b.length, a.length) })
	list := gatherLevels(k.rest[:min(len(k.rest), mostRest)], max(levelFlat*k.size, 4*k.sigma))
	for _, l := range list[:min(len(list), mostLevels)] {
		if err := k.ctx.Err(); err != nil {
			return err
		}
		if r, ok := k.levelRing(l); ok {
			k.rings = append(k.rings, r)
		}
	}
	return nil
}

const levelFlat = 1e-5 // of the part's diagonal, between planes that are one

// outline is a loop round a flat face.
type outline struct {
	points []r3.Vec
	normal r3.Vec // of the face
	length float64
}

func (o *outline) measure() {
	for i, p := range o.points {
		o.length += r3.Norm(r3.Sub(p, o.points[(i+1)%len(o.points)]))
	}
}

func gatherLevels(rest []outline, off float64) []level {
	var out []level
	for _, o := range rest {
		i := slices.IndexFunc(out, func(l level) bool {
			return lineAngle(l.normal, o.normal) < 1e-3 && math.Abs(r3.Dot(l.normal, r3.Sub(o.points[0], l.at))) < off
		})
		if i < 0 {
			out = append(out, level{at: o.points[0], normal: o.normal})
			i = len(out) - 1
		}
		out[i].points = append(out[i].points, o.points...)
		out[i].length += o.length
	}
	slices.SortStableFunc(out, func(a, b level) int { return compare(b.length, a.length) })
	return out
}

// levelRing returns the circle of the level with the largest cover.
func (k *looker) levelRing(l level) (ring, bool) {
	p := thin(l.points, levelSample)
	if len(p) < leastLevel {
		return ring{}, false
	}
	r, count, ok := k.consensus(p, l.at, l.normal, levelTrials)
	r.form = levelForm
	return r, ok && count >= leastLevel
}

// consensus returns the circle through three points of a plane on which points
// lie in the most directions, fitted to those, and their number (M. Fischler
// and R. Bolles, Random sample consensus, 1981).
func (k *looker) consensus(p []r3.Vec, at, normal r3.Vec, trials int) (r ring, count int, ok bool) {
	x := across(normal)
	y := r3.Cross(normal, x)
	flat := make([][2]float64, len(p))
	for i, q := range p {
		d := r3.Sub(q, at)
		flat[i] = [2]float64{r3.Dot(d, x), r3.Dot(d, y)}
	}
	best, most := [3]float64{}, leastBins-1
	for _, t := range triples(len(p), trials) {
		c, ok := circleThrough(flat[t[0]], flat[t[1]], flat[t[2]])
		if !ok || c[2] > k.size/2 || c[2] < 0.01*k.size {
			continue
		}
		if n := binsOn(flat, c, levelRough*c[2]+3*k.sigma); n > most {
			best, most = c, n
		}
	}
	if most < leastBins || ringSigmas*k.sigma > mostNoise*best[2] {
		return r, 0, false
	}
	o := r3.Add(at, r3.Add(r3.Scale(best[0], x), r3.Scale(best[1], y)))
	var on []r3.Vec
	for _, q := range p {
		if offCircle(q, o, normal, best[2]) <= levelRough*best[2]+ringSigmas*k.sigma {
			on = append(on, q)
		}
	}
	if len(on) < leastRun {
		return r, 0, false
	}
	d, ok := fitCircle(on)
	if !ok {
		return r, 0, false
	}
	sortRound(on, d.centre, d.axis)
	r = k.newRing(d, form{arc: 2 * math.Pi * float64(most) / coverBins, worst: roundness, noise: ringSigmas * k.sigma / d.radius}, on)
	r.points = thin(on, 2*ringPoints)
	return r, len(on), true
}

// triples lists different numbers below n, three at a time, the same each time
// (P. L'Ecuyer, Tables of linear congruential generators, 1999).
func triples(n, count int) [][3]int {
	out := make([][3]int, count)
	s := uint64(1)
	next := func(below int) int {
		s = s*2862933555777941757 + 3037000493
		return int((s >> 33) % uint64(below))
	}
	for i := range out {
		a := next(n)
		b := (a + 1 + next(n-1)) % n
		c := b
		for c == a || c == b {
			c = next(n)
		}
		out[i] = [3]int{a, b, c}
	}
	return out
}

// circleThrough returns centre and radius of the circle through three points of
// a plane.
func circleThrough(p, q, s [2]float64) (c [3]float64, ok bool) {
	ax, ay, bx, by := q[0]-p[0], q[1]-p[1], s[0]-p[0], s[1]-p[1]
	det := 2 * (ax*by - ay*bx)
	aa, bb := ax*ax+ay*ay, bx*bx+by*by
	if !(det*det > 1e-8*aa*bb) {
		return c, false
	}
	u, v := (by*aa-ay*bb)/det, (ax*bb-bx*aa)/det
	return [3]float64{p[0] + u, p[1] + v, math.Hypot(u, v)}, true
}

// binsOn counts the directions from a circle's centre in which points lie on it.
func binsOn(p [][2]float64, c [3]float64, off float64) int {
	var bins [coverBins]bool
	n := 0
	lo, hi := (c[2]-off)*(c[2]-off), (c[2]+off)*(c[2]+off)
	for _, q := range p {
		u, v := q[0]-c[0], q[1]-c[1]
		if w := u*u + v*v; w < lo || w > hi {
			continue
		}
		b := &bins[int((math.Atan2(v, u)/(2*math.Pi)+0.5)*coverBins)%coverBins]
		if !*b {
			*b = true
			n++
		}
	}
	return n
}

// normalOf returns the normal of a flat set of triangles.
func normalOf(m *mesh.Mesh, set []int32) r3.Vec {
	var n r3.Vec
	for _, t := range set {
		n = r3.Add(n, m.AreaNormal(int(t)))
	}
	return r3.Unit(n)
}
