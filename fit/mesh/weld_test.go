package mesh_test

import (
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/fit/mesh"
)

// TestWeldDistance checks the distance on both sides of the tolerance.
func TestWeldDistance(t *testing.T) {
	for _, offset := range []float64{0, 1e7} {
		for _, test := range []struct {
			gap  float64
			want int
		}{{0.5e-4, 3}, {0.99e-4, 3}, {1.01e-4, 4}, {3e-4, 4}} {
			// Box 3 x 4 x 0: diagonal 5, so Weld 2e-5 is 1e-4.
			m := polygonsWelded(t, 2e-5,
				[]r3.Vec{{X: offset}, {X: offset + 3}, {X: offset + 3 - test.gap, Y: 0}, {X: offset, Y: 4}},
				[]int32{0, 1, 3}, []int32{0, 3, 2})
			wantEqual(t, "vertices", len(m.Vertices()), test.want)
		}
	}
}

func polygonsWelded(t *testing.T, weld float64, points []r3.Vec, faces ...[]int32) *mesh.Mesh {
	t.Helper()
	b := mesh.NewBuilder()
	for _, p := range points {
		b.Vertex(p)
	}
	for _, f := range faces {
		b.Face(f...)
	}
	return build(t, b, mesh.Options{Weld: weld})
}

// TestWeldKeepsChains checks that a row of points closer than the weld distance
// does not fall into one point.
func TestWeldKeepsChains(t *testing.T) {
	const n, step = 101, 0.6e-3
	var points []r3.Vec
	var faces [][]int32
	for i := range n {
		points = append(points, r3.Vec{X: step * float64(i)})
	}
	points = append(points, r3.Vec{X: 0, Y: 1})
	for i := range int32(n - 1) {
		faces = append(faces, []int32{i, i + 1, n})
	}
	m := polygonsWelded(t, 1e-3, points, faces...)
	size := r3.Sub(m.Bounds().Max, m.Bounds().Min)
	wantNear(t, "length", size.X, step*(n-1), 1e-15)
	// Every second point is within 1e-3 of the one before it.
	wantEqual(t, "vertices", len(m.Vertices()), (n+1)/2+1)
}

// TestWeldOracle compares with a search through all representatives.
func TestWeldOracle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawSoup(t, 40)
		b := soup(m)
		weld := rapid.SampledFrom([]float64{-1, 0, 1e-9, 0.01, 0.1, 0.5, 3}).Draw(t, "weld")
		var corner []r3.Vec
		for i := range m.Triangles() {
			p, q, r := m.Corners(i)
			corner = append(corner, p, q, r)
		}
		d := weld * m.Diagonal()
		var reps []r3.Vec
		rep := func(p r3.Vec) r3.Vec {
			for _, r := range reps {
				if weld >= 0 && p == r || weld > 0 && r3.Norm2(r3.Sub(p, r)) <= d*d {
					return r
				}
			}
			reps = append(reps, p)
			return p
		}
		type key [3]r3.Vec
		want := map[key]int{}
		for i := range m.Triangles() {
			k := key{rep(corner[3*i]), rep(corner[3*i+1]), rep(corner[3*i+2])}
			n := r3.Cross(r3.Sub(k[1], k[0]), r3.Sub(k[2], k[0]))
			if r3.Norm(n) > 0 {
				want[k]++
			}
		}
		got := build(t, b, mesh.Options{Weld: weld})
		for i := range got.Triangles() {
			if len(got.Polygon(got.PolygonOf(i))) > 3 {
				continue // took up the middle corner of a triangle without area
			}
			p, q, r := got.Corners(i)
			if want[key{p, q, r}] == 0 {
				t.Fatalf("triangle %v %v %v is not among the welded ones", p, q, r)
			}
		}
	})
}

// TestWeldMinute checks small meshes and weld distances whose squares
// underflow: vertices that differ stay apart, equal ones do not.
func TestWeldMinute(t *testing.T) {
	const size = 1e-60
	points := []r3.Vec{{}, {X: size}, {Y: size}, {X: size}, {X: -size}}
	for _, weld := range []float64{1e-7, 1e-95, 1e-260, 0} {
		m := polygonsWelded(t, weld, points, []int32{0, 1, 2}, []int32{0, 2, 4}, []int32{3, 2, 0})
		wantEqual(t, "vertices", len(m.Vertices()), 4)
		wantEqual(t, "triangles", len(m.Triangles()), 2)
	}
}
