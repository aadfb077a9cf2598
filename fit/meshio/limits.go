package meshio

import "math"

// Limits bound what one call to Read, ReadFolder or Decode may take. They are
// checked against the counts that a file states before memory is taken for
// them. A zero field means its default.
type Limits struct {
	MaxFileBytes int64 // the model and the files it names together; default 4 GiB
	MaxTriangles int   // after instancing, polygons counted as their triangles; default 20 million
	MaxVertices  int   // before welding; default three per triangle of MaxTriangles
	MaxParts     int   // default 100,000
	MaxNodes     int   // scene graph, mesh nodes included; default 1 million
	MaxCorners   int   // of one polygon; default and at most 65,536
}

// The limits that apply where the caller states none.
const (
	defaultFileBytes = 4 << 30
	defaultTriangles = 20_000_000
	defaultParts     = 100_000
	defaultNodes     = 1_000_000
	defaultCorners   = 1 << 16 // what mesh.Builder takes
)

// withDefaults fills the zero fields and keeps vertex and corner indexes
// within int32.
func (l Limits) withDefaults() Limits {
	if l.MaxFileBytes <= 0 {
		l.MaxFileBytes = defaultFileBytes
	}
	l.MaxTriangles = pick(l.MaxTriangles, defaultTriangles, math.MaxInt32/3)
	l.MaxVertices = pick(l.MaxVertices, 3*l.MaxTriangles, math.MaxInt32)
	l.MaxParts = pick(l.MaxParts, defaultParts, math.MaxInt32)
	l.MaxNodes = pick(l.MaxNodes, defaultNodes, math.MaxInt32)
	l.MaxCorners = pick(l.MaxCorners, defaultCorners, defaultCorners)
	return l
}

func pick(n, otherwise, most int) int {
	if n <= 0 {
		n = otherwise
	}
	return min(n, most)
}

// usage is what has been taken of the limits so far, by one file or by the
// files of a folder together.
type usage struct {
	bytes               int64
	triangles, vertices int // polygons counted as their triangles
	parts               int
}
