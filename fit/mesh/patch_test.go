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

func TestSmoothPatches(t *testing.T) {
	unit := meshtest.Box(r3.Vec{}, r3.Vec{X: 1, Y: 1, Z: 1})
	for _, test := range []struct {
		name  string
		m     *mesh.Mesh
		angle float64
		want  int
	}{
		{"box", unit, 30 * deg, 6},
		{"box, all smooth", unit, 91 * deg, 1},
		{"cylinder", meshtest.Cylinder(1, 0, 2, 32, 3, true), 30 * deg, 3},
		{"hexagonal prism", meshtest.Cylinder(1, 0, 2, 6, 3, true), 30 * deg, 8},
		{"torus", meshtest.Torus(3, 1, 32, 16), 30 * deg, 1},
		{"two spheres", mesh.Join(meshtest.Sphere(1, 16, 8), meshtest.Sphere(1, 16, 8)), 45 * deg, 2},
	} {
		label, n := test.m.Topology().SmoothPatches(test.angle)
		wantEqual(t, test.name, n, test.want)
		wantEqual(t, test.name+" labels", len(label), len(test.m.Triangles()))
		next := int32(0)
		for i, l := range label {
			if l > next || l < 0 {
				t.Fatalf("%s: label %d at triangle %d, want at most %d", test.name, l, i, next)
			}
			if l == next {
				next++
			}
		}
	}
}

// TestPatchFromOracle checks PatchFrom, EvenPatchFrom and PatchWithin against
// the labels of the whole mesh.
func TestPatchFromOracle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawSoup(t, 30)
		if len(m.Triangles()) == 0 {
			t.Skip()
		}
		top := m.Topology()
		angle := rapid.Float64Range(0, 3).Draw(t, "angle")
		tri := rapid.IntRange(0, len(m.Triangles())-1).Draw(t, "tri")
		pick := func(label []int32, _ int) (patch []int32) {
			for i, l := range label {
				if l == label[tri] {
					patch = append(patch, int32(i))
				}
			}
			return patch
		}
		smooth := top.PatchFrom(tri, angle)
		if want := pick(top.SmoothPatches(angle)); !slices.Equal(smooth, want) {
			t.Fatalf("PatchFrom = %v, want %v", smooth, want)
		}
		if got, want := top.EvenPatchFrom(tri, angle), pick(top.EvenPatches(angle)); !slices.Equal(got, want) {
			t.Fatalf("EvenPatchFrom = %v, want %v", got, want)
		}
		if got := top.PatchWithin(tri, angle, math.Pi); !slices.Equal(got, smooth) {
			t.Fatalf("PatchWithin half a turn = %v, want %v", got, smooth)
		}
		spread := rapid.Float64Range(0, 1).Draw(t, "spread")
		n := m.AreaNormal(tri)
		for _, i := range top.PatchWithin(tri, angle, spread) {
			x := m.AreaNormal(int(i))
			if min(r3.Norm(x), r3.Norm(n)) < 1e-5 {
				continue // a needle takes its neighbour's normal
			}
			if a := math.Atan2(r3.Norm(r3.Cross(n, x)), r3.Dot(n, x)); a > spread {
				t.Fatalf("triangle %d is turned by %v, more than %v", i, a, spread)
			}
		}
	})
}

func TestPatchBadTriangles(t *testing.T) {
	top := tetrahedron(t).Topology()
	for _, tri := range []int{-1, 4} {
		if top.PatchFrom(tri, 1) != nil || top.PatchWithin(tri, 1, 1) != nil || top.EvenPatchFrom(tri, 1) != nil {
			t.Errorf("triangle %d has a patch", tri)
		}
	}
}

// profile is a turned body: its outline in the half plane, bottom to top.
func profile(n int, rz [][2]float64, move ...func(r3.Vec) r3.Vec) *mesh.Mesh {
	b := mesh.NewBuilder()
	for _, c := range rz {
		for i := range n {
			s, cos := math.Sincos(2 * math.Pi * float64(i) / float64(n))
			p := r3.Vec{X: c[0] * cos, Y: c[0] * s, Z: c[1]}
			for _, f := range move {
				p = f(p)
			}
			b.Vertex(p)
		}
	}
	ring := make([]int32, n)
	for k := range len(rz) - 1 {
		for i := range n {
			a, c := int32(k*n+i), int32(k*n+(i+1)%n)
			b.Face(a, c, c+int32(n), a+int32(n))
			ring[i] = int32(n - 1 - i)
		}
	}
	b.Face(ring...)
	for i := range ring {
		ring[i] = int32((len(rz)-1)*n + i)
	}
	b.Face(ring...)
	m, _, err := b.Build(mesh.Options{})
	if err != nil {
		panic(err)
	}
	return m
}

// filleted is a pin: cylinder of radius 10 and the given height with a fillet
// of radius 2 in four steps round its top, flat caps.
func filleted(n int, height float64, move ...func(r3.Vec) r3.Vec) *mesh.Mesh {
	rz := [][2]float64{{10, 0}}
	for k := range 5 {
		s, c := math.Sincos(math.Pi / 2 * float64(k) / 4)
		rz = append(rz, [2]float64{8 + 2*c, height + 2*s})
	}
	return profile(n, rz, move...)
}

// TestEvenPatchesAtFillet checks that the cylinder, the fillet and the caps
// come apart where no edge is sharp, with quads and with triangles only.
func TestEvenPatchesAtFillet(t *testing.T) {
	const n = 32
	for _, height := range []float64{2, 5, 30} {
		kept := filleted(n, height)
		for _, m := range []*mesh.Mesh{kept, meshtest.Triangulated(kept)} {
			top := m.Topology()
			if _, patches := top.SmoothPatches(30 * deg); patches != 2 {
				t.Fatalf("%d smooth patches, want the bottom and the rest", patches)
			}
			side := top.EvenPatchFrom(5, 30*deg)
			wantEqual(t, "side", len(side), 2*n)
			for _, i := range side {
				a, b, c := m.Corners(int(i))
				if z := max(a.Z, b.Z, c.Z); z > height {
					t.Fatalf("height %v: the side reaches z = %v", height, z)
				}
			}
			wantEqual(t, "fillet", len(top.EvenPatchFrom(2*n*3, 30*deg)), 2*n*4)
			wantEqual(t, "top", len(top.EvenPatchFrom(len(m.Triangles())-1, 30*deg)), n-2)
		}
	}
}

// TestEvenPatchesBetweenFillets checks a collar with a fillet at either end and
// nothing else to go by.
func TestEvenPatchesBetweenFillets(t *testing.T) {
	const n = 24
	for _, height := range []float64{0.5, 2, 20} {
		var rz [][2]float64
		for k := range 5 {
			s, c := math.Sincos(math.Pi / 2 * float64(k-4) / 4)
			rz = append(rz, [2]float64{8 + 2*c, 2 * s})
		}
		for k := range 5 {
			s, c := math.Sincos(math.Pi / 2 * float64(k) / 4)
			rz = append(rz, [2]float64{8 + 2*c, height + 2*s})
		}
		kept := profile(n, rz)
		wantValid(t, kept)
		for _, m := range []*mesh.Mesh{kept, meshtest.Triangulated(kept)} {
			label, even := m.Topology().EvenPatches(30 * deg)
			wantEqual(t, "patches", even, 5)
			for band, want := range []int32{0, 0, 0, 0, 1, 2, 2, 2, 2} {
				wantEqual(t, "label", label[2*n*band], want)
			}
		}
	}
}

// TestEvenPatchesKeepWhole checks that surfaces of one kind stay in one piece.
func TestEvenPatchesKeepWhole(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		move, _ := drawMap(t)
		n := rapid.IntRange(16, 64).Draw(t, "n")
		for _, test := range []struct {
			name string
			m    *mesh.Mesh
			want int
		}{
			{"cylinder", meshtest.Cylinder(2, 0, 5, n, 3, true, move), 3},
			{"cone", meshtest.Frustum(3, 1, 0, 4, n, 3, true, move), 3},
			{"torus", meshtest.Torus(3, 1, 2*n, n, move), 1},
			{"sheet", meshtest.Grid(3, 2, 5, 4, move), 1},
		} {
			if _, got := test.m.Topology().EvenPatches(30 * deg); got != test.want {
				t.Fatalf("%s: %d patches, want %d", test.name, got, test.want)
			}
		}
	})
}

// TestCurvatureClosedForm checks the facets of an n-sided cylinder: bend 2 pi/n
// over the width 2 r sin(pi/n).
func TestCurvatureClosedForm(t *testing.T) {
	const n, r = 24, 2.5
	want := 2 * math.Pi / n / (2 * r * math.Sin(math.Pi/n))
	kept := meshtest.Cylinder(r, 0, 7, n, 3, false)
	for _, m := range []*mesh.Mesh{kept, meshtest.Triangulated(kept)} {
		top := m.Topology()
		wantNear(t, "along", top.Curvature(edge(t, m, n+4, 2*n+4)), want, 1e-12)
		wantNear(t, "round", top.Curvature(edge(t, m, n+4, n+5)), 0, 1e-12)
		if k := top.Curvature(edge(t, m, 4, 5)); !math.IsNaN(k) {
			t.Errorf("boundary has curvature %v", k)
		}
	}
	bore := meshtest.Cylinder(r, 0, 7, n, 3, false, func(p r3.Vec) r3.Vec { return r3.Vec{X: p.X, Y: -p.Y, Z: p.Z} })
	wantNear(t, "bore", bore.Topology().Curvature(edge(t, bore, n+4, 2*n+4)), -want, 1e-12)
}

func BenchmarkEvenPatches(b *testing.B) {
	bySize(b, func(b *testing.B, n int) {
		top := benchTorus(n).Topology()
		for b.Loop() {
			top.EvenPatches(0.3)
		}
	})
}
