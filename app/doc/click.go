package doc

import "pintle/fit/mesh"

// PatchAt returns the faces that a click on a triangle means, rising: the
// surface that the triangle lies on (see SurfaceFrom), or, on a triangle
// without area, the even patch round it. It is nil if there is no such
// triangle.
func PatchAt(m *mesh.Mesh, tri int) []int32 {
	if s, ok := SurfaceFrom(m, tri); ok {
		return s.Triangles
	}
	return m.Topology().EvenPatchFrom(tri, FeatureAngle)
}
