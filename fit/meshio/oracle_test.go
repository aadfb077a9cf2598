package meshio_test

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/hschendel/stl"
	"github.com/qmuntal/gltf"
	"github.com/qmuntal/gltf/modeler"
	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/fit/mesh"
	"pintle/fit/meshio"
)

// Documents written by another library, with its own choice of views, strides
// and padding, read as the same triangles.
func TestGLTFWrittenByLibrary(t *testing.T) {
	for name, binaryForm := range map[string]bool{"GLB": true, "glTF": false} {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(rt *rapid.T) {
				s := drawSoup(rt, false)
				doc := gltf.NewDocument()
				var positions [][3]float32
				for _, p := range s.points {
					positions = append(positions, [3]float32{float32(p.X), float32(p.Y), float32(p.Z)})
				}
				var order []uint16
				for _, f := range s.faces {
					order = append(order, uint16(f[0]), uint16(f[1]), uint16(f[2]))
				}
				views, err := modeler.WriteAccessorsInterleaved(doc, positions, positions)
				if err != nil {
					rt.Fatal(err)
				}
				doc.Meshes = []*gltf.Mesh{{Name: "plate", Primitives: []*gltf.Primitive{{
					Attributes: gltf.PrimitiveAttributes{gltf.NORMAL: views[0], gltf.POSITION: views[1]}, Indices: gltf.Index(modeler.WriteIndices(doc, order)),
				}}}}
				shift := [3]float64{rapid.Float64Range(-9, 9).Draw(rt, "shift"), 0, 0}
				doc.Nodes = []*gltf.Node{{Mesh: gltf.Index(0), Translation: shift, Rotation: gltf.DefaultRotation, Scale: gltf.DefaultScale}}
				doc.Scenes[0].Nodes = []int{0}
				if !binaryForm {
					for _, b := range doc.Buffers {
						b.EmbeddedResource()
					}
				}
				var out bytes.Buffer
				e := gltf.NewEncoder(&out)
				e.AsBinary = binaryForm
				if err := e.Encode(doc); err != nil {
					rt.Fatal(err)
				}
				m, err := meshio.Decode(t.Context(), bytes.NewReader(out.Bytes()), int64(out.Len()), "", meshio.Options{Weld: -1})
				if err != nil {
					rt.Fatal(err)
				}
				for i := range s.points {
					s.points[i].X += shift[0]
				}
				if got, want := meshPolygons(m.Parts[0].Mesh), polygons(s.points, s.faces); !slices.Equal(got, want) {
					rt.Fatalf("got %q\nwant %q", got, want)
				}
			})
		})
	}
}

// Accessors read by another library: every component type, with and without a
// stride, normalized or not, give the same positions.
func TestAccessorsAgainstLibrary(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		f := newGLTF()
		n := 3 * rapid.IntRange(1, 4).Draw(rt, "triangles")
		raw := rapid.SliceOfN(rapid.Byte(), 16*n, 16*n).Draw(rt, "bytes")
		component := rapid.SampledFrom([]int{5120, 5121, 5122, 5123, 5126}).Draw(rt, "component")
		if component == 5126 { // any bytes make integers, but not sensible floats
			for i := range 4 * n {
				binary.LittleEndian.PutUint32(raw[4*i:], math.Float32bits(float32(int8(raw[4*i]))/8))
			}
		}
		v := f.view(raw)
		f.views[v].(object)["byteStride"] = 16
		f.accessors = append(f.accessors, object{
			"bufferView": v, "byteOffset": 4 * rapid.IntRange(0, 1).Draw(rt, "offset"), "componentType": component,
			"type": "VEC3", "count": n,
		})
		f.add(object{"mesh": f.mesh("m", object{"attributes": object{"POSITION": 0}})})
		data := f.glb()

		var doc gltf.Document
		if err := gltf.NewDecoder(bytes.NewReader(data)).Decode(&doc); err != nil {
			rt.Fatal(err)
		}
		want, err := modeler.ReadAccessor(&doc, doc.Accessors[0], nil)
		if err != nil {
			rt.Fatal(err)
		}
		points := asPoints(want)
		var triangles [][3]r3.Vec
		for i := 0; i < n; i += 3 {
			triangles = append(triangles, [3]r3.Vec{points[i], points[i+1], points[i+2]})
		}
		m, err := meshio.Decode(t.Context(), bytes.NewReader(data), int64(len(data)), meshio.GLTF, meshio.Options{Weld: -1})
		if err != nil { // all triangles may lack area
			if checkRefusal(t, err); !strings.Contains(err.Error(), "area") {
				rt.Fatal(err)
			}
			return
		}
		for _, got := range corners(m.Parts[0].Mesh) {
			if !slices.ContainsFunc(triangles, func(w [3]r3.Vec) bool { return turned(w) == got }) {
				rt.Fatalf("triangle %v is not among %v", got, triangles)
			}
		}
	})
}

func asPoints(v any) (out []r3.Vec) {
	switch v := v.(type) {
	case [][3]int8:
		return pointsOf(v)
	case [][3]uint8:
		return pointsOf(v)
	case [][3]int16:
		return pointsOf(v)
	case [][3]uint16:
		return pointsOf(v)
	case [][3]float32:
		return pointsOf(v)
	}
	panic(fmt.Sprintf("%T", v))
}

func pointsOf[T int8 | uint8 | int16 | uint16 | float32](v [][3]T) (out []r3.Vec) {
	for _, p := range v {
		out = append(out, vec(float64(p[0]), float64(p[1]), float64(p[2])))
	}
	return out
}

// STL files written by another library, in both forms, read as the same
// triangles; and read by it from our bytes.
func TestSTLAgainstLibrary(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		s := drawSoup(rt, false)
		solid := &stl.Solid{Name: "crank arm", IsAscii: rapid.Bool().Draw(rt, "ascii")}
		for _, tri := range s.triangles() {
			var out stl.Triangle
			for k, p := range tri {
				out.Vertices[k] = stl.Vec3{float32(p.X), float32(p.Y), float32(p.Z)}
			}
			solid.AppendTriangle(out)
		}
		var data bytes.Buffer
		if err := solid.WriteAll(&data); err != nil {
			rt.Fatal(err)
		}
		m, err := meshio.Decode(t.Context(), bytes.NewReader(data.Bytes()), int64(data.Len()), "", meshio.Options{Name: "a.stl"})
		if err != nil {
			rt.Fatalf("%v\n%q", err, data.Bytes())
		}
		// The text has float32 numbers in their shortest form.
		var points []r3.Vec
		for _, p := range m.Parts[0].Mesh.Vertices() {
			points = append(points, vec(float64(float32(p.X)), float64(float32(p.Y)), float64(float32(p.Z))))
		}
		if got, want := polygons(points, asFaces(m.Parts[0].Mesh)), polygons(s.points, s.faces); !slices.Equal(got, want) {
			rt.Fatalf("got %q\nwant %q", got, want)
		}
		if name := m.Parts[0].Name; solid.IsAscii && name != "crank arm" {
			rt.Fatalf("part %q, want the solid's name", name)
		}
		back, err := stl.ReadAll(bytes.NewReader(binarySTL("", uint32(len(s.faces)), s.triangles()...)))
		if err != nil || len(back.Triangles) != len(s.faces) {
			rt.Fatalf("the test's own writer is wrong: %v", err)
		}
	})
}

// Scaling, shifting and turning the numbers of a file scales, shifts and turns
// the model and changes nothing else.
func TestInvariance(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		s := drawSoup(rt, true)
		scale := math.Pow(2, float64(rapid.IntRange(-20, 20).Draw(rt, "power")))
		write := func(f func(r3.Vec) r3.Vec) *mesh.Mesh {
			var b bytes.Buffer
			for _, p := range s.points {
				p = f(p)
				fmt.Fprintf(&b, "v %v %v %v\n", p.X, p.Y, p.Z)
			}
			for _, face := range s.faces {
				b.WriteString("f")
				for _, v := range face {
					fmt.Fprintf(&b, " %d", v+1)
				}
				b.WriteString("\n")
			}
			m, err := meshio.Decode(t.Context(), bytes.NewReader(b.Bytes()), int64(b.Len()), meshio.OBJ, meshio.Options{})
			if err != nil {
				rt.Fatal(err)
			}
			return m.Parts[0].Mesh
		}
		base := write(func(p r3.Vec) r3.Vec { return p })
		for name, f := range map[string]func(r3.Vec) r3.Vec{
			"scaled":      func(p r3.Vec) r3.Vec { return r3.Scale(scale, p) },
			"turned":      func(p r3.Vec) r3.Vec { return vec(p.Z, p.X, p.Y) },
			"half turned": func(p r3.Vec) r3.Vec { return vec(-p.X, -p.Y, p.Z) },
		} {
			got := write(f)
			if got.NumPolygons() != base.NumPolygons() || len(got.Triangles()) != len(base.Triangles()) {
				rt.Fatalf("%s: %d polygons and %d triangles became %d and %d", name, base.NumPolygons(), len(base.Triangles()), got.NumPolygons(), len(got.Triangles()))
			}
			for i, p := range base.Vertices() {
				if got.Vertices()[i] != f(p) {
					rt.Fatalf("%s: vertex %v became %v", name, p, got.Vertices()[i])
				}
			}
		}
	})
}
