package meshio_test

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"testing/fstest"

	"pintle/fit/meshio"
)

// good returns a sound document of one triangle to spoil: accessor 0 holds
// positions, accessor 1 indices.
func good() *gltfFile {
	f := newGLTF()
	pos := accessorOf(f, "VEC3", []float32{0, 0, 0, 1, 0, 0, 0, 1, 0})
	order := accessorOf(f, "SCALAR", []uint16{0, 1, 2})
	f.mesh("m", object{"attributes": object{"POSITION": pos}, "indices": order})
	f.add(object{"mesh": 0})
	return f
}

func TestGLTFRefusals(t *testing.T) {
	part(t, decode(t, meshio.GLTF, good().glb(), meshio.Options{}))
	accessor := func(f *gltfFile, i int) object { return f.accessors[i].(object) }
	primitive := func(f *gltfFile) object { return f.meshes[0].(object)["primitives"].([]object)[0] }
	node := func(f *gltfFile) object { return f.node[0].(object) }
	for name, c := range map[string]struct {
		spoil func(f *gltfFile)
		words []string
	}{
		"version 1":             {func(f *gltfFile) { f.object["asset"] = object{"version": "1.0"} }, []string{`"1.0"`, "export the model as glTF 2.0"}},
		"draco":                 {func(f *gltfFile) { f.object["extensionsRequired"] = []string{"KHR_draco_mesh_compression"} }, []string{"Draco", "without compression"}},
		"meshopt":               {func(f *gltfFile) { f.object["extensionsRequired"] = []string{"EXT_meshopt_compression"} }, []string{"meshopt", "without compression"}},
		"unknown extension":     {func(f *gltfFile) { f.object["extensionsRequired"] = []string{"VENDOR_x"} }, []string{`"VENDOR_x"`, "export it without"}},
		"position out of range": {func(f *gltfFile) { primitive(f)["attributes"] = object{"POSITION": 9} }, []string{"accessors[9]"}},
		"negative accessor":     {func(f *gltfFile) { primitive(f)["attributes"] = object{"POSITION": -1} }, []string{"accessors[-1]"}},
		"no position":           {func(f *gltfFile) { primitive(f)["attributes"] = object{} }, []string{"meshes[0].primitives[0]", "no positions"}},
		"bad mode":              {func(f *gltfFile) { primitive(f)["mode"] = 7 }, []string{"mode 7"}},
		"null primitive":        {func(f *gltfFile) { f.meshes[0].(object)["primitives"] = []any{nil} }, []string{"null"}},
		"wrong type":            {func(f *gltfFile) { accessor(f, 0)["type"] = "VEC4" }, []string{"VEC4", "VEC3"}},
		"unknown type":          {func(f *gltfFile) { accessor(f, 0)["type"] = "VEC9" }, []string{"VEC9"}},
		"unknown component":     {func(f *gltfFile) { accessor(f, 0)["componentType"] = 5124 }, []string{"accessors[0]", "5124"}},
		"float indices":         {func(f *gltfFile) { accessor(f, 1)["componentType"] = 5126; accessor(f, 1)["count"] = 1 }, []string{"unsigned integers"}},
		"zero count":            {func(f *gltfFile) { accessor(f, 0)["count"] = 0 }, []string{"count is 0"}},
		"negative count":        {func(f *gltfFile) { accessor(f, 0)["count"] = -3 }, []string{"count is -3"}},
		"count beyond view":     {func(f *gltfFile) { accessor(f, 0)["count"] = 4 }, []string{"accessors[0]", "do not fit"}},
		"huge count":            {func(f *gltfFile) { accessor(f, 0)["count"] = math.MaxInt64 / 2 }, []string{"limit"}},
		"huge offset":           {func(f *gltfFile) { accessor(f, 0)["byteOffset"] = int64(math.MaxInt64) }, []string{"do not fit"}},
		"negative offset":       {func(f *gltfFile) { accessor(f, 0)["byteOffset"] = -4 }, []string{"do not fit"}},
		"no data":               {func(f *gltfFile) { delete(accessor(f, 0), "bufferView") }, []string{"no data"}},
		"draco without fallback": {func(f *gltfFile) {
			delete(accessor(f, 0), "bufferView")
			primitive(f)["extensions"] = object{"KHR_draco_mesh_compression": object{}}
		}, []string{"Draco", "without compression"}},
		"meshopt without fallback": {func(f *gltfFile) {
			f.object["buffers"] = []object{{"byteLength": len(f.bin)}, {"byteLength": 99}}
			f.views[0].(object)["buffer"] = 1
			f.views[0].(object)["extensions"] = object{"EXT_meshopt_compression": object{}}
		}, []string{"meshopt", "without compression"}},
		"negative view":      {func(f *gltfFile) { accessor(f, 0)["bufferView"] = -1 }, []string{"bufferViews[-1]"}},
		"null view":          {func(f *gltfFile) { f.views[0] = nil }, []string{"bufferViews[0]"}},
		"view beyond buffer": {func(f *gltfFile) { f.views[0].(object)["byteLength"] = 1 << 40 }, []string{"does not fit into buffer 0"}},
		"view overflow":      {func(f *gltfFile) { f.views[0].(object)["byteOffset"] = int64(math.MaxInt64 - 3) }, []string{"does not fit into buffer 0"}},
		"stride too small":   {func(f *gltfFile) { f.views[0].(object)["byteStride"] = 4 }, []string{"stride of 4"}},
		"stride too large":   {func(f *gltfFile) { f.views[0].(object)["byteStride"] = 1 << 30 }, []string{"stride"}},
		"no buffer":          {func(f *gltfFile) { f.views[0].(object)["buffer"] = 3 }, []string{"buffers[3]"}},
		"buffer too short":   {func(f *gltfFile) { f.object["buffers"] = []object{{"byteLength": 1 << 20}} }, []string{"buffers[0]", "1048576"}},
		"index out of range": {func(f *gltfFile) { f.bin[40] = 9 }, []string{"accessors[1]", "vertex 9", "3 vertices"}},
		"sparse beyond":      {func(f *gltfFile) { accessor(f, 0)["sparse"] = sparse(f, 1, 7) }, []string{"element 7 of 3"}},
		"sparse too many":    {func(f *gltfFile) { accessor(f, 0)["sparse"] = sparse(f, 4, 7) }, []string{"4 of 3"}},
		"sparse float indices": {func(f *gltfFile) {
			s := sparse(f, 1, 0)
			s["indices"].(object)["componentType"] = 5126
			accessor(f, 0)["sparse"] = s
		}, []string{"sparse indices"}},
		"sparse out of thin air": {func(f *gltfFile) {
			delete(accessor(f, 0), "bufferView")
			accessor(f, 0)["count"] = 30_000_000
			accessor(f, 0)["sparse"] = sparse(f, 1, 0)
		}, []string{"30000000", "bytes"}},
		"own ancestor":  {func(f *gltfFile) { node(f)["children"] = []int{0} }, []string{"nodes[0]", "its own ancestor"}},
		"ring":          {func(f *gltfFile) { node(f)["children"] = []int{1}; f.add(object{"children": []int{0}}) }, []string{"ancestor"}},
		"two parents":   {func(f *gltfFile) { f.add(object{"children": []int{0, 0}}) }, []string{"child of node 1 and of node 1"}},
		"missing child": {func(f *gltfFile) { node(f)["children"] = []int{5} }, []string{"child 5"}},
		"missing mesh":  {func(f *gltfFile) { node(f)["mesh"] = 5 }, []string{"mesh 5"}},
		"null node":     {func(f *gltfFile) { f.node = append(f.node, nil) }, []string{"nodes[1]", "null"}},
		"no rotation":   {func(f *gltfFile) { node(f)["rotation"] = []float64{0, 0, 0, 0} }, []string{"rotation has no length"}},
		"short vector":  {func(f *gltfFile) { node(f)["scale"] = []float64{2} }, []string{"scale has 1 numbers instead of 3"}},
		"projective":    {func(f *gltfFile) { node(f)["matrix"] = []float64{1, 0, 0, 1, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1} }, []string{"not affine"}},
		"overflow": {func(f *gltfFile) {
			node(f)["scale"] = []float64{1e300, 1, 1}
			node(f)["children"] = []int{1}
			f.add(object{"scale": []float64{1e300, 1, 1}})
		}, []string{"nodes[1]", "too large"}},
		"missing scene":   {func(f *gltfFile) { f.object["scenes"] = []object{{}}; f.object["scene"] = 2 }, []string{"scene 2"}},
		"missing root":    {func(f *gltfFile) { f.object["scenes"] = []object{{"nodes": []int{-1}}} }, []string{"node -1"}},
		"empty scene":     {func(f *gltfFile) { f.object["scenes"] = []object{{}} }, []string{"no faces"}},
		"missing skin":    {func(f *gltfFile) { node(f)["skin"] = 0 }, []string{"skin 0"}},
		"skin of nothing": {func(f *gltfFile) { node(f)["skin"] = 0; f.object["skins"] = []object{{"joints": []int{}}} }, []string{"no joints"}},
		"missing joint":   {func(f *gltfFile) { f.object["skins"] = []object{{"joints": []int{8}}} }, []string{"joint 8"}},
		"skin unbound":    {func(f *gltfFile) { node(f)["skin"] = 0; f.object["skins"] = []object{{"joints": []int{0}}} }, []string{"name no joints"}},
		"no instances": {func(f *gltfFile) {
			node(f)["extensions"] = object{"EXT_mesh_gpu_instancing": object{"attributes": "x"}}
		}, []string{"instances are not sound"}},
		"network buffer": {func(f *gltfFile) {
			f.object["buffers"] = []object{{"byteLength": 44, "uri": "https://example.org/a.bin"}}
		}, []string{"only files beside the model", "GLB"}},
		"bad data URI":     {func(f *gltfFile) { f.object["buffers"] = []object{{"byteLength": 44, "uri": "data:;base64,****"}} }, []string{"data: URI"}},
		"truncated base64": {func(f *gltfFile) { f.object["buffers"] = []object{{"byteLength": 44, "uri": "data:;base64,AAAA"}} }, []string{"it should have 44 bytes, it has 3"}},
	} {
		t.Run(name, func(t *testing.T) {
			f := good()
			c.spoil(f)
			refuse(t, meshio.GLTF, f.glb(), meshio.Options{Name: "bad.glb"}, append(c.words, "bad.glb")...)
		})
	}
}

func sparse(f *gltfFile, count int, at uint8) object {
	i, v := f.view([]uint8{at}), f.view([]float32{0, 0, 0})
	return object{"count": count, "indices": object{"bufferView": i, "componentType": 5121}, "values": object{"bufferView": v}}
}

func TestGLBContainerRefusals(t *testing.T) {
	sound := good().glb()
	spoilt := func(at int, v uint32) []byte {
		b := append([]byte(nil), sound...)
		binary.LittleEndian.PutUint32(b[at:], v)
		return b
	}
	for name, c := range map[string]struct {
		data  []byte
		words []string
	}{
		"version 1":     {spoilt(4, 1), []string{"version 1", "glTF 2.0"}},
		"length":        {spoilt(8, uint32(len(sound)+1)), []string{"byte 8", "cut off"}},
		"JSON length":   {spoilt(12, math.MaxUint32), []string{"byte 12", "does not fit"}},
		"first chunk":   {spoilt(16, 0x004E4942), []string{"byte 16", "not JSON"}},
		"JSON itself":   {[]byte(`{"asset":{"version":"2.0"},"nodes":[}`), []string{"byte 37"}},
		"not an object": {[]byte(`[1,2]`), []string{"not sound glTF"}},
		"type mismatch": {[]byte(`{"asset":{"version":"2.0"},"nodes":"x"}`), []string{"not sound glTF"}},
		"nothing":       {[]byte(`{"asset":{"version":"2.0"}}`), []string{"no faces"}},
		"UTF-16":        {[]byte("\xff\xfe{\x00}\x00"), []string{"UTF-8"}},
		"objects galore": {
			[]byte(`{"asset":{"version":"2.0"},"nodes":[` + strings.Repeat("{},", 2_000_000) + `{}]}`),
			[]string{"more than can be read"},
		},
		"depth": {[]byte(strings.Repeat(`{"extras":`, 50_000)), []string{"not sound glTF"}},
	} {
		t.Run(name, func(t *testing.T) {
			refuse(t, meshio.GLTF, c.data, meshio.Options{Name: "bad.glb"}, append(c.words, "bad.glb")...)
		})
	}
}

// A chain of 100,000 nodes is no recursion.
func TestGLTFDeepChain(t *testing.T) {
	const depth = 100_000
	f := good()
	f.node[0].(object)["children"] = []int{1}
	for i := 1; i < depth; i++ {
		f.add(object{"translation": []float64{0, 0, 1}, "children": []int{i + 1}})
	}
	f.add(object{"name": "end"})
	m := decode(t, meshio.GLTF, f.glb(), meshio.Options{})
	i := len(m.Nodes) - 1
	if got := m.Nodes[i]; got.Name != "end" || got.Origin.Z != depth-1 {
		t.Errorf("last node %+v, want end at z = %d", got, depth-1)
	}
	refuse(t, meshio.GLTF, f.glb(), meshio.Options{Limits: meshio.Limits{MaxNodes: depth}}, "limit of 100000", "raise the limit")
}

// Names in the document must not lead out of the model's folder.
func TestGLTFStaysInFolder(t *testing.T) {
	base := t.TempDir()
	dir := filepath.Join(base, "model")
	if err := os.Mkdir(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	f := good()
	secret := filepath.Join(base, "secret.bin")
	if err := os.WriteFile(secret, f.bin, 0o644); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(secret, filepath.Join(dir, "link.bin")); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(filepath.Join(dir, "folder.bin"), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "short.bin"), f.bin[:10], 0o644); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(dir, "m.gltf")
	for uri, words := range map[string][]string{
		"../secret.bin":         {"outside the model's folder"},
		`..\\secret.bin`:        {"outside the model's folder"},
		"a/../../secret.bin":    {"outside the model's folder"},
		"%2e%2e/secret.bin":     {"outside the model's folder"},
		"/etc/passwd":           {"outside the model's folder"},
		"file:///etc/passwd":    {"only files beside the model"},
		"//host/share/file.bin": {"only files beside the model"},
		`C:\\secret.bin`:        {"only files beside the model"},
		"nul%00.bin":            {"outside the model's folder"},
		".":                     {"outside the model's folder"},
		"link.bin":              {"cannot be opened"},
		"folder.bin":            {"not an ordinary file"},
		"missing.bin":           {"cannot be opened", "put it beside the model"},
		"short.bin":             {"it should have", "it has 10"},
	} {
		t.Run(uri, func(t *testing.T) {
			f := good()
			if err := os.WriteFile(path, f.json(strings.ReplaceAll(uri, `\\`, `\`)), 0o644); err != nil {
				t.Fatal(err)
			}
			_, err := meshio.Read(t.Context(), path, meshio.Options{})
			checkRefusal(t, err, append(words, "m.gltf", "buffers[0]")...)
		})
	}
}

// plainFS hides ReadAt, as archives do.
type plainFS struct{ fstest.MapFS }

type plainFile struct{ fs.File }

func (p plainFS) Open(name string) (fs.File, error) {
	f, err := p.MapFS.Open(name)
	return plainFile{f}, err
}

func TestGLTFCompanions(t *testing.T) {
	f := good()
	text := f.json("b.bin")
	refuse(t, meshio.GLTF, text, meshio.Options{}, "only the model was given", "GLB")
	files := fstest.MapFS{"b.bin": {Data: f.bin}}
	part(t, decode(t, meshio.GLTF, text, meshio.Options{Companions: files}))
	part(t, decode(t, meshio.GLTF, text, meshio.Options{Companions: plainFS{files}}))
	limits := meshio.Limits{MaxFileBytes: int64(len(text)) + 10}
	refuse(t, meshio.GLTF, text, meshio.Options{Companions: files, Limits: limits}, "buffers[0]", "raise the limit")
	_, err := meshio.Decode(t.Context(), strings.NewReader("{"), 1, meshio.GLTF, meshio.Options{Name: "x"})
	if e := checkRefusal(t, err, "byte 1"); errors.Unwrap(e) == nil {
		t.Error("the JSON error is lost")
	}
}

// Counts in a small file must not take memory that the file does not back.
func TestGLTFCountsTakeNoMemory(t *testing.T) {
	for name, spoil := range map[string]func(f *gltfFile){
		"positions": func(f *gltfFile) { f.accessors[0].(object)["count"] = 50_000_000 },
		"indices":   func(f *gltfFile) { f.accessors[1].(object)["count"] = 50_000_000 },
		"sparse": func(f *gltfFile) {
			delete(f.accessors[0].(object), "bufferView")
			f.accessors[0].(object)["count"] = 50_000_000
			f.accessors[0].(object)["sparse"] = sparse(f, 1, 0)
		},
		"buffer": func(f *gltfFile) { f.object["buffers"] = []object{{"byteLength": int64(1) << 50}} },
		"instances": func(f *gltfFile) {
			f.accessors = append(f.accessors, object{"componentType": 5126, "type": "VEC3", "count": 90_000, "bufferView": 0})
			f.node[0].(object)["extensions"] = object{"EXT_mesh_gpu_instancing": object{"attributes": object{"TRANSLATION": 2}}}
		},
	} {
		t.Run(name, func(t *testing.T) {
			f := good()
			spoil(f)
			data := f.glb()
			before := allocated()
			refuse(t, meshio.GLTF, data, meshio.Options{})
			if got := allocated() - before; got > 8<<20 {
				t.Errorf("%d bytes taken for a file of %d", got, len(data))
			}
		})
	}
}

// allocated is the number of bytes taken from the heap so far.
func allocated() uint64 {
	var s runtime.MemStats
	runtime.ReadMemStats(&s)
	return s.TotalAlloc
}

// Instances count against the limits one by one.
func TestGLTFInstanceLimits(t *testing.T) {
	f := good()
	f.add(object{"mesh": 0})
	f.add(object{"mesh": 0})
	for limits, word := range map[meshio.Limits]string{
		{MaxTriangles: 2}: "more than 2 triangles",
		{MaxVertices: 8}:  "more than 8 vertices",
		{MaxParts: 2}:     "more than 2 parts",
	} {
		refuse(t, meshio.GLTF, f.glb(), meshio.Options{Limits: limits}, word, "raise the limit")
	}
	m := decode(t, meshio.GLTF, f.glb(), meshio.Options{Limits: meshio.Limits{MaxTriangles: 3, MaxVertices: 9, MaxParts: 3}})
	if got, want := fmt.Sprint(partNames(m)), "[m m.2 m.3]"; got != want {
		t.Errorf("parts %s, want %s", got, want)
	}
}
