package meshio_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"
	"testing/iotest"

	gocmp "github.com/google/go-cmp/cmp"
	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
	"pintle/fit/meshio"
)

// write puts content into a new folder and returns the folder.
func write(t testing.TB, files map[string][]byte) string {
	t.Helper()
	dir := t.TempDir()
	for name, content := range files {
		if err := os.WriteFile(filepath.Join(dir, name), content, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

func TestDetect(t *testing.T) {
	stl := binarySTL("solid", 4, tetra()...)
	for _, c := range []struct {
		head string
		name string
		want meshio.Format
	}{
		{string(good().glb()), "x.obj", meshio.GLTF},
		{"ply\nformat ascii 1.0\n", "x.stl", meshio.PLY},
		{"ply\r\nformat ascii 1.0\n", "", meshio.PLY},
		{"solid a\nfacet normal", "x.obj", meshio.STL},
		{"solid a\nendsolid a", "", meshio.STL},
		{string(stl), "", meshio.STL},
		{string(stl), "crank.STL", meshio.STL},
		{"solid", "x.stl", meshio.STL},
		{" {\n", "", meshio.GLTF},
		{"{", "x.GLTF", meshio.GLTF},
		{"# made by hand\n\no a\r\nv 0 0 0\n", "", meshio.OBJ},
		{"\xef\xbb\xbfv 0 0 0\n", "model.txt", meshio.OBJ},
		{"anything", "x.Obj", meshio.OBJ},
		{"vain attempt\n", "", ""},
		{"v one two\n", "", ""},
		{"solid ground\n", "", ""},
		{"plywood\n", "", ""},
		{"", "", ""},
	} {
		if got := meshio.Detect([]byte(c.head), int64(len(c.head)), c.name); got != c.want {
			t.Errorf("Detect(%.20q, %q) = %q, want %q", c.head, c.name, got, c.want)
		}
	}
	for _, e := range meshio.Extensions() {
		if meshio.FormatOf("x"+strings.ToUpper(e)) == "" {
			t.Errorf("extension %s stands for no format", e)
		}
	}
}

func TestReadRefusals(t *testing.T) {
	dir := write(t, map[string][]byte{
		"empty.obj": nil, "archive.zip": []byte("PK\x03\x04...."), "prose.txt": []byte("To whom it may concern"),
		"packed.gz": []byte("\x1f\x8b\x08"), "wide.txt": []byte("\xff\xfev\x00"), "locked.obj": []byte(row(0)),
	})
	if err := os.Chmod(filepath.Join(dir, "locked.obj"), 0); err != nil {
		t.Fatal(err)
	}
	for name, words := range map[string][]string{
		"":            {filepath.Base(dir), "folder"},
		"empty.obj":   {"empty.obj", "empty"},
		"archive.zip": {"ZIP"},
		"packed.gz":   {"compressed archive"},
		"prose.txt":   {"not a mesh file", "glTF, GLB, OBJ, STL or PLY"},
		"wide.txt":    {"UTF-8"},
		"missing.obj": {"missing.obj", "no such file"},
		"locked.obj":  {"not permitted"},
	} {
		t.Run(name, func(t *testing.T) {
			if name == "locked.obj" && os.Getuid() == 0 {
				t.Skip("the superuser may read every file")
			}
			_, err := meshio.Read(t.Context(), filepath.Join(dir, name), meshio.Options{})
			checkRefusal(t, err, words...)
		})
	}
	if runtime.GOOS != "windows" {
		_, err := meshio.Read(t.Context(), os.DevNull, meshio.Options{})
		checkRefusal(t, err, "not an ordinary file")
	}
}

// An override names the unit and the axis; the numbers stay.
func TestUnitAndUp(t *testing.T) {
	tri := row(1)
	for _, c := range []struct {
		text string
		opt  meshio.Options
		unit mesh.Unit
		up   mesh.Up
	}{
		{tri, meshio.Options{}, "mm", "Z"},
		{"# arm-a, metres, zero pose\n" + tri, meshio.Options{}, "m", "Z"},
		{"# arm-a, metres, zero pose\n" + tri, meshio.Options{Unit: "in", Up: "Y"}, "in", "Y"},
		{"# units: m\n# up: Y\n" + tri, meshio.Options{}, "m", "Y"},
		{"#Units = CM, Y-up\n" + tri, meshio.Options{}, "cm", "Y"},
		{"# units in mm; up axis Z\n" + tri, meshio.Options{}, "mm", "Z"},
		{"# unit: in\n" + tri, meshio.Options{}, "in", "Z"},
		{"# File units are inches\n" + tri, meshio.Options{}, "in", "Z"},
		{"# drawn in 12 m of rain, see the light meter in hall 3\n" + tri, meshio.Options{}, "mm", "Z"},
		{"# diameters are in metres\n# lengths are in inches\n" + tri, meshio.Options{}, "mm", "Z"},
		{tri + "# metres\n", meshio.Options{}, "mm", "Z"},
	} {
		m := decode(t, meshio.OBJ, []byte(c.text), c.opt)
		if m.Unit != c.unit || m.Up != c.up {
			t.Errorf("%.40q: unit %s, up %s, want %s, %s", c.text, m.Unit, m.Up, c.unit, c.up)
		}
		if v := part(t, m).Vertices()[0]; v != vec(1, 0, 0) {
			t.Errorf("%.40q: the first vertex is %v, it must stay (1,0,0)", c.text, v)
		}
	}
	for name, opt := range map[string]meshio.Options{"unit": {Unit: "furlong"}, "up": {Up: "X"}} {
		_, err := meshio.Decode(t.Context(), strings.NewReader(tri), int64(len(tri)), meshio.OBJ, opt)
		if err == nil || !strings.Contains(err.Error(), name) {
			t.Errorf("%s: error %v", name, err)
		}
	}
	if _, err := meshio.Decode(t.Context(), strings.NewReader(tri), int64(len(tri)), "XYZ", meshio.Options{}); err == nil {
		t.Error("an unknown format was read")
	}
}

func TestReadFolder(t *testing.T) {
	dir := write(t, map[string][]byte{
		"b crank.stl": binarySTL("", 4, tetra()...),
		"a.obj":       []byte("o pin\n" + row(0) + "o bush\n" + row(1)),
		"c.ply":       fixture(t, "cube.ply"),
		"notes.txt":   []byte("not a model"),
		".hidden.obj": []byte("not a model"),
		"a.bin":       {1, 2, 3},
	})
	if err := os.Mkdir(filepath.Join(dir, "folder.obj"), 0o755); err != nil {
		t.Fatal(err)
	}
	last := 0.0
	m, err := meshio.ReadFolder(t.Context(), dir, meshio.Options{Progress: func(done float64, what string) {
		if done < last || done > 1 || !strings.HasPrefix(what, "Reading ") {
			t.Errorf("progress %v after %v: %s", done, last, what)
		}
		last = done
	}})
	if err != nil {
		t.Fatal(err)
	}
	if got, want := partNames(m), []string{"a/pin", "a/bush", "b crank", "c"}; !slices.Equal(got, want) {
		t.Errorf("parts %q, want %q", got, want)
	}
	sameTriangles(t, part(t, m, "b crank"), tetra(), 0)
	if len(m.Notes) != 1 {
		t.Errorf("notes %q, want the one about the unit", m.Notes)
	}
	if last != 1 {
		t.Errorf("progress ended at %v", last)
	}
	_, err = meshio.ReadFolder(t.Context(), dir, meshio.Options{Limits: meshio.Limits{MaxTriangles: 17}})
	checkRefusal(t, err, "c.ply", "more than 17 triangles")

	f := good()
	f.node[0].(object)["children"] = []int{1}
	f.add(object{"name": "tip"})
	f.add(object{"name": "base", "children": []int{0}})
	for _, name := range []string{"d.glb", "e.glb"} {
		if err := os.WriteFile(filepath.Join(dir, name), f.glb(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	_, err = meshio.ReadFolder(t.Context(), dir, meshio.Options{})
	checkRefusal(t, err, "a.obj is in mm with Z up, but d.glb is in m with Y up", "state the unit")
	m, err = meshio.ReadFolder(t.Context(), dir, meshio.Options{Unit: mesh.Millimetre, Up: mesh.UpZ})
	if err != nil {
		t.Fatal(err)
	}
	var nodes []string
	for _, n := range m.Nodes {
		nodes = append(nodes, fmt.Sprint(n.Name, " ", n.Parent))
	}
	if got, want := strings.Join(nodes, ", "), "base -1, tip 0, base.2 -1, tip.2 2"; got != want {
		t.Errorf("nodes %s, want %s", got, want)
	}
	for path, word := range map[string]string{t.TempDir(): "no model file", filepath.Join(dir, "none"): "no such file"} {
		_, err := meshio.ReadFolder(t.Context(), path, meshio.Options{})
		checkRefusal(t, err, word)
	}
}

// bigOBJ is a strip of n triangles.
func bigOBJ(n int) []byte {
	var b bytes.Buffer
	for i := range n + 2 {
		fmt.Fprintf(&b, "v %d %d 0\n", i/2, i%2)
	}
	for i := range n {
		fmt.Fprintf(&b, "f %d %d %d\n", i+1, i+2+i%2, i+3-i%2)
	}
	return b.Bytes()
}

// A cancel is answered at the next report of progress, in every phase of
// reading and building, and hides no other error.
func TestCancel(t *testing.T) {
	data := bigOBJ(60_000)
	for _, stop := range []float64{0, 0.2, 0.6} {
		ctx, cancel := context.WithCancel(t.Context())
		calls := 0
		_, err := meshio.Decode(ctx, bytes.NewReader(data), int64(len(data)), meshio.OBJ, meshio.Options{
			Name: "big.obj",
			Progress: func(done float64, _ string) {
				if ctx.Err() != nil {
					calls++
				}
				if done >= stop {
					cancel()
				}
			},
		})
		cancel()
		if !errors.Is(err, context.Canceled) || !strings.Contains(err.Error(), "big.obj") {
			t.Errorf("stopped at %v: error %v, want Canceled with the file's name", stop, err)
		}
		if calls > 0 {
			t.Errorf("stopped at %v: %d reports of progress after the cancel", stop, calls)
		}
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	for format, data := range samples(t) {
		_, err := meshio.Decode(ctx, bytes.NewReader(data), int64(len(data)), "", meshio.Options{})
		if !errors.Is(err, context.Canceled) {
			t.Errorf("%s: error %v, want Canceled", format, err)
		}
	}
	if _, err := meshio.ReadFolder(ctx, fixtures, meshio.Options{}); !errors.Is(err, context.Canceled) {
		t.Errorf("folder: error %v, want Canceled", err)
	}
}

func TestProgress(t *testing.T) {
	for format, data := range samples(t) {
		last, calls := -1.0, 0
		decode(t, "", data, meshio.Options{Progress: func(done float64, what string) {
			calls++
			if done < last || done > 1 || what == "" {
				t.Errorf("%s: progress %v after %v, %q", format, done, last, what)
			}
			last = done
		}})
		if last != 1 || calls < 3 {
			t.Errorf("%s: %d reports up to %v, want at least 3 up to 1", format, calls, last)
		}
	}
}

// samples has one small sound file of each form.
func samples(t testing.TB) map[string][]byte {
	skinned := good()
	skinned.object["skins"] = []object{{"joints": []int{0}}}
	return map[string][]byte{
		"glTF":        fixture(t, "triangle.gltf"),
		"glTF sparse": fixture(t, "sparse.gltf"),
		"GLB":         skinned.glb(),
		"OBJ":         fixture(t, "clevis.obj"),
		"STL ASCII":   fixture(t, "tetra.stl"),
		"STL binary":  binarySTL("solid crank", 4, tetra()...),
		"PLY ASCII":   fixture(t, "cube.ply"),
		"PLY little":  pentagonPLY("binary_little_endian", "float", "uchar", "int"),
		"PLY big":     pentagonPLY("binary_big_endian", "double", "uchar", "uint"),
	}
}

// The result does not depend on the number of cores.
func TestDeterminism(t *testing.T) {
	var b bytes.Buffer
	for i := range 200 {
		fmt.Fprintf(&b, "o part\n%so pad%d\n%s", row(i), i%7, row(i+1))
	}
	read := func() *mesh.Model { return decode(t, meshio.OBJ, b.Bytes(), meshio.Options{}) }
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	one := read()
	runtime.GOMAXPROCS(4)
	four := read()
	if diff := gocmp.Diff(partNames(one), partNames(four)); diff != "" {
		t.Error(diff)
	}
	for i := range one.Parts {
		a, b := one.Parts[i].Mesh, four.Parts[i].Mesh
		if !slices.Equal(a.Vertices(), b.Vertices()) || !slices.Equal(a.Triangles(), b.Triangles()) {
			t.Errorf("part %d differs", i)
		}
	}
}

// A file that cannot be read to its end is the disk's fault or was cut; either
// way the sentence names it. The files are longer than what Detect looks at.
func TestFailingDisk(t *testing.T) {
	long := func() *gltfFile {
		f := newGLTF()
		f.add(object{"mesh": f.triangle("t"), "extras": strings.Repeat("x", 1200)})
		return f
	}
	var many [][3]r3.Vec
	for range 10 {
		many = append(many, tetra()...)
	}
	padding := strings.Repeat("comment long enough to lie behind\n", 40)
	for name, data := range map[string][]byte{
		"GLB":        long().glb(),
		"glTF":       long().gltf(),
		"OBJ":        bigOBJ(100),
		"STL ASCII":  bytes.Repeat(fixture(t, "tetra.stl"), 3),
		"STL binary": binarySTL("", 40, many...),
		"PLY ASCII":  bytes.Replace(fixture(t, "cube.ply"), []byte("element v"), []byte(padding+"element v"), 1),
		"PLY binary": bytes.Replace(pentagonPLY("binary_big_endian", "float", "int", "int"), []byte("element c"), []byte(padding+"element c"), 1),
	} {
		decode(t, "", data, meshio.Options{})
		for keep := 0; keep < len(data); keep = max(1024, keep+1) {
			r := flaky{bytes.NewReader(data), int64(keep), errors.New("disk on fire")}
			_, err := meshio.Decode(t.Context(), r, int64(len(data)), "", meshio.Options{Name: "m.x"})
			if !errors.Is(err, r.err) || !strings.Contains(err.Error(), "m.x") {
				t.Fatalf("%s, %d bytes: error %v", name, keep, err)
			}
			r.err = io.EOF
			_, err = meshio.Decode(t.Context(), r, int64(len(data)), "", meshio.Options{Name: "m.x"})
			checkRefusal(t, err, "ends early")
		}
	}
	if _, err := meshio.Decode(t.Context(), flaky{bytes.NewReader(nil), 0, iotest.ErrTimeout}, 9, "", meshio.Options{}); !errors.Is(err, iotest.ErrTimeout) {
		t.Errorf("error %v, want the disk's", err)
	}
}

// flaky reads keep bytes and then fails.
type flaky struct {
	r    io.ReaderAt
	keep int64
	err  error
}

func (f flaky) ReadAt(p []byte, off int64) (int, error) {
	if off+int64(len(p)) <= f.keep {
		return f.r.ReadAt(p, off)
	}
	return 0, f.err
}
