package contact

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

const (
	turn = 2 * math.Pi
	// lengthEps is the rounding of a coordinate in the axis frame, with room
	// for the few operations that lead to it.
	lengthEps = 1e-15
	// angleEps is taken off every angle bound, so that bounds stay below the
	// angles they bound however these were rounded.
	angleEps = 1e-12
)

// sector is a box in cylindrical coordinates about the axis: distance from the
// axis, height along it, and the arc from azimuth at over width (radians).
// Turning about the axis changes nothing but at.
//
// For a slider it is a box along the axis frame, in which sliding likewise
// changes nothing but at: x from rLo to rHi, y from zLo to zHi, and z from at
// over width.
type sector struct {
	rLo, rHi, zLo, zHi float64
	at, width          float64 // at in -pi..pi, width in 0..2 pi
}

// wrap returns the angle a, which lies between -2 pi and 4 pi, in 0..2 pi.
func wrap(a float64) float64 {
	if a < 0 {
		a += turn
	}
	if a >= turn {
		a -= turn
	}
	return a
}

// wrapHalf returns the angle a, which lies between -3 pi and 3 pi, in -pi..pi.
func wrapHalf(a float64) float64 {
	if a > math.Pi {
		a -= turn
	} else if a < -math.Pi {
		a += turn
	}
	return a
}

// unionArc returns the shortest arc over two arcs given by start and width.
func unionArc(a, wa, b, wb float64) (at, width float64) {
	ab, ba := wrap(b-a), wrap(a-b)
	fromA, fromB := max(wa, ab+wb), max(wb, ba+wa)
	if fromA <= fromB {
		return a, min(fromA, turn)
	}
	return b, min(fromB, turn)
}

// overlap returns by how much the intervals of distance and of height of two
// sectors overlap, the smaller of the two; negative where they lie apart. It
// bounds the depth to which the contents can ever meet by turning: an interval
// that holds the other counts as deep as the way out of it.
func overlap(a, b *sector) float64 {
	return min(a.rHi-b.rLo, b.rHi-a.rLo, a.zHi-b.zLo, b.zHi-a.zLo)
}

// approach returns a lower bound on the angle by which the moving sector must
// turn in the direction dir (+1 or -1) to reach the still one's arc; 0 where
// the arcs overlap.
func approach(moving, still *sector, dir float64) float64 {
	d := wrap(still.at - moving.at)
	if d <= moving.width || d+still.width >= turn {
		return 0
	}
	if dir > 0 {
		return max(d-moving.width-angleEps, 0)
	}
	return max(turn-d-still.width-angleEps, 0)
}

// window returns an interval of turns in direction dir that holds all those up
// to limit at which the arcs of the two sectors overlap. They are those of one
// interval, and if that reaches over zero, of what it leaves before a full turn.
func window(moving, still *sector, dir, limit float64) (from, to float64) {
	centre := wrap(math.Mod(dir*(still.at-moving.at+(still.width-moving.width)/2), turn))
	half := (still.width+moving.width)/2 + angleEps
	if half >= math.Pi {
		return 0, limit
	}
	from, to = centre-half, centre+half
	again := math.Inf(1)
	switch {
	case from < 0:
		from, again = 0, from+turn
	case to > turn:
		from, to, again = 0, to-turn, from
	}
	if limit >= again {
		return 0, limit
	}
	return from, max(min(to, limit), from)
}

// triangleSector returns the sector round the triangle with the given corners
// in the axis frame, their distances from the axis and their azimuths.
func triangleSector(p *[3]r3.Vec, r, azimuth *[3]float64) sector {
	s := sector{
		rHi: max(r[0], r[1], r[2]),
		zLo: min(p[0].Z, p[1].Z, p[2].Z), zHi: max(p[0].Z, p[1].Z, p[2].Z),
	}
	if holdsAxis(p) {
		s.at, s.width = -math.Pi, turn
		return s
	}
	s.rLo = min(axisDistance(p[0], p[1]), axisDistance(p[1], p[2]), axisDistance(p[2], p[0]))
	s.at, s.width = triangleArc(r, azimuth, s.rLo)
	s.rLo = max(s.rLo-lengthEps, 0)
	s.rHi += lengthEps
	return s
}

// holdsAxis reports whether the axis runs through the triangle's inside.
func holdsAxis(p *[3]r3.Vec) bool {
	a := p[0].X*p[1].Y - p[0].Y*p[1].X
	b := p[1].X*p[2].Y - p[1].Y*p[2].X
	c := p[2].X*p[0].Y - p[2].Y*p[0].X
	return a > 0 && b > 0 && c > 0 || a < 0 && b < 0 && c < 0
}

// axisDistance returns the distance of the segment from a to b from the axis.
func axisDistance(a, b r3.Vec) float64 {
	dx, dy := b.X-a.X, b.Y-a.Y
	l2 := dx*dx + dy*dy
	if l2 > 0 {
		t := -(a.X*dx + a.Y*dy) / l2
		if t > 0 && t < 1 {
			// The foot's error runs along the line and does not count.
			x, y := a.X+t*dx, a.Y+t*dy
			return math.Sqrt(x*x + y*y)
		}
	}
	return math.Sqrt(min(a.X*a.X+a.Y*a.Y, b.X*b.X+b.Y*b.Y))
}

// triangleArc returns the arc of azimuths of a triangle that the axis does not
// run through. A corner on the axis has no azimuth of its own; an edge that
// crosses the axis leaves the whole circle.
func triangleArc(r, azimuth *[3]float64, rLo float64) (at, width float64) {
	const onAxis = 4 * lengthEps
	first, lo, hi := -1, 0.0, 0.0
	corners := 0
	for k := range 3 {
		if r[k] <= onAxis {
			continue
		}
		corners++
		if first < 0 {
			first = k
			continue
		}
		d := wrapHalf(azimuth[k] - azimuth[first])
		lo, hi = min(lo, d), max(hi, d)
	}
	const flat = math.Pi - 1e-9
	if first < 0 || hi-lo >= flat || corners == 3 && rLo <= onAxis {
		return -math.Pi, turn
	}
	near := rLo
	if corners < 3 {
		near = max(r[0], r[1], r[2])
		for k := range 3 {
			if r[k] > onAxis {
				near = min(near, r[k])
			}
		}
	}
	slack := lengthEps/near + 4*lengthEps
	return wrapHalf(azimuth[first] + lo - slack), min(hi-lo+2*slack, turn)
}
