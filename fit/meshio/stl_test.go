package meshio_test

import (
	"encoding/binary"
	"math"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
	"pintle/fit/meshio"
)

// binarySTL writes triangles as the StereoLithography Interface Specification
// (1989) lays them out, with a stated count of its own.
func binarySTL(header string, count uint32, triangles ...[3]r3.Vec) []byte {
	out := make([]byte, 80, 84+50*len(triangles))
	copy(out, header)
	out = binary.LittleEndian.AppendUint32(out, count)
	for _, t := range triangles {
		out = append(out, make([]byte, 12)...) // a normal of zero: writers leave it so
		for _, p := range t {
			for _, c := range [...]float64{p.X, p.Y, p.Z} {
				out = binary.LittleEndian.AppendUint32(out, math.Float32bits(float32(c)))
			}
		}
		out = append(out, 0, 0)
	}
	return out
}

func tetra() [][3]r3.Vec {
	o, x, y, z := vec(0, 0, 0), vec(1, 0, 0), vec(0, 1, 0), vec(0, 0, 1)
	return [][3]r3.Vec{{o, y, x}, {o, x, z}, {o, z, y}, {x, y, z}}
}

func TestSTLASCII(t *testing.T) {
	m := decode(t, "", fixture(t, "tetra.stl"), meshio.Options{Name: "tetra.stl"})
	if got := partNames(m); !slices.Equal(got, []string{"upper link", "lower link"}) {
		t.Fatalf("parts %q", got)
	}
	upper := part(t, m, "upper link")
	sameTriangles(t, upper, tetra(), 0)
	if n := len(upper.Vertices()); n != 4 {
		t.Errorf("%d vertices after welding, want 4", n)
	}
	within(t, "volume", volume(upper), 1./6, 1e-16)
	if m.Unit != mesh.Millimetre || m.Up != mesh.UpZ {
		t.Errorf("unit %s, up %s, want mm, Z", m.Unit, m.Up)
	}
	hasNote(t, m, "does not state its unit")
}

func TestSTLBinary(t *testing.T) {
	const greeting = "exported by hand, no name in here"
	for name, c := range map[string]struct {
		data []byte
		part string
		note string
	}{
		"plain":             {binarySTL(greeting, 4, tetra()...), "file", ""},
		"begins with solid": {binarySTL("solid crank", 4, tetra()...), "crank", ""},
		"solid and facet":   {binarySTL("solid facet normal", 4, tetra()...), "facet normal", ""},
		"count 0":           {binarySTL(greeting, 0, tetra()...), "file", "states 0 triangles, the file holds 4"},
		"count of 32 ones":  {binarySTL(greeting, math.MaxUint32, tetra()...), "file", "the file holds 4"},
		"count too small":   {binarySTL(greeting, 3, tetra()...), "file", "states 3 triangles, the file holds 4"},
		"bytes behind":      {append(binarySTL(greeting, 4, tetra()...), "tail"...), "file", "4 bytes behind"},
	} {
		t.Run(name, func(t *testing.T) {
			m := decode(t, meshio.STL, c.data, meshio.Options{Name: "file.stl", Unit: mesh.Inch})
			sameTriangles(t, part(t, m, c.part), tetra(), 0)
			if c.note == "" && len(m.Notes) != 0 {
				t.Errorf("notes %q, want none", m.Notes)
			} else if c.note != "" {
				hasNote(t, m, c.note)
			}
		})
	}
}

// Files joined end to end.
func TestSTLBinarySolids(t *testing.T) {
	data := append(binarySTL("solid upper", 4, tetra()...), binarySTL("solid lower", 1, unitTriangle()...)...)
	m := decode(t, "", data, meshio.Options{Name: "two.stl"})
	sameTriangles(t, part(t, m, "upper"), tetra(), 0)
	sameTriangles(t, part(t, m, "lower"), unitTriangle(), 0)
}

const facet = "facet normal 0 0 1\nouter loop\nvertex 0 0 0\nvertex 1 0 0\nvertex 0 1 0\nendloop\nendfacet\n"

func TestSTLASCIITolerates(t *testing.T) {
	for name, text := range map[string]string{
		"upper case":    strings.ToUpper("solid a\n" + facet + "endsolid a\n"),
		"one line":      "solid\n" + strings.ReplaceAll(facet, "\n", " ") + "endsolid",
		"CRLF":          strings.ReplaceAll("solid a\n"+facet+"endsolid a\n", "\n", "\r\n"),
		"CR":            strings.ReplaceAll("solid a\n"+facet+"endsolid a\n", "\n", "\r"),
		"blank before":  "\n  solid a\n" + facet + "endsolid a\n",
		"empty solid":   "solid none\nendsolid none\nsolid a\n" + facet + "endsolid\n",
		"bad normal":    strings.Replace("solid a\n"+facet+"endsolid\n", "0 0 1", "-nan x y", 1),
		"BOM":           "\xef\xbb\xbfsolid a\n" + facet + "endsolid\n",
		"trailing name": "solid a\n" + facet + "endsolid a b c facet\n\n",
	} {
		t.Run(name, func(t *testing.T) {
			m := decode(t, "", []byte(text), meshio.Options{Name: "x.stl"})
			sameTriangles(t, part(t, m), unitTriangle(), 0)
		})
	}
}

func TestSTLRefusals(t *testing.T) {
	whole := binarySTL("h", 4, tetra()...)
	for name, c := range map[string]struct {
		data  []byte
		words []string
	}{
		"short":                {whole[:83], []string{"83 bytes", "at least 84"}},
		"header alone":         {binarySTL("h", 0), []string{"no triangles"}},
		"cut":                  {whole[:len(whole)-1], []string{"states 4 triangles, the file holds 3", "cut off"}},
		"cut between":          {whole[:len(whole)-50], []string{"states 4 triangles, the file holds 3"}},
		"unfilled and cut":     {binarySTL("h", 0, tetra()...)[:200], []string{"byte 184", "within a triangle"}},
		"no endsolid":          {[]byte("solid a\n" + facet), []string{"line 9", "endsolid"}},
		"no facet":             {[]byte("solid a\nvertex 1 2 3\n"), []string{"line 2", `"vertex" stands where "facet" or "endsolid" should`}},
		"two vertices":         {[]byte("solid\n" + strings.Replace(facet, "vertex 0 1 0\n", "", 1)), []string{"line 6", "2 vertices"}},
		"bad number":           {[]byte("solid\n" + strings.Replace(facet, "vertex 0 1 0", "vertex 0 one 0", 1)), []string{"line 6", `"one"`, "a coordinate"}},
		"cut in vertex":        {[]byte("solid\nfacet normal 0 0 1 outer loop vertex 0"), []string{"endsolid"}},
		"text between solids":  {[]byte("solid\n" + facet + "endsolid\nhello"), []string{`"hello" stands where "solid"`}},
		"solid and nothing":    {[]byte("solid"), []string{"endsolid"}},
		"empty solids":         {[]byte("solid a\nendsolid\n"), []string{"no faces"}},
		"no area":              {binarySTL("h", 1, [3]r3.Vec{}), []string{"no face has an area"}},
		"not finite":           {binarySTL("h", 1, [3]r3.Vec{vec(math.NaN(), 0, 0), vec(1, 0, 0), vec(math.Inf(1), 1, 0)}), []string{"no face has an area and finite"}},
		"huge count, no bytes": {binarySTL("h", math.MaxUint32-1), []string{"4294967294"}},
	} {
		t.Run(name, func(t *testing.T) {
			before := allocated()
			refuse(t, meshio.STL, c.data, meshio.Options{Name: "bad.stl"}, append(c.words, "bad.stl")...)
			if got := allocated() - before; got > 4<<20 {
				t.Errorf("%d bytes taken", got)
			}
		})
	}
	for limits, word := range map[meshio.Limits]string{
		{MaxTriangles: 3}: "more than 3 triangles",
		{MaxVertices: 11}: "more than 11 vertices",
	} {
		refuse(t, meshio.STL, whole, meshio.Options{Limits: limits}, word)
		refuse(t, meshio.STL, fixture(t, "tetra.stl"), meshio.Options{Limits: limits}, word, "line")
	}
	refuse(t, meshio.STL, fixture(t, "tetra.stl"), meshio.Options{Limits: meshio.Limits{MaxParts: 1}}, "more than 1 parts")
}

func TestSTLNotes(t *testing.T) {
	bad := append(tetra(), [3]r3.Vec{vec(0, 0, 0), vec(0, 0, 0), vec(1, 1, 1)}, [3]r3.Vec{vec(math.NaN(), 0, 0), vec(1, 0, 0), vec(0, 1, 0)})
	m := decode(t, meshio.STL, binarySTL("solid knee", 6, bad...), meshio.Options{})
	sameTriangles(t, part(t, m, "knee"), tetra(), 0)
	hasNote(t, m, "part knee: 1 face has no area")
	hasNote(t, m, "part knee: 1 face", "not a finite number")
}
