package meshio_test

import (
	"bytes"
	"cmp"
	"encoding/base64"
	"encoding/binary"
	"encoding/json"
	"errors"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	gocmp "github.com/google/go-cmp/cmp"
	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
	"pintle/fit/meshio"
)

const fixtures = "../../testdata/meshio"

// fixture returns the content of a file in testdata/meshio.
func fixture(t testing.TB, name string) []byte {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(fixtures, name))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// decode reads data and fails the test where that fails.
func decode(t testing.TB, format meshio.Format, data []byte, opt meshio.Options) *mesh.Model {
	t.Helper()
	m, err := meshio.Decode(t.Context(), bytes.NewReader(data), int64(len(data)), format, opt)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// refuse reads data and wants a refusal that says all of the words.
func refuse(t testing.TB, format meshio.Format, data []byte, opt meshio.Options, words ...string) *meshio.Error {
	t.Helper()
	m, err := meshio.Decode(t.Context(), bytes.NewReader(data), int64(len(data)), format, opt)
	if err == nil {
		t.Fatalf("no error, but a model of %d parts", len(m.Parts))
	}
	return checkRefusal(t, err, words...)
}

// checkRefusal wants one clear sentence: file, what is wrong, remedy.
func checkRefusal(t testing.TB, err error, words ...string) *meshio.Error {
	t.Helper()
	var e *meshio.Error
	if !errors.As(err, &e) {
		t.Fatalf("error %v is a %T, want *meshio.Error", err, err)
	}
	text := e.Error()
	if e.File == "" || e.What == "" || e.Remedy == "" {
		t.Errorf("%q lacks file, fault or remedy", text)
	}
	if strings.ContainsAny(text, "\n\r") || len(text) > 400 {
		t.Errorf("%q is not one clear sentence", text)
	}
	for _, w := range words {
		if !strings.Contains(text, w) {
			t.Errorf("%q does not say %q", text, w)
		}
	}
	return e
}

// part returns the only part of m, or the named one.
func part(t testing.TB, m *mesh.Model, name ...string) *mesh.Mesh {
	t.Helper()
	if len(name) == 0 {
		if len(m.Parts) != 1 {
			t.Fatalf("%d parts, want 1", len(m.Parts))
		}
		return m.Parts[0].Mesh
	}
	i := m.Find(name[0])
	if i < 0 {
		t.Fatalf("no part %q among %q", name[0], partNames(m))
	}
	return m.Parts[i].Mesh
}

func partNames(m *mesh.Model) []string {
	var names []string
	for _, p := range m.Parts {
		names = append(names, p.Name)
	}
	return names
}

// corners lists the triangles by position, each turned so that its least
// corner comes first, in a fixed order: equal lists mean equal oriented soups.
func corners(m *mesh.Mesh) [][3]r3.Vec {
	var out [][3]r3.Vec
	for t := range m.Triangles() {
		a, b, c := m.Corners(t)
		out = append(out, turned([3]r3.Vec{a, b, c}))
	}
	slices.SortFunc(out, func(a, b [3]r3.Vec) int {
		return cmp.Or(compareVec(a[0], b[0]), compareVec(a[1], b[1]), compareVec(a[2], b[2]))
	})
	return out
}

func turned(t [3]r3.Vec) [3]r3.Vec {
	for range 2 {
		if compareVec(t[0], t[1]) > 0 || compareVec(t[0], t[2]) > 0 {
			t = [3]r3.Vec{t[1], t[2], t[0]}
		}
	}
	return t
}

func compareVec(a, b r3.Vec) int {
	return cmp.Or(cmp.Compare(a.X, b.X), cmp.Compare(a.Y, b.Y), cmp.Compare(a.Z, b.Z))
}

// sameTriangles compares with a tolerance for each coordinate.
func sameTriangles(t testing.TB, got *mesh.Mesh, want [][3]r3.Vec, tol float64) {
	t.Helper()
	for i := range want {
		want[i] = turned(want[i])
	}
	slices.SortFunc(want, func(a, b [3]r3.Vec) int {
		return cmp.Or(compareVec(a[0], b[0]), compareVec(a[1], b[1]), compareVec(a[2], b[2]))
	})
	near := gocmp.Comparer(func(a, b float64) bool { return math.Abs(a-b) <= tol })
	if diff := gocmp.Diff(want, corners(got), near); diff != "" {
		t.Errorf("triangles differ (-want +got):\n%s", diff)
	}
}

// volume is the enclosed volume, positive where the triangles face outwards.
func volume(m *mesh.Mesh) float64 {
	v := 0.0
	for t := range m.Triangles() {
		a, b, c := m.Corners(t)
		v += r3.Dot(a, r3.Cross(b, c))
	}
	return v / 6
}

func within(t testing.TB, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s is %v, want %v within %v", what, got, want, tol)
	}
}

// hasNote wants a note that says all of the words.
func hasNote(t testing.TB, m *mesh.Model, words ...string) {
	t.Helper()
	for _, n := range m.Notes {
		if !slices.ContainsFunc(words, func(w string) bool { return !strings.Contains(n, w) }) {
			return
		}
	}
	t.Errorf("no note says %q among %q", words, m.Notes)
}

type object = map[string]any

// gltfFile builds a glTF document by hand, apart from the library that reads
// it.
type gltfFile struct {
	object
	bin                            []byte
	views, accessors, meshes, node []any
}

func newGLTF() *gltfFile {
	return &gltfFile{object: object{"asset": object{"version": "2.0"}}}
}

// bytesView appends little-endian values as a buffer view.
func (f *gltfFile) view(values any) int {
	for len(f.bin)%4 != 0 {
		f.bin = append(f.bin, 0)
	}
	at := len(f.bin)
	f.bin, _ = binary.Append(f.bin, binary.LittleEndian, values)
	f.views = append(f.views, object{"buffer": 0, "byteOffset": at, "byteLength": len(f.bin) - at})
	return len(f.views) - 1
}

var componentTypes = map[string]int{"int8": 5120, "uint8": 5121, "int16": 5122, "uint16": 5123, "uint32": 5125, "float32": 5126}

var widths = map[string]int{"SCALAR": 1, "VEC3": 3, "VEC4": 4, "MAT4": 16}

// accessor appends an accessor over a view of its own. more overrides keys.
func accessorOf[T any](f *gltfFile, kind string, values []T, more ...object) int {
	a := object{
		"bufferView": f.view(values), "type": kind, "count": len(values) / widths[kind],
		"componentType": componentTypes[strings.TrimPrefix(gotype(values), "[]")],
	}
	for _, m := range more {
		for k, v := range m {
			a[k] = v
		}
	}
	f.accessors = append(f.accessors, a)
	return len(f.accessors) - 1
}

func gotype(v any) string {
	switch v.(type) {
	case []int8:
		return "[]int8"
	case []uint8:
		return "[]uint8"
	case []int16:
		return "[]int16"
	case []uint16:
		return "[]uint16"
	case []uint32:
		return "[]uint32"
	}
	return "[]float32"
}

// mesh appends a mesh and returns its index.
func (f *gltfFile) mesh(name string, primitives ...object) int {
	f.meshes = append(f.meshes, object{"name": name, "primitives": primitives})
	return len(f.meshes) - 1
}

// triangle appends the mesh of one triangle (0,0,0) (1,0,0) (0,1,0).
func (f *gltfFile) triangle(name string) int {
	p := accessorOf(f, "VEC3", []float32{0, 0, 0, 1, 0, 0, 0, 1, 0})
	return f.mesh(name, object{"attributes": object{"POSITION": p}})
}

func (f *gltfFile) add(node object) int {
	f.node = append(f.node, node)
	return len(f.node) - 1
}

func (f *gltfFile) json(uri string) []byte {
	for key, list := range map[string][]any{"bufferViews": f.views, "accessors": f.accessors, "meshes": f.meshes, "nodes": f.node} {
		if _, set := f.object[key]; !set && len(list) > 0 {
			f.object[key] = list
		}
	}
	if _, set := f.object["buffers"]; !set && len(f.bin) > 0 {
		b := object{"byteLength": len(f.bin)}
		if uri != "" {
			b["uri"] = uri
		}
		f.object["buffers"] = []any{b}
	}
	text, err := json.Marshal(f.object)
	if err != nil {
		panic(err)
	}
	return text
}

// gltf returns the document with its buffer inside.
func (f *gltfFile) gltf() []byte {
	return f.json("data:application/octet-stream;base64," + base64.StdEncoding.EncodeToString(f.bin))
}

func (f *gltfFile) glb() []byte { return glbOf(f.json(""), f.bin) }

// glbOf joins a GLB by hand (glTF 2.0 specification, chapter 4).
func glbOf(text, bin []byte) []byte {
	for len(text)%4 != 0 {
		text = append(text, ' ')
	}
	bin = slices.Clone(bin)
	for len(bin)%4 != 0 {
		bin = append(bin, 0)
	}
	le := binary.LittleEndian
	out := append([]byte("glTF"), 2, 0, 0, 0)
	out = le.AppendUint32(out, uint32(12+8+len(text)+8+len(bin)))
	out = append(le.AppendUint32(out, uint32(len(text))), "JSON"...)
	out = append(out, text...)
	out = append(le.AppendUint32(out, uint32(len(bin))), "BIN\x00"...)
	return append(out, bin...)
}
