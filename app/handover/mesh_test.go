package handover_test

import (
	"bytes"
	"context"
	"encoding/binary"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/app/handover"
	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
	"pintle/fit/meshio"
)

// readBack returns the one part of a file and its model.
func readBack(t testing.TB, path string) (*mesh.Mesh, *mesh.Model) {
	t.Helper()
	m, err := meshio.Read(context.Background(), path, meshio.Options{Weld: -1})
	if err != nil {
		t.Fatal(err)
	}
	if len(m.Parts) != 1 {
		t.Fatalf("%d parts", len(m.Parts))
	}
	return m.Parts[0].Mesh, m
}

// sameTriangles holds every triangle of got against one of want, corner by
// corner in order, within tol.
func sameTriangles(t testing.TB, want, got *mesh.Mesh, to func(r3.Vec) r3.Vec, tol float64) {
	t.Helper()
	if len(want.Triangles()) != len(got.Triangles()) {
		t.Fatalf("%d triangles, want %d", len(got.Triangles()), len(want.Triangles()))
	}
	for i := range want.Triangles() {
		a, b, c := want.Corners(i)
		d, e, f := got.Corners(i)
		for _, p := range [][2]r3.Vec{{a, d}, {b, e}, {c, f}} {
			if off := r3.Norm(r3.Sub(to(p[0]), p[1])); off > tol {
				t.Fatalf("triangle %d is off by %g: %v, want %v", i, off, p[1], to(p[0]))
			}
		}
	}
}

func as(p r3.Vec) r3.Vec { return p }

func TestOBJKeepsEveryDigitAndPolygonProperty(t *testing.T) {
	dir := t.TempDir()
	rapid.Check(t, func(rt *rapid.T) {
		move := rapid.Float64Range(-1e7, 1e7).Draw(rt, "move")
		m := meshtest.Cylinder(rapid.Float64Range(1e-3, 1e3).Draw(rt, "radius"), 0, 2, rapid.IntRange(3, 20).Draw(rt, "n"), 2, true,
			func(p r3.Vec) r3.Vec { return r3.Add(p, r3.Vec{X: move, Y: -move / 3}) })
		path := filepath.Join(dir, "m.obj")
		f := handover.MeshFile{Name: "a\nb  c", Mesh: m, Unit: mesh.Inch, Up: mesh.UpY}
		if err := handover.WriteMesh(path, f); err != nil {
			rt.Fatal(err)
		}
		got, model := readBack(t, path)
		sameTriangles(t, m, got, as, 0)
		if got.NumPolygons() != m.NumPolygons() || model.Unit != mesh.Inch || model.Up != mesh.UpY || model.Parts[0].Name != "a b c" {
			rt.Fatalf("%d polygons, want %d; unit %s, up %s, name %q", got.NumPolygons(), m.NumPolygons(), model.Unit, model.Up, model.Parts[0].Name)
		}
	})
}

func TestSTL(t *testing.T) {
	m := meshtest.Sphere(3, 12, 6, func(p r3.Vec) r3.Vec { return r3.Add(p, r3.Vec{X: 100}) })
	path := filepath.Join(t.TempDir(), "m.STL")
	if err := handover.WriteMesh(path, handover.MeshFile{Name: "ball", Mesh: m, Unit: mesh.Millimetre, Up: mesh.UpZ}); err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if n := len(m.Triangles()); len(data) != 84+50*n || binary.LittleEndian.Uint32(data[80:]) != uint32(n) || bytes.HasPrefix(data, []byte("solid")) {
		t.Errorf("%d bytes for %d triangles", len(data), n)
	}
	got, _ := readBack(t, path)
	sameTriangles(t, m, got, as, 1e-5) // single precision at 100
	if v := got.Volume(); math.Abs(v-m.Volume()) > 1e-4*m.Volume() {
		t.Errorf("volume %g, want %g: a face is turned", v, m.Volume())
	}
	huge := meshtest.Box(r3.Vec{}, r3.Vec{X: 1e39, Y: 1e39, Z: 1e39})
	if err := handover.WriteMesh(path, handover.MeshFile{Mesh: huge, Unit: mesh.Millimetre}); err == nil || !strings.Contains(err.Error(), "too large for the format") {
		t.Errorf("error %v", err)
	}
	if again, err := os.ReadFile(path); err != nil || !bytes.Equal(again, data) {
		t.Error("a failed write harmed the old file")
	}
}

// glTF wants metres and Y up; 10 km from the origin the shape still keeps its
// digits, since the node carries the offset.
func TestGLBTurnsScalesAndKeepsDigits(t *testing.T) {
	for _, c := range []struct {
		unit  mesh.Unit
		up    mesh.Up
		scale float64
		turn  func(r3.Vec) r3.Vec
	}{
		{mesh.Millimetre, mesh.UpZ, 1e-3, func(p r3.Vec) r3.Vec { return r3.Vec{X: p.X, Y: p.Z, Z: -p.Y} }},
		{mesh.Inch, mesh.UpY, 0.0254, as},
		{mesh.Metre, mesh.UpZ, 1, func(p r3.Vec) r3.Vec { return r3.Vec{X: p.X, Y: p.Z, Z: -p.Y} }},
	} {
		far := 1e4 / c.scale // 10 km
		m := meshtest.Torus(5, 2, 16, 8, func(p r3.Vec) r3.Vec { return r3.Add(p, r3.Vec{X: far, Y: far, Z: -far}) })
		path := filepath.Join(t.TempDir(), "m.glb")
		if err := handover.WriteMesh(path, handover.MeshFile{Name: "ring", Mesh: m, Unit: c.unit, Up: c.up}); err != nil {
			t.Fatal(err)
		}
		got, model := readBack(t, path)
		if model.Unit != mesh.Metre || model.Up != mesh.UpY || model.Parts[0].Name != "ring" {
			t.Errorf("unit %s, up %s, part %q", model.Unit, model.Up, model.Parts[0].Name)
		}
		to := func(p r3.Vec) r3.Vec { return r3.Scale(c.scale, c.turn(p)) }
		sameTriangles(t, m, got, to, 7*c.scale*1e-6)
		if v, want := got.Volume(), m.Volume()*math.Pow(c.scale, 3); math.Abs(v-want) > 1e-4*want {
			t.Errorf("volume %g, want %g", v, want)
		}
		checkGLB(t, path)
	}
}

// checkGLB holds the file against rules of glTF 2.0 that importers are strict
// about: chunk layout, alignment, bounds of positions.
func checkGLB(t *testing.T, path string) {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	le := binary.LittleEndian
	if le.Uint32(data) != 0x46546C67 || le.Uint32(data[4:]) != 2 || int(le.Uint32(data[8:])) != len(data) {
		t.Errorf("header % x", data[:12])
	}
	n := le.Uint32(data[12:])
	if n%4 != 0 || le.Uint32(data[16:]) != 0x4E4F534A || le.Uint32(data[20+n:])%4 != 0 || le.Uint32(data[24+n:]) != 0x004E4942 {
		t.Error("the chunks are not as they must be")
	}
	var d struct {
		Accessors []struct{ Min, Max []float64 }
		Meshes    []struct {
			Primitives []struct{ Attributes map[string]int }
		}
		BufferViews []struct{ ByteOffset int }
	}
	if err := json.Unmarshal(data[20:20+n], &d); err != nil {
		t.Fatal(err)
	}
	a := d.Accessors[d.Meshes[0].Primitives[0].Attributes["POSITION"]]
	if len(a.Min) != 3 || len(a.Max) != 3 {
		t.Error("positions have no bounds")
	}
	for i, v := range d.BufferViews {
		if v.ByteOffset%4 != 0 {
			t.Errorf("buffer view %d begins at %d", i, v.ByteOffset)
		}
	}
}

func TestWriteMeshRefuses(t *testing.T) {
	dir := t.TempDir()
	box := meshtest.Box(r3.Vec{}, r3.Vec{X: 1, Y: 1, Z: 1})
	empty, _, err := mesh.NewBuilder().Build(mesh.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		file handover.MeshFile
		want string
	}{
		"x.txt":    {handover.MeshFile{Mesh: box, Unit: mesh.Metre}, "a mesh is written as .stl, .obj, .glb"},
		"x":        {handover.MeshFile{Mesh: box, Unit: mesh.Metre}, "a mesh is written as .stl, .obj, .glb"},
		"x.obj":    {handover.MeshFile{Mesh: empty, Unit: mesh.Metre}, "the mesh is empty"},
		"y.glb":    {handover.MeshFile{Mesh: box, Unit: "ell"}, `unit "ell" is not one of mm, cm, m, in`},
		"no/x.stl": {handover.MeshFile{Mesh: box, Unit: mesh.Metre}, "no such file or directory"},
	} {
		err := handover.WriteMesh(filepath.Join(dir, name), c.file)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", name, err, c.want)
		}
	}
	if entries, _ := os.ReadDir(dir); len(entries) != 0 {
		t.Errorf("files were left: %v", entries)
	}
}

func BenchmarkWriteMesh(b *testing.B) {
	m := meshtest.Torus(5, 2, 400, 250)
	for _, ext := range handover.MeshExtensions() {
		b.Run(ext, func(b *testing.B) {
			b.ReportAllocs()
			path := filepath.Join(b.TempDir(), "m"+ext)
			for b.Loop() {
				if err := handover.WriteMesh(path, handover.MeshFile{Mesh: m, Unit: mesh.Millimetre}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
