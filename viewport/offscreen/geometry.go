package offscreen

import (
	"math"

	"github.com/g3n/engine/geometry"
	"github.com/g3n/engine/gls"
	"github.com/g3n/engine/math32"
	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

// solid is a mesh on the graphics card, with what its contours are found from.
// Positions are relative to centre, so that float32 keeps its precision for a
// model far from its origin.
type solid struct {
	centre  r3.Vec
	faces   *geometry.Geometry
	indices int // of faces
	creases *geometry.Geometry
	corners int // index count of creases
	wires   *geometry.Geometry
	ends    int // index count of wires
	contour contourFinder
	bytes   int // rough size, card and host together
}

// newSolid prepares a mesh; nothing is uploaded before it is drawn.
func newSolid(m *mesh.Mesh, feature float64) *solid {
	b := m.Bounds()
	s := &solid{centre: r3.Scale(0.5, r3.Add(b.Min, b.Max))}
	if len(m.Vertices()) == 0 || len(m.Triangles()) == 0 {
		return s
	}
	isFeature := m.Topology().FeatureEdges(feature)
	s.buildFaces(m, feature)
	s.contour = newContourFinder(m, isFeature, s.centre)
	s.buildCreases(m, feature)
	s.bytes += s.contour.bytes()
	return s
}

// buildFaces makes the indexed faces. Corners of one vertex share a normal
// within a smooth patch: a drawn bore looks round, its rim stays sharp.
func (s *solid) buildFaces(m *mesh.Mesh, feature float64) {
	patch, _ := m.Topology().SmoothPatches(feature)
	tris, vertices := m.Triangles(), m.Vertices()
	room := 3*len(vertices) + 3*len(vertices)/4
	places, normals := make(math32.ArrayF32, 0, room), make(math32.ArrayF32, 0, room)
	index := make(math32.ArrayU32, 3*len(tris))
	type shared struct {
		patch  int32
		at     uint32
		normal r3.Vec
	}
	var groups []shared
	for v := range vertices {
		groups = groups[:0]
		for _, t := range m.Topology().VertexTris(v) {
			g := -1
			for i := range groups {
				if groups[i].patch == patch[t] {
					g = i
				}
			}
			if g < 0 {
				g = len(groups)
				groups = append(groups, shared{patch: patch[t], at: uint32(len(places)/3 + g)})
			}
			for k, u := range tris[t] {
				if int(u) == v {
					index[3*int(t)+k] = groups[g].at
					groups[g].normal = r3.Add(groups[g].normal, cornerNormal(m, int(t), k))
				}
			}
		}
		p := r3.Sub(vertices[v], s.centre)
		for _, g := range groups {
			places, normals = appendVec(places, p), appendVec(normals, unitOrZero(g.normal))
		}
	}
	s.faces = geometry.NewGeometry()
	s.faces.AddVBO(gls.NewVBO(places).AddAttrib(gls.VertexPosition))
	s.faces.AddVBO(gls.NewVBO(normals).AddAttrib(gls.VertexNormal))
	s.faces.SetIndices(index)
	s.indices = len(index)
	s.bytes += 4 * (len(places) + len(normals) + len(index))
}

// cornerNormal returns a triangle's unit normal weighted with its angle at
// corner k, so that a vertex normal does not depend on how its faces were cut
// into triangles (G. Thuermer and C. Wuethrich, Computing vertex normals from
// polygonal facets, 1998).
func cornerNormal(m *mesh.Mesh, t, k int) r3.Vec {
	tri, vertices := m.Triangles()[t], m.Vertices()
	p := vertices[tri[k]]
	a, b := r3.Sub(vertices[tri[(k+1)%3]], p), r3.Sub(vertices[tri[(k+2)%3]], p)
	n := r3.Cross(a, b)
	return r3.Scale(math.Atan2(r3.Norm(n), r3.Dot(a, b)), unitOrZero(n))
}

// buildCreases makes the quads of the feature edges, chained so that a dash
// pattern runs on from edge to edge.
func (s *solid) buildCreases(m *mesh.Mesh, feature float64) {
	top, vertices := m.Topology(), m.Vertices()
	var q quads
	for _, loop := range top.FeatureLoops(feature) {
		at := func(i int) r3.Vec { return r3.Sub(vertices[loop.Vertices[i%len(loop.Vertices)]], s.centre) }
		e := inkEdge{}
		for i := range loop.Edges {
			e.total += r3.Norm(r3.Sub(at(i+1), at(i)))
		}
		for i, edge := range loop.Edges {
			e.a, e.b = at(i), at(i+1)
			e.run = [2]float64{e.run[1], e.run[1] + r3.Norm(r3.Sub(e.b, e.a))}
			e.na, e.nb, e.concave = r3.Vec{}, r3.Vec{}, false
			if f := top.EdgeFaces(int(edge)); len(f) == 2 {
				e.na, e.nb = unitOrZero(m.AreaNormal(int(f[0]))), unitOrZero(m.AreaNormal(int(f[1])))
				e.concave = top.Dihedral(int(edge)) < 0
			}
			q.add(e)
		}
	}
	s.creases, s.corners = q.geometry(), len(q.index)
	s.bytes += 4 * (lineFloats*len(q.here)/3 + len(q.index))
}

// wire makes, once, the lines of all edges that bound a polygon.
func (s *solid) wire(m *mesh.Mesh) {
	if s.wires != nil || s.faces == nil {
		return
	}
	vertices := m.Vertices()
	data := make(math32.ArrayF32, 0, 3*len(vertices))
	for _, v := range vertices {
		data = appendVec(data, r3.Sub(v, s.centre))
	}
	top := m.Topology()
	var index math32.ArrayU32
	for e, v := range top.EdgeVerts {
		if !top.IsDiagonal(e) {
			index = append(index, uint32(v[0]), uint32(v[1]))
		}
	}
	s.wires = geometry.NewGeometry()
	s.wires.AddVBO(gls.NewVBO(data).AddAttrib(gls.VertexPosition))
	s.wires.SetIndices(index)
	s.ends = len(index)
	s.bytes += 4 * (len(data) + len(index))
}

// dispose frees what is on the card; call it on the GL thread.
func (s *solid) dispose() {
	for _, g := range []*geometry.Geometry{s.faces, s.creases, s.wires} {
		if g != nil {
			g.Dispose()
		}
	}
}

// quads gathers edges as quads for the line program, each attribute in a
// buffer of its own.
type quads struct {
	here, there, na, nb, corner math32.ArrayF32
	index                       math32.ArrayU32
}

// inkEdge is an edge to be inked, relative to its mesh's centre.
type inkEdge struct {
	a, b    r3.Vec
	na, nb  r3.Vec     // unit normals of its faces; zero where there is none
	run     [2]float64 // length run along its chain at a and b
	total   float64    // length of the chain; 0: not part of one
	concave bool
}

// lineFloats is the number of floats per corner of a line quad, in all buffers.
const lineFloats = 16

func (q *quads) add(e inkEdge) {
	first := uint32(len(q.here) / 3)
	for k := range 4 {
		side, end := float32(1-2*(k%2)), float32(k/2)
		here, there, run := e.a, e.b, e.run[0]
		if k >= 2 {
			here, there, run = e.b, e.a, e.run[1]
		}
		if e.concave {
			end += 2
		}
		q.here, q.there = appendVec(q.here, here), appendVec(q.there, there)
		q.na, q.nb = appendVec(q.na, e.na), appendVec(q.nb, e.nb)
		q.corner = append(q.corner, side, end, float32(run), float32(e.total))
	}
	q.index = append(q.index, first, first+1, first+2, first+1, first+3, first+2)
}

func (q *quads) geometry() *geometry.Geometry {
	if len(q.index) == 0 {
		return nil
	}
	g := geometry.NewGeometry()
	g.AddVBO(gls.NewVBO(q.here).AddAttrib(gls.VertexPosition))
	g.AddVBO(gls.NewVBO(q.there).AddCustomAttrib("Other", 3))
	g.AddVBO(gls.NewVBO(q.na).AddCustomAttrib("NormalA", 3))
	g.AddVBO(gls.NewVBO(q.nb).AddCustomAttrib("NormalB", 3))
	g.AddVBO(gls.NewVBO(q.corner).AddCustomAttrib("Corner", 4))
	g.SetIndices(q.index)
	return g
}

func appendVec(a math32.ArrayF32, v r3.Vec) math32.ArrayF32 {
	return append(a, float32(v.X), float32(v.Y), float32(v.Z))
}

// unitOrZero returns v at unit length, or zero for a vector without direction.
func unitOrZero(v r3.Vec) r3.Vec {
	n := r3.Norm(v)
	if !(n > 0) || math.IsInf(n, 0) {
		return r3.Vec{}
	}
	return r3.Scale(1/n, v)
}
