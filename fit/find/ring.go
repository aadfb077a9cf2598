package find

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// ring is a circle that a part shows: a loop of edges, or arcs of one circle.
type ring struct {
	centre, axis r3.Vec
	radius       float64
	arc          float64 // covered, radians, at most 2 pi
	form         float64 // 1 for vertices on the circle, towards 0 for a rough one
	tilt, shift  float64 // how well axis and centre are known: radians and model units
	points       []r3.Vec
	bolts        bool // stands for holes or pins on a circle: its axis is one, its rim is not
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

// appendRings adds the circle that a chain of vertices lies on, or the arcs
// it is made of, and reports which.
func (k *looker) appendRings(found []ring, p []r3.Vec, closed bool) (rings []ring, round bool) {
	if closed && len(p) > 3 {
		if r, ok := k.fitRing(p, true); ok {
			return append(found, r), true
		}
	}
	return k.arcs(found, p, closed), false
}

// fitRing fits a circle to a chain of vertices; it is false where they do not
// lie on one.
func (k *looker) fitRing(p []r3.Vec, closed bool) (ring, bool) {
	n := len(p)
	d, ok := fitCircle(thin(p, ringSample))
	if !ok || d.radius > k.size || ringSigmas*k.sigma > mostNoise*d.radius {
		return ring{}, false
	}
	arc, worst, most := 0.0, 0.0, 0.0
	for i := range p {
		worst = max(worst, d.off(p[i])/d.radius)
		if i == n-1 && !closed {
			break
		}
		step := angle(r3.Sub(p[i], d.centre), r3.Sub(p[(i+1)%n], d.centre))
		arc += step
		most = max(most, step)
	}
	f := form{count: n, closed: closed, arc: min(arc, 2*math.Pi), step: most, worst: worst, noise: ringSigmas * k.sigma / d.radius}
	if f.exact = worst*d.radius < exactRing*d.radius+1e-6*k.size; f.exact && closed && n < leastTurns {
		f.chance = symmetric(p, d)
	}
	if !f.isRound() {
		return ring{}, false
	}
	return k.newRing(d, f, p), true
}

const (
	ringSigmas = 4.5  // standard deviations that a vertex may be off its circle
	mostNoise  = 0.15 // of the radius, for that
)

// form is how a chain of vertices lies on its circle; lengths are in radii.
type form struct {
	count        int
	closed       bool
	exact        bool    // but for rounding
	chance       bool    // so does a chain of its symmetry
	arc, step    float64 // covered, and the largest between neighbours
	worst, noise float64 // largest distance, and what noise makes of it
}

// isRound reports whether the chain is an arc or a circle.
func (f form) isRound() bool {
	switch {
	case f.worst > f.limit() || f.noise > mostNoise:
		return false
	case f.closed && f.exact:
		return f.count > 3 && !f.chance && f.step < mostOpen
	}
	return mayStep(f.count, f.arc, f.step, f.exact)
}

// limit is how far a vertex may be off. Vertices between which the chords cut
// in deeply are seldom on the circle themselves, as decimation leaves them.
func (f form) limit() float64 {
	l := roundness
	if f.closed {
		l += cutShare * (1 - math.Cos(min(f.step, mostStep)/2))
		if f.count >= 2*leastTurns {
			l = max(l, roughness)
		}
	}
	return l + f.noise
}

// weight is 1 for vertices on the circle, towards 0 for a rough one.
func (f form) weight() float64 {
	rough := f.worst / (2*roundness + 2*cutShare*(1-math.Cos(min(f.step, mostStep)/2)) + f.noise)
	return 1 / (1 + rough*rough)
}

const (
	exactRing = 2e-5                // of the radius, off a circle by rounding alone
	mostOpen  = 170 * math.Pi / 180 // between neighbours of an exact closed circle
	cutShare  = 0.3                 // of the sagitta of the largest step
)

// symmetric reports whether four points lie on a circle by their symmetry, as
// the corners of a rectangle and of a trapezium do.
func symmetric(p []r3.Vec, d circleFit) bool {
	if len(p) != 4 {
		return false
	}
	var step [4]float64
	for i := range step {
		step[i] = angle(r3.Sub(p[i], d.centre), r3.Sub(p[(i+1)%4], d.centre))
	}
	const like = 1e-3
	return math.Abs(step[0]-step[2]) < like || math.Abs(step[1]-step[3]) < like
}

// useful is 1 for an axis that is known well, towards 0 for one that is not.
func useful(tilt float64) float64 {
	if !(tilt > 0) { // also NaN
		return 1
	}
	x := tilt / usefulTilt
	return 1 / (1 + x*x)
}

const usefulTilt = 0.4 * math.Pi / 180 // standard deviation of an axis that is of half the use

func (k *looker) newRing(d circleFit, f form, p []r3.Vec) ring {
	share := f.arc / (2 * math.Pi)
	least := fileRounding / (share * share)
	known := func(sigma, least float64) float64 {
		if sigma > least { // false for NaN
			return sigma
		}
		return least
	}
	return ring{
		centre: d.centre, axis: d.axis, radius: d.radius, arc: f.arc, form: f.weight() * useful(d.tilt),
		tilt: known(d.tilt, least), shift: known(d.shift, least*d.radius), points: thin(p, ringPoints),
	}
}

// mostly returns the circle that most of an outline lies on, such as the edge
// of a disc with a tab.
func (k *looker) mostly(o outline) (ring, bool) {
	if len(o.points) < 3*leastTurns {
		return ring{}, false
	}
	p := thin(o.points, 2*ringSample)
	r, count, ok := k.consensus(p, o.points[0], o.normal, mostlyTrials)
	if !ok || 2*count < len(p) || count < 2*leastTurns {
		return ring{}, false
	}
	return r, r.arc > math.Pi
}

const mostlyTrials = 64 // circles through three vertices, of which half are on one
