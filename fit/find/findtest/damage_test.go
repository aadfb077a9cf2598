package findtest

import (
	"math"
	"reflect"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
)

// area and volume of closed parts barely change where most triangles lie in
// planes and on finely cut cylinders, down to what the shape needs.
func TestDecimateKeepsTheShape(t *testing.T) {
	for name, c := range map[string]struct {
		m        *mesh.Mesh
		share, d float64 // d bounds the change
	}{
		"sphere": {meshtest.Triangulated(meshtest.Sphere(3, 120, 60)), 0.1, 0.02},
		"torus":  {meshtest.Triangulated(meshtest.Torus(5, 2, 100, 60)), 0.1, 0.02},
		"rod":    {meshtest.Triangulated(Lathe(Rod(4, 0, 10, 1, 8), 96, 0)), 0.3, 0.01},
		"flange": {meshtest.Triangulated(Extrude(Circle(0, 0, 10, 64), []Hole{{R: 5, N: 48}, {X: 7.5, R: 1, N: 16}}, 0, 1)), 0.5, 0.03},
	} {
		small := Decimate(c.m, c.share)
		if n, want := len(small.Triangles()), c.share*float64(len(c.m.Triangles())); float64(n) > want+2 || float64(n) < want-4 {
			t.Errorf("%s: %d triangles, want %g", name, n, want)
		}
		if err := mesh.Validate(small); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if !near(small.Volume(), c.m.Volume(), c.d) || !near(small.Area(), c.m.Area(), c.d) {
			t.Errorf("%s: volume %g and area %g, before %g and %g", name, small.Volume(), small.Area(), c.m.Volume(), c.m.Area())
		}
		if again := Decimate(c.m, c.share); !reflect.DeepEqual(again.Vertices(), small.Vertices()) {
			t.Errorf("%s: two runs differ", name)
		}
	}
}

// A plane sheet loses its inner vertices and keeps its rim.
func TestDecimateKeepsRims(t *testing.T) {
	sheet := meshtest.Triangulated(meshtest.Grid(4, 3, 20, 20))
	small := Decimate(sheet, 0.1)
	if !near(small.Area(), 12, 1e-9) || len(small.Triangles()) > 80 {
		t.Errorf("area %g with %d triangles", small.Area(), len(small.Triangles()))
	}
}

// Other triangles, the same surface: area and volume to rounding, and every new
// vertex on the old surface.
func TestRetriangulatedIsTheSameSurface(t *testing.T) {
	m := Demo(t, DemoNames()[0])
	for _, all := range []bool{false, true} {
		out := Retriangulated(m, 0.3, all, 5)
		for i, p := range out.Parts {
			old := m.Parts[i].Mesh
			if !near(p.Mesh.Area(), old.Area(), 1e-6) || !near(p.Mesh.Volume(), old.Volume(), 1e-5) {
				t.Errorf("%s: area %g, volume %g, before %g, %g", p.Name, p.Mesh.Area(), p.Mesh.Volume(), old.Area(), old.Volume())
			}
			if len(p.Mesh.Triangles()) <= len(old.Triangles()) {
				t.Errorf("%s: %d triangles of %d", p.Name, len(p.Mesh.Triangles()), len(old.Triangles()))
			}
			for k := 0; k < len(p.Mesh.Vertices()); k += 37 {
				if _, _, d := old.BVH().Closest(p.Mesh.Vertices()[k]); d > 1e-5*old.Diagonal() {
					t.Fatalf("%s: a vertex is %g off the surface", p.Name, d)
				}
			}
		}
	}
}

// Moved, scaled and shuffled mechanisms are the same mechanism: the true joints
// of one, taken along, are all hits in the other.
func TestDamageTakesTheJointsAlong(t *testing.T) {
	m := twoLink()
	for name, x := range map[string]Mechanism{
		"tumbled": Tumbled(m, 50, 3), "scaled": Scaled(m, 25.4), "shuffled": Shuffled(m, 4), "renamed": Renamed(m), "unwelded": Unwelded(m), "noisy": Noisy(m, 1e-4, 1),
		"posed": Posed(m, 2), "all": Posed(Shuffled(Scaled(Tumbled(m, 5, 8), 1e-3), 2), 7),
	} {
		for _, j := range x.Joints {
			p, c := x.Parts[j.Parent].Mesh, x.Parts[j.Child].Mesh
			// Both boxes' long middle lines meet the joint's origin at rest.
			size := p.Diagonal()
			for _, part := range []*mesh.Mesh{p, c} {
				if j.Kind == "prismatic" && part == c {
					continue // it has slid
				}
				if _, _, d := part.BVH().Closest(j.Origin); d > 0.11*size {
					t.Errorf("%s: %s is %g from its part", name, j.Name, d/size)
				}
			}
			if math.Abs(r3.Norm(j.Axis)-1) > 1e-12 {
				t.Errorf("%s: %s has an axis of length %g", name, j.Name, r3.Norm(j.Axis))
			}
		}
	}
}

func TestNoisyHasItsSize(t *testing.T) {
	m := Mechanism{Parts: []mesh.Part{{Name: "ball", Mesh: meshtest.Sphere(1, 60, 30)}}}
	out := Noisy(m, 1e-3, 5).Parts[0].Mesh
	sum, p := 0.0, m.Parts[0].Mesh.Vertices()
	for i, q := range out.Vertices() {
		sum += r3.Norm2(r3.Sub(q, p[i]))
	}
	if got, want := math.Sqrt(sum/3/float64(len(p))), 1e-3*m.Parts[0].Mesh.Diagonal(); !near(got, want, 0.05) {
		t.Errorf("standard deviation %g, want %g", got, want)
	}
}

// Rounding moves no vertex by more than half a step.
func TestStoredRounds(t *testing.T) {
	m := Mechanism{Parts: []mesh.Part{{Name: "ball", Mesh: meshtest.Sphere(1, 40, 20)}}}
	const step = 1e-4
	most := 0.0
	for i, q := range Stored(m, step).Parts[0].Mesh.Vertices() {
		d := r3.Sub(q, m.Parts[0].Mesh.Vertices()[i])
		most = max(most, math.Abs(d.X), math.Abs(d.Y), math.Abs(d.Z))
	}
	if limit := step * m.Parts[0].Mesh.Diagonal() / 2; most > 1.0001*limit || most < 0.8*limit {
		t.Errorf("a vertex moved by %g, the limit is %g", most, limit)
	}
}

// What is replaced shows no circles; joints that show none on either side no
// longer count.
func TestHiddenHalves(t *testing.T) {
	m := Demo(t, DemoNames()[2])
	for _, odd := range []bool{false, true} {
		for name, out := range map[string]Mechanism{"hulled": Hulled(m, EveryOther(m, odd)...), "boxed": Boxed(m, EveryOther(m, odd)...)} {
			for i, j := range out.Joints {
				if !j.Loop && !j.Scorable && m.Joints[i].Scorable {
					t.Errorf("%s: %s lost both sides", name, j.Name)
				}
			}
			for _, i := range EveryOther(m, odd) {
				if x := out.Parts[i].Mesh; !x.IsClosed() || x.Volume() < m.Parts[i].Mesh.Volume() {
					t.Errorf("%s: %s is no solid round the part", name, m.Parts[i].Name)
				}
			}
		}
	}
	if all := Boxed(m, 0, 1, 2, 3, 4, 5, 6, 7); len(all.Ignore) == 0 {
		t.Error("joints between boxes count")
	}
}

func TestCroppedLosesTheJointOnly(t *testing.T) {
	m := twoLink()
	out := Cropped(m, 1, 3, 0.5)
	if got := len(out.Parts[3].Mesh.Triangles()); got >= 12 || got == 0 {
		t.Errorf("%d triangles left of 12", got)
	}
	if len(out.Parts[2].Mesh.Triangles()) != 12 {
		t.Error("another part is cropped too")
	}
}

func BenchmarkDecimate(b *testing.B) {
	m := meshtest.Triangulated(meshtest.Torus(5, 2, 400, 125)) // 100,000 triangles
	b.ReportAllocs()
	for b.Loop() {
		Decimate(m, 0.1)
	}
}
