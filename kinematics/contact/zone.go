package contact

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// zone is the ring about the axis in which two bodies overlap at rest: the
// distances and heights of the curve in which their surfaces cross; for a slider
// the beam along the axis, for a screw the shell. The motion keeps what overlaps in it, so there the crossing may wander from patch to
// patch; outside of it contact counts.
type zone struct {
	rLo, rHi, zLo, zHi float64
	rim                float64 // how far around it counts as well
}

// bodyPair names a moving and a still body by side.
type bodyPair struct{ moving, still int32 }

func emptyZone() zone {
	return zone{math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1), 0}
}

func (z *zone) holds(by motion, p r3.Vec) bool {
	q := by.invariants(p)
	return q.r >= z.rLo-z.rim && q.r <= z.rHi+z.rim && q.z >= z.zLo-z.rim && q.z <= z.zHi+z.rim
}

// join extends the zone by another one.
func (z *zone) join(o zone) {
	z.rLo, z.rHi = min(z.rLo, o.rLo), max(z.rHi, o.rHi)
	z.zLo, z.zHi = min(z.zLo, o.zLo), max(z.zHi, o.zHi)
}

// add extends the zone by a point.
func (z *zone) add(by motion, p r3.Vec) {
	q := by.invariants(p)
	z.join(zone{rLo: q.r, rHi: q.r, zLo: q.z, zHi: q.z})
}

// cross extends the zone by the segment in which two triangles cross.
func (z *zone) cross(by motion, p, q *[3]r3.Vec, np, nq r3.Vec) {
	var ends []r3.Vec
	for i := range 3 {
		if x, ok := pierced(p[i], p[(i+1)%3], q, nq); ok {
			ends = append(ends, x)
		}
		if x, ok := pierced(q[i], q[(i+1)%3], p, np); ok {
			ends = append(ends, x)
		}
	}
	// More than two where the segment ends on edges of both.
	for i, x := range ends {
		z.add(by, x)
		for _, y := range ends[:i] {
			if by.slides() {
				break // nothing between two ends lies outside of what they span
			}
			z.rLo = min(z.rLo, axisDistance(x, y))
		}
	}
}

// pierced returns where the segment from a to b goes through the triangle q
// with unit normal n.
func pierced(a, b r3.Vec, q *[3]r3.Vec, n r3.Vec) (r3.Vec, bool) {
	u, v := r3.Dot(n, r3.Sub(a, q[0])), r3.Dot(n, r3.Sub(b, q[0]))
	if u == v || u > 0 == (v > 0) {
		return r3.Vec{}, false
	}
	x := r3.Add(a, r3.Scale(u/(u-v), r3.Sub(b, a)))
	return x, within(x, q, n, margin)
}
