package meshio_test

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
	"pintle/fit/meshio"
)

func vec(x, y, z float64) r3.Vec { return r3.Vec{X: x, Y: y, Z: z} }

// unitTriangle is what gltfFile.triangle holds.
func unitTriangle() [][3]r3.Vec { return [][3]r3.Vec{{vec(0, 0, 0), vec(1, 0, 0), vec(0, 1, 0)}} }

// Khronos, glTF Tutorials, "A Minimal glTF File".
func TestGLTFMinimalTriangle(t *testing.T) {
	m := decode(t, "", fixture(t, "triangle.gltf"), meshio.Options{Name: "triangle.gltf"})
	sameTriangles(t, part(t, m, "triangle"), unitTriangle(), 0)
	if m.Unit != mesh.Metre || m.Up != mesh.UpY {
		t.Errorf("unit %s, up %s, want m, Y", m.Unit, m.Up)
	}
	if len(m.Nodes) != 0 || len(m.Notes) != 0 {
		t.Errorf("nodes %v, notes %q, want none", m.Nodes, m.Notes)
	}
}

// Khronos, glTF Tutorials, "Buffers, BufferViews, and Accessors": three of 14
// positions are replaced.
func TestGLTFSparseAccessor(t *testing.T) {
	m := part(t, decode(t, meshio.GLTF, fixture(t, "sparse.gltf"), meshio.Options{}))
	if n := len(m.Triangles()); n != 12 {
		t.Errorf("%d triangles, want 12", n)
	}
	var want []r3.Vec
	for x := range 7 {
		want = append(want, vec(float64(x), 0, 0), vec(float64(x), 1, 0))
	}
	for i, p := range want {
		switch p {
		case vec(1, 1, 0):
			want[i] = vec(1, 2, 0)
		case vec(3, 1, 0):
			want[i] = vec(3, 3, 0)
		case vec(5, 1, 0):
			want[i] = vec(5, 4, 0)
		}
	}
	got := slices.SortedFunc(slices.Values(m.Vertices()), compareVec)
	slices.SortFunc(want, compareVec)
	if !slices.Equal(got, want) {
		t.Errorf("positions %v, want %v", got, want)
	}
}

// Rotations: 120 degrees about (1,1,1) is (0.5,0.5,0.5,0.5) and takes x to y, y to
// z, z to x; 180 degrees about (1,2,2)/3 is (1/3,2/3,2/3,0) with the matrix
// [-7 4 4; 4 -1 8; 4 8 -1]/9 (closed form: 2 n n' - 1).
func TestGLTFTransforms(t *testing.T) {
	for _, c := range []struct {
		name string
		node object
		want [3]r3.Vec
	}{
		{"translation", object{"translation": []float64{1, 2, 3}}, [3]r3.Vec{vec(1, 2, 3), vec(2, 2, 3), vec(1, 3, 3)}},
		{"rotation 120", object{"rotation": []float64{.5, .5, .5, .5}}, [3]r3.Vec{vec(0, 0, 0), vec(0, 1, 0), vec(0, 0, 1)}},
		{"rotation 180", object{"rotation": []float64{1. / 3, 2. / 3, 2. / 3, 0}}, [3]r3.Vec{vec(0, 0, 0), vec(-7./9, 4./9, 4./9), vec(4./9, -1./9, 8./9)}},
		{"rotation not of length one", object{"rotation": []float64{2, 2, 2, 2}}, [3]r3.Vec{vec(0, 0, 0), vec(0, 1, 0), vec(0, 0, 1)}},
		{"scale", object{"scale": []float64{2, 3, 4}}, [3]r3.Vec{vec(0, 0, 0), vec(2, 0, 0), vec(0, 3, 0)}},
		{"T R S", object{"translation": []float64{10, 0, 0}, "rotation": []float64{.5, .5, .5, .5}, "scale": []float64{2, 3, 4}}, [3]r3.Vec{vec(10, 0, 0), vec(10, 2, 0), vec(10, 0, 3)}},
		{"matrix", object{"matrix": []float64{0, 1, 0, 0, 0, 0, 1, 0, 1, 0, 0, 0, 5, 6, 7, 1}}, [3]r3.Vec{vec(5, 6, 7), vec(5, 7, 7), vec(5, 6, 8)}},
		{"mirrored", object{"scale": []float64{-1, 1, 1}}, [3]r3.Vec{vec(0, 0, 0), vec(0, 1, 0), vec(-1, 0, 0)}},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := newGLTF()
			c.node["mesh"] = f.triangle("")
			f.add(c.node)
			m := decode(t, meshio.GLTF, f.glb(), meshio.Options{})
			sameTriangles(t, part(t, m), [][3]r3.Vec{c.want}, 1e-15*20)
		})
	}
}

// A chain of nodes composes, a mirrored ancestor turns the winding once, and
// two mirrors cancel.
func TestGLTFNesting(t *testing.T) {
	f := newGLTF()
	tri := f.triangle("tri")
	f.add(object{"name": "mirror", "scale": []float64{1, 1, -1}, "children": []int{1}})
	f.add(object{"name": "inside", "translation": []float64{0, 0, 4}, "mesh": tri, "children": []int{2}})
	f.add(object{"name": "twice", "scale": []float64{-1, 1, 1}, "mesh": tri})
	m := decode(t, meshio.GLTF, f.glb(), meshio.Options{})
	sameTriangles(t, part(t, m, "inside"), [][3]r3.Vec{{vec(0, 0, -4), vec(0, 1, -4), vec(1, 0, -4)}}, 0)
	sameTriangles(t, part(t, m, "twice"), [][3]r3.Vec{{vec(0, 0, -4), vec(-1, 0, -4), vec(0, 1, -4)}}, 0)
	if len(m.Nodes) != 1 || m.Nodes[0].Name != "mirror" || m.Nodes[0].Axes[2] != vec(0, 0, -1) {
		t.Errorf("nodes %+v, want the mirror alone with z down", m.Nodes)
	}
}

func TestGLTFInstancesAndNames(t *testing.T) {
	f := newGLTF()
	tri := f.triangle("bolt")
	f.add(object{"mesh": tri})
	f.add(object{"mesh": tri, "translation": []float64{1, 0, 0}})
	f.add(object{"mesh": tri, "name": "bolt.2"})
	f.add(object{"mesh": tri, "name": "head\nof\x00 screw"})
	m := decode(t, meshio.GLTF, f.gltf(), meshio.Options{})
	if got, want := partNames(m), []string{"bolt", "bolt.3", "bolt.2", "head of screw"}; !slices.Equal(got, want) {
		t.Errorf("names %q, want %q", got, want)
	}
	for i := range m.Parts {
		if n := len(m.Parts[i].Mesh.Triangles()); n != 1 {
			t.Errorf("part %d has %d triangles, want 1", i, n)
		}
	}
}

func TestGLTFGPUInstancing(t *testing.T) {
	f := newGLTF()
	tri := f.triangle("bolt")
	at := accessorOf(f, "VEC3", []float32{1, 0, 0, 2, 0, 0, 3, 0, 0})
	// 90 degrees about z, as normalized bytes as near as they come.
	turn := accessorOf(f, "VEC4", []int8{0, 0, 0, 127, 0, 0, 90, 90, 0, 0, 127, 0}, object{"normalized": true})
	f.add(object{
		"mesh": tri, "translation": []float64{0, 0, 5},
		"extensions": object{"EXT_mesh_gpu_instancing": object{"attributes": object{"TRANSLATION": at, "ROTATION": turn}}},
	})
	f.object["extensionsRequired"] = []string{"EXT_mesh_gpu_instancing"}
	m := decode(t, meshio.GLTF, f.glb(), meshio.Options{})
	sameTriangles(t, part(t, m, "bolt"), [][3]r3.Vec{{vec(1, 0, 5), vec(2, 0, 5), vec(1, 1, 5)}}, 0)
	sameTriangles(t, part(t, m, "bolt.2"), [][3]r3.Vec{{vec(2, 0, 5), vec(2, 1, 5), vec(1, 0, 5)}}, 1e-15)
	sameTriangles(t, part(t, m, "bolt.3"), [][3]r3.Vec{{vec(3, 0, 5), vec(2, 0, 5), vec(3, -1, 5)}}, 1e-15)
}

// Winding of strips and fans: glTF 2.0 specification, section 3.7.2.1.
func TestGLTFModes(t *testing.T) {
	points := []float32{0, 0, 0, 1, 0, 0, 0, 1, 0, 1, 1, 0, 0, 2, 0}
	p := [5]r3.Vec{vec(0, 0, 0), vec(1, 0, 0), vec(0, 1, 0), vec(1, 1, 0), vec(0, 2, 0)}
	for mode, want := range map[int][][3]r3.Vec{
		5: {{p[0], p[1], p[2]}, {p[1], p[3], p[2]}, {p[2], p[3], p[4]}},
		6: {{p[1], p[2], p[0]}, {p[2], p[3], p[0]}, {p[3], p[4], p[0]}},
		4: {{p[0], p[1], p[2]}},
	} {
		t.Run(fmt.Sprint(mode), func(t *testing.T) {
			f := newGLTF()
			pos := accessorOf(f, "VEC3", points)
			f.add(object{"mesh": f.mesh("m", object{"mode": mode, "attributes": object{"POSITION": pos}})})
			m := decode(t, meshio.GLTF, f.glb(), meshio.Options{})
			sameTriangles(t, part(t, m), want, 0)
			if mode == 4 {
				hasNote(t, m, "left-over corners")
			}
		})
	}
	t.Run("stitched strip", func(t *testing.T) {
		f := newGLTF()
		pos := accessorOf(f, "VEC3", points)
		order := accessorOf(f, "SCALAR", []uint8{0, 1, 2, 2, 2, 3, 4})
		f.add(object{"mesh": f.mesh("m", object{"mode": 5, "indices": order, "attributes": object{"POSITION": pos}})})
		m := decode(t, meshio.GLTF, f.glb(), meshio.Options{})
		sameTriangles(t, part(t, m), [][3]r3.Vec{{p[0], p[1], p[2]}, {p[2], p[3], p[4]}}, 0)
		if len(m.Notes) != 0 {
			t.Errorf("notes %q, want none", m.Notes)
		}
	})
	t.Run("lines and points", func(t *testing.T) {
		f := newGLTF()
		pos := accessorOf(f, "VEC3", points)
		at := object{"POSITION": pos}
		f.add(object{"mesh": f.mesh("m", object{"mode": 1, "attributes": at}, object{"attributes": at}, object{"mode": 0, "attributes": at})})
		m := decode(t, meshio.GLTF, f.glb(), meshio.Options{})
		sameTriangles(t, part(t, m), [][3]r3.Vec{{p[0], p[1], p[2]}}, 0)
		hasNote(t, m, "2 primitives of points or lines")
	})
}

// Every component type of indices and positions; normalized integers as the
// glTF 2.0 specification, section 3.6.2.2, has them: c/127, c/255, c/32767,
// c/65535, signed ones not below -1.
func TestGLTFComponentTypes(t *testing.T) {
	indices := map[string]func(f *gltfFile) int{
		"uint8":  func(f *gltfFile) int { return accessorOf(f, "SCALAR", []uint8{2, 0, 1}) },
		"uint16": func(f *gltfFile) int { return accessorOf(f, "SCALAR", []uint16{2, 0, 1}) },
		"uint32": func(f *gltfFile) int { return accessorOf(f, "SCALAR", []uint32{2, 0, 1}) },
		"sparse": func(f *gltfFile) int {
			at, to := f.view([]uint8{0, 2}), f.view([]uint16{2, 1})
			return accessorOf(f, "SCALAR", []uint16{9, 0, 9}, object{"sparse": object{
				"count":   2,
				"indices": object{"bufferView": at, "componentType": 5121}, "values": object{"bufferView": to},
			}})
		},
	}
	normalized := object{"normalized": true}
	positions := map[string]func(f *gltfFile) int{
		"float": func(f *gltfFile) int { return accessorOf(f, "VEC3", []float32{-1, 0, 0, 1, 0, 0, 0, 1, 0}) },
		"int8":  func(f *gltfFile) int { return accessorOf(f, "VEC3", []int8{-1, 0, 0, 1, 0, 0, 0, 1, 0}) },
		"int16": func(f *gltfFile) int { return accessorOf(f, "VEC3", []int16{-1, 0, 0, 1, 0, 0, 0, 1, 0}) },
		"int8 normalized": func(f *gltfFile) int {
			return accessorOf(f, "VEC3", []int8{-128, 0, 0, 127, 0, 0, 0, 127, 0}, normalized)
		},
		"int16 normalized": func(f *gltfFile) int {
			return accessorOf(f, "VEC3", []int16{-32768, 0, 0, 32767, 0, 0, 0, 32767, 0}, normalized)
		},
		"uint8 normalized": func(f *gltfFile) int {
			return accessorOf(f, "VEC3", []uint8{0, 0, 0, 255, 0, 0, 51, 255, 0}, normalized)
		},
		"uint16 normalized": func(f *gltfFile) int {
			return accessorOf(f, "VEC3", []uint16{0, 0, 0, 65535, 0, 0, 13107, 65535, 0}, normalized)
		},
	}
	want := [3]r3.Vec{vec(-1, 0, 0), vec(1, 0, 0), vec(0, 1, 0)}
	unsigned := [3]r3.Vec{vec(0, 0, 0), vec(1, 0, 0), vec(0.2, 1, 0)}
	for iName, i := range indices {
		for pName, p := range positions {
			t.Run(iName+"/"+pName, func(t *testing.T) {
				f := newGLTF()
				pos, order := p(f), i(f)
				f.add(object{"mesh": f.mesh("m", object{"indices": order, "attributes": object{"POSITION": pos}})})
				f.object["extensionsRequired"] = []string{"KHR_mesh_quantization"}
				w := want
				if pName[0] == 'u' {
					w = unsigned
				}
				sameTriangles(t, part(t, decode(t, meshio.GLTF, f.glb(), meshio.Options{})), [][3]r3.Vec{w}, 0)
			})
		}
	}
}

// Interleaved attributes share a view with a stride.
func TestGLTFInterleaved(t *testing.T) {
	f := newGLTF()
	v := f.view([]float32{0, 0, 1, 0, 0, 0, 0, 0, 1, 1, 0, 0, 0, 0, 1, 0, 1, 0})
	f.views[v].(object)["byteStride"] = 24
	f.accessors = append(f.accessors, object{"bufferView": v, "byteOffset": 12, "componentType": 5126, "type": "VEC3", "count": 3})
	f.add(object{"mesh": f.mesh("m", object{"attributes": object{"POSITION": 0}})})
	sameTriangles(t, part(t, decode(t, meshio.GLTF, f.glb(), meshio.Options{})), unitTriangle(), 0)
}

func TestGLTFMorphTargets(t *testing.T) {
	f := newGLTF()
	pos := accessorOf(f, "VEC3", []float32{0, 0, 0, 1, 0, 0, 0, 1, 0})
	up := accessorOf(f, "VEC3", []float32{0, 0, 1, 0, 0, 1, 0, 0, 1})
	// No view of its own: zero but for one vertex (sparse).
	at, to := f.view([]uint8{1}), f.view([]float32{4, 0, 0})
	f.accessors = append(f.accessors, object{"componentType": 5126, "type": "VEC3", "count": 3, "sparse": object{
		"count": 1, "indices": object{"bufferView": at, "componentType": 5121}, "values": object{"bufferView": to},
	}})
	targets := []object{{"POSITION": up}, {"POSITION": 2}}
	m := f.mesh("m", object{"attributes": object{"POSITION": pos}, "targets": targets})
	f.meshes[m].(object)["weights"] = []float64{0.5, 0}
	f.add(object{"name": "mesh's", "mesh": m})
	f.add(object{"name": "node's", "mesh": m, "weights": []float64{0, 0.25}})
	got := decode(t, meshio.GLTF, f.glb(), meshio.Options{})
	sameTriangles(t, part(t, got, "mesh's"), [][3]r3.Vec{{vec(0, 0, .5), vec(1, 0, .5), vec(0, 1, .5)}}, 0)
	sameTriangles(t, part(t, got, "node's"), [][3]r3.Vec{{vec(0, 0, 0), vec(2, 0, 0), vec(0, 1, 0)}}, 0)
}

// The joint at T(1,2,3) Rz(90) has the inverse bind matrix with rows [0 1 0 -2;
// -1 0 0 1; 0 0 1 -3; 0 0 0 1]. At rest the product is the identity, so the rest
// vertex stays; the skinned node's own transform is ignored (glTF 2.0
// specification, section 3.7.3.3).
func TestGLTFSkin(t *testing.T) {
	build := func(turn float64) *mesh.Model {
		f := newGLTF()
		pos := accessorOf(f, "VEC3", []float32{0, 0, 0, 1, 0, 0, 0, 1, 0})
		joints := accessorOf(f, "VEC4", []uint8{0, 1, 0, 0, 0, 1, 0, 0, 1, 0, 0, 0})
		weights := accessorOf(f, "VEC4", []float32{0, 0, 0, 0, 0.5, 0.5, 0, 0, 2, 0, 0, 0})
		bind := accessorOf(f, "MAT4", []float32{
			0, -1, 0, 0, 1, 0, 0, 0, 0, 0, 1, 0, -2, 1, -3, 1,
			1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1,
		})
		s := math.Sin(turn / 2)
		f.add(object{"name": "skinned", "mesh": f.mesh("m", object{"attributes": object{"POSITION": pos, "JOINTS_0": joints, "WEIGHTS_0": weights}}), "skin": 0, "translation": []float64{7, 7, 7}})
		f.add(object{"name": "hip", "children": []int{2}, "translation": []float64{1, 2, 3}, "rotation": []float64{0, 0, math.Sqrt2 / 2, math.Sqrt2 / 2}})
		f.add(object{"name": "knee", "rotation": []float64{0, 0, -math.Sqrt2 / 2, math.Sqrt2 / 2}, "translation": []float64{-2, 1, -3}, "children": []int{3}})
		f.add(object{"name": "toe", "rotation": []float64{0, 0, s, math.Cos(turn / 2)}})
		f.object["skins"] = []object{{"joints": []int{1, 3}, "inverseBindMatrices": bind}}
		return decode(t, meshio.GLTF, f.glb(), meshio.Options{})
	}
	rest := build(0)
	sameTriangles(t, part(t, rest, "skinned"), unitTriangle(), 1e-15)
	// Turned by 90 degrees about z, the second joint takes (0,1,0) to (-1,0,0)
	// and half of (1,0,0) to (0,1,0).
	turned := build(math.Pi / 2)
	sameTriangles(t, part(t, turned, "skinned"), [][3]r3.Vec{{vec(0, 0, 0), vec(.5, .5, 0), vec(-1, 0, 0)}}, 1e-15)
	if len(rest.Nodes) != 3 {
		t.Fatalf("%d nodes, want 3", len(rest.Nodes))
	}
	for i, want := range []mesh.Node{
		{Name: "hip", Parent: -1, Joint: true, Origin: vec(1, 2, 3), Axes: [3]r3.Vec{vec(0, 1, 0), vec(-1, 0, 0), vec(0, 0, 1)}},
		{Name: "knee", Parent: 0, Joint: false, Origin: vec(0, 0, 0), Axes: [3]r3.Vec{vec(1, 0, 0), vec(0, 1, 0), vec(0, 0, 1)}},
		{Name: "toe", Parent: 1, Joint: true, Origin: vec(0, 0, 0), Axes: [3]r3.Vec{vec(1, 0, 0), vec(0, 1, 0), vec(0, 0, 1)}},
	} {
		got := rest.Nodes[i]
		if got.Name != want.Name || got.Parent != want.Parent || got.Joint != want.Joint {
			t.Errorf("node %d is %+v, want %+v", i, got, want)
		}
		within(t, "origin", r3.Norm(r3.Sub(got.Origin, want.Origin)), 0, 1e-15)
		for k := range 3 {
			within(t, "axis", r3.Norm(r3.Sub(got.Axes[k], want.Axes[k])), 0, 1e-15)
		}
	}
}

// A skin whose joints mirror turns the winding, so that outside stays outside.
func TestGLTFMirroredSkin(t *testing.T) {
	f := newGLTF()
	pos := accessorOf(f, "VEC3", []float32{0, 0, 0, 1, 0, 0, 0, 1, 0})
	joints := accessorOf(f, "VEC4", make([]uint16, 12))
	weights := accessorOf(f, "VEC4", []uint8{255, 0, 0, 0, 255, 0, 0, 0, 255, 0, 0, 0}, object{"normalized": true})
	f.add(object{"mesh": f.mesh("m", object{"attributes": object{"POSITION": pos, "JOINTS_0": joints, "WEIGHTS_0": weights}}), "skin": 0})
	f.add(object{"scale": []float64{-2, 2, 2}})
	f.object["skins"] = []object{{"joints": []int{1}}}
	m := decode(t, meshio.GLTF, f.glb(), meshio.Options{})
	sameTriangles(t, part(t, m, "m"), [][3]r3.Vec{{vec(0, 0, 0), vec(0, 2, 0), vec(-2, 0, 0)}}, 0)
}

func TestGLTFScenes(t *testing.T) {
	f := newGLTF()
	tri := f.triangle("")
	f.add(object{"name": "a", "mesh": tri})
	f.add(object{"name": "b", "mesh": tri})
	f.object["scenes"] = []object{{"nodes": []int{0}}, {"nodes": []int{1}}}
	f.object["scene"] = 1
	m := decode(t, meshio.GLTF, f.glb(), meshio.Options{})
	if got := partNames(m); !slices.Equal(got, []string{"b"}) {
		t.Errorf("parts %q, want b alone", got)
	}
	hasNote(t, m, "1 mesh node outside the shown scene")

	// A scene that begins below a root keeps the root's transform, not its node.
	f = newGLTF()
	f.add(object{"name": "root", "children": []int{1}, "translation": []float64{5, 0, 0}})
	f.add(object{"name": "arm", "children": []int{2}})
	f.add(object{"name": "t", "mesh": f.triangle("")})
	f.object["scenes"] = []object{{"nodes": []int{1}}}
	m = decode(t, meshio.GLTF, f.glb(), meshio.Options{})
	sameTriangles(t, part(t, m, "t"), [][3]r3.Vec{{vec(5, 0, 0), vec(6, 0, 0), vec(5, 1, 0)}}, 0)
	if len(m.Nodes) != 1 || m.Nodes[0].Parent != -1 || m.Nodes[0].Origin != vec(5, 0, 0) {
		t.Errorf("nodes %+v, want arm alone at x = 5", m.Nodes)
	}
}

// The buffer may lie beside the model, its name percent-encoded, in a folder
// below.
func TestGLTFExternalBuffer(t *testing.T) {
	dir := t.TempDir()
	f := newGLTF()
	f.add(object{"mesh": f.triangle("t")})
	if err := os.Mkdir(filepath.Join(dir, "data"), 0o755); err != nil {
		t.Fatal(err)
	}
	for name, content := range map[string][]byte{
		"a model.gltf": f.json("./data/a%20buffer.bin"), filepath.Join("data", "a buffer.bin"): f.bin,
	} {
		if err := os.WriteFile(filepath.Join(dir, name), content, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	m, err := meshio.Read(t.Context(), filepath.Join(dir, "a model.gltf"), meshio.Options{})
	if err != nil {
		t.Fatal(err)
	}
	sameTriangles(t, part(t, m, "t"), unitTriangle(), 0)
}

// Materials, textures and the like have no say.
func TestGLTFHarmlessExtensions(t *testing.T) {
	f := newGLTF()
	f.add(object{"mesh": f.triangle("t")})
	f.object["extensionsRequired"] = []string{"KHR_materials_unlit", "KHR_texture_transform", "KHR_mesh_quantization"}
	f.object["extensionsUsed"] = []string{"VENDOR_made_up"}
	part(t, decode(t, meshio.GLTF, f.gltf(), meshio.Options{}))
}
