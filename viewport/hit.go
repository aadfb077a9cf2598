package viewport

import (
	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
	"pintle/viewport/draft"
)

// PickMode says what kind of mesh element the pointer looks for.
type PickMode uint8

// The pick modes.
const (
	PickPart  PickMode = iota // whole parts
	PickPoint                 // vertices
	PickEdge                  // polygon edges
	PickLoop                  // chains of edges: along features, else along quads
	PickPatch                 // smooth patches of triangles
)

// String returns the mode's name.
func (m PickMode) String() string {
	names := [...]string{"part", "point", "edge", "loop", "patch"}
	if int(m) >= len(names) {
		return "part"
	}
	return names[m]
}

// Hit is what the pointer is on. Indexes are those of the part's mesh and -1
// where they do not apply.
type Hit struct {
	Mode     PickMode
	Part     int    // index into Scene.Parts, or -1 for nothing
	Triangle int    // the triangle under the pointer, or the one next to the element
	Vertex   int    // PickPoint
	Edge     int    // PickEdge, PickLoop
	Point    r3.Vec // on the element, in the model as it is posed
	Modelled r3.Vec // the same point in the part as modelled
	Normal   r3.Vec // unit, of Triangle, posed
	Loop     mesh.Loop
	Patch    []int32 // triangles
}

// nothing is the hit of a pointer on empty paper.
func nothing(mode PickMode) Hit {
	return Hit{Mode: mode, Part: -1, Triangle: -1, Vertex: -1, Edge: -1}
}

// OK reports whether there is something under the pointer.
func (h Hit) OK() bool { return h.Part >= 0 }

// Same reports whether two hits are of the same element, wherever on it the
// pointer is.
func (h Hit) Same(o Hit) bool {
	if h.Mode != o.Mode || h.Part != o.Part {
		return false
	}
	switch h.Mode {
	case PickPoint:
		return h.Vertex == o.Vertex
	case PickEdge:
		return h.Edge == o.Edge
	case PickLoop:
		return first(h.Loop.Edges) == first(o.Loop.Edges) && len(h.Loop.Edges) == len(o.Loop.Edges)
	case PickPatch:
		return first(h.Patch) == first(o.Patch) && len(h.Patch) == len(o.Patch)
	}
	return true
}

func first(s []int32) int32 {
	if len(s) == 0 {
		return -1
	}
	return s[0]
}

// Marks returns the drawing marks that make the hit element stand out in the
// scene it was found in: what owners add for a hover preview or a pick.
func (h Hit) Marks(s draft.Scene, ink draft.Ink) []draft.Mark {
	if h.Part < 0 || h.Part >= len(s.Parts) || s.Parts[h.Part].Mesh == nil {
		return nil
	}
	p := s.Parts[h.Part]
	switch h.Mode {
	case PickPoint:
		return []draft.Mark{draft.Point{At: h.Point, Shape: draft.RingSign, Size: 5, Ink: ink}}
	case PickEdge:
		return []draft.Mark{draft.EdgeSet{Mesh: p.Mesh, Motion: p.Motion, Edges: []int32{int32(h.Edge)}, Ink: ink}}
	case PickLoop:
		return []draft.Mark{draft.EdgeSet{Mesh: p.Mesh, Motion: p.Motion, Edges: h.Loop.Edges, Ink: ink}}
	case PickPatch:
		return []draft.Mark{
			draft.Patch{Mesh: p.Mesh, Motion: p.Motion, Triangles: h.Patch, Ink: ink},
			draft.EdgeSet{Mesh: p.Mesh, Motion: p.Motion, Edges: draft.Border(p.Mesh, h.Patch), Ink: ink},
		}
	}
	return nil
}
