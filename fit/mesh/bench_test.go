package mesh_test

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
)

// benchSizes are the numbers of triangles that benchmarks run at.
var benchSizes = [...]int{1_000, 10_000, 100_000, 1_000_000}

// benchTorus returns a torus of that many triangles to within a few percent.
func benchTorus(triangles int) *mesh.Mesh {
	k := int(math.Sqrt(float64(triangles) / 4))
	return meshtest.Torus(3, 1, 2*k, k)
}

func bySize(b *testing.B, run func(b *testing.B, triangles int)) {
	for _, n := range benchSizes {
		b.Run(fmt.Sprintf("%d", n), func(b *testing.B) {
			b.ReportAllocs()
			run(b, n)
		})
	}
}

// soup returns a builder that holds each triangle of m with corners of its own.
func soup(m *mesh.Mesh) *mesh.Builder {
	b := mesh.NewBuilder()
	n := len(m.Triangles())
	b.Grow(3*n, n, 3*n)
	for t := range m.Triangles() {
		p, q, r := m.Corners(t)
		b.Face(b.Vertex(p), b.Vertex(q), b.Vertex(r))
	}
	return b
}

// indexed returns a builder that holds m's vertices and polygons.
func indexed(m *mesh.Mesh) *mesh.Builder {
	b := mesh.NewBuilder()
	for _, p := range m.Vertices() {
		b.Vertex(p)
	}
	for i := range m.NumPolygons() {
		b.Face(m.Polygon(i)...)
	}
	return b
}

func BenchmarkBuildSoup(b *testing.B) {
	bySize(b, func(b *testing.B, n int) {
		in := soup(benchTorus(n))
		for b.Loop() {
			if _, _, err := in.Build(mesh.Options{Weld: mesh.DefaultWeld}); err != nil {
				b.Fatal(err)
			}
		}
	})
}

func BenchmarkBuildIndexed(b *testing.B) {
	bySize(b, func(b *testing.B, n int) {
		in := indexed(benchTorus(n))
		for b.Loop() {
			if _, _, err := in.Build(mesh.Options{Weld: mesh.DefaultWeld}); err != nil {
				b.Fatal(err)
			}
		}
	})
}

func BenchmarkTopology(b *testing.B) {
	bySize(b, func(b *testing.B, n int) {
		m := benchTorus(n)
		for b.Loop() {
			b.StopTimer()
			c := mesh.Join(m) // nothing cached yet
			b.StartTimer()
			c.Topology()
		}
	})
}

func BenchmarkBVH(b *testing.B) {
	bySize(b, func(b *testing.B, n int) {
		m := benchTorus(n)
		for b.Loop() {
			b.StopTimer()
			c := mesh.Join(m)
			b.StartTimer()
			c.BVH()
		}
	})
}

// benchPoints returns points spread over the cube -4..4 by the golden ratio's
// powers, the same every time.
func benchPoints(n int) []r3.Vec {
	p := make([]r3.Vec, n)
	frac := func(i int, a float64) float64 {
		_, f := math.Modf(float64(i) * a)
		return 8*f - 4
	}
	for i := range p {
		p[i] = r3.Vec{X: frac(i, 0.8191725134), Y: frac(i, 0.6710436067), Z: frac(i, 0.5497004779)}
	}
	return p
}

func BenchmarkRay(b *testing.B) {
	bySize(b, func(b *testing.B, n int) {
		h, p := benchTorus(n).BVH(), benchPoints(1001)
		for i := 0; b.Loop(); i++ {
			o := p[i%1000]
			h.Ray(o, r3.Sub(p[i%1000+1], o))
		}
	})
}

func BenchmarkClosest(b *testing.B) {
	bySize(b, func(b *testing.B, n int) {
		h, p := benchTorus(n).BVH(), benchPoints(1000)
		for i := 0; b.Loop(); i++ {
			h.Closest(p[i%1000])
		}
	})
}

func BenchmarkFeatureLoops(b *testing.B) {
	bySize(b, func(b *testing.B, n int) {
		t := benchTorus(n).Topology()
		for b.Loop() {
			t.FeatureLoops(0.3)
		}
	})
}

func BenchmarkSmoothPatches(b *testing.B) {
	bySize(b, func(b *testing.B, n int) {
		t := benchTorus(n).Topology()
		for b.Loop() {
			t.SmoothPatches(0.3)
		}
	})
}

// BenchmarkDistance measures two interlinked tori.
func BenchmarkDistance(b *testing.B) {
	bySize(b, func(b *testing.B, n int) {
		h := benchTorus(n).BVH()
		x := mesh.Rigid{X: r3.Vec{X: 1}, Y: r3.Vec{Z: 1}, Z: r3.Vec{Y: -1}, T: r3.Vec{X: 2.6, Y: 0.3, Z: 0.2}}
		for b.Loop() {
			mesh.Distance(h, h, x, math.Inf(1))
		}
	})
}

func BenchmarkTriangleDistance(b *testing.B) {
	b.ReportAllocs()
	p := benchPoints(1000)
	for i := 0; b.Loop(); i++ {
		k := i % 990
		mesh.TriangleDistance([3]r3.Vec{p[k], p[k+1], p[k+2]}, [3]r3.Vec{p[k+3], p[k+4], p[k+5]})
	}
}
