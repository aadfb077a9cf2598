package find

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
)

// shaken moves every vertex by normal noise; the same seed shakes alike.
func shaken(m *mesh.Mesh, sigma float64, seed uint64) *mesh.Mesh {
	rng := rand.New(rand.NewPCG(seed, 7))
	b := mesh.NewBuilder()
	for _, p := range m.Vertices() {
		b.Vertex(r3.Add(p, r3.Scale(sigma, r3.Vec{X: rng.NormFloat64(), Y: rng.NormFloat64(), Z: rng.NormFloat64()})))
	}
	for i := range m.NumPolygons() {
		b.Face(m.Polygon(i)...)
	}
	out, _, err := b.Build(mesh.Options{Weld: -1})
	if err != nil {
		panic(err)
	}
	return out
}

// A corner of a unit square lifted by h makes a tetrahedron of volume h/6 whose
// four faces have twice the area 1 each to first order: the height is h/2.
func TestEdgeHeightClosedForm(t *testing.T) {
	for _, h := range []float64{1e-6, -1e-6} {
		b := mesh.NewBuilder()
		v := []int32{b.Vertex(r3.Vec{}), b.Vertex(r3.Vec{X: 1}), b.Vertex(r3.Vec{X: 1, Y: 1, Z: h}), b.Vertex(r3.Vec{Y: 1})}
		b.Face(v[0], v[1], v[3])
		b.Face(v[1], v[2], v[3])
		m, _, err := b.Build(mesh.Options{Weld: -1})
		if err != nil {
			t.Fatal(err)
		}
		top := m.Topology()
		e, _ := top.EdgeBetween(1, 3)
		if got, ok := edgeHeight(m, top, e); !ok || math.Abs(got+h/2) > 1e-9*math.Abs(h) {
			t.Errorf("height %g: %g, want %g", h, got, -h/2)
		}
		if _, ok := edgeHeight(m, top, 0); ok {
			t.Error("an open edge has a height")
		}
	}
}

func TestNoiseIsFound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		scale := rapid.SampledFrom([]float64{1e-3, 1, 1e3}).Draw(t, "scale")
		share := math.Pow(10, rapid.Float64Range(-5, -3).Draw(t, "decade"))
		turn := r3.NewRotation(rapid.Float64Range(-3, 3).Draw(t, "turn"), r3.Vec{X: 1, Y: 0.4, Z: -2})
		move := func(p r3.Vec) r3.Vec { return r3.Scale(scale, turn.Rotate(p)) }
		m := mesh.Join(
			meshtest.Cylinder(10, 0, 30, rapid.IntRange(16, 48).Draw(t, "facets"), 4, true, move),
			meshtest.Grid(20, 20, 10, 10, func(p r3.Vec) r3.Vec { return r3.Add(p, r3.Vec{X: 30}) }, move),
		)
		sigma := share * m.Diagonal()
		if got := noiseOf(shaken(m, sigma, rapid.Uint64().Draw(t, "seed"))); got < 0.5*sigma || got > 2.5*sigma {
			t.Errorf("noise %g, made with %g", got, sigma)
		}
	})
}

// Bends are no noise, whatever the tessellation.
func TestNoNoiseInCleanParts(t *testing.T) {
	for name, m := range map[string]*mesh.Mesh{
		"box": meshtest.Box(r3.Vec{}, r3.Vec{X: 1, Y: 2, Z: 3}), "cylinder": meshtest.Cylinder(1, 0, 3, 24, 2, true),
		"sphere": meshtest.Sphere(2, 24, 12), "ring": meshtest.Torus(6, 2, 32, 16), "prism": meshtest.Cylinder(1, 0, 3, 6, 1, true),
		"cone": meshtest.Cone(1, 0, 3, 40, 5, true), "plate": meshtest.Grid(3, 4, 8, 8),
		"cut ring": meshtest.Triangulated(meshtest.Torus(6, 2, 31, 17)),
	} {
		if s := noiseOf(m); s > leastNoise*m.Diagonal() {
			t.Errorf("%s: noise %g", name, s)
		}
	}
}

func TestNoiseOfNextToNothing(t *testing.T) {
	b := mesh.NewBuilder()
	empty, _, err := b.Build(mesh.Options{})
	if err != nil {
		t.Fatal(err)
	}
	b.Face(b.Vertex(r3.Vec{}), b.Vertex(r3.Vec{X: 1}), b.Vertex(r3.Vec{Y: 1}))
	one, _, err := b.Build(mesh.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range []*mesh.Mesh{empty, one} {
		if s := noiseOf(m); s != 0 {
			t.Errorf("%d triangles: noise %g", len(m.Triangles()), s)
		}
	}
}
