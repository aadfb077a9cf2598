package mesh_test

import (
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
)

func shifted(d float64) func(r3.Vec) r3.Vec {
	return func(p r3.Vec) r3.Vec { return r3.Add(p, r3.Vec{X: d}) }
}

func TestSplitJoin(t *testing.T) {
	parts := []*mesh.Mesh{
		meshtest.Cylinder(1, 0, 2, 12, 2, true),
		meshtest.Box(r3.Vec{X: 5}, r3.Vec{X: 6, Y: 1, Z: 1}),
		meshtest.Torus(3, 1, 12, 8, shifted(20)),
	}
	whole := mesh.Join(parts...)
	wantValid(t, whole)
	split := mesh.Split(whole)
	wantEqual(t, "parts", len(split), 3)
	for i, p := range split {
		wantSame(t, p, parts[i])
	}
	if one := mesh.Split(parts[0]); len(one) != 1 || one[0] != parts[0] {
		t.Error("a single shell is not returned as it is")
	}
}

// wantSame checks that two meshes are equal to the last index.
func wantSame(t fataler, got, want *mesh.Mesh) {
	t.Helper()
	if !slices.Equal(got.Vertices(), want.Vertices()) || !slices.Equal(got.Triangles(), want.Triangles()) {
		t.Fatalf("vertices or triangles differ")
	}
	wantEqual(t, "polygons", got.NumPolygons(), want.NumPolygons())
	for i := range got.NumPolygons() {
		if !slices.Equal(got.Polygon(i), want.Polygon(i)) {
			t.Fatalf("polygon %d = %v, want %v", i, got.Polygon(i), want.Polygon(i))
		}
	}
	for i := range got.Triangles() {
		wantEqual(t, "polygon of a triangle", got.PolygonOf(i), want.PolygonOf(i))
	}
	wantEqual(t, "bounds", got.Bounds(), want.Bounds())
}

func TestShellsMeetInVertex(t *testing.T) {
	m := polygons(t, []r3.Vec{{}, {X: 1}, {Y: 1}, {X: -1}, {Y: -1}, {X: 9}, {X: 9, Y: 1}, {X: 8}},
		[]int32{0, 1, 2}, []int32{5, 6, 7}, []int32{0, 3, 4})
	label, n := m.Topology().Shells()
	if n != 2 || !slices.Equal(label, []int32{0, 1, 0}) {
		t.Errorf("labels %v, %d shells", label, n)
	}
}

func TestSubKeepsWholePolygons(t *testing.T) {
	m := meshtest.Box(r3.Vec{}, r3.Vec{X: 1, Y: 1, Z: 1}) // triangles 2i, 2i+1 of quad i
	s := mesh.Sub(m, []int32{5, 0, 4, 1, 7, 5})
	wantEqual(t, "triangles", len(s.Triangles()), 5)
	wantEqual(t, "polygons", s.NumPolygons(), 3)
	var sizes []int
	for i := range s.NumPolygons() {
		sizes = append(sizes, len(s.Polygon(i)))
	}
	if !slices.Equal(sizes, []int{4, 4, 3}) {
		t.Errorf("polygons of %v corners", sizes)
	}
	for i, old := range []int{0, 1, 4, 5, 7} {
		a, b, c := s.Corners(i)
		d, e, f := m.Corners(old)
		wantEqual(t, "corners", [3]r3.Vec{a, b, c}, [3]r3.Vec{d, e, f})
	}
	wantEqual(t, "nothing", len(mesh.Sub(m, nil).Triangles()), 0)
	all := make([]int32, 12)
	for i := range all {
		all[i] = int32(i)
	}
	wantSame(t, mesh.Sub(m, all), m)
}

// TestShellsOracle compares with repeated relabelling, and checks that parts
// add up to the whole.
func TestShellsOracle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawSoup(t, 40)
		label, n := m.Topology().Shells()
		want := make([]int32, len(label))
		for i := range want {
			want[i] = int32(i)
		}
		for changed := true; changed; {
			changed = false
			for i, v := range m.Triangles() {
				for j, w := range m.Triangles() {
					if (slices.Contains(w[:], v[0]) || slices.Contains(w[:], v[1]) || slices.Contains(w[:], v[2])) && want[j] < want[i] {
						want[i], changed = want[j], true
					}
				}
			}
		}
		first := map[int32]int32{}
		for i := range want {
			if _, ok := first[want[i]]; !ok {
				first[want[i]] = int32(len(first))
			}
			wantEqual(t, "label", label[i], first[want[i]])
		}
		wantEqual(t, "shells", n, len(first))
		parts := mesh.Split(m)
		triangles, vertices := 0, 0
		for _, p := range parts {
			triangles += len(p.Triangles())
			vertices += len(p.Vertices())
		}
		wantEqual(t, "triangles", triangles, len(m.Triangles()))
		wantEqual(t, "vertices", vertices, len(m.Vertices()))
		wantNear(t, "area", mesh.Join(parts...).Area(), m.Area(), 1e-9*m.Area())
	})
}

func BenchmarkSplit(b *testing.B) {
	bySize(b, func(b *testing.B, n int) {
		part := meshtest.Box(r3.Vec{}, r3.Vec{X: 1, Y: 1, Z: 1})
		parts := make([]*mesh.Mesh, n/12)
		for i := range parts {
			parts[i] = part
		}
		m := mesh.Join(parts...)
		m.Topology()
		for b.Loop() {
			mesh.Split(m)
		}
	})
}

// Volumes and areas in closed form of solids whose vertices lie on the ideal one.
func TestVolumeArea(t *testing.T) {
	ngon := func(n int) float64 { return 0.5 * float64(n) * math.Sin(2*math.Pi/float64(n)) }
	sagitta := func(n int) float64 { return 1 - math.Cos(math.Pi/float64(n)) }
	const n = 17
	side := 2 * math.Sin(math.Pi/n)
	tests := []struct {
		name         string
		m            *mesh.Mesh
		volume, area float64
	}{
		{"box", meshtest.Box(r3.Vec{X: 1, Y: 2, Z: 3}, r3.Vec{X: 3, Y: 5, Z: 7}), 24, 52},
		{"tetrahedron", tetrahedron(t), 8. / 3, 8 * math.Sqrt(3)},
		{"prism", meshtest.Cylinder(2, -1, 4, n, 3, true), 5 * 4 * ngon(n), 2*4*ngon(n) + 5*2*n*side},
		{"cone", meshtest.Cone(2, 0, 5, n, 4, true), 5. / 3 * 4 * ngon(n), 4*ngon(n) + n*side*math.Hypot(5, 2*(1-sagitta(n)))},
		{"octahedron", meshtest.Sphere(3, 4, 2), 4. / 3 * 27, 4 * math.Sqrt(3) * 9},
	}
	for _, test := range tests {
		wantValid(t, test.m)
		wantNear(t, test.name+" volume", test.m.Volume()/test.volume, 1, 1e-14)
		wantNear(t, test.name+" area", test.m.Area()/test.area, 1, 1e-14)
		wantEqual(t, test.name+" closed", test.m.IsClosed(), true)
	}
}

// TestVolumeTorusPappus checks the turned polygon: Pappus gives 2 pi q A for a
// full turn; n segments replace pi by (n/2) sin(2 pi/n).
func TestVolumeTorusPappus(t *testing.T) {
	const n, k = 40, 12
	area := 0.5 * k * math.Sin(2*math.Pi/k)
	want := n * math.Sin(2*math.Pi/n) * 3 * area
	m := meshtest.Torus(3, 1, n, k)
	wantValid(t, m)
	wantNear(t, "volume", m.Volume()/want, 1, 1e-13)
}

func TestVolumeInvariance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		move, scale := drawMap(t)
		m, moved := meshtest.Torus(3, 1, 12, 7), meshtest.Torus(3, 1, 12, 7, move)
		wantNear(t, "volume", moved.Volume()/(scale*scale*scale), m.Volume(), 1e-9)
		wantNear(t, "area", moved.Area()/(scale*scale), m.Area(), 1e-9)
		inside := meshtest.Torus(3, 1, 12, 7, func(p r3.Vec) r3.Vec { return r3.Vec{X: p.X, Y: p.Y, Z: -p.Z} })
		wantNear(t, "inside out", inside.Volume(), -m.Volume(), 1e-12)
	})
}

func TestValidateNamesFault(t *testing.T) {
	corners := []r3.Vec{{}, {X: 1}, {Y: 1}, {Z: 1}}
	box := meshtest.Box(r3.Vec{}, r3.Vec{X: 1, Y: 1, Z: 1})
	twice := append(slices.Clone(corners), r3.Vec{X: -1}, r3.Vec{Y: -1}, r3.Vec{Z: -1})
	tests := []struct {
		name string
		m    *mesh.Mesh
		want string
	}{
		{"empty", mesh.Join(), "mesh has no triangles"},
		{"open", mesh.Sub(box, []int32{0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10}), "edge 11 (vertices 3 and 4) has 1 triangles, want 2"},
		{"turned over", polygons(t, corners, []int32{0, 1, 2}, []int32{0, 1, 3}, []int32{1, 2, 3}, []int32{2, 0, 3}), "at edge 0 (vertices 0 and 1) the triangles disagree about outside"},
		{"inside out", polygons(t, corners, []int32{0, 1, 2}, []int32{0, 3, 1}, []int32{1, 3, 2}, []int32{2, 3, 0}), "volume is -0.16666666666666666, want more than 0; the normals may point inward"},
		{"two solids at one vertex", polygons(t, twice,
			[]int32{0, 2, 1}, []int32{0, 1, 3}, []int32{1, 2, 3}, []int32{2, 0, 3},
			[]int32{0, 4, 5}, []int32{0, 6, 4}, []int32{4, 6, 5}, []int32{5, 6, 0}), "vertex 0 has 6 triangles, 3 of them in its first fan"},
	}
	for _, test := range tests {
		if err := mesh.Validate(test.m); err == nil || err.Error() != test.want {
			t.Errorf("%s: %v, want %s", test.name, err, test.want)
		}
		wantEqual(t, test.name+" closed", test.m.IsClosed(), test.name == "inside out" || test.name == "two solids at one vertex")
	}
}

func BenchmarkValidate(b *testing.B) {
	bySize(b, func(b *testing.B, n int) {
		m := benchTorus(n)
		m.Topology()
		for b.Loop() {
			if err := mesh.Validate(m); err != nil {
				b.Fatal(err)
			}
		}
	})
}
