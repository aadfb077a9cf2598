package contact

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// triangleBox returns the box round a triangle as a slider's sector.
func triangleBox(p *[3]r3.Vec) sector {
	c := crateOf(p)
	return sector{
		rLo: c.mid.X - c.half.X - lengthEps, rHi: c.mid.X + c.half.X + lengthEps,
		zLo: c.mid.Y - c.half.Y - lengthEps, zHi: c.mid.Y + c.half.Y + lengthEps,
		at: c.mid.Z - c.half.Z, width: 2 * c.half.Z,
	}
}

// union returns a sector round both.
func (m motion) union(a, b *sector) sector {
	u := sector{
		rLo: min(a.rLo, b.rLo), rHi: max(a.rHi, b.rHi),
		zLo: min(a.zLo, b.zLo), zHi: max(a.zHi, b.zHi),
	}
	u.at, u.width = m.unionSpan(a.at, a.width, b.at, b.width)
	return u
}

// unionSpan returns the shortest arc over two, for a slider the interval.
func (m motion) unionSpan(a, wa, b, wb float64) (at, width float64) {
	if m.turns {
		return unionArc(a, wa, b, wb)
	}
	at = min(a, b)
	return at, max(a+wa, b+wb) - at
}

// invariants returns what the motion leaves of a point's place: distance from
// the axis and height for a hinge, x and y for a slider, the distance alone for
// a screw.
func (m motion) invariants(p r3.Vec) point2 {
	switch {
	case m.slides():
		return point2{p.X, p.Y}
	case m.hinge():
		return point2{radius(p), p.Z}
	}
	return point2{radius(p), 0}
}

// overlap bounds the depth to which the contents of two sectors can ever meet
// by the motion; negative where they pass apart.
func (m motion) overlap(a, b *sector) float64 {
	if m.turns && m.rate != 0 {
		return min(a.rHi-b.rLo, b.rHi-a.rLo)
	}
	return overlap(a, b)
}

// approach returns a lower bound on the value, counted in direction dir, at
// which the moving sector reaches the still one: +Inf if it never does. A screw
// may do so in every turn; after is where to begin.
func (m motion) approach(moving, still *sector, dir, after float64) float64 {
	switch {
	case m.hinge():
		return approach(moving, still, dir)
	case m.slides():
		from, to := travel(moving.at, moving.at+moving.width, still.at, still.at+still.width, dir)
		if to < 0 {
			return math.Inf(1)
		}
		return max(from, 0)
	}
	from, to := travel(moving.zLo, moving.zHi, still.zLo, still.zHi, dir*m.rate)
	if to < 0 {
		return math.Inf(1)
	}
	from = max(from, after)
	ahead := sector{at: wrapHalf(math.Mod(moving.at+dir*from, turn)), width: moving.width}
	from += max(approach(&ahead, still, dir)-angleEps*(1+from), 0)
	if from > to {
		return math.Inf(1)
	}
	return from
}

// travel returns the interval of values at which one interval, travelling at
// the given rate, overlaps another.
func travel(lo, hi, otherLo, otherHi, rate float64) (from, to float64) {
	from, to = (otherLo-hi)/rate, (otherHi-lo)/rate
	if from > to {
		from, to = to, from
	}
	return from - angleEps*(1+math.Abs(from)), to + angleEps*(1+math.Abs(to))
}

// window returns an interval of values, counted in direction dir, that holds
// all those up to limit at which two sectors overlap; from is above to if there
// are none.
func (m motion) window(moving, still *sector, dir, limit float64) (from, to float64) {
	switch {
	case m.hinge():
		return window(moving, still, dir, limit)
	case m.slides():
		from, to = travel(moving.at, moving.at+moving.width, still.at, still.at+still.width, dir)
	default:
		from, to = travel(moving.zLo, moving.zHi, still.zLo, still.zHi, dir*m.rate)
	}
	return max(from, 0), min(to, limit)
}

// near reports whether two sectors may come within reach as they stand.
func (m motion) near(a, b *sector, reach float64) bool {
	if overlap(a, b) < -reach {
		return false
	}
	if m.slides() {
		return max(a.at-b.at-b.width, b.at-a.at-a.width) <= reach
	}
	gap := min(approach(a, b, 1), approach(a, b, -1))
	return math.Sin(min(gap, math.Pi/2))*max(a.rLo, b.rLo) <= reach
}

// size is a measure of a sector by which the larger of two is split first.
func (m motion) size(a *sector) float64 {
	if m.turns {
		return (a.rHi - a.rLo) + (a.zHi - a.zLo) + a.rHi*a.width
	}
	return (a.rHi - a.rLo) + (a.zHi - a.zLo) + a.width
}
