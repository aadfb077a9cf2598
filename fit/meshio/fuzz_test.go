package meshio_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"maps"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pintle/fit/mesh"
	"pintle/fit/meshio"
)

// fuzzLimits keep one try short; that they hold is part of what is tested.
var fuzzLimits = meshio.Limits{MaxFileBytes: 1 << 20, MaxTriangles: 20_000, MaxVertices: 60_000, MaxParts: 200, MaxNodes: 5_000, MaxCorners: 500}

// fuzz feeds data to one reader: no panic, an error is one clear sentence, a
// model is sound and within the limits.
func fuzz(f *testing.F, format meshio.Format, fixtures ...string) {
	for name, data := range samples(f) {
		if strings.HasPrefix(name, string(format)) || format == meshio.GLTF && name == "GLB" {
			f.Add(data)
		}
	}
	for _, name := range fixtures {
		f.Add(fixture(f, name))
	}
	f.Fuzz(func(t *testing.T, data []byte) { checkHostile(t, format, data) })
}

// checkHostile reads data that may be anything.
func checkHostile(t *testing.T, format meshio.Format, data []byte) {
	t.Helper()
	m, err := meshio.Decode(t.Context(), bytes.NewReader(data), int64(len(data)), format, meshio.Options{Name: "fuzz", Limits: fuzzLimits})
	if err == nil {
		checkModel(t, m, fuzzLimits)
		return
	}
	var e *meshio.Error
	if !errors.As(err, &e) || e.What == "" || len(err.Error()) > 1000 {
		t.Fatalf("not a clear refusal: %v", err)
	}
}

// checkModel wants what every model must be.
func checkModel(t *testing.T, m *mesh.Model, limits meshio.Limits) {
	t.Helper()
	triangles, names := 0, map[string]bool{}
	if len(m.Parts) == 0 || len(m.Parts) > limits.MaxParts || len(m.Nodes) > limits.MaxNodes {
		t.Fatalf("%d parts, %d nodes", len(m.Parts), len(m.Nodes))
	}
	for _, p := range m.Parts {
		if p.Name == "" || names[p.Name] || strings.ContainsAny(p.Name, "\n\r\x00") {
			t.Fatalf("part name %q", p.Name)
		}
		names[p.Name] = true
		n := len(p.Mesh.Vertices())
		triangles += len(p.Mesh.Triangles())
		if len(p.Mesh.Triangles()) == 0 {
			t.Fatalf("part %q has no triangles", p.Name)
		}
		for _, v := range p.Mesh.Vertices() {
			if s := v.X + v.Y + v.Z; math.IsNaN(s) || math.IsInf(s, 0) {
				t.Fatalf("vertex %v", v)
			}
		}
		for _, tri := range p.Mesh.Triangles() {
			for _, v := range tri {
				if v < 0 || int(v) >= n {
					t.Fatalf("triangle %v of %d vertices", tri, n)
				}
			}
		}
	}
	for i, n := range m.Nodes {
		if n.Parent >= i || n.Parent < -1 {
			t.Fatalf("node %d has parent %d", i, n.Parent)
		}
	}
	if triangles > limits.MaxTriangles || m.Unit.Millimetres() == 0 || m.Up == "" {
		t.Fatalf("%d triangles, unit %q, up %q", triangles, m.Unit, m.Up)
	}
}

func FuzzGLB(f *testing.F) { fuzz(f, meshio.GLTF) }

// FuzzGLTFDocument spares the fuzzer the lengths that a GLB states.
func FuzzGLTFDocument(f *testing.F) {
	for _, d := range []*gltfFile{good(), rich()} {
		f.Add(d.json(""), d.bin)
	}
	f.Fuzz(func(t *testing.T, text, bin []byte) { checkHostile(t, meshio.GLTF, glbOf(text, bin)) })
}

// rich is a document that uses all that is read: nested nodes, a skin, morph
// targets, instances, sparse data, strips.
func rich() *gltfFile {
	f := newGLTF()
	pos := accessorOf(f, "VEC3", []float32{0, 0, 0, 1, 0, 0, 0, 1, 0, 1, 1, 0})
	accessorOf(f, "SCALAR", []uint16{0, 1, 2, 1, 3, 2})
	joints := accessorOf(f, "VEC4", []uint8{0, 1, 0, 0, 0, 1, 0, 0, 1, 0, 0, 0, 1, 1, 1, 1})
	weights := accessorOf(f, "VEC4", []float32{1, 0, 0, 0, .5, .5, 0, 0, 1, 0, 0, 0, 1, 0, 0, 0})
	bind := accessorOf(f, "MAT4", []float32{1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 2, 0, 1})
	turn := accessorOf(f, "VEC4", []int16{0, 0, 0, 32767, 0, 0, 23170, 23170}, object{"normalized": true})
	shift := accessorOf(f, "VEC3", []float32{0, 0, 1, 0, 0, 2})
	at, to := f.view([]uint8{3}), f.view([]float32{1, 2, 3})
	f.accessors = append(f.accessors, object{"componentType": 5126, "type": "VEC3", "count": 4, "sparse": object{
		"count": 1, "indices": object{"bufferView": at, "componentType": 5121, "byteOffset": 0}, "values": object{"bufferView": to, "byteOffset": 0},
	}})
	morph := len(f.accessors) - 1
	plain := f.mesh("plain", object{"attributes": object{"POSITION": pos}, "indices": 1, "mode": 4},
		object{"attributes": object{"POSITION": pos}, "mode": 5, "targets": []object{{"POSITION": morph}}})
	f.meshes[plain].(object)["weights"] = []float64{0.5}
	skinned := f.mesh("skinned", object{"attributes": object{"POSITION": pos, "JOINTS_0": joints, "WEIGHTS_0": weights}, "mode": 6})
	f.add(object{"name": "root", "children": []int{1, 2, 3}, "matrix": []float64{1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 5, 6, 7, 1}})
	f.add(object{"name": "joint", "children": []int{4}, "rotation": []float64{0, 0, 0, 1}, "scale": []float64{1, 1, -1}, "translation": []float64{1, 2, 3}})
	f.add(object{"name": "skin", "mesh": skinned, "skin": 0})
	f.add(object{"name": "many", "mesh": plain, "extensions": object{"EXT_mesh_gpu_instancing": object{"attributes": object{"ROTATION": turn, "TRANSLATION": shift}}}})
	f.add(object{"name": "tip", "mesh": plain, "weights": []float64{1}})
	f.object["skins"] = []object{{"joints": []int{1, 4}, "inverseBindMatrices": bind, "skeleton": 1}}
	f.object["scenes"] = []object{{"nodes": []int{0}}}
	f.object["scene"] = 0
	f.object["extensionsUsed"] = []string{"EXT_mesh_gpu_instancing"}
	f.object["extensionsRequired"] = []string{"EXT_mesh_gpu_instancing"}
	return f
}

// Every value in a rich document, replaced by each of a list of nasty ones or
// taken away.
func TestSpoiltDocument(t *testing.T) {
	f := rich()
	m := decode(t, meshio.GLTF, f.glb(), meshio.Options{})
	if got := len(m.Parts); got != 4 {
		t.Fatalf("the sound document has %d parts, want 4", got)
	}
	var document any
	if err := json.Unmarshal(f.json(""), &document); err != nil {
		t.Fatal(err)
	}
	tries := 0
	try := func() {
		text, err := json.Marshal(document)
		if err != nil {
			t.Fatal(err)
		}
		tries++
		checkHostile(t, meshio.GLTF, glbOf(text, f.bin))
	}
	nasty := []any{nil, true, -1, 0, 1, 2, 7, 255, 65536, 1 << 31, 1 << 40, math.MaxInt64, -1 << 62, 0.5, 1e300, "x", []any{}, []any{nil}, []any{0, 0}, object{}, object{"x": nil}}
	var walk func(v any)
	walk = func(v any) {
		switch v := v.(type) {
		case object:
			for _, k := range slices.Sorted(maps.Keys(v)) {
				old := v[k]
				for _, n := range nasty {
					v[k] = n
					try()
				}
				delete(v, k)
				try()
				v[k] = old
				walk(old)
			}
		case []any:
			for i, old := range v {
				for _, n := range nasty {
					v[i] = n
					try()
				}
				v[i] = old
				walk(old)
			}
		}
	}
	walk(document)
	if tries < 3000 {
		t.Errorf("%d tries, the document is not rich", tries)
	}
}

func FuzzOBJ(f *testing.F) { fuzz(f, meshio.OBJ, "cube.obj", "cube_negative.obj") }

func FuzzSTL(f *testing.F) { fuzz(f, meshio.STL) }

func FuzzPLY(f *testing.F) { fuzz(f, meshio.PLY) }

// TestSoundFixtures reads every fixture through the front door.
func TestSoundFixtures(t *testing.T) {
	entries, err := os.ReadDir(fixtures)
	if err != nil {
		t.Fatal(err)
	}
	read := 0
	for _, e := range entries {
		if meshio.FormatOf(e.Name()) == "" {
			continue
		}
		m, err := meshio.Read(context.Background(), filepath.Join(fixtures, e.Name()), meshio.Options{})
		if err != nil {
			t.Error(err)
			continue
		}
		checkModel(t, m, fuzzLimits)
		read++
	}
	if read < 6 {
		t.Errorf("%d fixtures read, want at least 6", read)
	}
}
