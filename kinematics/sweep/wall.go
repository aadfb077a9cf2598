package sweep

import "math"

// wall is a stretch of the envelope's surface between two neighbouring
// columns, over an arc in which they differ: mostly upright, that is, at one
// radius and height. Side by side, walls make up the surfaces of revolution
// that the part sweeps out.
type wall struct {
	first, count int32 // vertices of the row's or slab's own count, by rising angle
	low, high    float64
	middle       point
	round        bool    // goes all round the hinge
	next         [2]step // to the walls that carry on in the two prisms beside
}

// step is a way in radius and height.
type step struct{ dr, dz float64 }

// link leads from a column's end along its strand to the end at the other
// side.
type link struct {
	to     int32 // index into the ends of the row where the other end lies
	wall   int32 // index into the walls, -1 where the strand has none
	rises  bool  // the strand goes toward larger angles
	across bool  // the other end belongs to the other column
}

// finder places the walls between two neighbouring columns.
type finder struct {
	low, high column // nearest columns so far, at from and to
	keep      [3][]float64
	list      []strand
}

// halvings is how often the way between two columns is halved to place a wall.
const halvings = 10

// spot is a point of a wall: a share of the way between the two columns and
// an angle.
type spot struct{ x, a float64 }

// way is what lies between two neighbouring columns: at returns the column at
// a share of the way from a to b, whose ends it appends to the buffer.
type way struct {
	a, b column
	at   func(x float64, buf []float64) column
	upright
	longest float64 // radians that may stay without a spot between
	least   float64 // radians that are too few to draw
}

// walk appends the spots of the wall over an arc in which the way's columns
// differ, by rising angle. It places the middle first and then, where the rest
// changes sides elsewhere on the way, the middles of that.
func (f *finder) walk(w *way, low, high float64, depth int, to []spot) []spot {
	m := low + (high-low)/2
	x, p, q := f.place(w, m)
	p, q = max(p, low), min(q, high)
	if depth > 0 && p-low > w.longest {
		to = f.walk(w, low, p, depth-1, to)
	}
	to = w.stand(x, p, q, to)
	if depth > 0 && high-q > w.longest {
		to = f.walk(w, q, high, depth-1, to)
	}
	return to
}

// walkRound is walk for a column all inside next to one all outside.
func (f *finder) walkRound(w *way, to []spot) []spot {
	x, p, q := f.place(w, math.Pi)
	if q-p >= 2*math.Pi {
		for k := range int(math.Round(2 * math.Pi / w.spacing)) {
			to = append(to, spot{x, w.spacing * float64(k)})
		}
		return to
	}
	to = w.stand(x, p, q, to)
	if n := len(to); p+2*math.Pi-to[n-1].a > w.longest {
		to = f.walk(w, q, p+2*math.Pi, maxDepth, to)
	}
	return to
}

// maxDepth bounds how often an arc is divided.
const maxDepth = 8

// place finds where angle m changes sides, and the arc round m that changes
// there, low <= m <= high.
func (f *finder) place(w *way, m float64) (x, low, high float64) {
	in := wrap(m)
	held := w.a.holds(in)
	f.low = f.copy(w.a, 0)
	f.high = f.copy(w.b, 1)
	from, to, spare := 0.0, 1.0, 2
	lowSlot, highSlot := 0, 1
	for range halvings {
		mid := from + (to-from)/2
		c := w.at(mid, f.keep[spare][:0])
		if cap(c.ends) > 0 {
			f.keep[spare] = c.ends
		}
		if c.holds(in) == held {
			from, f.low = mid, c
			lowSlot, spare = spare, lowSlot
		} else {
			to, f.high = mid, c
			highSlot, spare = spare, highSlot
		}
	}
	low, high = f.arc(in)
	return from + (to-from)/2, low + (m - in), high + (m - in)
}

func (f *finder) copy(c column, slot int) column {
	f.keep[slot] = append(f.keep[slot][:0], c.ends...)
	return column{c.inside, f.keep[slot]}
}

// arc returns the arc round m, low <= m <= high, in which just one of the two
// nearest columns is inside.
func (f *finder) arc(m float64) (low, high float64) {
	var round bool
	f.list, round = strands(f.low, f.high, f.list[:0])
	if round {
		return m - math.Pi, m + math.Pi
	}
	for _, s := range f.list {
		if s.low <= m && m <= s.high {
			return s.low, s.high
		}
		if m2 := m + 2*math.Pi; s.low <= m2 && m2 <= s.high {
			return s.low - 2*math.Pi, s.high - 2*math.Pi
		}
	}
	return m, m
}

// upright divides an arc so that vertices stand at common angles: at every
// multiple of spacing, save close to its ends.
type upright struct {
	spacing, radius float64
	straight        bool
}

// newUpright picks a divisor of the full turn whose chords stay within sag of
// the radius.
func newUpright(radius, sag float64) upright {
	turn := 2 * math.Acos(max(-1, 1-sag/radius))
	n := math.Ceil(2 * math.Pi / max(math.Pi/360, min(turn, math.Pi/30)))
	return upright{spacing: 2 * math.Pi / n, radius: radius}
}

// least returns the angle too small to draw at radius r: there, points would
// differ by little more than rounding.
func (u upright) least(r float64) float64 {
	if u.straight {
		return leastArc
	}
	return max(leastArc, 1e-10*u.radius/max(r, 1e-10*u.radius))
}

// longest returns the angle whose chord strays from the arc at radius r about
// four times as far as the spacing's does at the largest radius, and at most a
// radian, so that no round wall shrinks to a line.
func (u upright) longest(r float64) float64 {
	if u.straight {
		return min(1, 2*u.spacing)
	}
	return min(1, 2*u.spacing*math.Sqrt(u.radius/max(r, 1e-3*u.radius)))
}

// stand appends the spots of an arc that is upright at x. Arcs that have no
// length to speak of, at the given radius, get one spot.
func (w *way) stand(x, low, high float64, to []spot) []spot {
	if high-low <= w.least {
		return push(to, spot{x, low})
	}
	to = push(to, spot{x, low})
	for k := math.Ceil(low/w.spacing + 0.3); k <= high/w.spacing-0.3; k++ {
		to = append(to, spot{x, k * w.spacing})
	}
	return append(to, spot{x, high})
}

// push appends a spot that is not the last one again.
func push(to []spot, s spot) []spot {
	if n := len(to); n > 0 && to[n-1].x == s.x && s.a-to[n-1].a <= leastArc {
		return to
	}
	return append(to, s)
}
