package findtest

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

// Hull is the convex hull of points (C. Barber, D. Dobkin, H. Huhdanpaa, The
// Quickhull Algorithm, 1996). It is nil for points that span no volume.
func Hull(points []r3.Vec) *mesh.Mesh {
	h := &hull{p: points}
	if !h.start() {
		return nil
	}
	for i := 0; i < len(h.faces); i++ { // new faces come last
		if len(h.faces[i].above) > 0 {
			h.raise(i)
		}
	}
	var at []r3.Vec
	index := make([]int32, len(points))
	var tris [][3]int32
	for _, f := range h.faces {
		if f.dead {
			continue
		}
		var t [3]int32
		for k, v := range f.v {
			if index[v] == 0 {
				at = append(at, points[v])
				index[v] = int32(len(at))
			}
			t[k] = index[v] - 1
		}
		tris = append(tris, t)
	}
	return ofTriangles(at, tris)
}

type hull struct {
	p     []r3.Vec
	eps   float64
	faces []hullFace
}

type hullFace struct {
	v     [3]int32
	n     r3.Vec // unit, outward
	d     float64
	next  [3]int32 // face across the edge from corner k to k+1
	above []int32
	dead  bool
}

func (f *hullFace) height(p r3.Vec) float64 { return r3.Dot(f.n, p) - f.d }

func (h *hull) face(a, b, c int32) hullFace {
	n := r3.Cross(r3.Sub(h.p[b], h.p[a]), r3.Sub(h.p[c], h.p[a]))
	if l := r3.Norm(n); l > 0 {
		n = r3.Scale(1/l, n)
	}
	return hullFace{v: [3]int32{a, b, c}, n: n, d: r3.Dot(n, h.p[a])}
}

// start makes a tetrahedron of far points.
func (h *hull) start() bool {
	if len(h.p) < 4 {
		return false
	}
	far := func(of func(p r3.Vec) float64) int32 {
		best, most := int32(0), math.Inf(-1)
		for i, p := range h.p {
			if x := of(p); x > most {
				best, most = int32(i), x
			}
		}
		return best
	}
	a := far(func(p r3.Vec) float64 { return -p.X - 1e-3*p.Y - 1e-5*p.Z })
	b := far(func(p r3.Vec) float64 { return r3.Norm(r3.Sub(p, h.p[a])) })
	ab := r3.Sub(h.p[b], h.p[a])
	h.eps = 1e-9 * r3.Norm(ab)
	if h.eps == 0 {
		return false
	}
	c := far(func(p r3.Vec) float64 { return r3.Norm(r3.Cross(ab, r3.Sub(p, h.p[a]))) })
	n := r3.Cross(ab, r3.Sub(h.p[c], h.p[a]))
	if r3.Norm(n) < h.eps*r3.Norm(ab) {
		return false
	}
	n = r3.Unit(n)
	d := far(func(p r3.Vec) float64 { return math.Abs(r3.Dot(n, r3.Sub(p, h.p[a]))) })
	height := r3.Dot(n, r3.Sub(h.p[d], h.p[a]))
	if math.Abs(height) < h.eps {
		return false
	}
	if height > 0 {
		b, c = c, b
	}
	h.faces = []hullFace{h.face(a, b, c), h.face(a, d, b), h.face(b, d, c), h.face(c, d, a)}
	h.faces[0].next = [3]int32{1, 2, 3}
	h.faces[1].next = [3]int32{3, 2, 0}
	h.faces[2].next = [3]int32{1, 3, 0}
	h.faces[3].next = [3]int32{2, 1, 0}
	all := make([]int32, len(h.p))
	for i := range all {
		all[i] = int32(i)
	}
	h.share(all, 0)
	return true
}

// share gives points to the first face from the given one on that they are above.
func (h *hull) share(points []int32, from int) {
	for _, v := range points {
		best, most := -1, h.eps
		for i := from; i < len(h.faces); i++ {
			if x := h.faces[i].height(h.p[v]); x > most {
				best, most = i, x
				break
			}
		}
		if best >= 0 {
			h.faces[best].above = append(h.faces[best].above, v)
		}
	}
}

// raise replaces the faces that the farthest point above a face sees.
func (h *hull) raise(i int) {
	f := &h.faces[i]
	top, most := f.above[0], math.Inf(-1)
	for _, v := range f.above {
		if x := f.height(h.p[v]); x > most {
			top, most = v, x
		}
	}
	var rim [][3]int32 // from, to, face beyond
	var left []int32
	h.walk(int32(i), 0, h.p[top], &rim, &left)
	first := len(h.faces)
	for k, r := range rim {
		g := h.face(r[0], r[1], top)
		n := len(rim)
		g.next = [3]int32{r[2], int32(first + (k+1)%n), int32(first + (k+n-1)%n)}
		o := &h.faces[r[2]]
		for j := range 3 {
			if o.v[j] == r[1] && o.v[(j+1)%3] == r[0] {
				o.next[j] = int32(len(h.faces))
			}
		}
		h.faces = append(h.faces, g)
	}
	h.share(left, first)
}

// walk marks the faces that p sees dead and lists their rim in order: round
// each face from the edge by which it was reached.
func (h *hull) walk(i int32, k int, p r3.Vec, rim *[][3]int32, left *[]int32) {
	f := &h.faces[i]
	f.dead = true
	*left = append(*left, f.above...)
	f.above = nil
	for s := range 3 {
		e := (k + s) % 3
		a, b, j := f.v[e], f.v[(e+1)%3], f.next[e]
		o := &h.faces[j]
		if o.dead {
			continue
		}
		if o.height(p) <= h.eps {
			*rim = append(*rim, [3]int32{a, b, j})
			continue
		}
		for m := range 3 {
			if o.v[m] == b && o.v[(m+1)%3] == a {
				h.walk(j, m, p, rim, left)
				break
			}
		}
	}
}
