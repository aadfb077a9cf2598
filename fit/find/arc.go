package find

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

// A chain of vertices may hold arcs of several circles with other stretches
// between them, and the vertices of one arc may be unevenly far apart, as
// decimation leaves them. So circles through three vertices of the chain are
// tried, and the one that the longest run of neighbours lies on is taken first.

const (
	mostArcs   = 6                   // of a chain
	arcSample  = 512                 // vertices of a chain that are looked at first
	arcStarts  = 48                  // of triples of each span
	wideStep   = 100 * math.Pi / 180 // between neighbours of half a circle and more that lie on it exactly
	widerStep  = 130 * math.Pi / 180 // of nearly a whole one
	leastExact = 6                   // vertices with such steps
)

// run is a stretch of a chain on one circle.
type run struct {
	from, count int
	arc, step   float64 // covered, and the largest step
}

// arcs adds the arcs of a chain to found.
func (k *looker) arcs(found []ring, p []r3.Vec, closed bool) []ring {
	n := len(p)
	if closed {
		p = append(slices.Clone(p), p...) // an arc may run over the seam
	}
	for range mostArcs {
		if len(p) < leastRun {
			break
		}
		best, ok := k.longestOf(p)
		if !ok {
			break
		}
		best.count = min(best.count, n)
		end := best.from + best.count
		r, ok := k.fitRing(k.trimmed(p[best.from:end]), false)
		if !ok {
			r, ok = k.fitRing(p[best.from:end], false)
		}
		if ok && r.arc >= leastArc {
			found = append(found, r)
		}
		if closed { // the rest, round to where the arc began
			closed = false
			p = append(slices.Clone(p), p[:n]...)[end-1 : best.from+n+1]
			continue
		}
		found = k.arcs(found, p[:best.from+1], false)
		p = p[end-1:]
	}
	return found
}

// trimmed leaves the ends of a run out that only come near its circle, as the
// first vertices of a tangent do.
func (k *looker) trimmed(p []r3.Vec) []r3.Vec {
	n := len(p)
	if n < 2*leastRun {
		return p
	}
	i, j := n/10, n-n/10
	c, ok := fitCircle(thin(p[i:j], ringSample))
	if !ok {
		return p
	}
	limit := ringSigmas * k.sigma
	for _, q := range p[i:j] {
		limit = max(limit, c.off(q))
	}
	limit += exactRing * c.radius
	for i > 0 && c.off(p[i-1]) <= limit {
		i--
	}
	for j < n && c.off(p[j]) <= limit {
		j++
	}
	return p[i:j]
}

// longestOf is longestRun for chains of any length: of a long one it looks at
// some vertices first.
func (k *looker) longestOf(p []r3.Vec) (run, bool) {
	step := (len(p) + arcSample - 1) / arcSample
	if step <= 1 {
		return k.longestRun(p)
	}
	some := make([]r3.Vec, 0, arcSample)
	for i := 0; i < len(p); i += step {
		some = append(some, p[i])
	}
	r, ok := k.longestRun(some)
	if !ok {
		return r, false
	}
	return k.runThrough(p, r.from*step, (r.from+r.count-1)*step)
}

// longestRun looks for the run with the largest arc.
func (k *looker) longestRun(p []r3.Vec) (run, bool) {
	best, found := run{}, false
	last := 0
	for _, part := range [...]float64{1, 0.7, 0.5, 0.35, 0.25, 0.17, 0.12, 0.08, 0.05, 0.03, 0} {
		span := max(int(part*float64(len(p)-1)), leastRun-1)
		if span == last {
			continue
		}
		last = span
		step := max(1, (len(p)-span)/arcStarts)
		for i := 0; i+span < len(p); i += step {
			if found && i >= best.from && i+span < best.from+best.count {
				continue // it would find the same again
			}
			if r, ok := k.runThrough(p, i, i+span); ok && r.arc > best.arc+1e-9 {
				best, found = r, true
			}
		}
		// Shorter spans that start inside it would find it again.
		if found && best.count > span {
			break
		}
	}
	return best, found
}

// runThrough extends the circle through the vertices i, j and the one halfway
// as far as the chain stays on it.
func (k *looker) runThrough(p []r3.Vec, i, j int) (run, bool) {
	c, axis, r, ok := through(p[i], p[(i+j)/2], p[j])
	if !ok || r > k.size {
		return run{}, false
	}
	limit := k.near(r)
	on := func(at int) bool { return offCircle(p[at], c, axis, r) <= limit }
	for at := i + 1; at < j; at++ {
		if !on(at) {
			return run{}, false
		}
	}
	for i > 0 && on(i-1) {
		i--
	}
	for j+1 < len(p) && on(j+1) {
		j++
	}
	out := run{from: i, count: j - i + 1}
	for at := i; at < j; at++ {
		s := angle(r3.Sub(p[at], c), r3.Sub(p[at+1], c))
		out.arc += s
		out.step = max(out.step, s)
	}
	out.arc = min(out.arc, 2*math.Pi)
	return out, out.arc >= leastArc && mayStep(out.count, out.arc, out.step, k.sigma == 0)
}

// near is how far a vertex may be from a circle of radius r through three
// others to be taken for one of its own.
func (k *looker) near(r float64) float64 {
	if k.sigma > 0 {
		return roundness*r + 6*k.sigma
	}
	return 2 * roundness * r
}

// mayStep reports whether count vertices with at most a step between
// neighbours make an arc: wide steps are believed only where more vertices than
// chance puts there lie exactly on the circle.
func mayStep(count int, arc, step float64, exact bool) bool {
	switch {
	case step <= mostStep:
		return count >= leastRun
	case !exact || count < leastExact:
		return false
	case arc > 1.9*math.Pi:
		return step <= widerStep
	}
	return arc >= math.Pi && step <= wideStep
}
