package find

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

// likeness maps a mesh onto another one, or onto itself in another way. Its
// columns are a rotation or, where it mirrors, a rotation with a reflection.
type likeness struct {
	mesh.Rigid
	mirrors bool
	off     float64 // largest distance between the two, model units
}

const (
	sameShape  = 2e-6 // of the diagonal, between congruent meshes
	sameMoment = 1e-4 // relative, between their moments
	ownAxes    = 1e-3 // relative gap of principal moments whose axes mean something
)

// shape is what congruent meshes have in common.
type shape struct {
	vertices, triangles int
	area                float64
	centre              r3.Vec
	moments             [3]float64 // of the surface about its centre, falling
	axes                [3]r3.Vec  // right-handed
	extent              float64    // root mean square distance from the centre
}

// shapes returns the shape of every part.
func (w *work) shapes() []shape {
	out := make([]shape, len(w.parts))
	for i, p := range w.parts {
		if p.diagonal > 0 {
			out[i] = shapeOf(p.mesh)
		}
	}
	return out
}

func shapeOf(m *mesh.Mesh) shape {
	s := shape{vertices: len(m.Vertices()), triangles: len(m.Triangles())}
	for t := range m.Triangles() {
		a := r3.Norm(m.AreaNormal(t)) / 2
		s.area += a
		s.centre = r3.Add(s.centre, r3.Scale(a, centre(m, t)))
	}
	if s.area == 0 {
		return s
	}
	s.centre = r3.Scale(1/s.area, s.centre)
	sum := mat.NewSymDense(3, nil)
	for t := range m.Triangles() {
		a := r3.Norm(m.AreaNormal(t)) / 2
		p, q, r := m.Corners(t)
		d := [3]r3.Vec{r3.Sub(p, s.centre), r3.Sub(q, s.centre), r3.Sub(r, s.centre)}
		// The integral of x x^T over a triangle: area/12 (sum of corners' squares
		// and the square of their sum).
		for _, x := range [4]r3.Vec{d[0], d[1], d[2], r3.Add(d[0], r3.Add(d[1], d[2]))} {
			sum.SymRankOne(sum, a/12, mat.NewVecDense(3, []float64{x.X, x.Y, x.Z}))
		}
	}
	var e mat.EigenSym
	if !e.Factorize(sum, true) {
		return s
	}
	v := e.Values(nil)
	var vec mat.Dense
	e.VectorsTo(&vec)
	for i := range 3 {
		s.moments[i] = v[2-i] / s.area
		s.axes[i] = r3.Vec{X: vec.At(0, 2-i), Y: vec.At(1, 2-i), Z: vec.At(2, 2-i)}
	}
	s.axes[2] = r3.Cross(s.axes[0], s.axes[1])
	s.extent = math.Sqrt(max(0, s.moments[0]+s.moments[1]+s.moments[2]))
	return s
}

func (s shape) like(o shape) bool {
	near := func(a, b, scale float64) bool { return math.Abs(a-b) <= sameMoment*scale }
	if s.vertices != o.vertices || s.triangles != o.triangles || s.extent == 0 || !near(s.area, o.area, s.area) {
		return false
	}
	for i := range s.moments {
		if !near(s.moments[i], o.moments[i], s.moments[0]) {
			return false
		}
	}
	return true
}

// likenesses returns the maps of mesh a onto mesh b, nearest to rounding first:
// by the order of their vertices, and by their principal axes where these are
// distinct.
func likenesses(a, b *mesh.Mesh, sa, sb shape) []likeness {
	if !sa.like(sb) {
		return nil
	}
	limit := sameShape * a.Diagonal()
	var out []likeness
	add := func(x likeness) {
		if x.off > limit {
			return
		}
		for _, o := range out {
			if o.mirrors == x.mirrors && r3.Norm(r3.Sub(o.X, x.X))+r3.Norm(r3.Sub(o.Y, x.Y)) < 1e-3 {
				return
			}
		}
		out = append(out, x)
	}
	for _, mirrors := range []bool{false, true} {
		if x, ok := byOrder(a.Vertices(), b.Vertices(), mirrors); ok {
			add(x)
		}
	}
	if sa.moments[0]-sa.moments[1] < ownAxes*sa.moments[0] || sa.moments[1]-sa.moments[2] < ownAxes*sa.moments[0] {
		return out
	}
	for signs := range 8 {
		sign := func(k int) float64 { return float64(1 - 2*(signs>>k&1)) }
		x := frameMap(sa, sb, sign(0), sign(1), sign(2))
		if x.off = offSurface(a, b, x.Rigid); x.off > 1e3*limit {
			continue
		}
		// The axes of nearly equal moments are not exact: vertices are.
		if y, ok := byNearest(a, b, x); ok {
			add(y)
		}
	}
	slices.SortStableFunc(out, func(p, q likeness) int {
		return boolCompare(p.mirrors, q.mirrors)
	})
	return out
}

func boolCompare(a, b bool) int {
	switch {
	case a == b:
		return 0
	case b:
		return -1
	}
	return 1
}

// frameMap maps the principal frame of one shape onto the other's.
func frameMap(a, b shape, s0, s1, s2 float64) likeness {
	var x mesh.Rigid
	col := func(e r3.Vec) r3.Vec { // image of a model axis
		return r3.Add(r3.Scale(s0*r3.Dot(e, a.axes[0]), b.axes[0]), r3.Add(r3.Scale(s1*r3.Dot(e, a.axes[1]), b.axes[1]), r3.Scale(s2*r3.Dot(e, a.axes[2]), b.axes[2])))
	}
	x.X, x.Y, x.Z = col(r3.Vec{X: 1}), col(r3.Vec{Y: 1}), col(r3.Vec{Z: 1})
	x.T = r3.Sub(b.centre, x.Turn(a.centre))
	return likeness{Rigid: x, mirrors: s0*s1*s2 < 0}
}

const likeSamples = 96

// offSurface is the largest distance of sampled vertices of a from b.
func offSurface(a, b *mesh.Mesh, x mesh.Rigid) float64 {
	off := 0.0
	v := a.Vertices()
	for i := range min(len(v), likeSamples) {
		_, _, d := b.BVH().Closest(x.Apply(v[i*len(v)/min(len(v), likeSamples)]))
		off = max(off, d)
	}
	return off
}

// byOrder maps vertices onto those of the same index.
func byOrder(a, b []r3.Vec, mirrors bool) (likeness, bool) {
	x, ok := procrustes(a, b, mirrors)
	if !ok {
		return x, false
	}
	for i, p := range a {
		x.off = max(x.off, r3.Norm(r3.Sub(x.Apply(p), b[i])))
	}
	return x, true
}

// byNearest sharpens a map by the vertices of b nearest to those of a.
func byNearest(a, b *mesh.Mesh, x likeness) (likeness, bool) {
	v := a.Vertices()
	var p, q []r3.Vec
	n := min(len(v), 4*likeSamples)
	for i := range n {
		at := v[i*len(v)/n]
		to := x.Apply(at)
		tri, _, _ := b.BVH().Closest(to)
		best, near := r3.Vec{}, math.Inf(1)
		for _, k := range b.Triangles()[tri] {
			if d := r3.Norm(r3.Sub(b.Vertices()[k], to)); d < near {
				best, near = b.Vertices()[k], d
			}
		}
		p, q = append(p, at), append(q, best)
	}
	return byOrder(p, q, x.mirrors)
}

// procrustes is the rotation, with a reflection where mirrors, and shift that
// takes points a nearest to points b (P. Schönemann, A Generalized Solution of
// the Orthogonal Procrustes Problem, 1966; S. Umeyama, 1991, for the sign).
func procrustes(a, b []r3.Vec, mirrors bool) (likeness, bool) {
	if len(a) < 4 || len(a) != len(b) {
		return likeness{}, false
	}
	ca, cb := mean(a), mean(b)
	h := mat.NewDense(3, 3, nil)
	for i := range a {
		p, q := r3.Sub(a[i], ca), r3.Sub(b[i], cb)
		u, v := [3]float64{q.X, q.Y, q.Z}, [3]float64{p.X, p.Y, p.Z}
		for r := range 3 {
			for c := range 3 {
				h.Set(r, c, h.At(r, c)+u[r]*v[c])
			}
		}
	}
	var svd mat.SVD
	if !svd.Factorize(h, mat.SVDFull) {
		return likeness{}, false
	}
	var u, v, r mat.Dense
	svd.UTo(&u)
	svd.VTo(&v)
	r.Mul(&u, v.T())
	if (mat.Det(&r) < 0) != mirrors {
		for i := range 3 {
			u.Set(i, 2, -u.At(i, 2))
		}
		r.Mul(&u, v.T())
	}
	x := mesh.Rigid{
		X: r3.Vec{X: r.At(0, 0), Y: r.At(1, 0), Z: r.At(2, 0)},
		Y: r3.Vec{X: r.At(0, 1), Y: r.At(1, 1), Z: r.At(2, 1)},
		Z: r3.Vec{X: r.At(0, 2), Y: r.At(1, 2), Z: r.At(2, 2)},
	}
	x.T = r3.Sub(cb, x.Turn(ca))
	return likeness{Rigid: x, mirrors: mirrors}, true
}

func mean(p []r3.Vec) r3.Vec {
	var c r3.Vec
	for _, x := range p {
		c = r3.Add(c, x)
	}
	return r3.Scale(1/float64(len(p)), c)
}
