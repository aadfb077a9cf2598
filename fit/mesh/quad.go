package mesh

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

// Ring is a row of quads, each joined to the next over the edge opposite the
// one it was entered by. Left[i] and Right[i] are the ends of Edges[i], so Left
// and Right are the vertex chains on either side of the row; round a turned
// surface each lies on a circle about its axis.
type Ring struct {
	Edges       []int32
	Left, Right []int32
	Tris        []int32 // the quads' triangles in the order of the row
	Closed      bool
}

// quadFaces says which triangles form one face for walking over quads: a
// polygon, or two triangles that make a quad.
type quadFaces struct {
	face []int32   // of each triangle: the lowest triangle of its face
	mate []int32   // of each triangle: the other one of a quad, or -1
	area []float64 // of each face, at its lowest triangle
}

// Quads says for each triangle which other one completes it to a quad, or -1.
// In a mesh of polygons these are the halves of its four-cornered polygons. In
// a mesh where at most one polygon in ten has more than three corners,
// triangles are paired best first where together they make a nearly flat,
// nearly rectangular quad, so that loops and rings can be had of a triangulated
// turned surface too. The slice is shared: callers must not modify it.
func (t *Topology) Quads() []int32 { return t.quads().mate }

func newQuadFaces(t *Topology) *quadFaces {
	m := t.mesh
	n := len(m.triangles)
	q := &quadFaces{make([]int32, n), make([]int32, n), make([]float64, n)}
	for i := range n {
		q.face[i], q.mate[i] = int32(i), -1
	}
	large := 0
	for p := range m.NumPolygons() {
		if len(m.Polygon(p)) > 3 {
			large++
		}
	}
	for i := 1; i < n; i++ {
		if p := m.triPoly[i]; p == m.triPoly[i-1] {
			q.face[i] = q.face[i-1]
			if len(m.Polygon(int(p))) == 4 {
				q.mate[i-1], q.mate[i] = int32(i), int32(i-1)
			}
		}
	}
	if 10*large <= m.NumPolygons() {
		pairTriangles(t, q)
	}
	for i, f := range q.face {
		q.area[f] += r3.Norm(m.AreaNormal(i)) / 2
	}
	return q
}

// Limits of what two triangles may be paired to.
const (
	maxQuadSkew = 0.643 // |cos| of a quad's corner: 50 to 130 degrees
	maxQuadBend = 20 * math.Pi / 180
)

// pairTriangles pairs triangles greedily, the most rectangular quads first.
func pairTriangles(t *Topology, q *quadFaces) {
	type candidate struct {
		skew float32 // coarse, so that rounding does not decide
		edge int32
	}
	var candidates []candidate
	for e := range t.EdgeVerts {
		if skew := t.quadSkew(e); skew <= maxQuadSkew {
			candidates = append(candidates, candidate{float32(math.Round(skew*1e5) / 1e5), int32(e)})
		}
	}
	slices.SortFunc(candidates, func(a, b candidate) int {
		return cmp.Or(cmp.Compare(a.skew, b.skew), cmp.Compare(a.edge, b.edge))
	})
	for _, c := range candidates {
		f := t.EdgeFaces(int(c.edge))
		if q.mate[f[0]] < 0 && q.mate[f[1]] < 0 && q.isAlone(t, f[0]) && q.isAlone(t, f[1]) {
			q.mate[f[0]], q.mate[f[1]] = f[1], f[0]
			q.face[f[1]] = f[0]
		}
	}
}

// isAlone reports whether triangle i is all of its polygon.
func (q *quadFaces) isAlone(t *Topology, i int32) bool {
	p := t.mesh.triPoly
	return q.face[i] == i && (int(i)+1 == len(p) || p[i+1] != p[i])
}

// quadSkew returns how far from a flat rectangle the two triangles at edge e
// are together: the largest |cos| of a corner plus the bend in radians. It is
// +Inf where they are no candidates.
func (t *Topology) quadSkew(e int) float64 {
	bend := math.Abs(t.Dihedral(e))
	if !(bend <= maxQuadBend) || !t.Consistent(e) {
		return math.Inf(1)
	}
	v, f := t.EdgeVerts[e], t.EdgeFaces(e)
	p := t.mesh.vertices
	corner := [4]r3.Vec{p[v[0]], p[t.apex(f[0], v)], p[v[1]], p[t.apex(f[1], v)]}
	skew := 0.0
	for i := range corner {
		in := r3.Sub(corner[(i+3)%4], corner[i])
		out := r3.Sub(corner[(i+1)%4], corner[i])
		skew = max(skew, math.Abs(r3.Dot(in, out))/(r3.Norm(in)*r3.Norm(out)))
	}
	if skew > maxQuadSkew {
		return math.Inf(1)
	}
	return skew + bend
}

// apex returns the corner of triangle tri that is not on the edge with ends v.
func (t *Topology) apex(tri int32, v [2]int32) int32 {
	c := t.mesh.triangles[tri]
	return c[0] + c[1] + c[2] - v[0] - v[1]
}

// isInner reports whether e lies inside a face.
func (q *quadFaces) isInner(t *Topology, e int32) bool {
	f := t.EdgeFaces(int(e))
	return len(f) == 2 && q.face[f[0]] == q.face[f[1]]
}

// share reports whether edges a and b have a face in common.
func (q *quadFaces) share(t *Topology, a, b int32) bool {
	for _, f := range t.EdgeFaces(int(a)) {
		for _, g := range t.EdgeFaces(int(b)) {
			if q.face[f] == q.face[g] {
				return true
			}
		}
	}
	return false
}

// QuadRing returns the row of quads across edge, both ways as far as quads (see
// Quads) reach. A row that comes back to the edge is closed. The row of an edge
// without quads has just that edge.
func (t *Topology) QuadRing(edge int) Ring {
	r := Ring{}
	if edge < 0 || edge >= len(t.EdgeVerts) || t.quads().isInner(t, int32(edge)) {
		return r
	}
	v := t.EdgeVerts[edge]
	r.add(int32(edge), v[0], v[1])
	f := t.EdgeFaces(edge)
	if len(f) > 2 {
		return r
	}
	t.extendRing(&r, f[0])
	if !r.Closed && len(f) == 2 {
		r.reverse()
		t.extendRing(&r, f[1])
		r.reverse()
	}
	return r
}

func (r *Ring) add(e, left, right int32) {
	r.Edges = append(r.Edges, e)
	r.Left = append(r.Left, left)
	r.Right = append(r.Right, right)
}

func (r *Ring) reverse() {
	for _, s := range [4][]int32{r.Edges, r.Left, r.Right, r.Tris} {
		slices.Reverse(s)
	}
}

// extendRing goes on from the ring's last edge into triangle tri.
func (t *Topology) extendRing(r *Ring, tri int32) {
	mate := t.Quads()
	for {
		last := len(r.Edges) - 1
		at, first := r.Edges[last], r.Edges[0]
		if mate[tri] < 0 {
			return
		}
		e, owner := t.acrossQuad(at, tri, mate[tri])
		if e < 0 {
			return
		}
		r.Tris = append(r.Tris, tri, mate[tri])
		if e == first {
			r.Closed = true
			return
		}
		left, right := t.EdgeVerts[e][0], t.EdgeVerts[e][1]
		if !t.inQuadRim(r.Left[last], left, tri, mate[tri]) {
			left, right = right, left
		}
		r.add(e, left, right)
		next := t.Opposite(int(owner), int(e))
		if next < 0 {
			return
		}
		tri = int32(next)
	}
}

// acrossQuad returns the quad's edge opposite edge e and the triangle that has it.
func (t *Topology) acrossQuad(e, tri, mate int32) (opposite, owner int32) {
	v := t.EdgeVerts[e]
	for _, u := range [2]int32{tri, mate} {
		for _, x := range t.TriEdges[u] {
			w := t.EdgeVerts[x]
			if w[0] != v[0] && w[0] != v[1] && w[1] != v[0] && w[1] != v[1] {
				return x, u
			}
		}
	}
	return -1, -1
}

// inQuadRim reports whether a and b are joined by an edge of the quad other
// than its diagonal, which both triangles have.
func (t *Topology) inQuadRim(a, b, tri, mate int32) bool {
	count := 0
	for _, u := range [2]int32{tri, mate} {
		for _, x := range t.TriEdges[u] {
			if w := t.EdgeVerts[x]; w == [2]int32{min(a, b), max(a, b)} {
				count++
			}
		}
	}
	return count == 1
}

// QuadLoop returns the edge loop through edge: at a vertex where four faces
// (see Quads) meet it goes straight on, that is, into the edge that has no face
// in common with the last. Along a boundary it follows the boundary, and where
// two quads meet one polygon of other than four corners it goes on round that
// polygon. It ends at other vertices. The loop of an edge inside a face is
// empty.
func (t *Topology) QuadLoop(edge int) Loop {
	q := t.quads()
	if edge < 0 || edge >= len(t.EdgeVerts) || q.isInner(t, int32(edge)) {
		return Loop{}
	}
	return t.through(int32(edge), func(v, e int32) int32 { return q.straightOn(t, v, e) })
}

// straightOn returns the edge that continues e at v over quads, or -1.
func (q *quadFaces) straightOn(t *Topology, v, e int32) int32 {
	var outer [4]int32
	n, boundaries := 0, 0
	for _, x := range t.VertexEdges(int(v)) {
		if q.isInner(t, x) {
			continue
		}
		if n == len(outer) {
			return -1
		}
		outer[n] = x
		n++
		switch len(t.EdgeFaces(int(x))) {
		case 1:
			boundaries++
		case 2:
		default:
			return -1
		}
	}
	isBoundary := t.isBoundary(e)
	for _, x := range outer[:n] {
		switch {
		case x == e:
		case isBoundary:
			if boundaries == 2 && t.isBoundary(x) {
				return x
			}
		case n == 4 && boundaries == 0:
			if !q.share(t, x, e) {
				return x
			}
		case n == 3 && boundaries == 0:
			if f := q.oddFace(t, e); f >= 0 && f == q.oddFace(t, x) {
				return x
			}
		}
	}
	return -1
}

// oddFace returns the face at e that is no quad if the other one is, or -1.
func (q *quadFaces) oddFace(t *Topology, e int32) int32 {
	f := t.EdgeFaces(int(e))
	switch a, b := q.mate[f[0]] >= 0, q.mate[f[1]] >= 0; {
	case a && !b:
		return q.face[f[1]]
	case b && !a:
		return q.face[f[0]]
	}
	return -1
}
