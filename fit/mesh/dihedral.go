package mesh

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// Dihedral returns the angle in radians between the normals of the two
// triangles at edge e: positive where the edge is convex, negative where it is
// concave, 0 where it is flat. It is NaN where the edge has not exactly two
// triangles. Where these disagree about outside, the first one is right. The
// normal of a needle, a triangle lower than DefaultWeld times the mesh's
// diagonal, is noise; that of the triangle across its longest edge stands in
// for it. The first call measures all edges.
func (t *Topology) Dihedral(e int) float64 { return t.bends()[e] }

func (t *Topology) measureBends() []float64 {
	bends := make([]float64, len(t.EdgeVerts))
	for e := range bends {
		bends[e] = t.measureBend(e)
	}
	return bends
}

func (t *Topology) measureBend(e int) float64 {
	f := t.EdgeFaces(e)
	if len(f) != 2 {
		return math.NaN()
	}
	n0, n1 := t.steadyNormal(f[0]), t.steadyNormal(f[1])
	v := t.EdgeVerts[e]
	d := r3.Sub(t.mesh.vertices[v[1]], t.mesh.vertices[v[0]])
	along := t.runsAlong(f[0], e)
	if along == t.runsAlong(f[1], e) {
		n1 = r3.Scale(-1, n1)
	}
	if !along {
		d = r3.Scale(-1, d)
	}
	return math.Atan2(r3.Dot(d, r3.Cross(n0, n1))/r3.Norm(d), r3.Dot(n0, n1))
}

// steadyNormal returns a normal of triangle tri, of any length.
func (t *Topology) steadyNormal(tri int32) r3.Vec {
	n := t.mesh.AreaNormal(int(tri))
	longest, length2 := t.longestEdge(tri)
	low := DefaultWeld * t.diagonal
	if r3.Norm2(n) >= low*low*length2 {
		return n
	}
	across := t.Opposite(int(tri), int(longest))
	if across < 0 {
		return n
	}
	m := t.mesh.AreaNormal(across)
	if _, l := t.longestEdge(int32(across)); r3.Norm2(m) < low*low*l {
		return n
	}
	if !t.Consistent(int(longest)) {
		m = r3.Scale(-1, m)
	}
	return m
}

// longestEdge returns the longest edge of triangle tri and its squared length.
func (t *Topology) longestEdge(tri int32) (e int32, length2 float64) {
	v := t.mesh.triangles[tri]
	for k := range v {
		if l := distance2(t.mesh.vertices[v[k]], t.mesh.vertices[v[(k+1)%3]]); l > length2 {
			e, length2 = t.TriEdges[tri][k], l
		}
	}
	return e, length2
}
