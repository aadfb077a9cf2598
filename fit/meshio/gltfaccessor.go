package meshio

import (
	"fmt"
	"math"
	"slices"

	"github.com/qmuntal/gltf"
)

// accessor is a checked view of typed elements: every element lies within
// data.
type accessor struct {
	place      string
	count      int
	width      int // components of an element
	component  gltf.ComponentType
	normalized bool
	data       *section // nil: all zero
	stride     int64
	sparse     *sparseView
}

// sparseView replaces some elements.
type sparseView struct{ indices, values *accessor }

func componentSize(c gltf.ComponentType) int64 {
	switch c {
	case gltf.ComponentByte, gltf.ComponentUbyte:
		return 1
	case gltf.ComponentShort, gltf.ComponentUshort:
		return 2
	}
	return 4
}

func typeWidth(t gltf.AccessorType) int {
	switch t {
	case gltf.AccessorScalar:
		return 1
	case gltf.AccessorVec2:
		return 2
	case gltf.AccessorVec3:
		return 3
	case gltf.AccessorMat3:
		return 9
	case gltf.AccessorMat4:
		return 16
	}
	return 4
}

// accessor checks accessor i, of the given type and at most maxCount
// elements, and everything it refers to. It takes no memory for elements.
func (g *gltfReader) accessor(i int, want gltf.AccessorType, maxCount int) (*accessor, error) {
	at := place("accessors", i)
	a, ok := entry(g.doc.Accessors, i)
	if !ok {
		return nil, g.j.fail(at, "the accessor is not there", remedyExport)
	}
	if err := g.checkComponent(i); err != nil {
		return nil, err
	}
	if a.Type != want {
		return nil, g.j.fail(at, fmt.Sprintf("its type is %s where %s is needed", a.Type, want), remedyExport)
	}
	if a.Count < 1 {
		return nil, g.j.fail(at, fmt.Sprintf("its count is %d", a.Count), remedyExport)
	}
	if a.Count > maxCount {
		return nil, g.j.fail(at, fmt.Sprintf("its count of %d is more than the limit of %d", a.Count, maxCount), remedyLimits)
	}
	v := &accessor{
		place: at, count: a.Count, width: typeWidth(a.Type),
		component: a.ComponentType, normalized: a.Normalized,
	}
	if a.BufferView != nil {
		if err := g.locate(v, *a.BufferView, a.ByteOffset); err != nil {
			return nil, err
		}
	}
	if a.Sparse != nil {
		if err := g.locateSparse(v, a.Sparse); err != nil {
			return nil, err
		}
	}
	if v.data == nil && v.sparse == nil {
		return nil, g.j.fail(at, "the accessor has no data", remedyExport)
	}
	if v.data == nil && int64(v.count) > g.j.size {
		// Nothing in the file stands for that many elements.
		return nil, g.j.fail(at, fmt.Sprintf("its count of %d is more than the file has bytes", v.count), remedyExport)
	}
	return v, nil
}

// locate finds the elements within a buffer view.
func (g *gltfReader) locate(v *accessor, viewIndex, offset int) error {
	view, bv, err := g.view(viewIndex)
	if err != nil {
		return err
	}
	size := componentSize(v.component) * int64(v.width)
	v.stride = size
	if bv.ByteStride != 0 {
		if v.stride = int64(bv.ByteStride); v.stride < size || v.stride > 252 {
			return g.j.fail(place("bufferViews", viewIndex), fmt.Sprintf("its stride of %d bytes does not suit elements of %d", v.stride, size), remedyExport)
		}
	}
	n := v.stride*int64(v.count-1) + size
	data, ok := view.slice(int64(offset), n)
	if !ok {
		return g.j.fail(v.place, fmt.Sprintf("its %d elements do not fit into buffer view %d", v.count, viewIndex), remedyExport)
	}
	v.data = data
	return nil
}

func (g *gltfReader) locateSparse(v *accessor, s *gltf.Sparse) error {
	if s.Count < 1 || s.Count > v.count {
		return g.j.fail(v.place, fmt.Sprintf("it replaces %d of %d elements", s.Count, v.count), remedyExport)
	}
	indices := &accessor{place: v.place, count: s.Count, width: 1, component: s.Indices.ComponentType}
	if !isIndexType(indices.component) {
		return g.j.fail(v.place, "its sparse indices are not unsigned integers", remedyExport)
	}
	if err := g.locate(indices, s.Indices.BufferView, s.Indices.ByteOffset); err != nil {
		return err
	}
	values := &accessor{place: v.place, count: s.Count, width: v.width, component: v.component, normalized: v.normalized}
	if err := g.locate(values, s.Values.BufferView, s.Values.ByteOffset); err != nil {
		return err
	}
	v.sparse = &sparseView{indices, values}
	return nil
}

func isIndexType(c gltf.ComponentType) bool {
	return c == gltf.ComponentUbyte || c == gltf.ComponentUshort || c == gltf.ComponentUint
}

// blocks reads the elements and hands them over some thousand at a time, as
// bytes in which each element begins stride after the one before.
func (g *gltfReader) blocks(a *accessor, use func(first, n int, b []byte) error) error {
	size := componentSize(a.component) * int64(a.width)
	most := int(blockSize / a.stride)
	buf := make([]byte, a.stride*int64(min(most, a.count)))
	for first := 0; first < a.count; first += most {
		if err := g.j.tick(g.j.done, "Reading"); err != nil {
			return err
		}
		n := min(most, a.count-first)
		b := buf[:a.stride*int64(n-1)+size]
		off := a.data.off + a.stride*int64(first)
		if got, err := a.data.r.ReadAt(b, off); got < len(b) {
			return g.j.ioError(off+int64(got), err)
		}
		if err := use(first, n, b); err != nil {
			return err
		}
	}
	return nil
}

// floats returns the elements' components one after the other.
func (g *gltfReader) floats(a *accessor) ([]float64, error) {
	out := make([]float64, a.count*a.width)
	if a.data != nil {
		err := g.blocks(a, func(first, n int, b []byte) error {
			decodeFloats(out[first*a.width:(first+n)*a.width], b, a)
			return nil
		})
		if err != nil {
			return nil, err
		}
	}
	if a.sparse == nil {
		return out, nil
	}
	indices, err := g.ints(a.sparse.indices)
	if err != nil {
		return nil, err
	}
	values, err := g.floats(a.sparse.values)
	if err != nil {
		return nil, err
	}
	for k, i := range indices {
		if int(i) >= a.count {
			return nil, g.j.fail(a.place, fmt.Sprintf("it replaces element %d of %d", i, a.count), remedyExport)
		}
		copy(out[int(i)*a.width:], values[k*a.width:(k+1)*a.width])
	}
	return out, nil
}

// decodeFloats fills dst from elements a.stride apart. Normalized integers
// follow the specification: c/127 or c/32767 but not below -1, c/255, c/65535.
func decodeFloats(dst []float64, b []byte, a *accessor) {
	get, scale := componentReader(a.component)
	if !a.normalized || a.component == gltf.ComponentFloat {
		scale = 1
	}
	size := int(componentSize(a.component))
	for from := 0; len(dst) > 0; from += int(a.stride) {
		for c := range a.width {
			dst[c] = max(get(b[from+c*size:])/scale, minNormalized(a.normalized))
		}
		dst = dst[a.width:]
	}
}

func minNormalized(normalized bool) float64 {
	if normalized {
		return -1
	}
	return math.Inf(-1)
}

// componentReader returns how to read one component and what a normalized
// one is divided by.
func componentReader(c gltf.ComponentType) (get func([]byte) float64, scale float64) {
	switch c {
	case gltf.ComponentByte:
		return func(b []byte) float64 { return float64(int8(b[0])) }, 127
	case gltf.ComponentUbyte:
		return func(b []byte) float64 { return float64(b[0]) }, 255
	case gltf.ComponentShort:
		return func(b []byte) float64 { return float64(int16(le16(b))) }, 32767
	case gltf.ComponentUshort:
		return func(b []byte) float64 { return float64(le16(b)) }, 65535
	case gltf.ComponentUint:
		return func(b []byte) float64 { return float64(le32(b)) }, math.MaxUint32
	}
	return f32, 1
}

// ints returns unsigned scalars.
func (g *gltfReader) ints(a *accessor) ([]uint32, error) {
	out := make([]uint32, a.count)
	err := g.blocks(a, func(first, n int, b []byte) error {
		dst := out[first : first+n]
		switch a.component {
		case gltf.ComponentUbyte:
			for i := range dst {
				dst[i] = uint32(b[int64(i)*a.stride])
			}
		case gltf.ComponentUshort:
			for i := range dst {
				dst[i] = uint32(le16(b[int64(i)*a.stride:]))
			}
		default:
			for i := range dst {
				dst[i] = le32(b[int64(i)*a.stride:])
			}
		}
		return nil
	})
	return out, err
}

// sparseInts is ints for an accessor that may be sparse.
func (g *gltfReader) sparseInts(a *accessor) ([]uint32, error) {
	if a.sparse == nil {
		return g.ints(a)
	}
	v, err := g.floats(a) // which hold a uint32 exactly
	if err != nil {
		return nil, err
	}
	out := make([]uint32, len(v))
	for i := range v {
		out[i] = uint32(v[i])
	}
	return out, nil
}

// indices returns the vertex indexes of a primitive, all below vertices.
func (g *gltfReader) indices(i, vertices int) ([]uint32, error) {
	a, err := g.accessor(i, gltf.AccessorScalar, 3*g.j.limits.MaxTriangles)
	if err != nil {
		return nil, err
	}
	if !isIndexType(a.component) {
		return nil, g.j.fail(a.place, "indices must be unsigned integers", remedyExport)
	}
	out, err := g.sparseInts(a)
	if err != nil {
		return nil, err
	}
	if k := slices.IndexFunc(out, func(v uint32) bool { return int64(v) >= int64(vertices) }); k >= 0 {
		return nil, g.j.fail(a.place, fmt.Sprintf("index %d is vertex %d, but there are %d vertices", k, out[k], vertices), remedyExport)
	}
	return out, nil
}
