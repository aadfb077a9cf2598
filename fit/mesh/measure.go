package mesh

import (
	"fmt"

	"gonum.org/v1/gonum/spatial/r3"
)

// Area returns the surface area in square model units.
func (m *Mesh) Area() float64 {
	var s Sum
	for t := range m.triangles {
		s.Add(r3.Norm(m.AreaNormal(t)) / 2)
	}
	return s.Value()
}

// Volume returns the enclosed volume in cubic model units: positive where the
// normals point outward. For a mesh that is not closed it is the volume of the
// cones from the box centre to the surface, which means little.
func (m *Mesh) Volume() float64 {
	var s Sum
	origin := r3.Scale(0.5, r3.Add(m.bounds.Min, m.bounds.Max))
	for t := range m.triangles {
		a, b, c := m.Corners(t)
		a, b, c = r3.Sub(a, origin), r3.Sub(b, origin), r3.Sub(c, origin)
		s.Add(r3.Dot(a, r3.Cross(b, c)) / 6)
	}
	return s.Value()
}

// IsClosed reports whether every edge has exactly two triangles that agree
// about outside. A mesh without triangles is not closed.
func (m *Mesh) IsClosed() bool {
	t := m.Topology()
	for e := range t.EdgeVerts {
		if !t.Consistent(e) {
			return false
		}
	}
	return len(m.triangles) > 0
}

// Validate returns nil if the mesh bounds a solid: finite coordinates, every
// triangle of three different vertices and some area, every edge with exactly
// two triangles that agree about outside, the triangles at every vertex one
// fan, every vertex used, and positive volume. It does not look for
// self-intersections. The error names the first fault.
func Validate(m *Mesh) error {
	if len(m.triangles) == 0 {
		return fmt.Errorf("mesh has no triangles")
	}
	for i, p := range m.vertices {
		if !isFinite(p) {
			return fmt.Errorf("vertex %d is %v, want finite coordinates", i, p)
		}
	}
	for i, v := range m.triangles {
		if v[0] == v[1] || v[1] == v[2] || v[2] == v[0] {
			return fmt.Errorf("triangle %d repeats a vertex: %v", i, v)
		}
		if !(r3.Norm(m.AreaNormal(i)) > 0) {
			return fmt.Errorf("triangle %d has no area", i)
		}
	}
	t := m.Topology()
	for e, v := range t.EdgeVerts {
		if n := len(t.EdgeFaces(e)); n != 2 {
			return fmt.Errorf("edge %d (vertices %d and %d) has %d triangles, want 2", e, v[0], v[1], n)
		}
		if !t.Consistent(e) {
			return fmt.Errorf("at edge %d (vertices %d and %d) the triangles disagree about outside", e, v[0], v[1])
		}
	}
	for v := range m.vertices {
		if n, all := t.fan(int32(v)), len(t.VertexTris(v)); n != all || n == 0 {
			return fmt.Errorf("vertex %d has %d triangles, %d of them in its first fan", v, all, n)
		}
	}
	if v := m.Volume(); !(v > 0) {
		return fmt.Errorf("volume is %g, want more than 0; the normals may point inward", v)
	}
	return nil
}

// fan returns how many triangles are reached from the first one at v by turning
// about v over edges with two triangles.
func (t *Topology) fan(v int32) int {
	tris := t.VertexTris(int(v))
	if len(tris) == 0 {
		return 0
	}
	first := tris[0]
	tri, k, n := first, 0, 0
	for k = range 3 {
		if v == t.mesh.triangles[first][k] {
			break
		}
	}
	for {
		n++
		e := t.TriEdges[tri][k]
		next := t.Opposite(int(tri), int(e))
		if next < 0 || int32(next) == first || n > len(tris) {
			return n
		}
		tri = int32(next)
		for j, x := range t.TriEdges[tri] {
			if x == e {
				k = t.otherEdge(tri, j, v)
				break
			}
		}
	}
}
