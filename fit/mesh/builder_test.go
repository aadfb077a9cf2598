package mesh_test

import (
	"context"
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
)

func TestBuildKeepsPolygons(t *testing.T) {
	m := meshtest.Cylinder(2, 0, 3, 8, 1, true)
	wantEqual(t, "polygons", m.NumPolygons(), 10)
	wantEqual(t, "triangles", len(m.Triangles()), 8*2+2*6)
	if got, want := m.Polygon(9), []int32{8, 9, 10, 11, 12, 13, 14, 15}; !slices.Equal(got, want) {
		t.Errorf("top cap = %v, want %v", got, want)
	}
	for i := range m.Triangles() {
		poly := m.Polygon(m.PolygonOf(i))
		for _, v := range m.Triangles()[i] {
			if !slices.Contains(poly, v) {
				t.Fatalf("triangle %d has vertex %d, its polygon %v has not", i, v, poly)
			}
		}
	}
}

func TestBuildReport(t *testing.T) {
	inf, nan := math.Inf(1), math.NaN()
	square := []r3.Vec{{}, {X: 1}, {X: 1, Y: 1}, {Y: 1}}
	tests := []struct {
		name   string
		points []r3.Vec
		faces  [][]int32
		want   mesh.Report
		notes  int
	}{
		{"square", square, [][]int32{{0, 1, 2, 3}}, mesh.Report{Boundary: 4}, 0},
		{"exact copies", slices.Concat(square, square), [][]int32{{0, 1, 2}, {4, 6, 7}}, mesh.Report{Welded: 2, Unused: 2, Boundary: 4}, 0},
		{"unused", slices.Concat(square, square[:1]), [][]int32{{0, 1, 2}}, mesh.Report{Unused: 2, Boundary: 3}, 0},
		{"not finite", slices.Concat(square, []r3.Vec{{X: nan}, {Y: inf}, {Z: -1e80}}), [][]int32{{0, 1, 4}, {1, 2, 5}, {0, 1, 6}, {0, 1, 2}}, mesh.Report{NonFinite: 3, Unused: 4, Boundary: 3}, 1},
		{"collinear", slices.Concat(square, []r3.Vec{{X: 2}}), [][]int32{{0, 1, 4}, {0, 1, 2, 3}}, mesh.Report{ZeroArea: 1, Unused: 1, Boundary: 4}, 1},
		{"two corners", square, [][]int32{{0, 1}, {0, 1, 0}, {2, 2, 2}, {}, {0, 1, 2, 3}}, mesh.Report{ZeroArea: 4, Boundary: 4}, 1},
		{"collinear polygon", []r3.Vec{{}, {X: 1}, {X: 2}, {X: 3}, {X: 4}}, [][]int32{{0, 1, 2, 3, 4}}, mesh.Report{ZeroArea: 1, Unused: 5}, 1},
		{"repeated", square, [][]int32{{0, 1, 2}, {1, 2, 0}, {0, 2, 1}, {0, 2, 3}}, mesh.Report{Duplicate: 2, Boundary: 4}, 1},
		{"same corners in another order", square, [][]int32{{0, 1, 2, 3}, {0, 2, 1, 3}}, mesh.Report{Crossing: 1, Boundary: 2, NonManifold: 2, Misoriented: 1}, 3},
		{"bow tie", []r3.Vec{{}, {X: 1}, {Y: 1}, {X: 1, Y: 2}}, [][]int32{{0, 1, 2, 3}}, mesh.Report{Crossing: 1, Boundary: 4}, 1},
		{"repeated corner", square, [][]int32{{0, 0, 1, 2, 2, 2, 3, 0}}, mesh.Report{Boundary: 4}, 0},
		{"page of a book", slices.Concat(square, []r3.Vec{{X: .5, Z: 1}, {X: .5, Z: -1}}), [][]int32{{0, 1, 2}, {1, 0, 4}, {0, 1, 5}}, mesh.Report{Unused: 1, Boundary: 6, NonManifold: 1}, 1},
		{"turned over", square, [][]int32{{0, 1, 2}, {0, 3, 2}}, mesh.Report{Boundary: 4, Misoriented: 1}, 1},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			b := mesh.NewBuilder()
			for _, p := range test.points {
				b.Vertex(p)
			}
			for _, f := range test.faces {
				b.Face(f...)
			}
			m, report, err := b.Build(mesh.Options{})
			if err != nil {
				t.Fatal(err)
			}
			wantEqual(t, "report", report, test.want)
			wantEqual(t, "notes", len(report.Notes()), test.notes)
			for i := range m.Triangles() {
				if r3.Norm(m.AreaNormal(i)) == 0 {
					t.Errorf("triangle %d has no area", i)
				}
			}
			for _, note := range report.Notes() {
				if !strings.HasSuffix(note, ".") {
					t.Errorf("note %q is no sentence", note)
				}
			}
		})
	}
}

func TestBuildNotesCount(t *testing.T) {
	r := mesh.Report{ZeroArea: 1, NonManifold: 12}
	want := []string{"1 face has no area and was left out.", "12 edges have three or more faces; they count as sharp."}
	if got := r.Notes(); !slices.Equal(got, want) {
		t.Errorf("notes = %q, want %q", got, want)
	}
}

// TestBuildInvariance checks that shift, rotation and scale change nothing but
// the coordinates.
func TestBuildInvariance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n, rings := rapid.IntRange(3, 40).Draw(t, "n"), rapid.IntRange(1, 4).Draw(t, "rings")
		move, scale := drawMap(t)
		m := meshtest.Cylinder(2, -1, 4, n, rings, true)
		moved := meshtest.Cylinder(2, -1, 4, n, rings, true, move)
		a := build(t, soup(m), mesh.Options{Weld: mesh.DefaultWeld})
		b := build(t, soup(moved), mesh.Options{Weld: mesh.DefaultWeld})
		wantEqual(t, "vertices", len(b.Vertices()), n*(rings+1))
		if !slices.Equal(a.Triangles(), b.Triangles()) && len(a.Triangles()) != len(b.Triangles()) {
			t.Fatalf("triangles differ")
		}
		wantValid(t, b)
		wantNear(t, "volume", b.Volume()/(scale*scale*scale), a.Volume(), 1e-8)
		wantNear(t, "area", b.Area()/(scale*scale), a.Area(), 1e-8)
	})
}

// TestBuildFarFromOrigin checks a part of 100 mm that is 10 km from the origin.
func TestBuildFarFromOrigin(t *testing.T) {
	far := func(p r3.Vec) r3.Vec { return r3.Add(p, r3.Vec{X: 1e7, Y: -1e7, Z: 1e7}) }
	b := soup(meshtest.Cylinder(50, 0, 100, 64, 8, true, far))
	m, report, err := b.Build(mesh.Options{Weld: mesh.DefaultWeld})
	if err != nil {
		t.Fatal(err)
	}
	wantValid(t, m)
	wantEqual(t, "vertices", len(m.Vertices()), 64*9)
	wantEqual(t, "boundary edges", report.Boundary, 0)
	want := 100 * 0.5 * 50 * 50 * 64 * math.Sin(2*math.Pi/64)
	wantNear(t, "volume", m.Volume()/want, 1, 1e-10)
}

func TestBuildIsRepeatable(t *testing.T) {
	b := soup(meshtest.Torus(3, 1, 60, 40))
	first, second := build(t, b, mesh.Options{Weld: 1e-7}), build(t, b, mesh.Options{Weld: 1e-7})
	if !slices.Equal(first.Vertices(), second.Vertices()) || !slices.Equal(first.Triangles(), second.Triangles()) {
		t.Error("two builds differ")
	}
}

func TestBuildEmpty(t *testing.T) {
	m := build(t, mesh.NewBuilder(), mesh.Options{Weld: mesh.DefaultWeld})
	wantEqual(t, "polygons", m.NumPolygons(), 0)
	wantEqual(t, "bounds", m.Bounds(), r3.Box{})
	if _, _, ok := m.BVH().Ray(r3.Vec{}, r3.Vec{X: 1}); ok {
		t.Error("a ray hit an empty mesh")
	}
	if tri, _, d := m.BVH().Closest(r3.Vec{}); tri != -1 || !math.IsInf(d, 1) {
		t.Errorf("Closest = %d at %v", tri, d)
	}
	if _, ok := mesh.Distance(m.BVH(), tetrahedron(t).BVH(), mesh.Identity(), math.Inf(1)); ok {
		t.Error("an empty mesh has a distance")
	}
	wantEqual(t, "loops", len(m.Topology().FeatureLoops(0.5)), 0)
	wantEqual(t, "quads", len(m.Topology().Quads()), 0)
	wantEqual(t, "joined", len(mesh.Join().Triangles()), 0)
	wantEqual(t, "parts", len(mesh.Split(m)), 0)
	if m.IsClosed() || mesh.Validate(m) == nil {
		t.Error("an empty mesh counts as closed")
	}
}

func TestBuildErrors(t *testing.T) {
	triangle := func(v ...int32) *mesh.Builder {
		b := mesh.NewBuilder()
		for i := range 3 {
			b.Vertex(r3.Vec{X: float64(i), Y: float64(i * i)})
		}
		b.Face(0, 1, 2)
		b.Face(v...)
		return b
	}
	tests := []struct {
		name string
		b    *mesh.Builder
		o    mesh.Options
		want string
	}{
		{"index too large", triangle(0, 1, 3), mesh.Options{}, "building mesh: face 1 uses vertex 3, but the vertices are 0 to 2"},
		{"index negative", triangle(0, -1, 2), mesh.Options{}, "building mesh: face 1 uses vertex -1, but the vertices are 0 to 2"},
		{"corners", triangle(make([]int32, 70000)...), mesh.Options{}, "building mesh: face 1 has 70000 corners, at most 65536 can be cut into triangles; split the face"},
		{"weld", triangle(0, 1, 2), mesh.Options{Weld: math.NaN()}, "building mesh: weld distance is NaN, want a finite number"},
	}
	for _, test := range tests {
		m, _, err := test.b.Build(test.o)
		if err == nil || err.Error() != test.want || m != nil {
			t.Errorf("%s: error %q, want %q", test.name, err, test.want)
		}
	}
}

func TestBuildCancel(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	b := soup(meshtest.Torus(3, 1, 200, 100))
	calls := 0
	m, _, err := b.BuildContext(ctx, mesh.Options{Progress: func(done float64, _ string) {
		if calls++; done > 0.4 {
			cancel()
		}
	}})
	if !errors.Is(err, context.Canceled) || m != nil {
		t.Errorf("error %v, want %v", err, context.Canceled)
	}
	if calls < 3 {
		t.Errorf("progress called %d times", calls)
	}
}

func TestBuildProgressRises(t *testing.T) {
	last := -1.0
	b := soup(meshtest.Torus(3, 1, 200, 200))
	_, _, err := b.BuildContext(context.Background(), mesh.Options{Progress: func(done float64, what string) {
		if done < last || done > 1 || what == "" {
			t.Errorf("progress %v %q after %v", done, what, last)
		}
		last = done
	}})
	if err != nil {
		t.Fatal(err)
	}
	wantEqual(t, "last", last, 1)
}

// TestBuildAllocations checks that the number of allocations does not grow with
// the mesh.
func TestBuildAllocations(t *testing.T) {
	small, large := soup(meshtest.Torus(3, 1, 20, 10)), soup(meshtest.Torus(3, 1, 200, 100))
	count := func(b *mesh.Builder) float64 {
		return testing.AllocsPerRun(3, func() { build(t, b, mesh.Options{Weld: 1e-7}) })
	}
	if a, b := count(small), count(large); b > a {
		t.Errorf("%v allocations for 400 triangles, %v for 40000", a, b)
	}
}

// FuzzBuild feeds faces and coordinates of any kind.
func FuzzBuild(f *testing.F) {
	f.Add([]byte{3, 0, 1, 2, 4, 0, 1, 2, 3, 5, 0, 1, 2, 3, 4}, 1e-7)
	f.Add([]byte{7, 0, 5, 1, 6, 2, 7, 3, 3, 1, 1, 1}, 0.0)
	f.Add([]byte{9, 1, 2, 3, 4, 5, 6, 7, 8, 9, 0, 200, 255}, -1.0)
	f.Add([]byte{6, 0, 1, 2, 0, 3, 4, 6, 8, 7, 6, 5, 4, 3}, 0.3)
	special := []float64{0, math.Copysign(0, -1), 1, -1, 1e-300, 1e74, -1e74, 1e300, math.Inf(1), math.NaN(), 1 + 0x1p-52}
	f.Fuzz(func(t *testing.T, data []byte, weld float64) {
		b := mesh.NewBuilder()
		for i := range 24 {
			p := r3.Vec{X: float64(i % 3), Y: float64(i / 3 % 3), Z: float64(i*i%7) / 7}
			if i < len(data) {
				p.Z = special[int(data[i])%len(special)]
			}
			b.Vertex(p)
		}
		for len(data) > 0 {
			n := min(int(data[0]%12), len(data)-1)
			var face []int32
			for _, c := range data[1 : n+1] {
				face = append(face, int32(c%25)) // 24 is out of range
			}
			b.Face(face...)
			data = data[n+1:]
		}
		m, _, err := b.Build(mesh.Options{Weld: weld})
		if err != nil {
			return
		}
		exercise(t, m)
	})
}

// exercise calls every query and checks what holds for any mesh.
func exercise(t *testing.T, m *mesh.Mesh) {
	t.Helper()
	top := m.Topology()
	edges := 0
	for _, l := range top.FeatureLoops(0.5) {
		edges += len(l.Edges)
	}
	features := 0
	for _, is := range top.FeatureEdges(0.5) {
		if is {
			features++
		}
	}
	wantEqual(t, "edges in loops", edges, features)
	for e := range top.EdgeVerts {
		top.QuadLoop(e)
		top.QuadRing(e)
		top.Curvature(e)
	}
	_, smooth := top.SmoothPatches(0.5)
	_, even := top.EvenPatches(0.5)
	if even < smooth {
		t.Errorf("%d even patches, %d smooth", even, smooth)
	}
	area := 0.0
	for _, p := range mesh.Split(m) {
		area += p.Area()
	}
	if whole := m.Area(); math.Abs(area-whole) > 1e-9*whole {
		t.Errorf("area of shells %v, of the whole %v", area, whole)
	}
	all := make([]int32, len(m.Triangles()))
	for i := range all {
		all[i] = int32(i)
	}
	top.Outline(all)
	for i := range m.Triangles() {
		a, b, c := m.Corners(i)
		centre := r3.Scale(1./3, r3.Add(a, r3.Add(b, c)))
		if _, _, d := m.BVH().Closest(centre); d > 1e-9*m.Diagonal() {
			t.Errorf("triangle %d is %v from its own centre", i, d)
		}
	}
	_ = mesh.Validate(m)
}
