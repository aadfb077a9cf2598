package sweep

import (
	"math"

	"pintle/fit/mesh"
)

// volume returns the volume inside the surface, taken as flat triangles in
// (radius, angle, height), that is, with true arcs about the hinge. By the
// divergence theorem for the field (r/2) e_r it is the sum over all triangles
// of the integral of r^2/2 over their shadows in (angle, height); r is linear
// over each shadow. In a straight frame the field is e_r.
func (w *swath) volume() float64 {
	var v mesh.Sum
	for _, t := range w.tris {
		a, b, c := w.points[t[0]], w.points[t[1]], w.points[t[2]]
		switch {
		case a.r == 0:
			w.apex(&v, b, c, a)
		case b.r == 0:
			w.apex(&v, c, a, b)
		case c.r == 0:
			w.apex(&v, a, b, c)
		default:
			v.Add(w.flux(a, b, c))
		}
	}
	return v.Value()
}

// apex adds a triangle with its corner o on the hinge, where one point stands
// for all angles: in (angle, radius, height) it is a quadrilateral.
func (w *swath) apex(v *mesh.Sum, a, b, o point) {
	oa, ob := o, o
	oa.a, ob.a = a.a, b.a
	v.Add(w.flux(a, b, ob))
	v.Add(w.flux(a, ob, oa))
}

func (f *frame) flux(a, b, c point) float64 {
	ab, ac := math.Remainder(b.a-a.a, 2*math.Pi), math.Remainder(c.a-a.a, 2*math.Pi)
	area := (ab*(c.z-a.z) - ac*(b.z-a.z)) / 2
	if f.straight {
		return area * (a.r + b.r + c.r) / (3 * f.scale)
	}
	mean := (a.r*a.r + b.r*b.r + c.r*c.r + a.r*b.r + b.r*c.r + c.r*a.r) / 6
	return area * mean / 2
}

// doubt estimates the error of volume from what is not known between the
// circles: where walls turn a corner between two of the places known of them,
// the precision of these places, how much the surface bends, and prisms whose
// surface is a guess. Each of these is a bound for its own place; they stand
// for independent errors and are added as such.
func (w *swath) doubt() float64 {
	var d mesh.Sum
	d.Add(w.skipped)
	for j := range w.rows {
		w.rows[j].doubtWalls(&w.plan, &d)
		w.doubtRow(j, &d)
	}
	for j := range w.slabs {
		w.slabs[j].doubtWalls(&w.plan, &d)
	}
	return math.Sqrt(d.Value())
}

// doubtWalls adds, for each wall, the square of half the triangle between it
// and the walls on both sides: a corner that lies between two walls cuts off
// less than the halves that these two add.
func (s *seam) doubtWalls(g *plan, d *mesh.Sum) {
	finest := math.Ldexp(max(g.dr, g.dz), -halvings-1)
	for k := range s.walls {
		x := &s.walls[k]
		a, b := x.next[0], x.next[1]
		area := math.Abs(a.dr*b.dz-a.dz*b.dr) / 4
		if a == (step{}) || b == (step{}) {
			area = g.dr * g.dz / 2
		}
		area += finest * (math.Hypot(a.dr, a.dz) + math.Hypot(b.dr, b.dz)) / 2
		v := area * g.arm(x.middle.r) * (x.high - x.low)
		d.Add(v * v)
	}
}

// doubtRow adds, for each end of row j, what the second differences of its
// angle along radius and height say about the error of straight lines between
// the circles: h^2/8 times the second derivative at most.
func (w *swath) doubtRow(j int, d *mesh.Sum) {
	r := &w.rows[j]
	cell := w.dr * w.dz
	for i := range w.nr {
		for e := r.off[i]; e < r.off[i+1]; e++ {
			p := point{w.r(i), r.ends[e], w.z(j)}
			out, in := 1.0, 1.0 // cells to the next circles
			if i+1 < w.nr {
				out = w.wide(i) / w.dr
			}
			if i > 0 {
				in = w.wide(i-1) / w.dr
			}
			bend := bendOf(w.slope(r.ahead[e], &r.seam, r, p, out), w.slope(r.back[e], &r.seam, r, p, in))
			if j > 0 && j+1 < len(w.rows) {
				above, below := &w.slabs[j], &w.slabs[j-1]
				up, down := w.high(j)/w.dz, w.high(j-1)/w.dz
				bend += bendOf(w.slope(above.ahead[e], &above.seam, &w.rows[j+1], p, up), w.slope(below.back[e], &below.seam, &w.rows[j-1], p, down))
			}
			v := bend * w.arm(p.r) * cell
			d.Add(v * v)
		}
	}
}

// slope is how an end's angle changes toward a neighbour or, where there is a
// wall on the way, toward that, a part of a cell off.
type slope struct{ by, cells float64 }

func (w *swath) slope(x link, s *seam, other *row, p point, cells float64) slope {
	if x.wall < 0 {
		return slope{math.Remainder(other.ends[x.to]-p.a, 2*math.Pi), cells}
	}
	v := &s.walls[x.wall]
	to := s.onWall(v, v.count-1)
	if x.rises {
		to = s.onWall(v, 0)
	}
	return slope{math.Remainder(to.a-p.a, 2*math.Pi), math.Hypot((to.r-p.r)/w.dr, (to.z-p.z)/w.dz)}
}

// bendOf returns an eighth of the second difference over one cell.
func bendOf(a, b slope) float64 {
	second := 2 * (a.by/a.cells + b.by/b.cells) / (a.cells + b.cells)
	h := max(a.cells, b.cells)
	return math.Abs(second) * h * h / 8
}
