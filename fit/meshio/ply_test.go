package meshio_test

import (
	"encoding/binary"
	"fmt"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
	"pintle/fit/meshio"
)

// G. Turk, The PLY Polygon File Format (1994), first example: a cube of 8
// vertices and 6 quads.
func TestPLYSpecificationCube(t *testing.T) {
	m := decode(t, "", fixture(t, "cube.ply"), meshio.Options{Name: "cube.ply"})
	cube := part(t, m, "cube")
	if v, p, n := len(cube.Vertices()), cube.NumPolygons(), len(cube.Triangles()); v != 8 || p != 6 || n != 12 {
		t.Errorf("%d vertices, %d polygons, %d triangles, want 8, 6, 12", v, p, n)
	}
	within(t, "volume", volume(cube), 1, 0)
}

// plyFile writes one and the same content in each form and with any types: a
// pentagon and a triangle, with properties and elements around them that are of
// no interest.
func plyFile(format, coordinate, count, index string, values ...any) []byte {
	header := "ply\nformat " + format + " 1.0\ncomment units: inch\nobj_info by hand\n" +
		"element camera 2\nproperty float fov\nproperty list uchar short tags\n" +
		"element void 1000000000000\n" +
		"element vertex 5\nproperty uchar red\nproperty " + coordinate + " z\nproperty " + coordinate + " x\n" +
		"property list uchar float weights\nproperty " + coordinate + " y\nproperty double quality\n" +
		"element edge 1\nproperty int vertex1\nproperty int vertex2\n" +
		"element face 2\nproperty uchar flags\nproperty list " + count + " " + index + " vertex_indices\nproperty list uchar float texcoord\n" +
		"element user 1\nproperty ushort a\nend_header\n"
	out := []byte(header)
	if format == "ascii" {
		for _, v := range values {
			out = fmt.Appendf(out, "%v\n", v)
		}
		return out
	}
	var order binary.AppendByteOrder = binary.LittleEndian
	if format == "binary_big_endian" {
		order = binary.BigEndian
	}
	for _, v := range values {
		out, _ = binary.Append(out, order.(binary.ByteOrder), v)
	}
	return out
}

func plyCast(kind string, v float64) any {
	switch kind {
	case "char", "int8":
		return int8(v)
	case "uchar", "uint8":
		return uint8(v)
	case "short", "int16":
		return int16(v)
	case "ushort", "uint16":
		return uint16(v)
	case "int", "int32":
		return int32(v)
	case "uint", "uint32":
		return uint32(v)
	case "float", "float32":
		return float32(v)
	}
	return v
}

func pentagonPLY(format, coordinate, count, index string) []byte {
	values := []any{
		float32(1.5), uint8(2), int16(7), int16(-7), // cameras
		float32(2.5), uint8(0),
	}
	for _, p := range [][3]float64{{0, 0, 0}, {4, 0, 0}, {4, 2, 0}, {2, 3, 0}, {0, 2, 0}} {
		values = append(values, uint8(200), plyCast(coordinate, p[2]), plyCast(coordinate, p[0]),
			uint8(1), float32(9), plyCast(coordinate, p[1]), 0.25)
	}
	values = append(values, int32(0), int32(1)) // edge
	for _, f := range [][]float64{{0, 1, 2, 3, 4}, {4, 1, 0}} {
		values = append(values, uint8(1), plyCast(count, float64(len(f))))
		for _, v := range f {
			values = append(values, plyCast(index, v))
		}
		values = append(values, uint8(2), float32(0), float32(1))
	}
	return plyFile(format, coordinate, count, index, append(values, uint16(3))...)
}

func TestPLYFormsAndTypes(t *testing.T) {
	for _, format := range []string{"ascii", "binary_little_endian", "binary_big_endian"} {
		for _, coordinate := range []string{"float", "float64", "double", "float32", "char", "uchar", "int16", "ushort", "int", "uint32"} {
			for _, count := range []string{"uchar", "int8", "int", "ushort"} {
				for _, index := range []string{"int", "uint", "uchar", "short", "int32", "float"} {
					t.Run(strings.Join([]string{format, coordinate, count, index}, "/"), func(t *testing.T) {
						m := decode(t, "", pentagonPLY(format, coordinate, count, index), meshio.Options{})
						if m.Unit != mesh.Inch {
							t.Errorf("unit %s, want in", m.Unit)
						}
						p := part(t, m)
						if p.NumPolygons() != 2 || len(p.Polygon(0)) != 5 || len(p.Triangles()) != 4 {
							t.Fatalf("%d polygons, %d triangles, want 2, 4", p.NumPolygons(), len(p.Triangles()))
						}
						if v := p.Vertices(); len(v) != 5 || v[1] != vec(4, 0, 0) || v[3] != vec(2, 3, 0) {
							t.Errorf("vertices %v", v)
						}
					})
				}
			}
		}
	}
}

const plyTriangle = "element vertex 3\nproperty float x\nproperty float y\nproperty float z\nelement face 1\nproperty list uchar int vertex_index\nend_header\n"

func TestPLYTolerates(t *testing.T) {
	head := "ply\nformat ascii 1.0\n"
	body := "0 0 0\n1 0 0\n0 1 0\n3 0 1 2\n"
	for name, text := range map[string]string{
		"CRLF":              strings.ReplaceAll(head+plyTriangle+body, "\n", "\r\n"),
		"CR":                strings.ReplaceAll(head+plyTriangle+body, "\n", "\r"),
		"all on one line":   head + plyTriangle + strings.ReplaceAll(body, "\n", " "),
		"no last line end":  head + plyTriangle + strings.TrimSuffix(body, "\n"),
		"more behind":       head + plyTriangle + body + "99 99 99\n",
		"faces first":       head + "element face 1\nproperty list uchar int vertex_indices\nelement vertex 3\nproperty float x\nproperty float y\nproperty float z\nend_header\n3 0 1 2\n0 0 0\n1 0 0\n0 1 0\n",
		"blank header line": head + "\n" + plyTriangle + body,
		"strips":            head + strings.Replace(plyTriangle, "element face 1\n", "element tristrips 1\n", 1) + "0 0 0\n1 0 0\n0 1 0\n6 0 1 2 -1 0 1\n",
		"thin faces":        head + strings.Replace(plyTriangle, "element face 1\n", "element face 3\n", 1) + "0 0 0\n1 0 0\n0 1 0\n2 0 1\n3 0 1 2\n0\n",
	} {
		t.Run(name, func(t *testing.T) {
			m := decode(t, "", []byte(text), meshio.Options{})
			sameTriangles(t, part(t, m), unitTriangle(), 0)
			if name == "thin faces" {
				hasNote(t, m, "2 faces with fewer than three corners")
			}
		})
	}
}

func TestPLYStrips(t *testing.T) {
	text := "ply\nformat ascii 1.0\nelement vertex 5\nproperty float x\nproperty float y\nproperty float z\n" +
		"element tristrips 1\nproperty list int int vertex_indices\nend_header\n" +
		"0 0 0\n1 0 0\n0 1 0\n1 1 0\n0 2 0\n10 0 1 2 3 3 4 -1 2 3 4\n"
	p := [5]r3.Vec{vec(0, 0, 0), vec(1, 0, 0), vec(0, 1, 0), vec(1, 1, 0), vec(0, 2, 0)}
	m := decode(t, "", []byte(text), meshio.Options{})
	sameTriangles(t, part(t, m), [][3]r3.Vec{{p[0], p[1], p[2]}, {p[1], p[3], p[2]}, {p[2], p[3], p[4]}}, 0)
}

// Doubles keep their last bit.
func TestPLYFarAway(t *testing.T) {
	x := math.Nextafter(1e7, 2e7)
	head := strings.ReplaceAll(plyTriangle, "float", "double")
	ascii := fmt.Sprintf("ply\nformat ascii 1.0\n%s%v 0 0\n%v 1 0\n%v 0 1\n3 0 1 2\n", head, x, x, x)
	bin := []byte("ply\nformat binary_big_endian 1.0\n" + head)
	bin, _ = binary.Append(bin, binary.BigEndian, []float64{x, 0, 0, x, 1, 0, x, 0, 1})
	bin = append(bin, 3, 0, 0, 0, 0, 0, 0, 0, 1, 0, 0, 0, 2)
	for name, data := range map[string][]byte{"ascii": []byte(ascii), "binary": bin} {
		t.Run(name, func(t *testing.T) {
			m := decode(t, meshio.PLY, data, meshio.Options{})
			sameTriangles(t, part(t, m), [][3]r3.Vec{{vec(x, 0, 0), vec(x, 1, 0), vec(x, 0, 1)}}, 0)
		})
	}
}

func TestPLYRefusals(t *testing.T) {
	ascii := "ply\nformat ascii 1.0\n"
	little := "ply\nformat binary_little_endian 1.0\n"
	points := "0 0 0\n1 0 0\n0 1 0\n"
	swap := func(from, to string) string {
		return ascii + strings.Replace(plyTriangle, from, to, 1) + points + "3 0 1 2\n"
	}
	for name, c := range map[string]struct {
		text  string
		words []string
	}{
		"not ply":           {"plx\n", []string{"line 1", `does not begin with "ply"`}},
		"header cut":        {"ply\nformat ascii 1.0\n", []string{"end_header"}},
		"no format":         {"ply\n" + plyTriangle + points, []string{`no "format"`}},
		"other format":      {"ply\nformat binary 1.0\n" + plyTriangle, []string{"line 2", `"binary" is no PLY format`}},
		"unknown word":      {ascii + "elephant 3\n" + plyTriangle, []string{"line 3", "elephant"}},
		"negative count":    {swap("vertex 3", "vertex -3"), []string{"line 3", `"-3"`}},
		"count no number":   {swap("vertex 3", "vertex many"), []string{"line 3", `"many"`}},
		"huge vertex count": {swap("vertex 3", "vertex 999999999999999999"), []string{"999999999999999999", "no room"}},
		"huge face count":   {swap("face 1", "face 1000000000"), []string{"1000000000", "face", "no room"}},
		"more than held":    {swap("vertex 3", "vertex 4"), []string{"the file ends within"}},
		"unknown type":      {swap("float y", "real y"), []string{"line 5", `"real"`}},
		"float list count":  {swap("list uchar", "list float"), []string{`"float" is no type for a list's length`}},
		"orphan property":   {ascii + "property float x\n" + plyTriangle, []string{"line 3", "before the first element"}},
		"no z":              {swap("float z", "float w"), []string{"no coordinate z"}},
		"list x":            {swap("property float x", "property list uchar float x"), []string{"no coordinate x"}},
		"two vertex":        {ascii + "element vertex 1\nproperty int x\nproperty int y\nproperty int z\n" + plyTriangle + "1 2 3\n" + points + "3 0 1 2\n", []string{"two vertex elements"}},
		"no faces":          {swap("face 1", "face 0"), []string{"points but no faces"}},
		"index beyond":      {ascii + plyTriangle + points + "3 0 1 3\n", []string{"face 0", "vertex 3", "3 vertices"}},
		"negative index":    {ascii + plyTriangle + points + "3 0 1 -1\n", []string{"face 0", "vertex -1"}},
		"index below":       {ascii + plyTriangle + points + "3 0 1 -2\n", []string{"line 13", "-2 is no index"}},
		"index not whole":   {ascii + plyTriangle + points + "3 0 1 1.5\n", []string{"line 13", "1.5 is no index"}},
		"index not finite":  {ascii + plyTriangle + points + "3 0 1 nan\n", []string{"line 13", "NaN is no index"}},
		"list length":       {ascii + plyTriangle + points + "-3 0 1 2\n", []string{"line 13", "-3 is no length"}},
		"huge list":         {ascii + plyTriangle + points + "4000000000 0 1 2\n", []string{"line 13", "triangles"}},
		"long list":         {ascii + plyTriangle + points + "1000000 0 1 2\n", []string{"the file ends within", "face"}},
		"not a number":      {ascii + plyTriangle + "0 0 zero\n" + points + "3 0 1 2\n", []string{"line 10", `"zero" is not a number`}},
		"no area":           {ascii + plyTriangle + points + "3 0 1 1\n", []string{"no face has an area"}},
		"binary cut":        {little + plyTriangle + strings.Repeat("\x00", 35), []string{"no room"}},
		"UTF-16":            {"\xff\xfep\x00l\x00", []string{"UTF-8"}},
	} {
		t.Run(name, func(t *testing.T) {
			before := allocated()
			refuse(t, meshio.PLY, []byte(c.text), meshio.Options{Name: "bad.ply"}, append(c.words, "bad.ply")...)
			if got := allocated() - before; got > 4<<20 {
				t.Errorf("%d bytes taken", got)
			}
		})
	}
	for limits, word := range map[meshio.Limits]string{
		{MaxTriangles: 11}: "more than 11 triangles",
		{MaxVertices: 7}:   "more than 7 vertices",
		{MaxCorners: 3}:    "4 corners",
	} {
		refuse(t, meshio.PLY, fixture(t, "cube.ply"), meshio.Options{Limits: limits}, word, "raise the limit")
	}
	many := "ply\nformat ascii 1.0\n" + strings.Repeat("element e 0\n", 1001)
	refuse(t, meshio.PLY, []byte(many), meshio.Options{}, "1000 elements")
	wide := "ply\nformat ascii 1.0\nelement e 0\n" + strings.Repeat("property int a\n", 10_001)
	refuse(t, meshio.PLY, []byte(wide), meshio.Options{}, "10000 properties")
}
