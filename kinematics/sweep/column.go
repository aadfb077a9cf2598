package sweep

import (
	"cmp"
	"math"
	"slices"
)

// column is what a circle about the hinge has inside the envelope: arcs that
// begin and end at the given rising angles.
type column struct {
	inside bool      // at angle 0
	ends   []float64 // 0 <= angle < 2 pi, an even number of them
}

// holds tells whether the column is inside at an angle of 0 <= a < 2 pi.
func (c column) holds(a float64) bool {
	i, _ := slices.BinarySearch(c.ends, a)
	return c.inside != (i%2 == 1)
}

// starts tells whether end k is where an arc begins.
func (c column) starts(k int) bool { return c.inside == (k%2 == 1) }

// plain tells that the circle is all inside or all outside.
func (c column) plain() bool { return len(c.ends) == 0 }

// motion is the range of the hinge: every point's angle grows by lo to
// lo + width.
type motion struct{ lo, width float64 }

// The least arc, in radians, that is kept as inside or as outside. It is far
// above the rounding of angles and far below any tolerance.
const leastArc = 1e-8

// column turns the crossings of one circle into the arcs that the material on
// it passes over. base is the winding number at angle 0. Every arc without
// material shrinks by the width of the motion; what is left of it stays free.
// Material is where the winding number is not 0, and on every sheet. The
// crossings are sorted in place; the result's ends are appended to buf.
func (m motion) column(cs []crossing, base int32, buf []float64) column {
	if len(cs) == 0 {
		return column{inside: base != 0}
	}
	slices.SortFunc(cs, func(a, b crossing) int {
		return cmp.Or(cmp.Compare(a.angle, b.angle), cmp.Compare(b.turn, a.turn))
	})
	from := len(buf)
	winding := base
	var free bool // whether the last end begins a free arc
	for k, c := range cs {
		winding += int32(c.turn)
		next := cs[0].angle + 2*math.Pi
		if k+1 < len(cs) {
			next = cs[k+1].angle
		}
		if winding != 0 || next-c.angle <= m.width+leastArc {
			continue
		}
		buf = append(buf, wrap(c.angle+m.lo+m.width), wrap(next+m.lo))
		free = true
	}
	if !free {
		return column{inside: true}
	}
	return arcs(buf, from)
}

// arcs brings free arcs, given as pairs in turning order, into the form of a
// column. At most one pair wraps past angle 0, but the order may begin
// anywhere.
func arcs(buf []float64, from int) column {
	e := buf[from:]
	if turnTo(e[len(e)-1], e[0]) <= leastArc {
		// A sliver of material where the order begins: which of its two ends
		// has the lesser angle is a matter of rounding.
		e = e[1 : len(e)-1]
		if len(e) == 0 {
			return column{}
		}
		first := leastOf(e)
		rotate(e, first)
		return column{inside: first%2 == 1, ends: e}.withoutSlivers()
	}
	first := leastOf(e)
	rotate(e, first)
	return column{inside: first%2 == 0, ends: e}.withoutSlivers()
}

func leastOf(e []float64) int {
	least := 0
	for i := range e {
		if e[i] < e[least] {
			least = i
		}
	}
	return least
}

// withoutSlivers drops arcs, inside or outside, that are too short to draw.
// Only a range of no width leaves inside ones.
func (c column) withoutSlivers() column {
	e := c.ends
	for i := 0; i+1 < len(e); {
		if e[i+1]-e[i] <= leastArc {
			e = append(e[:i], e[i+2:]...)
			i = max(0, i-1)
			continue
		}
		i++
	}
	if len(e) >= 2 && e[0]+2*math.Pi-e[len(e)-1] <= leastArc {
		e = e[1 : len(e)-1]
		c.inside = !c.inside
	}
	c.ends = e
	return c
}

// rotate moves element k to the front and keeps the cyclic order.
func rotate(e []float64, k int) {
	slices.Reverse(e[:k])
	slices.Reverse(e[k:])
	slices.Reverse(e)
}

// strand is a curve of the envelope's surface in the wall between two
// neighbouring columns a and b: from one end to another, over the arc low to
// high in which just one of the columns is inside.
type strand struct {
	low, high       float64 // high may exceed 2 pi
	lowEnd, highEnd int     // index into a.ends, or len(a.ends) + index into b.ends
}

// middle returns an angle of 0 <= m < 2 pi in the middle of the strand's arc.
func (s strand) middle() float64 { return wrap(s.low + (s.high-s.low)/2) }

// strands appends the curves between two columns, in rising order. The arcs in
// which just one column is inside begin and end at the ends of both, taken
// together, and so pair every end with just one other. That pairing never
// crosses itself and depends on the two columns alone, whatever lies around.
// round tells that one column is all inside and the other all outside.
func strands(a, b column, to []strand) (out []strand, round bool) {
	na, n := len(a.ends), len(a.ends)+len(b.ends)
	differ := a.inside != b.inside
	if n == 0 {
		return to, differ
	}
	i, j := 0, 0
	first := strand{}
	var open strand
	for k := range n {
		var angle float64
		var end int
		if j == len(b.ends) || (i < na && a.ends[i] <= b.ends[j]) {
			angle, end = a.ends[i], i
			i++
		} else {
			angle, end = b.ends[j], na+j
			j++
		}
		switch {
		case differ && k == 0:
			first = strand{high: angle + 2*math.Pi, highEnd: end}
		case differ == (k%2 == 1):
			open = strand{low: angle, lowEnd: end}
		default:
			open.high, open.highEnd = angle, end
			to = append(to, open)
		}
	}
	if differ {
		first.low, first.lowEnd = open.low, open.lowEnd
		to = append(to, first)
	}
	return to, false
}
