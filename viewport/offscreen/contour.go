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

// halfEdge is an edge walked in one direction.
type halfEdge struct {
	edge, from, to int32
}

// chainRuns orders the marked edges into runs that pass from edge to edge
// where exactly two of them meet, so that a dash pattern can run on. Every
// marked edge is in exactly one run.
func chainRuns(m *mesh.Mesh, marked []bool) [][]halfEdge {
	top := m.Topology()
	used := make([]bool, len(marked))
	next := func(v, from int32) int32 {
		found, count := int32(-1), 0
		for _, e := range top.VertexEdges(int(v)) {
			if marked[e] {
				count++
				if e != from {
					found = e
				}
			}
		}
		if count != 2 || found < 0 || used[found] {
			return -1
		}
		return found
	}
	walk := func(e, from int32) []halfEdge {
		var run []halfEdge
		for e >= 0 {
			used[e] = true
			ends := top.EdgeVerts[e]
			to := ends[0] + ends[1] - from
			run = append(run, halfEdge{edge: e, from: from, to: to})
			e, from = next(to, e), to
		}
		return run
	}
	degree := func(v int32) int {
		n := 0
		for _, e := range top.VertexEdges(int(v)) {
			if marked[e] {
				n++
			}
		}
		return n
	}
	var runs [][]halfEdge
	// Open runs first, from their ends; what is left then are rings.
	for pass := range 2 {
		for e, is := range marked {
			if !is || used[e] {
				continue
			}
			ends := top.EdgeVerts[e]
			switch {
			case pass == 1 || degree(ends[0]) != 2:
				runs = append(runs, walk(int32(e), ends[0]))
			case degree(ends[1]) != 2:
				runs = append(runs, walk(int32(e), ends[1]))
			}
		}
	}
	return runs
}
