package sweep

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// stitcher makes the triangles of one slab. In the prism between four
// neighbouring columns the strands of its sides join end to end into closed
// loops; every loop, or pair of loops that go once round the hinge, gets a
// piece of surface of its own. A strand belongs to the two prisms at its side
// and an end to the four prisms round its column, so the pieces make up a
// closed manifold, whatever the columns hold.
type stitcher struct {
	*plan
	low, high                  *row
	slab                       *slab
	lowEnd, highEnd            int32 // first vertices of the rows' ends
	lowWall, highWall, midWall int32 // first vertices of the walls
	vertex                     func(id int32) point
	base, rise                 float64 // height of the low row, and how far up the next one is

	tris    [][3]int32
	extra   []point // vertices of the slab's own, numbered -1, -2, ...
	skipped float64 // sum of the squared volumes in doubt where no strip of walls could be laid

	corner  [4]corner
	middle  point // of the prism, in radius and height
	visited [4][]bool
	clipper clipper
	loop    loop
	rounds  []loop
}

// point is a vertex in the frame of the hinge.
type point struct{ r, a, z float64 }

// corner is one of a prism's columns: the ends of a row from off on.
type corner struct {
	column
	row   *row
	off   int32
	first int32 // vertex of the column's first end
}

// loop is a closed walk along a prism's sides.
type loop struct {
	ids   []int32
	angle []float64 // of each vertex, going on past the full turn
	on    []int8    // of each vertex: bit k if it lies on side k
	spans []span
	sides int // bit k: touches side k
	turns int // full turns about the hinge
}

// span is a wall within a loop: vertices from to to.
type span struct {
	from, to int
	wall     *wall
	side     int
}

func (l *loop) reset() {
	l.ids, l.angle, l.on, l.spans = l.ids[:0], l.angle[:0], l.on[:0], l.spans[:0]
	l.sides, l.turns = 0, 0
}

// prism makes the surface between nodes i and i+1 of the two rows. Corners
// count counter-clockwise in (radius, height); side k joins corners k and k+1.
func (w *stitcher) prism(i int) {
	// Not quite the middle: walls that stand half way must not line up with it.
	w.middle = point{r: w.r(i) + 0.5137*w.wide(i), z: w.base + 0.4863*w.rise}
	w.corner[0] = w.cornerOf(w.low, w.lowEnd, i)
	w.corner[1] = w.cornerOf(w.low, w.lowEnd, i+1)
	w.corner[2] = w.cornerOf(w.high, w.highEnd, i+1)
	w.corner[3] = w.cornerOf(w.high, w.highEnd, i)
	w.rounds = w.rounds[:0]
	for k := range w.corner {
		w.visited[k] = append(w.visited[k][:0], make([]bool, len(w.corner[k].ends))...)
	}
	for k := range w.corner {
		for e := range w.corner[k].ends {
			if w.visited[k][e] {
				continue
			}
			w.trace(i, k, e)
			if w.loop.turns != 0 {
				w.rounds = append(w.rounds, w.loop)
				w.loop = loop{}
				continue
			}
			w.disc(&w.loop)
		}
	}
	w.addRounds(i)
	w.joinRounds()
}

func (w *stitcher) cornerOf(r *row, first int32, i int) corner {
	return corner{column: r.column(i), row: r, off: r.off[i], first: first + r.off[i]}
}

// side returns the seam of a side, the pair in it, and the first vertex of its
// walls. ahead tells that side's first corner is the pair's first column.
func (w *stitcher) side(k, i int) (s *seam, pair int, firstWall int32, ahead bool) {
	switch k {
	case 0:
		return &w.low.seam, i, w.lowWall, true
	case 1:
		return &w.slab.seam, i + 1, w.midWall, true
	case 2:
		return &w.high.seam, i, w.highWall, false
	}
	return &w.slab.seam, i, w.midWall, false
}

// trace follows the loop from end e of corner k. A start leaves by the side
// after its corner and an end by the side before, which keeps the material to
// the loop's inner side throughout.
func (w *stitcher) trace(i, k, e int) {
	l := &w.loop
	l.reset()
	k0, e0 := k, e
	angle := w.corner[k].ends[e]
	start := angle
	for {
		w.visited[k][e] = true
		c := &w.corner[k]
		l.ids = append(l.ids, c.first+int32(e))
		l.angle = append(l.angle, angle)
		l.on = append(l.on, 1<<k|1<<((k+3)%4))
		by, from := k, k
		if !c.starts(e) {
			by = (k + 3) % 4
		}
		s, _, firstWall, ahead := w.side(by, i)
		links := s.back
		if (from == by) == ahead {
			links = s.ahead
		}
		x := links[c.off+int32(e)]
		l.sides |= 1 << by
		if x.across {
			k = by
			if from == by {
				k = (by + 1) % 4
			}
		}
		e = int(x.to - w.corner[k].off)
		to := w.corner[k].ends[e]
		angle = w.follow(l, s, x, by, firstWall, angle, to)
		if k == k0 && e == e0 {
			break
		}
	}
	l.turns = int(math.Round((angle - start) / (2 * math.Pi)))
}

// follow walks a strand from angle to the end at angle to, adds the wall on
// the way, if any, and returns the angle arrived at.
func (w *stitcher) follow(l *loop, s *seam, x link, side int, firstWall int32, angle, to float64) float64 {
	whole := wrap(to - angle)
	if !x.rises {
		whole = -wrap(angle - to)
	}
	if x.wall < 0 {
		return angle + whole
	}
	v := &s.walls[x.wall]
	from, begin := len(l.ids), v.low
	if !x.rises {
		begin = v.high
	}
	turn := angle + nearest(begin-angle, 0) - begin
	for n := range v.count {
		k := n
		if !x.rises {
			k = v.count - 1 - n
		}
		l.ids = append(l.ids, firstWall+v.first+k)
		l.angle = append(l.angle, s.onWall(v, k).a+turn)
		l.on = append(l.on, 1<<side)
	}
	l.spans = append(l.spans, span{from, len(l.ids) - 1, v, side})
	return angle + whole
}

// nearest returns the angle a, give or take full turns, that is nearest to b.
func nearest(a, b float64) float64 {
	return a + 2*math.Pi*math.Round((b-a)/(2*math.Pi))
}

// addRounds adds the round walls of the prism's sides as loops.
func (w *stitcher) addRounds(i int) {
	for k := range 4 {
		s, pair, firstWall, _ := w.side(k, i)
		n := s.round[pair]
		if n < 0 {
			continue
		}
		v := &s.walls[n]
		l := loop{sides: 1 << k, turns: 1}
		for j := range v.count {
			l.ids = append(l.ids, firstWall+v.first+j)
			l.angle = append(l.angle, s.onWall(v, j).a)
		}
		if !w.corner[k].inside {
			l.backward()
		}
		l.spans = append(l.spans, span{0, len(l.ids) - 1, v, k})
		w.rounds = append(w.rounds, l)
	}
}

// backward turns the loop round.
func (l *loop) backward() {
	for i, j := 0, len(l.ids)-1; i < j; i, j = i+1, j-1 {
		l.ids[i], l.ids[j] = l.ids[j], l.ids[i]
		l.angle[i], l.angle[j] = l.angle[j], l.angle[i]
	}
	l.turns = -l.turns
}

// disc spans a loop that does not go round the hinge.
func (w *stitcher) disc(l *loop) {
	switch {
	case len(l.spans) == 0 && len(l.ids) == 4:
		w.quad(l.ids[0], l.ids[1], l.ids[2], l.ids[3])
	case len(l.spans) == 2 && l.spans[0].side != l.spans[1].side:
		w.strip(l)
	default:
		w.clip(l)
		w.doubt(l)
	}
}

// strip spans a loop with two walls: a strip between the walls, and flat
// pieces between the ends of the walls and the columns' ends.
func (w *stitcher) strip(l *loop) {
	a, b := l.spans[0], l.spans[1]
	w.piece(l, a.to, b.from)
	w.piece(l, b.to, a.from)
	i, j := a.from, b.to // walk wall a forward and wall b backward
	up := 1.0
	if l.angle[a.to] < l.angle[a.from] {
		up = -1
	}
	for i < a.to || j > b.from {
		if j == b.from || (i < a.to && up*l.angle[i+1] <= up*l.angle[j-1]) {
			w.triangle(l.ids[i], l.ids[i+1], l.ids[j])
			i++
		} else {
			w.triangle(l.ids[j-1], l.ids[j], l.ids[i])
			j--
		}
	}
	a.leadsTo(b)
	b.leadsTo(a)
}

// leadsTo notes the way to the next wall. The two prisms beside a wall see it
// as sides 0 and 2 or as sides 1 and 3, so neither writes over the other.
func (x span) leadsTo(to span) {
	x.wall.next[x.side/2] = step{to.wall.middle.r - x.wall.middle.r, to.wall.middle.z - x.wall.middle.z}
}

// piece spans the part of a loop from place i on to place j, which is closed
// by the straight line back.
func (w *stitcher) piece(l *loop, i, j int) {
	n := len(l.ids)
	var ids []int32
	var angle []float64
	for k := i; ; k = (k + 1) % n {
		ids = append(ids, l.ids[k])
		angle = append(angle, l.angle[k])
		if k == j {
			break
		}
	}
	switch len(ids) {
	case 3:
		w.triangle(ids[0], ids[1], ids[2])
	case 4:
		w.quad(ids[0], ids[1], ids[2], ids[3])
	case 5:
		w.triangle(ids[2], ids[3], ids[4])
		w.triangle(ids[2], ids[4], ids[0])
		w.triangle(ids[2], ids[0], ids[1])
	default:
		for k := range angle {
			angle[k] = angle[0] + nearest(angle[k]-angle[0], 0)
		}
		w.fan(ids, angle)
	}
}

// quad cuts four corners along the shorter diagonal.
func (w *stitcher) quad(a, b, c, d int32) {
	if w.distance2(a, c) <= w.distance2(b, d) {
		w.triangle(a, b, c)
		w.triangle(a, c, d)
		return
	}
	w.triangle(a, b, d)
	w.triangle(b, c, d)
}

func (w *stitcher) distance2(a, b int32) float64 {
	p, q := w.vertex(a), w.vertex(b)
	if w.straight {
		return r3.Norm2(r3.Sub(w.space(p), w.space(q)))
	}
	return p.r*p.r + q.r*q.r - 2*p.r*q.r*math.Cos(p.a-q.a) + (p.z-q.z)*(p.z-q.z)
}

// add makes a vertex of the slab's own.
func (w *stitcher) add(p point) int32 {
	p.a = wrap(p.a)
	w.extra = append(w.extra, p)
	return -int32(len(w.extra))
}

func (w *stitcher) triangle(a, b, c int32) {
	if a != b && b != c && c != a {
		w.tris = append(w.tris, [3]int32{a, b, c})
	}
}
