package sweep

import (
	"math"
	"sync/atomic"
)

// row is the columns at one height and the walls between neighbours in it.
type row struct {
	off    []int32 // of each node into ends; one more than nodes
	ends   []float64
	inside []bool  // of each node at angle 0
	base   []int32 // winding number of each node at angle 0
	seam
}

// links returns the links of node i's ends.
func (r *row) links(of []link, i int) []link { return of[r.off[i]:r.off[i+1]] }

func (r *row) column(i int) column { return column{r.inside[i], r.ends[r.off[i]:r.off[i+1]]} }

// seam is the strands between pairs of neighbouring columns: in a row from
// each node to the next in radius, in a slab to the next in height.
type seam struct {
	ahead  []link // from the ends of the first columns
	back   []link // from the ends of the second columns
	walls  []wall
	points []point // of the walls
	round  []int32 // of each pair: its round wall, or -1
}

// sampler works out rows and slabs. It is used by one goroutine at a time.
type sampler struct {
	*plan
	hit     []atomic.Bool
	find    finder
	segs    []segment
	at      []int32    // node of each crossing
	found   []crossing // in the order of segments
	sorted  []crossing // by node
	count   []int32    // by node
	crossed []crossing // of one circle that is not at a node
	strands []strand
	pending []pending
	spots   []spot
	slot    []int32 // of each pair: its list in local, or -1
	local   [][]int32
	piercer []pierce
}

// plan is what all samplers share.
type plan struct {
	*surface
	grid
	motion
	upright
	rowTris, slabTris buckets
}

// pending is a wall that waits to be placed.
type pending struct {
	pair  int
	s     strand
	round bool
}

// row cuts the surface at the height of row j, finds the columns and joins
// them.
func (w *sampler) row(j int) row {
	z := w.z(j)
	r := row{off: make([]int32, w.nr+1), inside: make([]bool, w.nr), base: make([]int32, w.nr)}
	w.cutAll(j, z)
	w.gather(&r)
	from := int32(0)
	for i := range w.nr {
		cs := w.sorted[from : from+w.count[i]]
		from += w.count[i]
		if nearTheCut(cs) {
			r.base[i] = w.safeBase(cs, w.r(i))
		}
		c := w.motion.column(cs, r.base[i], r.ends)
		if len(c.ends) > 0 {
			r.ends = append(r.ends[:r.off[i]], c.ends...)
		}
		r.inside[i] = c.inside
		r.off[i+1] = int32(len(r.ends))
	}
	w.joinRow(&r, j)
	return r
}

func (w *sampler) cutAll(j int, z float64) {
	w.segs = w.segs[:0]
	for _, t := range w.rowTris.of(j) {
		if g, ok := w.cut(t, z); ok {
			w.segs = append(w.segs, g)
		}
	}
}

// gather finds where the row's circles cross its segments, sorted by node,
// and the winding number of each node at angle 0.
func (w *sampler) gather(r *row) {
	w.count = append(w.count[:0], make([]int32, w.nr)...)
	w.at, w.found = w.at[:0], w.found[:0]
	for k := range w.segs {
		g := &w.segs[k]
		from, to := w.columnsWithin(g.radii())
		for i := from; i <= to; i++ {
			n := len(w.found)
			w.found = g.crossings(w.r(i), w.found)
			for range len(w.found) - n {
				w.at = append(w.at, int32(i))
			}
			w.count[i] += int32(len(w.found) - n)
			if k := w.shell[g.tri]; len(w.found) > n && !w.hit[k].Load() {
				w.hit[k].Store(true)
			}
		}
		if c, inward := g.throughCut(); inward != 0 && c > w.r0 {
			// All nodes nearer the hinge than c.
			_, i := w.columnsWithin(w.r0, c)
			for i >= 0 && !(w.r(i) < c) {
				i--
			}
			if i >= 0 {
				r.base[i] += inward
			}
		}
	}
	for i := w.nr - 2; i >= 0; i-- {
		r.base[i] += r.base[i+1]
	}
	w.sorted = append(w.sorted[:0], w.found...)
	place := make([]int32, w.nr)
	for i := 1; i < w.nr; i++ {
		place[i] = place[i-1] + w.count[i-1]
	}
	for k, i := range w.at {
		w.sorted[place[i]] = w.found[k]
		place[i]++
	}
}

// nearCut is how near the cut half plane a crossing may come, in radians,
// before rounding could put it on the wrong side of the half plane.
const nearCut = 1e-11

func nearTheCut(cs []crossing) bool {
	for _, c := range cs {
		if c.angle < nearCut || c.angle > 2*math.Pi-nearCut {
			return true
		}
	}
	return false
}

// safeBase works out the winding number at angle 0 from the middle of the
// widest arc between crossings, where it cannot be mistaken.
func (w *sampler) safeBase(cs []crossing, r float64) int32 {
	column := append([]crossing(nil), cs...)
	motion{}.column(column, 0, nil) // sorts
	widest, at := -1.0, 0
	for k, c := range column {
		next := column[0].angle + 2*math.Pi
		if k+1 < len(column) {
			next = column[k+1].angle
		}
		if next-c.angle > widest {
			widest, at = next-c.angle, k
		}
	}
	sin, cos := math.Sincos(column[at].angle + widest/2)
	x, y := r*cos, r*sin
	var n int32
	for i := range w.segs {
		n += w.segs[i].windingAbout(x, y)
	}
	for _, c := range column[:at+1] {
		n -= int32(c.turn)
	}
	return n
}

// windingAbout is the segment's share in the winding number of a point: its
// crossing of the ray from the point along x.
func (g *segment) windingAbout(x, y float64) int32 {
	if !g.closed || (g.py >= y) == (g.qy >= y) {
		return 0
	}
	side := (g.qx-g.px)*(y-g.py) - (g.qy-g.py)*(x-g.px)
	switch {
	case g.qy >= y && side > 0:
		return 1
	case g.qy < y && side < 0:
		return -1
	}
	return 0
}

// joinRow finds the strands between the neighbours of row j.
func (w *sampler) joinRow(r *row, j int) {
	r.ahead, r.back = make([]link, len(r.ends)), make([]link, len(r.ends))
	r.round = make([]int32, w.nr-1)
	w.pending = w.pending[:0]
	for i := range w.nr - 1 {
		w.join(i, r.column(i), r.column(i+1), r.links(r.ahead, i), r.links(r.back, i+1), r.off[i], r.off[i+1], w.r(i))
		r.round[i] = -1
	}
	w.assign(w.nr - 1)
	for k := range w.segs {
		from, to := w.columnsWithin(w.segs[k].radii())
		for i := max(0, from-1); i <= min(to, w.nr-2); i++ {
			if s := w.slot[i]; s >= 0 {
				w.local[s] = append(w.local[s], int32(k))
			}
		}
	}
	for _, p := range w.pending {
		i := p.pair
		list := w.local[w.slot[i]]
		r0, wide := w.r(i), w.wide(i)
		at := func(x float64, buf []float64) column {
			radius := r0 + x*wide
			w.crossed = w.crossed[:0]
			base := r.base[i]
			for _, k := range list {
				g := &w.segs[k]
				w.crossed = g.crossings(radius, w.crossed)
				if c, inward := g.throughCut(); inward != 0 && c > r0 && c <= radius {
					base -= inward
				}
			}
			return w.motion.column(w.crossed, base, buf)
		}
		y := way{a: r.column(i), b: r.column(i + 1), at: at, upright: w.upright, longest: w.longest(r0), least: w.least(r0)}
		spots := w.locate(p, &y, true)
		r.settle(p, r.links(r.ahead, i), r.links(r.back, i+1), y.longest, spots, func(s spot) point {
			return point{r0 + s.x*wide, s.a, w.z(j)}
		})
	}
}

// join notes the strands between columns a and b, whose ends begin at the
// given places in their rows, and which of them need a wall: those that turn
// back, and those so long that the surface between may be upright.
func (w *sampler) join(pair int, a, b column, ahead, back []link, aAt, bAt int32, r float64) {
	if a.plain() && b.plain() {
		if a.inside != b.inside {
			w.pending = append(w.pending, pending{pair: pair, round: true})
		}
		return
	}
	w.strands, _ = strands(a, b, w.strands[:0])
	na := len(a.ends)
	for _, s := range w.strands {
		one, other := end(s.lowEnd, na, ahead, back), end(s.highEnd, na, ahead, back)
		across := (s.lowEnd < na) != (s.highEnd < na)
		*one = link{to: place(s.highEnd, na, aAt, bAt), wall: -1, rises: true, across: across}
		*other = link{to: place(s.lowEnd, na, aAt, bAt), wall: -1, across: across}
		if !across || (s.high-s.low)*w.arm(r) > steep*max(w.dr, w.dz) {
			w.pending = append(w.pending, pending{pair: pair, s: s})
		}
	}
}

// A strand between two columns that spans more cells than steep is looked at
// for a step.
const steep = 2.0

func end(k, na int, ahead, back []link) *link {
	if k < na {
		return &ahead[k]
	}
	return &back[k-na]
}

func place(k, na int, aAt, bAt int32) int32 {
	if k < na {
		return aAt + int32(k)
	}
	return bAt + int32(k-na)
}

// assign gives a list of local items to every pair that has a wall to place.
func (w *sampler) assign(pairs int) {
	w.slot = w.slot[:0]
	for range pairs {
		w.slot = append(w.slot, -1)
	}
	n := int32(0)
	for _, p := range w.pending {
		if w.slot[p.pair] >= 0 {
			continue
		}
		w.slot[p.pair] = n
		if int(n) == len(w.local) {
			w.local = append(w.local, nil)
		}
		w.local[n] = w.local[n][:0]
		n++
	}
}

// locate finds the spots of a pending wall. Where the columns between cannot
// be trusted it takes the middle of the way.
func (w *sampler) locate(p pending, y *way, sound bool) []spot {
	w.spots = w.spots[:0]
	switch {
	case p.round && sound:
		w.spots = w.find.walkRound(y, w.spots)
	case p.round:
		w.spots = y.stand(0.5, 0, 2*math.Pi-y.spacing, w.spots)
	case sound:
		w.spots = w.find.walk(y, p.s.low, p.s.high, maxDepth, w.spots)
	default:
		w.spots = y.stand(0.5, p.s.low, p.s.high, w.spots)
	}
	if n := len(w.spots) - 1; !p.round && w.spots[n].a-w.spots[0].a > 2*math.Pi-8*y.least {
		// All but round: keep its ends apart.
		w.spots[0].a += 4 * y.least
		w.spots[n].a -= 4 * y.least
	}
	return w.spots
}

// settle adds a placed wall, unless it turned out that the surface is smooth
// there and the ends it joins lie close.
func (s *seam) settle(p pending, ahead, back []link, longest float64, spots []spot, at func(spot) point) {
	k := int32(len(s.walls))
	first, last := spots[0], spots[len(spots)-1]
	if p.round {
		s.round[p.pair] = k
	} else {
		na := len(ahead)
		one, other := end(p.s.lowEnd, na, ahead, back), end(p.s.highEnd, na, ahead, back)
		whole := p.s.high - p.s.low
		if one.across && whole <= longest && last.a-first.a < whole/2 {
			return
		}
		one.wall, other.wall = k, k
	}
	x := wall{first: int32(len(s.points)), count: int32(len(spots)), low: first.a, high: last.a, round: p.round}
	for _, spot := range spots {
		s.points = append(s.points, at(spot))
	}
	if p.round {
		x.high = x.low + 2*math.Pi
	}
	x.middle = at(spots[len(spots)/2])
	if x.middle.r == 0 {
		x.count = 1
		s.points = s.points[:x.first+1]
	}
	s.walls = append(s.walls, x)
}

// onWall returns vertex k of a wall.
func (s *seam) onWall(x *wall, k int32) point { return s.points[x.first+k] }
