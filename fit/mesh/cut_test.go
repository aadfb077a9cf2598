package mesh_test

import (
	"math"
	"testing"
	"time"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/fit/mesh"
)

// flat lifts plane points into space.
func flat(xy ...[2]float64) []r3.Vec {
	p := make([]r3.Vec, len(xy))
	for i, c := range xy {
		p[i] = r3.Vec{X: c[0], Y: c[1]}
	}
	return p
}

// oneFace returns the mesh of the polygon through all points.
func oneFace(t fataler, points []r3.Vec) (*mesh.Mesh, mesh.Report) {
	t.Helper()
	b := mesh.NewBuilder()
	f := make([]int32, len(points))
	for i, p := range points {
		f[i] = b.Vertex(p)
	}
	b.Face(f...)
	m, report, err := b.Build(mesh.Options{})
	if err != nil {
		t.Fatalf("Build: %v", err)
	}
	return m, report
}

// wantTiling checks that the triangles tile the polygon: n-2 of them, all
// turned like it, with its area. Triangles turned alike that add up to the area
// of a simple polygon and use only its edges cannot overlap.
func wantTiling(t fataler, points []r3.Vec) {
	t.Helper()
	m, report := oneFace(t, points)
	wantEqual(t, "triangles", len(m.Triangles()), len(points)-2)
	wantEqual(t, "crossing", report.Crossing, 0)
	wantEqual(t, "boundary edges", report.Boundary, len(points))
	var newell r3.Vec
	for i, p := range points {
		newell = r3.Add(newell, r3.Cross(r3.Sub(p, points[0]), r3.Sub(points[(i+1)%len(points)], points[0])))
	}
	total := 0.0
	for i := range m.Triangles() {
		n := m.AreaNormal(i)
		if !(r3.Dot(n, newell) > 0) {
			t.Fatalf("triangle %d %v lies the wrong way round", i, m.Triangles()[i])
		}
		total += r3.Norm(n)
	}
	wantNear(t, "area", total/r3.Norm(newell), 1, 1e-9)
}

func TestCutPolygons(t *testing.T) {
	star := make([][2]float64, 0, 10)
	for i := range 10 {
		r := 1 + float64(i%2)
		s, c := math.Sincos(math.Pi / 5 * float64(i))
		star = append(star, [2]float64{r * c, r * s})
	}
	comb := [][2]float64{{20, -1}, {20, 0}}
	for i := 19; i >= 0; i-- {
		comb = append(comb, [2]float64{float64(i) + 0.5, 5}, [2]float64{float64(i), 0})
	}
	comb = append(comb, [2]float64{0, -1})
	spiral := [][2]float64{}
	for i := range 40 {
		s, c := math.Sincos(float64(i) * 0.5)
		spiral = append(spiral, [2]float64{(1 + 0.1*float64(i)) * c, (1 + 0.1*float64(i)) * s})
	}
	for i := 39; i >= 0; i-- {
		s, c := math.Sincos(float64(i) * 0.5)
		spiral = append(spiral, [2]float64{(0.7 + 0.1*float64(i)) * c, (0.7 + 0.1*float64(i)) * s})
	}
	for i, j := 0, len(spiral)-1; i < j; i, j = i+1, j-1 {
		spiral[i], spiral[j] = spiral[j], spiral[i]
	}
	tests := map[string][][2]float64{
		"triangle":                {{0, 0}, {1, 0}, {0, 1}},
		"dart":                    {{0, 0}, {2, 1}, {4, 0}, {2, 3}},
		"dart, second corner":     {{4, 0}, {2, 3}, {0, 0}, {2, 1}},
		"square with a midpoint":  {{0, 0}, {1, 0}, {2, 0}, {2, 2}, {0, 2}},
		"triangle with midpoints": {{0, 0}, {1, 0}, {2, 0}, {1, 1}, {0, 2}, {0, 1}},
		"quad with flat corner":   {{0, 0}, {1, 0}, {2, 0}, {1, 5}},
		"flat corner near an end": {{0, 0}, {1e-3, 0}, {2, 0}, {1, 5}},
		"many on one side":        {{0, 0}, {1, 0}, {2, 0}, {3, 0}, {4, 0}, {5, 0}, {6, 0}, {3, 1e-3}},
		"L":                       {{0, 0}, {4, 0}, {4, 1}, {1, 1}, {1, 4}, {0, 4}},
		"T, cross-wise midpoints": {{0, 0}, {3, 0}, {3, 1}, {2, 1}, {2, 3}, {1, 3}, {1, 1}, {0, 1}},
		"star":                    star,
		"comb":                    comb,
		"spiral":                  spiral,
		// A square hole, joined by a bridge from corner 0 to the hole.
		"hole": {{0, 0}, {4, 0}, {4, 4}, {0, 4}, {0, 0}, {1, 1}, {1, 3}, {3, 3}, {3, 1}, {1, 1}},
	}
	for name, xy := range tests {
		t.Run(name, func(t *testing.T) {
			points := flat(xy...)
			if name == "hole" {
				wantHole(t, points)
				return
			}
			for _, move := range []func(r3.Vec) r3.Vec{
				mesh.Identity().Apply,
				turning(r3.Unit(r3.Vec{X: 1, Y: 2, Z: 3}), 1, r3.Vec{X: 100, Y: -50, Z: 7}).Apply,
				func(p r3.Vec) r3.Vec { return r3.Vec{X: p.Y, Y: p.Z, Z: p.X} },
				func(p r3.Vec) r3.Vec { return r3.Vec{X: p.X, Y: -p.Y, Z: -p.Z} },
				func(p r3.Vec) r3.Vec { return r3.Scale(1e-6, p) },
			} {
				moved := make([]r3.Vec, len(points))
				for i, p := range points {
					moved[i] = move(p)
				}
				wantTiling(t, moved)
			}
		})
	}
}

// wantHole checks a face whose corners repeat two vertices: area 16 - 4.
func wantHole(t *testing.T, points []r3.Vec) {
	t.Helper()
	m, report := oneFace(t, points)
	wantEqual(t, "crossing", report.Crossing, 0)
	wantEqual(t, "triangles", len(m.Triangles()), 8)
	wantEqual(t, "boundary edges", report.Boundary, 8)
	wantNear(t, "area", m.Area(), 12, 1e-12)
}

// TestCutQuad checks the diagonal: inside for a dart, the shorter for a convex
// quad, at the first corner for a rectangle however it is turned.
func TestCutQuad(t *testing.T) {
	diagonal := func(points []r3.Vec) [2]int32 {
		m, _ := oneFace(t, points)
		top := m.Topology()
		for e, v := range top.EdgeVerts {
			if top.IsDiagonal(e) {
				return v
			}
		}
		t.Fatal("no diagonal")
		return [2]int32{}
	}
	wantEqual(t, "dart", diagonal(flat([2]float64{0, 0}, [2]float64{2, 1}, [2]float64{4, 0}, [2]float64{2, 3})), [2]int32{1, 3})
	wantEqual(t, "kite", diagonal(flat([2]float64{0, 0}, [2]float64{1, -1}, [2]float64{5, 0}, [2]float64{1, 1})), [2]int32{1, 3})
	rapid.Check(t, func(t *rapid.T) {
		x := drawRigid(t, 1)
		w, h := rapid.Float64Range(0.1, 10).Draw(t, "w"), rapid.Float64Range(0.1, 10).Draw(t, "h")
		points := flat([2]float64{0, 0}, [2]float64{w, 0}, [2]float64{w, h}, [2]float64{0, h})
		for i := range points {
			points[i] = x.Apply(points[i])
		}
		wantEqual(t, "rectangle", diagonal(points), [2]int32{0, 2})
	})
}

// TestCutRandom cuts star-shaped polygons, which are simple by construction, in
// any position and size.
func TestCutRandom(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(3, 60).Draw(t, "n")
		move, _ := drawMap(t)
		points := make([]r3.Vec, n)
		for i := range points {
			s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
			r := rapid.Float64Range(0.2, 5).Draw(t, "r")
			points[i] = move(r3.Vec{X: r * c, Y: r * s})
		}
		wantTiling(t, points)
	})
}

// TestCutBent checks that a face that is not quite flat keeps all its corners.
func TestCutBent(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(5, 40).Draw(t, "n")
		points := make([]r3.Vec, n)
		for i := range points {
			s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
			points[i] = r3.Vec{X: c, Y: s, Z: rapid.Float64Range(-0.05, 0.05).Draw(t, "z")}
		}
		m, report := oneFace(t, points)
		wantEqual(t, "triangles", len(m.Triangles()), n-2)
		wantEqual(t, "boundary edges", report.Boundary, n)
	})
}

// TestCutDisc checks the shape of a round cap's triangles: the least angle of a
// fan from one corner is pi/n, cutting best ears first keeps it there and the
// sum of the edges short.
func TestCutDisc(t *testing.T) {
	const n = 64
	points := make([]r3.Vec, n)
	for i := range points {
		s, c := math.Sincos(2 * math.Pi * float64(i) / n)
		points[i] = r3.Vec{X: c, Y: s}
	}
	m, _ := oneFace(t, points)
	inner := 0.0
	for e, v := range m.Topology().EdgeVerts {
		if m.Topology().IsDiagonal(e) {
			inner += r3.Norm(r3.Sub(m.Vertices()[v[0]], m.Vertices()[v[1]]))
		}
	}
	// A fan's diagonals sum to about 4/pi per corner.
	if fan := 4 / math.Pi * n; inner > 0.6*fan {
		t.Errorf("inner edges sum to %v, a fan's to %v", inner, fan)
	}
}

// TestCutCrossing checks that a pentagram still comes out as triangles on all
// its edges.
func TestCutCrossing(t *testing.T) {
	points := make([]r3.Vec, 5)
	for i := range points {
		s, c := math.Sincos(4 * math.Pi * float64(i) / 5)
		points[i] = r3.Vec{X: c, Y: s}
	}
	m, report := oneFace(t, points)
	wantEqual(t, "crossing", report.Crossing, 1)
	wantEqual(t, "triangles", len(m.Triangles()), 3)
}

// TestCutLargeFace cuts the largest face allowed, a gear's outline: a search
// for ears that looked at all corners each time would not come to an end.
func TestCutLargeFace(t *testing.T) {
	const n = 1 << 16
	points := make([]r3.Vec, n)
	for i := range points {
		s, c := math.Sincos(2 * math.Pi * float64(i) / n)
		r := 1 + 0.01*float64(i/4%2)
		points[i] = r3.Vec{X: r * c, Y: r * s}
	}
	start := time.Now()
	wantTiling(t, points)
	t.Logf("%d corners in %v", n, time.Since(start))
}

func BenchmarkCutDisc(b *testing.B) {
	bySize(b, func(b *testing.B, n int) {
		n = min(n, 1<<16)
		in := mesh.NewBuilder()
		f := make([]int32, n)
		for i := range f {
			s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
			f[i] = in.Vertex(r3.Vec{X: c, Y: s})
		}
		in.Face(f...)
		for b.Loop() {
			if _, _, err := in.Build(mesh.Options{}); err != nil {
				b.Fatal(err)
			}
		}
	})
}
