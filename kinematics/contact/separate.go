package contact

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// separator is a direction, pointing from the still to the moving triangle,
// along which the two stand apart by gap (negative: overlap).
type separator struct {
	dir r3.Vec // unit
	gap float64
}

// separators tests the directions that can separate two triangles: both
// normals, the nine products of their edges, and in each plane the three
// perpendiculars to its edges, which count where the triangles are coplanar.
type separators struct {
	p, q   *[3]r3.Vec // moving, still
	np, nq r3.Vec     // unit normals, or zero
	// touching lists the directions with a gap of at least -touch; of the
	// normals only the senses that point out of the still or into the moving
	// face, and of directions in which both triangles are flat none, because
	// these tell no sense.
	touching []separator
	touch    float64
	widest   separator // the direction with the largest gap
	buffer   [24]separator
}

// search fills widest and touching. It stops early, with nothing but a widest
// gap above limit, as soon as it finds one.
func (x *separators) search(limit float64) {
	x.touching = x.buffer[:0]
	x.widest.gap = math.Inf(-1)
	// The face axes in the sense that outward normals give them; the gap that
	// counts for apart or not is that of the better sense.
	if x.face(x.nq, 1); x.widest.gap > limit {
		return
	}
	if x.face(x.np, -1); x.widest.gap > limit {
		return
	}
	var u, w [3]r3.Vec
	for i := range 3 {
		u[i] = r3.Sub(x.p[(i+1)%3], x.p[i])
		w[i] = r3.Sub(x.q[(i+1)%3], x.q[i])
	}
	for i := range 3 {
		for j := range 3 {
			if x.edge(r3.Cross(u[i], w[j]), r3.Norm2(u[i])*r3.Norm2(w[j])); x.widest.gap > limit {
				return
			}
		}
	}
	for i := range 3 {
		x.edge(r3.Cross(x.np, u[i]), r3.Norm2(u[i]))
		if x.edge(r3.Cross(x.nq, w[i]), r3.Norm2(w[i])); x.widest.gap > limit {
			return
		}
	}
}

// gaps returns the gaps along d and against it.
func (x *separators) gaps(d r3.Vec) (along, against float64) {
	p0, p1, p2 := r3.Dot(d, x.p[0]), r3.Dot(d, x.p[1]), r3.Dot(d, x.p[2])
	q0, q1, q2 := r3.Dot(d, x.q[0]), r3.Dot(d, x.q[1]), r3.Dot(d, x.q[2])
	return min(p0, p1, p2) - max(q0, q1, q2), min(q0, q1, q2) - max(p0, p1, p2)
}

func (x *separators) widen(d r3.Vec, along, against float64) {
	if along > x.widest.gap {
		x.widest = separator{d, along}
	}
	if against > x.widest.gap {
		x.widest = separator{r3.Scale(-1, d), against}
	}
}

// face tests the normal n, which points from the still to the moving triangle
// if sense is +1 and back if it is -1.
func (x *separators) face(n r3.Vec, sense float64) {
	if n == (r3.Vec{}) {
		return
	}
	d := r3.Scale(sense, n)
	along, against := x.gaps(d)
	x.widen(d, along, against)
	if along >= -x.touch {
		x.touching = append(x.touching, separator{d, along})
	}
	// Behind the face and not in its plane: an open sheet, or a solid that
	// reaches through; its other side separates as well.
	if against >= -x.touch && along < -x.touch {
		x.touching = append(x.touching, separator{r3.Scale(-1, d), against})
	}
}

// edge tests the direction d, where size2 is the squared length it would have
// if the edges it comes from were square to one another.
func (x *separators) edge(d r3.Vec, size2 float64) {
	l2 := r3.Norm2(d)
	if l2 <= 1e-16*size2 {
		return
	}
	d = r3.Scale(1/math.Sqrt(l2), d)
	along, against := x.gaps(d)
	x.widen(d, along, against)
	if a, b := along >= -x.touch, against >= -x.touch; a != b {
		if b {
			d, along = r3.Scale(-1, d), against
		}
		x.touching = append(x.touching, separator{d, along})
	}
}

// blocked tells for both directions of the motion whether the first step pushes
// the moving triangle into the still one: no direction is left that separates
// them and along which no touching point approaches faster than slow. The
// speed is that at which they approach, 0 where they are not blocked.
func (x *separators) blocked(by motion, points []r3.Vec, slow float64) (lower, upper approachAt) {
	for i, s := range x.touching {
		var low, up approachAt
		for _, p := range points {
			v := by.speed(s.dir, p) // along s, towards higher values
			if v > low.speed {
				low = approachAt{speed: v, point: p, normal: s.dir}
			}
			if -v > up.speed {
				up = approachAt{speed: -v, point: p, normal: s.dir}
			}
		}
		if i == 0 || low.speed < lower.speed {
			lower = low
		}
		if i == 0 || up.speed < upper.speed {
			upper = up
		}
	}
	if lower.speed <= slow {
		lower.speed = 0
	}
	if upper.speed <= slow {
		upper.speed = 0
	}
	return lower, upper
}

// touchPoints returns where two triangles come within reach of one another:
// corners beside the other face and edges beside edges.
func touchPoints(p, q *[3]r3.Vec, np, nq r3.Vec, reach float64, points []r3.Vec) []r3.Vec {
	for i := range 3 {
		if besideFace(p[i], q, nq, reach) {
			points = append(points, p[i])
		}
		if besideFace(q[i], p, np, reach) {
			points = append(points, q[i])
		}
	}
	for i := range 3 {
		for j := range 3 {
			if x, ok := crossing(p[i], p[(i+1)%3], q[j], q[(j+1)%3], reach); ok {
				points = append(points, x)
			}
		}
	}
	return points
}

// besideFace reports whether p lies within reach of the plane of the triangle
// q with unit normal n, above its inside or within reach of that.
func besideFace(p r3.Vec, q *[3]r3.Vec, n r3.Vec, reach float64) bool {
	return n != (r3.Vec{}) && math.Abs(r3.Dot(n, r3.Sub(p, q[0]))) <= reach && within(p, q, n, reach)
}

// within reports whether p projects along the unit normal n into the triangle
// q, its edges moved out by margin.
func within(p r3.Vec, q *[3]r3.Vec, n r3.Vec, margin float64) bool {
	for k := range 3 {
		e := r3.Sub(q[(k+1)%3], q[k])
		h := r3.Dot(r3.Cross(n, e), r3.Sub(p, q[k]))
		if h < 0 && h*h > margin*margin*r3.Norm2(e) {
			return false
		}
	}
	return true
}

// crossing returns the point between two segments that pass one another
// within reach, each between its ends or within reach of them. Parallel
// segments do not cross: their ends lie beside the faces.
func crossing(a, b, c, d r3.Vec, reach float64) (r3.Vec, bool) {
	u, w, e := r3.Sub(b, a), r3.Sub(d, c), r3.Sub(c, a)
	n := r3.Cross(u, w)
	n2, u2, w2 := r3.Norm2(n), r3.Norm2(u), r3.Norm2(w)
	if n2 <= 1e-12*u2*w2 {
		return r3.Vec{}, false
	}
	s := r3.Dot(r3.Cross(e, w), n) / n2
	t := r3.Dot(r3.Cross(e, u), n) / n2
	ms, mt := reach/math.Sqrt(u2), reach/math.Sqrt(w2)
	if s < -ms || s > 1+ms || t < -mt || t > 1+mt || math.Abs(r3.Dot(e, n)) > reach*math.Sqrt(n2) {
		return r3.Vec{}, false
	}
	x, y := r3.Add(a, r3.Scale(s, u)), r3.Add(c, r3.Scale(t, w))
	return r3.Scale(0.5, r3.Add(x, y)), true
}
