package doc_test

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/app/doc"
	"pintle/app/doc/doctest"
	"pintle/fit"
	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
	"pintle/kinematics"
)

// turning is a profile of rings about z that is cut into triangles without any
// regularity: each ring has its own number of vertices at random angles.
type turning struct {
	rings  [][2]float64 // radius and height
	counts []int
}

// build returns the mesh and, for each band between two rings, its triangles.
func (p turning) build(t testing.TB, r *rand.Rand, move func(r3.Vec) r3.Vec) (*mesh.Mesh, [][]int32) {
	t.Helper()
	b := mesh.NewBuilder()
	var rows [][]int32
	var angles [][]float64
	for i, ring := range p.rings {
		n := p.counts[i]
		var row []int32
		var at []float64
		for k := range n {
			a := 2 * math.Pi * (float64(k) + 0.7*r.Float64()) / float64(n)
			s, c := math.Sincos(a)
			row = append(row, b.Vertex(move(r3.Vec{X: ring[0] * c, Y: ring[0] * s, Z: ring[1]})))
			at = append(at, a)
		}
		rows, angles = append(rows, row), append(angles, at)
	}
	bands := make([][]int32, len(rows)-1)
	tri := int32(0)
	for i := range bands {
		lo, hi, a, c := rows[i], rows[i+1], angles[i], angles[i+1]
		for j, k := 0, 0; j < len(lo) || k < len(hi); tri++ {
			// Take the step whose end comes first round the ring.
			nextLo, nextHi := math.Inf(1), math.Inf(1)
			if j < len(lo) {
				nextLo = a[(j+1)%len(lo)] + 2*math.Pi*float64((j+1)/len(lo))
			}
			if k < len(hi) {
				nextHi = c[(k+1)%len(hi)] + 2*math.Pi*float64((k+1)/len(hi))
			}
			if nextLo <= nextHi {
				b.Face(lo[j%len(lo)], lo[(j+1)%len(lo)], hi[k%len(hi)])
				j++
			} else {
				b.Face(lo[j%len(lo)], hi[(k+1)%len(hi)], hi[k%len(hi)])
				k++
			}
			bands[i] = append(bands[i], tri)
		}
	}
	m, report, err := b.Build(mesh.Options{Weld: -1})
	if err != nil || report.ZeroArea+report.Duplicate > 0 {
		t.Fatal(err, report)
	}
	return m, bands
}

// blended is a cylinder of radius 10 between two fillets, the lower one into a
// cone.
func blended() turning {
	p := turning{rings: [][2]float64{{16, -9}, {13, -6}}, counts: []int{61, 57}}
	for i := range 4 { // quarter round of radius 3 from the cone to the cylinder
		s, c := math.Sincos(math.Pi / 4 * float64(3-i) / 3)
		p.rings = append(p.rings, [2]float64{10 + 3*(1-c), -3 * s})
		p.counts = append(p.counts, 50+3*i)
	}
	p.rings = append(p.rings, [2]float64{10, 20})
	p.counts = append(p.counts, 64)
	return p
}

func identity(p r3.Vec) r3.Vec { return p }

func TestSurfaceFromOfEachShape(t *testing.T) {
	skew := doctest.Skew()
	for name, c := range map[string]struct {
		mesh  *mesh.Mesh
		at    r3.Vec // a point by the triangle to click
		kind  fit.Kind
		count int // triangles of the surface
		check func(d fit.Datum) bool
	}{
		"wall of a cylinder": {meshtest.Cylinder(5, 0, 9, 40, 3, true), r3.Vec{X: 5, Z: 4}, fit.Cylinder, 2 * 40 * 3, func(d fit.Datum) bool { return math.Abs(d.Radius-5) < 1e-9 }},
		"end of a cylinder":  {meshtest.Cylinder(5, 0, 9, 40, 3, true), r3.Vec{X: 1, Z: 9.5}, fit.Plane, 38, func(d fit.Datum) bool { return true }},
		"frustum":            {meshtest.Frustum(9, 4, 0, 5, 36, 2, true), r3.Vec{X: 7, Z: 2.5}, fit.Cone, 2 * 36 * 2, func(d fit.Datum) bool { return math.Abs(d.HalfAngle-math.Pi/4) < 1e-9 }},
		"sphere":             {meshtest.Sphere(3, 24, 12), r3.Vec{X: 3}, fit.Sphere, 2*24*12 - 2*24, func(d fit.Datum) bool { return math.Abs(d.Radius-3) < 1e-9 }},
		"torus":              {meshtest.Torus(8, 2, 36, 18), r3.Vec{X: 10}, fit.Torus, 2 * 36 * 18, func(d fit.Datum) bool { return math.Abs(d.Radius-8) < 1e-9 && math.Abs(d.Radius2-2) < 1e-9 }},
		"face of a box":      {meshtest.Box(r3.Vec{}, r3.Vec{X: 4, Y: 3, Z: 2}), r3.Vec{X: 1, Y: 1, Z: 3}, fit.Plane, 2, func(d fit.Datum) bool { return true }},
	} {
		tri := doctest.TriangleAt(c.mesh, c.at)
		s, ok := doc.SurfaceFrom(c.mesh, tri)
		if !ok || s.Datum.Kind != c.kind || len(s.Triangles) != c.count || !c.check(s.Datum) || !slices.IsSorted(s.Triangles) {
			t.Errorf("%s: %v %s with %d triangles of %d, %+v", name, ok, s.Datum.Kind, len(s.Triangles), c.count, s.Datum)
		}
		moved := mesh.NewBuilder() // the same far away, turned and in another unit
		for _, v := range c.mesh.Vertices() {
			moved.Vertex(r3.Scale(0.001, r3.Add(skew.Apply(v), r3.Vec{X: 1e5})))
		}
		for i := range c.mesh.NumPolygons() {
			moved.Face(c.mesh.Polygon(i)...)
		}
		m, _, err := moved.Build(mesh.Options{Weld: -1})
		if err != nil {
			t.Fatal(err)
		}
		if again, ok := doc.SurfaceFrom(m, tri); !ok || again.Datum.Kind != s.Datum.Kind || !slices.Equal(again.Triangles, s.Triangles) {
			t.Errorf("%s: moved and scaled it is a %s with %d triangles", name, again.Datum.Kind, len(again.Triangles))
		}
	}
}

// However a cylinder between blends is cut into triangles and wherever it is
// clicked, the surface is the cylinder, whole and without the blends.
func TestSurfaceFromTellsACylinderFromItsBlendsProperty(t *testing.T) {
	skew := doctest.Skew()
	rapid.Check(t, func(rt *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(rt, "seed"), 1))
		m, bands := blended().build(t, r, skew.Apply)
		wall := bands[len(bands)-1]
		tri := wall[rapid.IntRange(0, len(wall)-1).Draw(rt, "triangle")]
		s, ok := doc.SurfaceFrom(m, int(tri))
		if !ok || s.Datum.Kind != fit.Cylinder {
			rt.Fatalf("%v, %s with %d triangles", ok, s.Datum.Kind, len(s.Triangles))
		}
		off := kinematics.AxisErrorOf(kinematics.Axis{Point: skew.T, Dir: skew.Z}, kinematics.Axis{Point: s.Datum.Origin, Dir: s.Datum.Axis})
		if !slices.Equal(s.Triangles, wall) || off.Angle > 1e-9 || off.Offset > 1e-7 || math.Abs(s.Datum.Radius-10) > 1e-8 {
			rt.Fatalf("%d triangles of %d, axis off by %+v, radius %g", len(s.Triangles), len(wall), off, s.Datum.Radius)
		}
	})
}

func TestSurfaceFromKeepsAnUnroundHubWhole(t *testing.T) {
	o := doctest.Options{Lobes: 0.4}
	m := doctest.Model(o).Parts[2].Mesh
	tri := doctest.TriangleAt(m, r3.Vec{X: 1, Y: 11, Z: 3})
	s, ok := doc.SurfaceFrom(m, tri)
	if !ok || s.Datum.Kind != fit.Cylinder || len(s.Triangles) != 4*doctest.Facets || math.Abs(s.Datum.FormError-0.8) > 1e-6 {
		t.Errorf("%s with %d triangles, form error %g", s.Datum.Kind, len(s.Triangles), s.Datum.FormError)
	}
}

func TestSurfaceFromRefuses(t *testing.T) {
	m := meshtest.Box(r3.Vec{}, r3.Vec{X: 1, Y: 1, Z: 1})
	for _, tri := range []int{-1, 12} {
		if _, ok := doc.SurfaceFrom(m, tri); ok {
			t.Errorf("triangle %d was taken", tri)
		}
	}
}

// radii returns the radii of the turned patches about the axis, end faces as 0.
func radii(t *testing.T, m *mesh.Mesh, axis kinematics.Axis) []float64 {
	t.Helper()
	patches, err := doc.TurnedSurfaces(context.Background(), m, axis)
	if err != nil {
		t.Fatal(err)
	}
	var out []float64
	for _, p := range patches {
		points, normals := fit.FromPatch(m, p)
		if d, err := fit.FitPlane(points, fit.Options{Normals: normals}); err == nil && d.FormError < 1e-6 {
			out = append(out, 0)
			continue
		}
		d, err := fit.FitCylinder(points, fit.Options{Normals: normals})
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, math.Round(d.Radius*1e6)/1e6)
	}
	return out
}

func TestTurnedSurfacesOfAHub(t *testing.T) {
	for name, o := range map[string]doctest.Options{
		"true": {}, "skew": {Move: doctest.Skew()}, "off": {Off: 0.8, Move: doctest.Skew()}, "tilted": {Tilt: 1.5 * math.Pi / 180},
	} {
		m := doctest.Model(o).Parts[2].Mesh
		// Outside, bore and the two ends; not the bar.
		if got := radii(t, m, o.Hinge()); !slices.Equal(got, []float64{10, 5, 0, 0}) {
			t.Errorf("%s: %v", name, got)
		}
	}
	lobes := doctest.Options{Lobes: 0.2}
	if got := radii(t, doctest.Model(lobes).Parts[2].Mesh, lobes.Hinge()); len(got) != 4 || got[1] != 5 {
		t.Errorf("not quite round: %v", got)
	}
	o := doctest.Options{}
	m := doctest.Model(o).Parts[2].Mesh
	for name, axis := range map[string]kinematics.Axis{
		"another direction":            {Dir: r3.Vec{X: 1}},
		"a place far off":              {Point: r3.Vec{X: 9}, Dir: r3.Vec{Z: 1}},
		"leaning by more than it may":  {Dir: r3.Unit(r3.Vec{X: 0.12, Z: 1})},
		"a hinge outside of the model": {Point: r3.Vec{Y: 1e6}, Dir: r3.Vec{Z: 1}},
	} {
		if got := radii(t, m, axis); len(got) != 0 {
			t.Errorf("%s: %v", name, got)
		}
	}
	if got := radii(t, doctest.Model(o).Parts[0].Mesh, o.Hinge()); len(got) != 0 {
		t.Errorf("boxes: %v", got)
	}
}

// However the wall is cut into triangles, it is one patch and the blends are
// not part of it.
func TestTurnedSurfacesOfAnIrregularMeshProperty(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(rt, "seed"), 2))
		m, bands := blended().build(t, r, identity)
		axis := kinematics.Axis{Point: r3.Vec{X: rapid.Float64Range(-1, 1).Draw(rt, "off")}, Dir: r3.Vec{Z: 1}}
		patches, err := doc.TurnedSurfaces(context.Background(), m, axis)
		if err != nil {
			rt.Fatal(err)
		}
		if len(patches) != 1 || !slices.Equal(patches[0], bands[len(bands)-1]) {
			rt.Fatalf("%d patches", len(patches))
		}
	})
}

// A bore that a slot cuts in two is one surface; an arc of less than a quarter
// turn is none.
func TestTurnedSurfacesInPieces(t *testing.T) {
	whole := meshtest.Cylinder(5, 0, 9, 60, 1, false)
	column := func(m *mesh.Mesh, tri int32) int {
		a, b, c := m.Corners(int(tri))
		mid := r3.Scale(1.0/3, r3.Add(a, r3.Add(b, c)))
		return int(math.Floor((math.Atan2(mid.Y, mid.X) + math.Pi) / (2 * math.Pi) * 60))
	}
	keep := func(want func(column int) bool) *mesh.Mesh {
		var tris []int32
		for t := range whole.Triangles() {
			if want(column(whole, int32(t))) {
				tris = append(tris, int32(t))
			}
		}
		return mesh.Sub(whole, tris)
	}
	axis := kinematics.Axis{Dir: r3.Vec{Z: 1}}
	if got := radii(t, keep(func(c int) bool { return c < 12 || c >= 30 && c < 42 }), axis); !slices.Equal(got, []float64{5}) {
		t.Errorf("two pieces of 72 degrees: %v", got)
	}
	if got := radii(t, keep(func(c int) bool { return c < 14 }), axis); len(got) != 0 {
		t.Errorf("84 degrees: %v", got)
	}
	if got := radii(t, keep(func(c int) bool { return c < 16 }), axis); !slices.Equal(got, []float64{5}) {
		t.Errorf("96 degrees: %v", got)
	}
}

func BenchmarkSurfaceFrom(b *testing.B) {
	m, bands := blended().build(b, rand.New(rand.NewPCG(1, 2)), identity)
	wall := bands[len(bands)-1]
	m.Topology().Quads()
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		if _, ok := doc.SurfaceFrom(m, int(wall[i%len(wall)])); !ok {
			b.Fatal("none")
		}
	}
}

func BenchmarkTurnedSurfaces(b *testing.B) {
	m := meshtest.Torus(50, 10, 700, 350) // 490,000 triangles, none of them turned true
	m.Topology()
	b.ReportAllocs()
	for b.Loop() {
		if _, err := doc.TurnedSurfaces(context.Background(), m, kinematics.Axis{Dir: r3.Vec{Z: 1}}); err != nil {
			b.Fatal(err)
		}
	}
}
