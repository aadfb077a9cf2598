package fit

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

// FromPatch returns the vertices of the given triangles, each once and in the
// order of their indexes, with the normals that the patch's own triangles
// give them, weighted by area. A tessellated surface passes through its
// vertices, not through the centres of its facets.
func FromPatch(m *mesh.Mesh, tris []int32) (points, normals []r3.Vec) {
	corners := make([]int32, 0, 3*len(tris))
	for _, t := range tris {
		v := m.Triangles()[t]
		corners = append(corners, v[:]...)
	}
	slices.Sort(corners)
	corners = slices.Compact(corners)
	points = make([]r3.Vec, len(corners))
	normals = make([]r3.Vec, len(corners))
	for i, v := range corners {
		points[i] = m.Vertices()[v]
	}
	for _, t := range tris {
		n := m.AreaNormal(int(t))
		for _, v := range m.Triangles()[t] {
			i, _ := slices.BinarySearch(corners, v)
			normals[i] = r3.Add(normals[i], n)
		}
	}
	return points, normals
}

// FromLoop returns the vertices of a loop in order.
func FromLoop(m *mesh.Mesh, l mesh.Loop) []r3.Vec {
	points := make([]r3.Vec, len(l.Vertices))
	for i, v := range l.Vertices {
		points[i] = m.Vertices()[v]
	}
	return points
}

// Sagitta returns the largest height, in model units, by which the patch's
// facets cut into the surface that the datum stands for: at the middle of an
// edge and of a triangle, how far it lies from the datum beyond what its
// corners do. It is the resolution of every figure measured on the patch.
func Sagitta(m *mesh.Mesh, tris []int32, d Datum) float64 {
	most := 0.0
	for _, t := range tris {
		a, b, c := m.Corners(int(t))
		da, db, dc := d.Distance(a), d.Distance(b), d.Distance(c)
		height := func(p r3.Vec, at float64) { most = max(most, math.Abs(d.Distance(p)-at)) }
		height(mid(a, b), (da+db)/2)
		height(mid(b, c), (db+dc)/2)
		height(mid(c, a), (dc+da)/2)
		height(r3.Scale(1.0/3, r3.Add(a, r3.Add(b, c))), (da+db+dc)/3)
	}
	return most
}
