package meshio_test

import (
	"bytes"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
	"pintle/fit/meshio"
)

// Cubes of side 2 from "Object Files (.obj)", appendix B1: absolute indices
// over shared vertices, and negative ones over vertices of each face's own.
func TestOBJSpecificationCubes(t *testing.T) {
	for _, name := range []string{"cube.obj", "cube_negative.obj"} {
		t.Run(name, func(t *testing.T) {
			m := decode(t, "", fixture(t, name), meshio.Options{Name: name})
			cube := part(t, m, strings.TrimSuffix(name, ".obj"))
			if v, p, n := len(cube.Vertices()), cube.NumPolygons(), len(cube.Triangles()); v != 8 || p != 6 || n != 12 {
				t.Errorf("%d vertices, %d polygons, %d triangles, want 8, 6, 12", v, p, n)
			}
			within(t, "volume", volume(cube), 8, 0)
			for i := range cube.NumPolygons() {
				if n := len(cube.Polygon(i)); n != 4 {
					t.Errorf("polygon %d has %d corners, want 4", i, n)
				}
			}
		})
	}
}

// The hand-made file has an n-gon, all forms of corners, a continued line,
// colours, and parts that share vertices.
func TestOBJClevis(t *testing.T) {
	m := decode(t, meshio.OBJ, fixture(t, "clevis.obj"), meshio.Options{})
	if got := partNames(m); !slices.Equal(got, []string{"plate", "pin"}) {
		t.Fatalf("parts %q, want plate, pin", got)
	}
	if m.Unit != mesh.Centimetre || m.Up != mesh.UpZ {
		t.Errorf("unit %s, up %s, want cm, Z as the comment says", m.Unit, m.Up)
	}
	plate := part(t, m, "plate")
	if plate.NumPolygons() != 1 || len(plate.Polygon(0)) != 5 || len(plate.Triangles()) != 3 {
		t.Errorf("plate: %d polygons, %d triangles, want a pentagon cut into 3", plate.NumPolygons(), len(plate.Triangles()))
	}
	if v := plate.Vertices(); len(v) != 5 || v[3] != vec(2, 3, 0) {
		t.Errorf("plate's vertices %v", v)
	}
	pin := part(t, m, "pin")
	if len(pin.Vertices()) != 5 || pin.NumPolygons() != 2 || len(pin.Triangles()) != 3 {
		t.Errorf("pin: %d vertices, %d polygons, %d triangles, want 5, 2, 3", len(pin.Vertices()), pin.NumPolygons(), len(pin.Triangles()))
	}
	if len(m.Notes) != 0 {
		t.Errorf("notes %q, want none", m.Notes)
	}
}

// row writes a triangle at x = i.
func row(i int) string {
	return fmt.Sprintf("v %d 0 0\nv %d 1 0\nv %d 0 1\nf -3 -2 -1\n", i, i, i)
}

func TestOBJParts(t *testing.T) {
	for name, c := range map[string]struct {
		text  string
		names string
		sizes []int
	}{
		"none":              {row(0) + row(1), "[file]", []int{2}},
		"o":                 {"o a\n" + row(0) + "o b\n" + row(1) + row(2), "[a b]", []int{1, 2}},
		"o wins over g":     {"o a\ng x\n" + row(0) + "g y\n" + row(1) + "o b\ng x\n" + row(2), "[a b]", []int{2, 1}},
		"g without o":       {"g x\n" + row(0) + "g y\n" + row(1) + "g x\n" + row(2), "[x y]", []int{2, 1}},
		"several groups":    {"g x left\n" + row(0) + "g x right\n" + row(1), "[x left x right]", []int{1, 1}},
		"o again later":     {"o a\n" + row(0) + "o b\n" + row(1) + "o a\n" + row(2), "[a b a.2]", []int{1, 1, 1}},
		"o repeated":        {"o a\n" + row(0) + "o a\n" + row(1), "[a]", []int{2}},
		"faces before o":    {"g first\n" + row(0) + "o a\n" + row(1), "[first a]", []int{1, 1}},
		"unnamed":           {"o\n" + row(0) + "o b\n" + row(1), "[file b]", []int{1, 1}},
		"empty object":      {"o a\no b\n" + row(0), "[b]", []int{1}},
		"spaces and quotes": {"o  left \"arm\" \n" + row(0), `[left "arm"]`, []int{1}},
		"CRLF":              {strings.ReplaceAll("o a\n"+row(0)+"o b\n"+row(1), "\n", "\r\n"), "[a b]", []int{1, 1}},
		"CR":                {strings.ReplaceAll("o a\n"+row(0)+"o b\n"+row(1), "\n", "\r"), "[a b]", []int{1, 1}},
		"BOM":               {"\xef\xbb\xbfo a\n" + row(0), "[a]", []int{1}},
		"no last line end":  {"o a\n" + strings.TrimSuffix(row(0), "\n"), "[a]", []int{1}},
		"bad UTF-8":         {"o a\xff\n" + row(0), "[a?]", []int{1}},
	} {
		t.Run(name, func(t *testing.T) {
			m := decode(t, meshio.OBJ, []byte(c.text), meshio.Options{Name: "file.obj"})
			if got := fmt.Sprint(partNames(m)); got != c.names {
				t.Fatalf("parts %s, want %s", got, c.names)
			}
			for i, want := range c.sizes {
				if n := len(m.Parts[i].Mesh.Triangles()); n != want {
					t.Errorf("part %d has %d triangles, want %d", i, n, want)
				}
			}
		})
	}
}

// What OBJ allows and rigs rarely hold must not disturb.
func TestOBJTolerates(t *testing.T) {
	for name, text := range map[string]string{
		"weights":            "v 0 0 0 1\nv 1 0 0 1.0\nv 0 1 0 1\nf 1 2 3\n",
		"colours":            "v 0 0 0 .1 .2 .3\nv 1 0 0 1 1 1\nv 0 1 0 0 0 0\nf 1 2 3\n",
		"vertices later":     "f 1 2 3\nv 0 0 0\nv 1 0 0\nv 0 1 0\n",
		"comment behind":     "v 0 0 0 # origin\nv 1 0 0\nv 0 1 0\nf 1 2 3 # face\n",
		"tabs and blanks":    "\tv\t0  0 0\nv 1 0 0\n\n   v 0 1 0\n f  1\t2   3 \n",
		"lines and points":   "v 0 0 0\nv 1 0 0\nv 0 1 0\nl 1 2\np 3\nf 1 2 3\n",
		"unknown statements": "v 0 0 0\nv 1 0 0\nv 0 1 0\nvp 0 0\nlod 3\nf 1 2 3\nsmurf\n",
		"continuations":      "v 0 \\\n0 \\\r\n 0\nv 1 0 0\nv 0 1 0\nf 1 \\\n2 \\\n3\\\n",
		"exponents":          "v 0e0 0.0 -0\nv 1E+0 +0 0\nv 0 10e-1 .0\nf 1 2 3\n",
		"NUL padding":        "v 0 0 0\x00\nv 1 0 0\nv 0 1 0\nf 1 2 3\n\x00\x00",
	} {
		t.Run(name, func(t *testing.T) {
			m := decode(t, meshio.OBJ, []byte(text), meshio.Options{})
			sameTriangles(t, part(t, m), unitTriangle(), 0)
		})
	}
}

func TestOBJNotes(t *testing.T) {
	const points = "v 0 0 0\nv 1 0 0\nv 0 1 0\nv 2 0 0\nv nan 0 0\nv 0 -inf 0\nv 1e999 0 0\nv -1.#IND 0 0\nv 0 0 3\nv 0 0 -3\n"
	for name, c := range map[string]struct {
		faces string
		words []string
	}{
		"thin faces":    {"f 1 2\nf 1\nf\n", []string{"3 faces with fewer than three corners"}},
		"zero area":     {"f 1 2 4\nf 1 1 2\n", []string{"part hinge: 2 faces have no area"}},
		"not finite":    {"f 1 2 5\nf 1 2 6\nf 1 2 7\nf 1 2 8\n", []string{"part hinge: 4 faces", "not a finite number"}},
		"repeated":      {"f 1 2 3\n", []string{"part hinge: 1 face repeats"}},
		"non-manifold":  {"f 2 1 9\nf 2 1 10\n", []string{"part hinge: 1 edge has three or more faces"}},
		"free form":     {"curv 0 1 1 2\nsurf 0 1 0 1 1 2 3\n", []string{"2 free-form curves and surfaces left out"}},
		"part vanished": {"o ghost\nf 1 2 4\n", []string{"part ghost", "left out"}},
		"no unit":       {"", []string{"does not state its unit", "millimetres"}},
	} {
		t.Run(name, func(t *testing.T) {
			m := decode(t, meshio.OBJ, []byte("o hinge\n"+points+"f 1 2 3\n"+c.faces), meshio.Options{})
			hasNote(t, m, c.words...)
			if m.Find("hinge") < 0 || len(m.Parts) != 1 {
				t.Errorf("parts %q, want hinge", partNames(m))
			}
		})
	}
}

func TestOBJRefusals(t *testing.T) {
	const points = "v 0 0 0\nv 1 0 0\nv 0 1 0\n"
	for name, c := range map[string]struct {
		text  string
		words []string
	}{
		"zero index":        {points + "f 1 2 0\n", []string{"line 4", "vertex 0", "3 vertices"}},
		"index beyond":      {points + "\nf 1 2 4\nf 1 2 3\n", []string{"line 5", "vertex 4", "3 vertices"}},
		"negative beyond":   {points + "f -1 -2 -4\n", []string{"line 4", "vertex -4"}},
		"huge index":        {points + "f 1 2 99999999999\n", []string{"line 4", "99999999999"}},
		"index overflow":    {points + "f 1 2 99999999999999999999999999\n", []string{"line 4", "not a vertex index"}},
		"not an index":      {points + "f 1 2 x\n", []string{"line 4", `"x" is not a vertex index`}},
		"fraction":          {points + "f 1 2 2.5\n", []string{"line 4", `"2.5"`}},
		"missing number":    {"v 0 0\n", []string{"line 1", "a coordinate is missing"}},
		"not a number":      {points + "v 1 2 3,4\n", []string{"line 4", `"3,4" is not a coordinate`}},
		"line of a comment": {"# \\\n a\n\nv 1 2 z\n", []string{"line 4", `"z"`}},
		"vertices only":     {points, []string{"no faces"}},
		"lines only":        {points + "l 1 2\n", []string{"no faces"}},
		"another text":      {"dear reader,\nthis is prose\n", []string{"not an OBJ file"}},
		"nothing sound":     {points + "f 1 1 1\nf 2 2 3\n", []string{"no face has an area"}},
		"UTF-16":            {"\xff\xfev\x00 \x000\x00", []string{"UTF-8"}},
		"empty":             {"", []string{"empty"}},
		"binary":            {strings.Repeat("\x00\x01\x02\n", 99), []string{"not an OBJ file"}},
	} {
		t.Run(name, func(t *testing.T) {
			refuse(t, meshio.OBJ, []byte(c.text), meshio.Options{Name: "bad.obj"}, append(c.words, "bad.obj")...)
		})
	}
}

func TestOBJLimits(t *testing.T) {
	text := []byte("o a\n" + row(0) + "o b\n" + row(1) + "f 1 2 3 4\n")
	for limits, words := range map[meshio.Limits][]string{
		{MaxTriangles: 3}:  {"line 11", "more than 3 triangles"},
		{MaxVertices: 5}:   {"line 9", "more than 5 vertices"},
		{MaxParts: 1}:      {"more than 1 parts"},
		{MaxCorners: 3}:    {"line 11", "4 corners"},
		{MaxFileBytes: 20}: {"more than 20 bytes"},
	} {
		refuse(t, meshio.OBJ, text, meshio.Options{Limits: limits}, append(words, "raise the limit")...)
	}
	long := append(bytes.Repeat([]byte("# "), 5<<20), text...)
	refuse(t, meshio.OBJ, long, meshio.Options{}, "line 1", "longer than")
	continued := append(bytes.Repeat([]byte("#\\\n"), 5<<20), text...)
	refuse(t, meshio.OBJ, continued, meshio.Options{}, "longer than")
}

// Coordinates keep their last bit, 10 km away too: 1e7 mm plus a micrometre.
func TestOBJFarAway(t *testing.T) {
	xs := []float64{1e7, 1e7 + 0.001, 10000000.123456789, math.Nextafter(1e7, 2e7)}
	var b strings.Builder
	for _, x := range xs {
		fmt.Fprintf(&b, "v %v 0 0\nv %v 1 0\nv %v 0 1\n", x, x, x)
	}
	for i := range xs {
		fmt.Fprintf(&b, "f %d %d %d\n", 3*i+1, 3*i+2, 3*i+3)
	}
	m := part(t, decode(t, meshio.OBJ, []byte(b.String()), meshio.Options{Weld: -1}))
	var want [][3]r3.Vec
	for _, x := range xs {
		want = append(want, [3]r3.Vec{vec(x, 0, 0), vec(x, 1, 0), vec(x, 0, 1)})
	}
	sameTriangles(t, m, want, 0)
}

// Weld distance relative to the part's diagonal, and none where negative.
func TestOBJWeld(t *testing.T) {
	text := []byte("v 0 0 0\nv 1 0 0\nv 0 1 0\nv 1.00000001 0 0\nv 0 1.00000001 0\nv 1 1 0\nf 1 2 3\nf 5 4 6\n")
	for weld, want := range map[float64]int{0: 4, -1: 6, 1e-9: 6, 1e-6: 4} {
		if got := len(part(t, decode(t, meshio.OBJ, text, meshio.Options{Weld: weld})).Vertices()); got != want {
			t.Errorf("weld %g leaves %d vertices, want %d", weld, got, want)
		}
	}
}

// Coordinates at the bottom of the number range once sent welding into an
// endless search.
func TestOBJMinuteCoordinates(t *testing.T) {
	text := []byte("v 1e-320 4e-319 6e-317\nv 7e-305 1e-307 1e-307\nv 2e-317 0 1e-302\nv 0 0 0\nv 1 0 0\nv 0 1 0\no minute\nf 1 2 3\no sound\nf 4 5 6\n")
	sameTriangles(t, part(t, decode(t, meshio.OBJ, text, meshio.Options{}), "sound"), unitTriangle(), 0)
}
