package offscreen

import (
	"math"
	"testing"

	"github.com/g3n/engine/geometry"
	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
	"pintle/viewport/draft"
)

func dirGen() *rapid.Generator[r3.Vec] {
	return rapid.Custom(func(t *rapid.T) r3.Vec {
		z := rapid.Float64Range(-1, 1).Draw(t, "z")
		s, c := math.Sincos(rapid.Float64Range(-math.Pi, math.Pi).Draw(t, "turn"))
		r := math.Sqrt(1 - z*z)
		return r3.Vec{X: r * c, Y: r * s, Z: z}
	})
}

// Contours of a smooth closed body are closed: an even number of them meets at
// every vertex. On a convex one they are the edges between faces that turn
// toward the viewer and such that turn away, found here face by face.
func TestContoursAgainstBruteForce(t *testing.T) {
	m := meshtest.Sphere(3, 24, 16)
	top := m.Topology()
	none := make([]bool, len(top.EdgeVerts))
	f := newContourFinder(m, none, r3.Vec{})
	rapid.Check(t, func(t *rapid.T) {
		d := dirGen().Draw(t, "d")
		perspective := rapid.Bool().Draw(t, "perspective")
		eye := d
		if perspective {
			eye = r3.Scale(rapid.Float64Range(3.5, 40).Draw(t, "distance"), d)
		}
		front := func(tri int32) bool {
			a, _, _ := m.Corners(int(tri))
			toward := eye
			if perspective {
				toward = r3.Sub(eye, a)
			}
			return r3.Dot(m.AreaNormal(int(tri)), toward) > 0
		}
		want := 0
		for e := range top.EdgeVerts {
			faces := top.EdgeFaces(e)
			if !top.IsDiagonal(e) && front(faces[0]) != front(faces[1]) {
				want++
			}
		}
		got := 0
		degree := make(map[r3.Vec]int)
		f.find(eye, perspective, func(a, b r3.Vec) {
			got++
			degree[a]++
			degree[b]++
		})
		for p, n := range degree {
			if n%2 != 0 {
				t.Fatalf("%d contours meet at %v", n, p)
			}
		}
		if got != want {
			t.Fatalf("%d contour edges, brute force finds %d", got, want)
		}
	})
}

func TestConcaveEdgesAreNoContours(t *testing.T) {
	// Two slopes that meet in a valley: its bottom never is an outline.
	b := mesh.NewBuilder()
	for _, p := range []r3.Vec{{X: -2, Z: 0.5}, {X: -2, Y: 4, Z: 0.5}, {}, {Y: 4}, {X: 2, Z: 0.5}, {X: 2, Y: 4, Z: 0.5}} {
		b.Vertex(p)
	}
	b.Face(0, 2, 3, 1)
	b.Face(2, 4, 5, 3)
	m, _, err := b.Build(mesh.Options{})
	if err != nil {
		t.Fatal(err)
	}
	isFeature := m.Topology().FeatureEdges(1)
	f := newContourFinder(m, isFeature, r3.Vec{})
	f.find(r3.Vec{X: 1, Z: 0.05}, false, func(a, c r3.Vec) { t.Errorf("the valley %v to %v is a contour", a, c) })
}

// buffer returns the data of one of a geometry's attributes.
func buffer(g *geometry.Geometry, i int) []float32 { return *g.VBOs()[i].Buffer() }

// Every feature edge is inked once, and the lengths run along its chain add up.
func TestCreases(t *testing.T) {
	for name, m := range map[string]*mesh.Mesh{
		"box":      meshtest.Box(r3.Vec{}, r3.Vec{X: 1, Y: 2, Z: 3}),
		"cylinder": meshtest.Cylinder(1, 0, 2, 30, 1, true),
		"sheet":    meshtest.Grid(3, 3, 5, 4),
	} {
		want := 0
		for _, is := range m.Topology().FeatureEdges(0.5) {
			if is {
				want++
			}
		}
		s := newSolid(m, 0.5)
		here, there, corner := buffer(s.creases, 0), buffer(s.creases, 1), buffer(s.creases, 4)
		if len(here) != 4*3*want || s.corners != 6*want {
			t.Errorf("%s: %d floats and %d corners for %d edges", name, len(here), s.corners, want)
		}
		type ends struct{ a, b [3]float32 }
		seen := make(map[ends]bool)
		for i := range want {
			a, b := [3]float32(here[12*i:]), [3]float32(there[12*i:])
			first, last := corner[16*i:16*i+4], corner[16*i+8:16*i+12]
			if seen[ends{a, b}] || seen[ends{b, a}] {
				t.Errorf("%s: the edge %v to %v twice", name, a, b)
			}
			seen[ends{a, b}] = true
			length := math.Hypot(math.Hypot(float64(a[0]-b[0]), float64(a[1]-b[1])), float64(a[2]-b[2]))
			if run := float64(last[2] - first[2]); math.Abs(run-length) > 1e-5 {
				t.Errorf("%s: the edge %v to %v is %g long and runs %g", name, a, b, length, run)
			}
			if first[3] < last[2]-1e-5 {
				t.Errorf("%s: run %g of a chain %g long", name, last[2], first[3])
			}
		}
	}
}

// Normals are shared round a bore and not across its rim.
func TestFacesShareNormalsWithinPatches(t *testing.T) {
	m := meshtest.Cylinder(2, 0, 5, 32, 1, true)
	s := newSolid(m, draft.DefaultFeature)
	places, normals := buffer(s.faces, 0), buffer(s.faces, 1)
	// Each of the 64 vertices is in the side and in a cap.
	if n := len(places) / 3; n != 128 || len(normals) != len(places) {
		t.Fatalf("%d corners, want 128", n)
	}
	for i := 0; i < len(places); i += 3 {
		p := r3.Vec{X: float64(places[i]), Y: float64(places[i+1])}
		n := r3.Vec{X: float64(normals[i]), Y: float64(normals[i+1]), Z: float64(normals[i+2])}
		if math.Abs(r3.Norm(n)-1) > 1e-6 {
			t.Fatalf("normal %v is not a unit vector", n)
		}
		radial := r3.Dot(n, r3.Unit(p))
		if math.Abs(n.Z) < 0.5 && math.Abs(radial-1) > 1e-6 {
			t.Errorf("side normal %v at %v is not radial", n, p)
		}
		if math.Abs(n.Z) > 0.5 && math.Abs(n.Z) < 1-1e-6 {
			t.Errorf("cap normal %v leans", n)
		}
	}
}

// Far from the origin float32 alone would lose the shape: ten kilometres at a
// millimetre a unit leave steps of 0.6.
func TestSolidIsCentred(t *testing.T) {
	off := r3.Vec{X: 1e7, Y: -2e7, Z: 3e6}
	near := newSolid(meshtest.Cylinder(2, 0, 5, 32, 1, true), draft.DefaultFeature)
	far := newSolid(meshtest.Cylinder(2, 0, 5, 32, 1, true, func(p r3.Vec) r3.Vec { return r3.Add(p, off) }), draft.DefaultFeature)
	a, b := buffer(near.faces, 0), buffer(far.faces, 0)
	if len(a) != len(b) {
		t.Fatalf("%d floats near, %d far", len(a), len(b))
	}
	for i := range a {
		if math.Abs(float64(a[i]-b[i])) > 1e-6 {
			t.Fatalf("float %d is %g near and %g far from the origin", i, a[i], b[i])
		}
	}
}

func TestSolidOfNothing(t *testing.T) {
	m, _, err := mesh.NewBuilder().Build(mesh.Options{})
	if err != nil || m == nil {
		t.Skip("there is no empty mesh")
	}
	s := newSolid(m, draft.DefaultFeature)
	s.wire(m)
	s.contour.find(r3.Vec{Z: 1}, false, func(a, b r3.Vec) { t.Error("a contour of nothing") })
	s.dispose()
}

func TestCacheStaysInItsBudget(t *testing.T) {
	m := make([]*mesh.Mesh, 12)
	for i := range m {
		m[i] = meshtest.Cylinder(1, 0, 1, 20+i, 1, true)
	}
	one := newSolid(m[0], 0.5).bytes
	c := newCache(4 * one)
	for i := range m {
		c.begin()
		first := c.get(solidKey{m[i], 0.5})
		if again := c.get(solidKey{m[i], 0.5}); again != first {
			t.Fatal("the same mesh was prepared twice")
		}
		c.end()
		if c.total > c.budget {
			t.Errorf("%d bytes held, budget %d", c.total, c.budget)
		}
	}
	if n := len(c.entries); n < 2 || n > 4 || c.recent.Len() != n {
		t.Errorf("%d meshes kept, %d in order", n, c.recent.Len())
	}
	// One picture may need more than the budget; it keeps what it needs.
	c.begin()
	for i := range m {
		c.get(solidKey{m[i], 0.5})
	}
	c.end()
	if len(c.entries) != len(m) {
		t.Errorf("%d meshes kept of %d in use", len(c.entries), len(m))
	}
	c.begin()
	c.get(solidKey{m[0], 0.5})
	c.end()
	if c.total > c.budget {
		t.Errorf("%d bytes held after the large picture, budget %d", c.total, c.budget)
	}
	c.clear()
	if c.total != 0 || len(c.entries) != 0 {
		t.Errorf("%d bytes and %d meshes after clearing", c.total, len(c.entries))
	}
}

func BenchmarkContours(b *testing.B) {
	m := meshtest.Sphere(3, 400, 250)
	f := newContourFinder(m, make([]bool, len(m.Topology().EdgeVerts)), r3.Vec{})
	b.ReportAllocs()
	for b.Loop() {
		f.find(r3.Vec{X: 0.6, Z: 0.8}, false, func(a, c r3.Vec) {})
	}
}
