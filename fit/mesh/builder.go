package mesh

import (
	"context"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// DefaultWeld is the usual weld distance, relative to the diagonal of the box
// round all vertices: about the rounding of coordinates stored as float32.
const DefaultWeld = 1e-7

// maxCoordinate bounds what counts as a finite coordinate: the square of an
// area must not overflow.
const maxCoordinate = 1e75

// weldStride is how many vertices are welded between two looks at the context.
const weldStride = 1 << 17

// maxCorners bounds the corners of one face; cutting a face into triangles
// takes quadratic time at worst.
const maxCorners = 1 << 16

// Options say how Build mends its input.
type Options struct {
	// Weld is the distance, relative to the diagonal of the box round the
	// vertices that faces use, within which vertices become one. 0 merges exact
	// duplicates only, a negative value merges nothing.
	Weld float64
	// Progress, if not nil, hears how far the work is, from 0 to 1.
	Progress func(done float64, what string)
}

// Builder collects vertices and polygon faces. The zero value is ready to use.
// A Builder must not be used by two goroutines at once.
type Builder struct {
	vertices []r3.Vec
	start    []int32 // offsets into corners, one per face begun
	corners  []int32
	err      error
}

// NewBuilder returns an empty Builder.
func NewBuilder() *Builder { return &Builder{} }

// Grow makes room for that many more vertices, faces and face corners in all.
// It is only a hint; callers that read counts from a file check them first.
func (b *Builder) Grow(vertices, faces, corners int) {
	b.vertices = grow(b.vertices, vertices)
	b.start = grow(b.start, faces)
	b.corners = grow(b.corners, corners)
}

func grow[T any](s []T, n int) []T {
	if n <= cap(s)-len(s) {
		return s
	}
	return append(make([]T, 0, len(s)+n), s...)
}

// Vertex adds a vertex in model units and returns its index, counted from 0. A
// coordinate that is not finite costs the faces that use it, no others.
func (b *Builder) Vertex(p r3.Vec) int32 {
	if len(b.vertices) == math.MaxInt32 {
		b.fail(fmt.Errorf("more than %d vertices", math.MaxInt32))
		return math.MaxInt32 - 1
	}
	b.vertices = append(b.vertices, p)
	return int32(len(b.vertices) - 1)
}

// Face adds a polygon, counter-clockwise seen from outside. It may be concave
// and somewhat bent. Its vertices may be added later; Build checks the range.
func (b *Builder) Face(v ...int32) {
	if len(b.corners) > math.MaxInt32-len(v) {
		b.fail(fmt.Errorf("more than %d face corners", math.MaxInt32))
		return
	}
	if len(v) > maxCorners {
		b.fail(fmt.Errorf("face %d has %d corners, at most %d can be cut into triangles; split the face", len(b.start), len(v), maxCorners))
		return
	}
	b.start = append(b.start, int32(len(b.corners)))
	b.corners = append(b.corners, v...)
}

// NumVertices returns how many vertices have been added.
func (b *Builder) NumVertices() int { return len(b.vertices) }

// NumFaces returns how many faces have been added.
func (b *Builder) NumFaces() int { return len(b.start) }

func (b *Builder) fail(err error) {
	if b.err == nil {
		b.err = err
	}
}

func (b *Builder) face(i int) []int32 {
	end := len(b.corners)
	if i+1 < len(b.start) {
		end = int(b.start[i+1])
	}
	return b.corners[b.start[i]:end]
}

// Build is BuildContext without a way to cancel.
func (b *Builder) Build(o Options) (*Mesh, Report, error) {
	return b.BuildContext(context.Background(), o)
}

// BuildContext welds the vertices, drops what is no surface, cuts polygons into
// triangles and returns the mesh with a report of what was mended. Vertices and
// faces keep their order. The builder stays as it was. It fails on an index out
// of range, on a face with too many corners and on cancellation; a mesh without
// faces is not an error.
func (b *Builder) BuildContext(ctx context.Context, o Options) (*Mesh, Report, error) {
	if b.err != nil {
		return nil, Report{}, fmt.Errorf("building mesh: %w", b.err)
	}
	if math.IsNaN(o.Weld) || math.IsInf(o.Weld, 0) {
		return nil, Report{}, fmt.Errorf("building mesh: weld distance is %v, want a finite number", o.Weld)
	}
	w := &builderRun{Builder: b, ctx: ctx, options: o}
	m, err := w.run()
	if err != nil {
		return nil, Report{}, fmt.Errorf("building mesh: %w", err)
	}
	return m, w.report, nil
}

// builderRun is the state of one BuildContext.
type builderRun struct {
	*Builder
	ctx     context.Context
	options Options
	report  Report

	used     []bool  // vertex belongs to a face without non-finite corners
	weldTo   []int32 // representative of each vertex
	rounding float64 // length below which a height is rounding error
	seams    *seams  // nil if there is none
	scratch  []int32

	triangles [][3]int32
	triPoly   []int32
	polyStart []int32
	polyVerts []int32
}

func (w *builderRun) run() (*Mesh, error) {
	steps := []struct {
		done float64
		what string
		do   func() error
	}{
		{0, "checking faces", w.check},
		{0.1, "welding vertices", w.weld},
		{0.4, "cutting faces", w.cutFaces},
	}
	for _, s := range steps {
		if err := w.tell(s.done, s.what); err != nil {
			return nil, err
		}
		if err := s.do(); err != nil {
			return nil, err
		}
	}
	m := newMesh(w.compactVertices(), w.triangles, w.triPoly, w.polyStart, w.polyVerts)
	if err := w.tell(0.7, "joining edges"); err != nil {
		return nil, err
	}
	w.report.countEdges(m.Topology())
	return m, w.tell(1, "joining edges")
}

func (w *builderRun) tell(done float64, what string) error {
	if w.options.Progress != nil {
		w.options.Progress(done, what)
	}
	return w.ctx.Err()
}

// check finds the vertices that sound faces use and fails on a bad index.
func (w *builderRun) check() error {
	n := int32(len(w.vertices))
	w.used = make([]bool, n)
	for i := range w.start {
		f := w.face(i)
		finite := true
		for _, v := range f {
			if v < 0 || v >= n {
				return fmt.Errorf("face %d uses vertex %d, but the vertices are 0 to %d", i, v, n-1)
			}
			finite = finite && isFinite(w.vertices[v])
		}
		if !finite {
			w.report.NonFinite++
			continue
		}
		for _, v := range f {
			w.used[v] = true
		}
	}
	return nil
}

// isUsed reports whether no corner of the face is missing.
func (w *builderRun) isUsed(f []int32) bool {
	for _, v := range f {
		if !w.used[v] {
			return false
		}
	}
	return true
}

// weld fills weldTo.
func (w *builderRun) weld() error {
	box, largest := emptyBox(), 0.0
	for i, p := range w.vertices {
		if w.used[i] {
			box = extend(box, p)
			largest = max(largest, math.Abs(p.X), math.Abs(p.Y), math.Abs(p.Z))
		}
	}
	diagonal := 0.0
	if box.Min.X <= box.Max.X {
		diagonal = r3.Norm(r3.Sub(box.Max, box.Min))
	}
	w.rounding = max(1e-12*diagonal, 0x1p-51*largest)
	w.weldTo = make([]int32, len(w.vertices))
	for i := range w.weldTo {
		w.weldTo[i] = int32(i)
	}
	if w.options.Weld < 0 {
		return nil
	}
	if err := w.inChunks(0.1, 0.25, newEqualTable(w.vertices).merge); err != nil {
		return err
	}
	// Below that, the distance is too small to be squared and divided by.
	if d := w.options.Weld * diagonal; d >= 0x1p-500 {
		if err := w.inChunks(0.25, 0.4, newWeldGrid(w.vertices, box.Min, d).merge); err != nil {
			return err
		}
	}
	for i, to := range w.weldTo {
		if w.used[i] && to != int32(i) {
			w.report.Welded++
		}
	}
	return nil
}

// inChunks has all used vertices merged, with a look at the context now and then.
func (w *builderRun) inChunks(from, to float64, merge func(v int32, weldTo []int32)) error {
	for i := range w.vertices {
		if w.used[i] {
			merge(int32(i), w.weldTo)
		}
		if i%weldStride == weldStride-1 {
			done := from + (to-from)*float64(i)/float64(len(w.vertices))
			if err := w.tell(done, "welding vertices"); err != nil {
				return err
			}
		}
	}
	return nil
}

// compactVertices drops the vertices that no triangle uses and renumbers the rest.
func (w *builderRun) compactVertices() []r3.Vec {
	index := make([]int32, len(w.vertices))
	for i := range w.polyVerts {
		index[w.polyVerts[i]] = 1
	}
	n := int32(0)
	for i := range index {
		if index[i] == 0 {
			if w.weldTo[i] == int32(i) {
				w.report.Unused++
			}
			continue
		}
		index[i] = n
		n++
	}
	vertices := make([]r3.Vec, n)
	for i := range w.polyVerts {
		old := w.polyVerts[i]
		vertices[index[old]] = w.vertices[old]
		w.polyVerts[i] = index[old]
	}
	for i, t := range w.triangles {
		w.triangles[i] = [3]int32{index[t[0]], index[t[1]], index[t[2]]}
	}
	return vertices
}
