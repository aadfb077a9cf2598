package findtest

import (
	"container/heap"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

// Decimated keeps about a share of every part's triangles.
func Decimated(m Mechanism, share float64) Mechanism {
	return m.mapped(func(_ int, x *mesh.Mesh) *mesh.Mesh { return Decimate(x, share) })
}

const (
	rimWeight = 100  // of the planes that hold open edges
	leastTilt = 0.02 // cosine between a triangle's old and new normal
)

// Decimate collapses the edges whose collapse moves the surface least until a
// share of the triangles is left, or until no edge can go without folding the
// surface over (Garland and Heckbert's quadrics, weighted by area, with planes
// that hold open edges in place).
func Decimate(x *mesh.Mesh, share float64) *mesh.Mesh {
	if share >= 1 || len(x.Triangles()) == 0 {
		return x
	}
	d := newDecimation(x)
	target := int(share * float64(len(x.Triangles())))
	for d.left > target && d.queue.Len() > 0 {
		c := heap.Pop(&d.queue).(collapse)
		if d.version[c.a] == c.va && d.version[c.b] == c.vb {
			d.collapse(c)
		}
	}
	return d.mesh()
}

type decimation struct {
	p       []r3.Vec // centred and scaled to the unit box
	mid     r3.Vec
	size    float64
	q       []quadric
	tris    [][3]int32 // with a[0] == a[1] for those gone
	of      [][]int32  // triangles of a vertex, some gone
	version []int32    // counts a vertex's changes, -1 for one gone
	left    int
	queue   collapses
}

// collapse makes edge a-b the one vertex a at p.
type collapse struct {
	cost   float64
	a, b   int32
	va, vb int32
	p      r3.Vec
}

type collapses []collapse

func (c collapses) Len() int { return len(c) }
func (c collapses) Less(i, j int) bool {
	x, y := &c[i], &c[j]
	if x.cost != y.cost {
		return x.cost < y.cost
	}
	if x.a != y.a {
		return x.a < y.a
	}
	return x.b < y.b
}
func (c collapses) Swap(i, j int) { c[i], c[j] = c[j], c[i] }
func (c *collapses) Push(x any)   { *c = append(*c, x.(collapse)) }
func (c *collapses) Pop() any {
	n := len(*c) - 1
	x := (*c)[n]
	*c = (*c)[:n]
	return x
}

func newDecimation(x *mesh.Mesh) *decimation {
	b, n := x.Bounds(), len(x.Vertices())
	d := &decimation{
		mid: r3.Scale(0.5, r3.Add(b.Min, b.Max)), size: x.Diagonal(), p: make([]r3.Vec, n), q: make([]quadric, n),
		tris: slices.Clone(x.Triangles()), of: make([][]int32, n), version: make([]int32, n), left: len(x.Triangles()),
	}
	for i, p := range x.Vertices() {
		d.p[i] = r3.Scale(1/d.size, r3.Sub(p, d.mid))
	}
	for i, t := range d.tris {
		n := d.normal(t)
		area := r3.Norm(n)
		for _, v := range t {
			d.of[v] = append(d.of[v], int32(i))
			if area > 0 {
				d.q[v].plane(d.p[t[0]], r3.Scale(1/area, n), area)
			}
		}
	}
	top := x.Topology()
	for e, v := range top.EdgeVerts {
		faces := top.EdgeFaces(e)
		if len(faces) == 2 {
			continue
		}
		along := r3.Sub(d.p[v[1]], d.p[v[0]])
		for _, f := range faces {
			n := r3.Cross(along, d.normal(d.tris[f]))
			if l := r3.Norm(n); l > 0 {
				for _, w := range v {
					d.q[w].plane(d.p[v[0]], r3.Scale(1/l, n), rimWeight*r3.Norm2(along))
				}
			}
		}
	}
	for _, v := range top.EdgeVerts {
		d.queue = append(d.queue, d.offer(v[0], v[1]))
	}
	heap.Init(&d.queue)
	return d
}

// normal is twice the area of a triangle.
func (d *decimation) normal(t [3]int32) r3.Vec {
	return r3.Cross(r3.Sub(d.p[t[1]], d.p[t[0]]), r3.Sub(d.p[t[2]], d.p[t[0]]))
}

// offer is the collapse of an edge as it would be now.
func (d *decimation) offer(a, b int32) collapse {
	q := d.q[a]
	q.add(&d.q[b])
	c := collapse{a: min(a, b), b: max(a, b)}
	c.va, c.vb = d.version[c.a], d.version[c.b]
	half := r3.Scale(0.5, r3.Add(d.p[a], d.p[b]))
	length := r3.Norm2(r3.Sub(d.p[a], d.p[b]))
	p, ok := q.least()
	if ok && r3.Norm2(r3.Sub(p, half)) < 4*length {
		c.p, c.cost = p, q.at(p)
	} else {
		c.p, c.cost = half, q.at(half)
		for _, v := range []int32{c.a, c.b} {
			if x := q.at(d.p[v]); x <= c.cost {
				c.p, c.cost = d.p[v], x
			}
		}
	}
	c.cost += 1e-9 * length // of flat surfaces the shortest edges first
	return c
}

// collapse does a collapse unless it would pinch the surface or fold it over.
func (d *decimation) collapse(c collapse) {
	shared := 0
	for _, t := range d.of[c.a] {
		if d.has(t, c.a) && d.has(t, c.b) {
			shared++
		}
	}
	if shared == 0 || shared > 2 || d.common(c.a, c.b) != shared || d.folds(c.a, c.b, c.p) || d.folds(c.b, c.a, c.p) {
		return
	}
	for _, t := range d.of[c.b] {
		switch {
		case !d.has(t, c.b):
		case d.has(t, c.a):
			d.tris[t] = [3]int32{-1, -1, -1}
			d.left--
		default:
			for k := range 3 {
				if d.tris[t][k] == c.b {
					d.tris[t][k] = c.a
				}
			}
			d.of[c.a] = append(d.of[c.a], t)
		}
	}
	d.of[c.b] = nil
	d.of[c.a] = slices.DeleteFunc(d.of[c.a], func(t int32) bool { return !d.has(t, c.a) })
	d.p[c.a] = c.p
	d.q[c.a].add(&d.q[c.b])
	d.version[c.a]++
	d.version[c.b] = -1
	for _, v := range d.round(c.a) {
		heap.Push(&d.queue, d.offer(c.a, v))
	}
}

func (d *decimation) has(t, v int32) bool {
	x := d.tris[t]
	return x[0] == v || x[1] == v || x[2] == v
}

// round lists the neighbours of a vertex, each once.
func (d *decimation) round(v int32) []int32 {
	var out []int32
	for _, t := range d.of[v] {
		if !d.has(t, v) {
			continue
		}
		for _, w := range d.tris[t] {
			if w != v && !slices.Contains(out, w) {
				out = append(out, w)
			}
		}
	}
	return out
}

// common counts the neighbours that two vertices share.
func (d *decimation) common(a, b int32) int {
	n, of := 0, d.round(b)
	for _, v := range d.round(a) {
		if slices.Contains(of, v) {
			n++
		}
	}
	return n
}

// folds reports whether moving a to p would turn one of its triangles without b
// over.
func (d *decimation) folds(a, b int32, p r3.Vec) bool {
	for _, t := range d.of[a] {
		if !d.has(t, a) || d.has(t, b) {
			continue
		}
		before := d.normal(d.tris[t])
		old := d.p[a]
		d.p[a] = p
		after := d.normal(d.tris[t])
		d.p[a] = old
		if r3.Dot(before, after) <= leastTilt*r3.Norm(before)*r3.Norm(after) {
			return true
		}
	}
	return false
}

func (d *decimation) mesh() *mesh.Mesh {
	var at []r3.Vec
	var tris [][3]int32
	index := make([]int32, len(d.p))
	for _, t := range d.tris {
		if t[0] < 0 {
			continue
		}
		for k, v := range t {
			if index[v] == 0 {
				at = append(at, r3.Add(d.mid, r3.Scale(d.size, d.p[v])))
				index[v] = int32(len(at))
			}
			t[k] = index[v] - 1
		}
		tris = append(tris, t)
	}
	return ofTriangles(at, tris)
}
