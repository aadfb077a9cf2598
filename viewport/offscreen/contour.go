package offscreen

import (
	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

// contourFinder finds, for a view, the smooth edges at which a mesh turns
// from the viewer: its contours, which no feature edge shows. It works in
// float64 on the host, because only few of many edges are contours and which
// ones changes with every view.
type contourFinder struct {
	planes []facePlane
	edges  []bendEdge
	ends   [][2]r3.Vec // per edge, relative to the centre
	facing []bool      // scratch, per triangle
}

// facePlane is a triangle's plane n.p = d, relative to the mesh's centre.
type facePlane struct {
	n r3.Vec
	d float64
}

// bendEdge is a smooth edge between two triangles that are not in one plane.
type bendEdge struct {
	left, right int32
}

// newContourFinder collects the edges that can be contours: the smooth and
// convex ones with two triangles. A concave edge lies behind its own nearer
// face whenever it turns from the viewer.
func newContourFinder(m *mesh.Mesh, isFeature []bool, centre r3.Vec) contourFinder {
	top, vertices := m.Topology(), m.Vertices()
	f := contourFinder{
		planes: make([]facePlane, len(m.Triangles())),
		facing: make([]bool, len(m.Triangles())),
	}
	for t := range f.planes {
		a, _, _ := m.Corners(t)
		n := unitOrZero(m.AreaNormal(t))
		f.planes[t] = facePlane{n: n, d: r3.Dot(n, r3.Sub(a, centre))}
	}
	// Below this sine two faces count as one plane: they turn together.
	const flat = 1e-9
	size := m.Diagonal()
	for e, v := range top.EdgeVerts {
		faces := top.EdgeFaces(e)
		if isFeature[e] || len(faces) != 2 {
			continue
		}
		p := f.planes[faces[0]]
		if r3.Norm2(r3.Cross(p.n, f.planes[faces[1]].n)) < flat*flat {
			continue
		}
		far := r3.Sub(vertices[apex(m.Triangles()[faces[1]], v)], centre)
		if r3.Dot(p.n, far)-p.d > flat*size {
			continue
		}
		f.edges = append(f.edges, bendEdge{faces[0], faces[1]})
		f.ends = append(f.ends, [2]r3.Vec{r3.Sub(vertices[v[0]], centre), r3.Sub(vertices[v[1]], centre)})
	}
	return f
}

// apex returns the corner of a triangle that is not on the edge.
func apex(tri [3]int32, edge [2]int32) int32 {
	for _, v := range tri {
		if v != edge[0] && v != edge[1] {
			return v
		}
	}
	return tri[0]
}

// find calls add for every contour edge seen from the given eye: a point if
// perspective, else the direction to the viewer; both in mesh axes relative
// to the mesh's centre.
func (f *contourFinder) find(eye r3.Vec, perspective bool, add func(a, b r3.Vec)) {
	for t, p := range f.planes {
		d := p.n.X*eye.X + p.n.Y*eye.Y + p.n.Z*eye.Z
		if perspective {
			d -= p.d
		}
		f.facing[t] = d > 0
	}
	for i, e := range f.edges {
		if f.facing[e.left] != f.facing[e.right] {
			add(f.ends[i][0], f.ends[i][1])
		}
	}
}

// bytes returns the memory the finder holds.
func (f *contourFinder) bytes() int {
	return 33*len(f.planes) + 56*len(f.edges)
}
