package meshio_test

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"slices"
	"strconv"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/fit/mesh"
	"pintle/fit/meshio"
)

// soup is a model to write: grid points spread apart, so that welding and the
// removal of faces without area have nothing to do.
type soup struct {
	points []r3.Vec
	faces  [][]int32 // triangles, or quads for formats that keep polygons
}

// drawSoup draws faces on the points of a grid that was scaled and shifted,
// by float32 numbers so that every format holds them.
func drawSoup(t *rapid.T, quads bool) soup {
	var s soup
	scale := float64(float32(math.Pow(10, float64(rapid.IntRange(-6, 6).Draw(t, "scale")))))
	shift := float64(rapid.IntRange(-1000, 1000).Draw(t, "shift"))
	n := rapid.IntRange(1, 4).Draw(t, "n")
	for i := range n + 1 {
		for j := range n + 1 {
			z := rapid.IntRange(-3, 3).Draw(t, "z")
			c := func(k int) float64 { return float64(float32(scale * (float64(k) + shift))) }
			s.points = append(s.points, vec(c(i), c(j), c(z)))
		}
	}
	for i := range n {
		for j := range n {
			a := int32(i*(n+1) + j)
			b, c, d := a+1, a+int32(n)+2, a+int32(n)+1
			if quads && rapid.Bool().Draw(t, "quad") {
				s.faces = append(s.faces, []int32{a, d, c, b})
			} else {
				s.faces = append(s.faces, []int32{a, d, c}, []int32{a, c, b})
			}
		}
	}
	return s
}

// polygons lists faces by position, each turned to its least corner, sorted.
func polygons(points []r3.Vec, faces [][]int32) []string {
	var out []string
	for _, f := range faces {
		least := 0
		for k := range f {
			if compareVec(points[f[k]], points[f[least]]) < 0 {
				least = k
			}
		}
		text := ""
		for k := range f {
			text += fmt.Sprint(points[f[(least+k)%len(f)]])
		}
		out = append(out, text)
	}
	slices.Sort(out)
	return out
}

func meshPolygons(m *mesh.Mesh) []string { return polygons(m.Vertices(), asFaces(m)) }

func asFaces(m *mesh.Mesh) (faces [][]int32) {
	for i := range m.NumPolygons() {
		faces = append(faces, m.Polygon(i))
	}
	return faces
}

// Written and read again, every format gives back the very same oriented
// polygons.
func TestRoundTrip(t *testing.T) {
	writers := map[string]struct {
		quads bool
		write func(t *rapid.T, s soup) []byte
	}{
		"OBJ":        {true, writeOBJ},
		"PLY ASCII":  {true, func(_ *rapid.T, s soup) []byte { return writePLY(s, "ascii", nil) }},
		"PLY little": {true, func(_ *rapid.T, s soup) []byte { return writePLY(s, "binary_little_endian", binary.LittleEndian) }},
		"PLY big":    {true, func(_ *rapid.T, s soup) []byte { return writePLY(s, "binary_big_endian", binary.BigEndian) }},
		"STL ASCII":  {false, writeASCIISTL},
		"STL binary": {false, func(_ *rapid.T, s soup) []byte { return binarySTL("x", uint32(len(s.faces)), s.triangles()...) }},
		"GLB":        {false, func(t *rapid.T, s soup) []byte { return s.gltf(t).glb() }},
		"glTF":       {false, func(t *rapid.T, s soup) []byte { return s.gltf(t).gltf() }},
	}
	for name, w := range writers {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(rt *rapid.T) {
				s := drawSoup(rt, w.quads)
				data := w.write(rt, s)
				m, err := meshio.Decode(t.Context(), bytes.NewReader(data), int64(len(data)), "", meshio.Options{})
				if err != nil {
					rt.Fatalf("%v\n%q", err, data)
				}
				if len(m.Parts) != 1 {
					rt.Fatalf("%d parts, want 1", len(m.Parts))
				}
				got, want := meshPolygons(m.Parts[0].Mesh), polygons(s.points, s.faces)
				if !slices.Equal(got, want) {
					rt.Fatalf("got %q\nwant %q", got, want)
				}
			})
		})
	}
}

func (s soup) triangles() (out [][3]r3.Vec) {
	for _, f := range s.faces {
		out = append(out, [3]r3.Vec{s.points[f[0]], s.points[f[1]], s.points[f[2]]})
	}
	return out
}

// number writes v in one of the ways that programs write numbers.
func number(t *rapid.T, v float64) string {
	switch rapid.IntRange(0, 3).Draw(t, "style") {
	case 0:
		return strconv.FormatFloat(v, 'e', -1, 64)
	case 1:
		return strconv.FormatFloat(v, 'f', -1, 64)
	case 2:
		return strconv.FormatFloat(v, 'E', 17, 64)
	}
	return strconv.FormatFloat(v, 'g', -1, 64)
}

func writeOBJ(t *rapid.T, s soup) []byte {
	var b bytes.Buffer
	for _, p := range s.points {
		fmt.Fprintf(&b, "v %s %s\t%s\n", number(t, p.X), number(t, p.Y), number(t, p.Z))
	}
	for _, f := range s.faces {
		b.WriteString("f")
		for _, v := range f {
			if rapid.Bool().Draw(t, "negative") {
				fmt.Fprintf(&b, " %d", int(v)-len(s.points))
			} else {
				fmt.Fprintf(&b, " %d%s", v+1, rapid.SampledFrom([]string{"", "/1", "//7", "/3/4"}).Draw(t, "rest"))
			}
		}
		b.WriteString(rapid.SampledFrom([]string{"\n", "\r\n", " \\\n\n"}).Draw(t, "end"))
	}
	return b.Bytes()
}

func writePLY(s soup, format string, order binary.ByteOrder) []byte {
	out := fmt.Appendf(nil, "ply\nformat %s 1.0\nelement vertex %d\nproperty double x\nproperty double y\nproperty double z\n"+
		"element face %d\nproperty list uchar uint vertex_indices\nend_header\n", format, len(s.points), len(s.faces))
	for _, p := range s.points {
		if order == nil {
			out = fmt.Appendf(out, "%v %v %v\n", p.X, p.Y, p.Z)
		} else {
			out, _ = binary.Append(out, order, p)
		}
	}
	for _, f := range s.faces {
		if order == nil {
			out = fmt.Appendf(out, "%d %s\n", len(f), bytes.Trim(fmt.Append(nil, f), "[]"))
		} else {
			out, _ = binary.Append(append(out, byte(len(f))), order, f)
		}
	}
	return out
}

func writeASCIISTL(t *rapid.T, s soup) []byte {
	b := bytes.NewBufferString("solid x\n")
	for _, tri := range s.triangles() {
		b.WriteString("facet normal 0 0 0\n outer loop\n")
		for _, p := range tri {
			fmt.Fprintf(b, "  vertex %s %s %s\n", number(t, p.X), number(t, p.Y), number(t, p.Z))
		}
		b.WriteString(" endloop\nendfacet\n")
	}
	b.WriteString("endsolid x\n")
	return b.Bytes()
}

// gltf spreads the faces over one or two primitives with any type of index.
func (s soup) gltf(t *rapid.T) *gltfFile {
	f := newGLTF()
	var flat []float32
	for _, p := range s.points {
		flat = append(flat, float32(p.X), float32(p.Y), float32(p.Z))
	}
	pos := accessorOf(f, "VEC3", flat)
	cut := rapid.IntRange(1, len(s.faces)).Draw(t, "cut")
	var primitives []object
	for _, faces := range [][][]int32{s.faces[:cut], s.faces[cut:]} {
		if len(faces) == 0 {
			continue
		}
		var i8 []uint8
		var i16 []uint16
		var i32 []uint32
		for _, face := range faces {
			for _, v := range face {
				i8, i16, i32 = append(i8, uint8(v)), append(i16, uint16(v)), append(i32, uint32(v))
			}
		}
		var order int
		switch rapid.IntRange(0, 2).Draw(t, "index type") {
		case 0:
			order = accessorOf(f, "SCALAR", i8)
		case 1:
			order = accessorOf(f, "SCALAR", i16)
		default:
			order = accessorOf(f, "SCALAR", i32)
		}
		primitives = append(primitives, object{"attributes": object{"POSITION": pos}, "indices": order})
	}
	f.add(object{"mesh": f.mesh("m", primitives...)})
	return f
}
