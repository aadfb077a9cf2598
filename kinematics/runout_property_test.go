package kinematics

import (
	"context"
	"errors"
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
)

// figures are the numbers of a runout that must not change when nothing about
// the housing and its hinge does.
func figures(r Runout) map[string]float64 {
	f := map[string]float64{
		"circular radial": r.CircularRadial, "total radial": r.TotalRadial,
		"circular axial": r.CircularAxial, "total axial": r.TotalAxial, "sagitta": r.Sagitta,
	}
	for _, s := range r.Surfaces {
		if s.Direction == Radial {
			f["eccentricity"], f["tilt"], f["arc"] = r3.Norm(s.Eccentricity), s.Tilt, s.Arc
		}
	}
	return f
}

func nearFigures(t failer, what string, got, want Runout, scale, tol float64) {
	t.Helper()
	g := figures(got)
	for name, w := range figures(want) {
		if name != "tilt" && name != "arc" {
			w *= scale
		}
		near(t, what+": "+name, g[name], w, tol*max(1, scale))
	}
}

// genHousing draws a capped cylinder, off the z axis by a little, triangulated
// in different ways.
func genHousing() *rapid.Generator[*mesh.Mesh] {
	return rapid.Custom(func(t *rapid.T) *mesh.Mesh {
		x := Rotation(Axis{Dir: unit(v3(1, rapid.Float64Range(-1, 1).Draw(t, "lean"), 0))}, rapid.Float64Range(0, 0.05).Draw(t, "tilt"))
		x.T = v3(rapid.Float64Range(-0.5, 0.5).Draw(t, "ex"), rapid.Float64Range(-0.5, 0.5).Draw(t, "ey"), 0)
		m := meshtest.Cylinder(rapid.Float64Range(2, 6).Draw(t, "r"), -4, 4,
			rapid.IntRange(8, 40).Draw(t, "n"), rapid.IntRange(1, 4).Draw(t, "rings"), true, x.Apply)
		if rapid.Bool().Draw(t, "triangulated") {
			m = meshtest.Triangulated(m)
		}
		return m
	})
}

// movedMesh is the mesh with its vertices mapped.
func movedMesh(t failer, m *mesh.Mesh, place func(r3.Vec) r3.Vec) *mesh.Mesh {
	t.Helper()
	b := mesh.NewBuilder()
	for _, p := range m.Vertices() {
		b.Vertex(place(p))
	}
	for i := range m.NumPolygons() {
		b.Face(m.Polygon(i)...)
	}
	out, _, err := b.Build(mesh.Options{Weld: -1})
	if err != nil {
		t.Fatalf("%v", err)
	}
	return out
}

func TestRunoutInvariance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := genHousing().Draw(t, "mesh")
		want := measure(t, patches(m), zAxis, RunoutOptions{})
		if want.CircularRadial > want.TotalRadial || want.CircularAxial > want.TotalAxial {
			t.Errorf("circular runout above total: %+v", figures(want))
		}
		const tol = 1e-9
		// Turning the housing about its hinge is what runout measures.
		spun := movedMesh(t, m, Rotation(zAxis, rapid.Float64Range(-3, 3).Draw(t, "spin")).Apply)
		nearFigures(t, "spun", measure(t, patches(spun), zAxis, RunoutOptions{}), want, 1, tol)
		// The model anywhere, and in other units.
		w := genMotion(20).Draw(t, "world")
		nearFigures(t, "moved", measure(t, patches(movedMesh(t, m, w.Apply)), w.Axis(zAxis), RunoutOptions{}), want, 1, tol)
		k := math.Pow(10, rapid.Float64Range(-3, 4).Draw(t, "log scale"))
		scaled := movedMesh(t, m, func(p r3.Vec) r3.Vec { return r3.Scale(k, p) })
		nearFigures(t, "scaled", measure(t, patches(scaled), zAxis, RunoutOptions{}), want, k, tol)
		// The axis is a line: its point and sense do not matter.
		along := rapid.Float64Range(-1e4, 1e4).Draw(t, "along")
		nearFigures(t, "axis point", measure(t, patches(m), Axis{Point: v3(0, 0, along), Dir: zAxis.Dir}, RunoutOptions{}), want, 1, tol)
		nearFigures(t, "axis reversed", measure(t, patches(m), zAxis.Reversed(), RunoutOptions{}), want, 1, 1e-6) // levels are gathered from one end
		// 10 km away in millimetres, to the rounding there.
		far := Translation(v3(1e7, -1e7, 1e7))
		nearFigures(t, "far away", measure(t, patches(movedMesh(t, m, far.Apply)), far.Axis(zAxis), RunoutOptions{}), want, 1, 1e-5)
	})
}

// Oracle: the generators of the ideal cylinder cut one by one in closed form.
// The mesh's section must see at least its own generators and nothing that the
// cylinder does not have.
func TestRunoutAgainstGenerators(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r0, n := rapid.Float64Range(2, 6).Draw(t, "r"), rapid.IntRange(8, 60).Draw(t, "n")
		tilt := rapid.Float64Range(0, 0.2).Draw(t, "tilt")
		x := Rotation(Axis{Dir: unit(v3(1, rapid.Float64Range(-1, 1).Draw(t, "lean"), 0))}, tilt)
		x.T = v3(rapid.Float64Range(-1, 1).Draw(t, "ex"), rapid.Float64Range(-1, 1).Draw(t, "ey"), 0)
		m := meshtest.Cylinder(r0, -10, 10, n, rapid.IntRange(1, 3).Draw(t, "rings"), false, x.Apply)
		z := rapid.Float64Range(-7, 7).Draw(t, "z")
		if x.Axis(zAxis).Distance(v3(0, 0, z)) > 0.9*r0 {
			t.Skip("the joint axis is outside the cylinder: no section goes round it")
		}
		st := measure(t, all(m), zAxis, RunoutOptions{Heights: []float64{z}}).Surfaces[0].Stations[0]
		cut := func(i, n int) float64 {
			s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
			g := x.Axis(Axis{Point: v3(r0*c, r0*s, 0), Dir: v3(0, 0, 1)})
			p := g.At((z - g.Point.Z) / g.Dir.Z)
			return math.Hypot(p.X, p.Y)
		}
		extremes := func(n int) (low, high float64) {
			low, high = math.Inf(1), 0
			for i := range n {
				low, high = min(low, cut(i, n)), max(high, cut(i, n))
			}
			return low, high
		}
		low, high := extremes(n)
		// A vertex within the level tolerance of the section is taken where it stands.
		slack := 1e-12 + levelTolerance*25*math.Tan(tilt)
		if st.Low.Value > low+slack || st.High.Value < high-slack {
			t.Errorf("section %v..%v misses its generators %v..%v", st.Low.Value, st.High.Value, low, high)
		}
		const fine = 20000
		step := 2 * math.Pi / fine
		low, high = extremes(fine)
		if slack := slack + 10*step*step; st.Low.Value < low-slack || st.High.Value > high+slack {
			t.Errorf("section %v..%v goes beyond the cylinder %v..%v", st.Low.Value, st.High.Value, low, high)
		}
		near(t, "arc", st.Arc, 2*math.Pi, 1e-12)
	})
}

// Oracle: the length of a union of arcs by counting points on the circle.
func TestCoveredAgainstCounting(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 8).Draw(t, "n")
		arcs := make([][2]float64, n)
		for i := range arcs {
			arcs[i] = [2]float64{
				rapid.Float64Range(0, 2*math.Pi-1e-9).Draw(t, "start"),
				rapid.Float64Range(-math.Pi, math.Pi).Draw(t, "length"),
			}
		}
		const steps = 3600
		count := 0
		for k := range steps {
			a := 2 * math.Pi * (float64(k) + 0.5) / steps
			for _, arc := range arcs {
				from, length := arc[0], arc[1]
				if length < 0 {
					from, length = from+length, -length
				}
				if d := math.Mod(a-from+4*math.Pi, 2*math.Pi); d <= length {
					count++
					break
				}
			}
		}
		near(t, "covered", covered(arcs), 2*math.Pi*float64(count)/steps, 2*math.Pi*float64(n+1)/steps)
	})
}

// Any triangles whatever, measured about any axis: no panic, and circular
// runout within total.
func TestRunoutOfAnything(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := mesh.NewBuilder()
		n := rapid.IntRange(3, 20).Draw(t, "vertices")
		for range n {
			b.Vertex(genPoint(3).Draw(t, "p"))
		}
		v := rapid.Int32Range(0, int32(n-1))
		for range rapid.IntRange(1, 30).Draw(t, "faces") {
			b.Face(v.Draw(t, "a"), v.Draw(t, "b"), v.Draw(t, "c"))
		}
		m, _, err := b.Build(mesh.Options{})
		if err != nil {
			t.Fatalf("%v", err)
		}
		if len(m.Triangles()) == 0 {
			t.Skip("no triangle")
		}
		r, err := MeasureRunout(context.Background(), all(m), genAxis(3).Draw(t, "axis"), RunoutOptions{})
		if err != nil {
			t.Fatalf("%v", err)
		}
		s := r.Surfaces[0]
		if s.Circular > s.Total+1e-12 {
			t.Errorf("circular runout %v above total %v", s.Circular, s.Total)
		}
		for _, st := range s.Stations {
			if st.Arc < 0 || st.Arc > 2*math.Pi+1e-9 || !(st.Circular >= 0) || st.Count != len(st.Profile) {
				t.Errorf("station %+v", st)
			}
		}
	})
}

func TestRunoutBadInput(t *testing.T) {
	m := meshtest.Cylinder(1, 0, 1, 8, 1, true)
	nan := math.NaN()
	cancelled, cancel := context.WithCancel(context.Background())
	cancel()
	for _, c := range []struct {
		name string
		ctx  context.Context
		h    Housing
		axis Axis
		o    RunoutOptions
		want string
	}{
		{"no axis", nil, all(m), Axis{}, RunoutOptions{}, "measure runout: joint axis: axis direction (0, 0, 0) has length 0, less than 1e-290: give a direction that has a length"},
		{"NaN axis", nil, all(m), Axis{Point: v3(nan, 0, 0), Dir: v3(0, 0, 1)}, RunoutOptions{}, "measure runout: joint axis: axis point (NaN, 0, 0) is not finite: give three finite numbers"},
		{"no mesh", nil, Housing{Patches: [][]int32{{0}}}, zAxis, RunoutOptions{}, "measure runout: the housing has no surface: pick at least one patch"},
		{"no patches", nil, Housing{Mesh: m}, zAxis, RunoutOptions{}, "measure runout: the housing has no surface: pick at least one patch"},
		{"empty patch", nil, Housing{Mesh: m, Patches: [][]int32{{0}, {}}}, zAxis, RunoutOptions{}, "measure runout: patch 1: its 0 triangles have no area: pick a surface"},
		{"no such triangle", nil, Housing{Mesh: m, Patches: [][]int32{{0, 99}}}, zAxis, RunoutOptions{}, "measure runout: patch 0: it has triangle 99, but the mesh has triangles 0 to 27"},
		{"negative triangle", nil, Housing{Mesh: m, Patches: [][]int32{{-1}}}, zAxis, RunoutOptions{}, "measure runout: patch 0: it has triangle -1, but the mesh has triangles 0 to 27"},
		{"NaN height", nil, all(m), zAxis, RunoutOptions{Heights: []float64{0, nan}}, "measure runout: station at NaN: give finite levels"},
		{"infinite radius", nil, all(m), zAxis, RunoutOptions{Radii: []float64{math.Inf(1)}}, "measure runout: station at +Inf: give finite levels"},
		{"angle 0 along the axis", nil, all(m), zAxis, RunoutOptions{Zero: v3(0, 0, 3)}, "measure runout: direction of angle 0: cannot aim reach at direction (0, 0, 3): it lies on or runs along the hinge (sine 0, need 1e-06), choose a reference off the hinge"},
		{"cancelled", cancelled, all(m), zAxis, RunoutOptions{}, "measure runout: patch 0: context canceled"},
	} {
		t.Run(c.name, func(t *testing.T) {
			ctx := c.ctx
			if ctx == nil {
				ctx = context.Background()
			}
			_, err := MeasureRunout(ctx, c.h, c.axis, c.o)
			wantText(t, err, c.want)
			if c.ctx != nil && !errors.Is(err, context.Canceled) {
				t.Error("cancellation cannot be told from the error")
			}
		})
	}
	// A level that misses the surface leaves no figures, and no error.
	r := measure(t, all(m), zAxis, RunoutOptions{Heights: []float64{50}})
	if len(r.Surfaces[0].Stations) != 0 || !math.IsNaN(r.CircularRadial) || r.Surfaces[0].Worst != -1 {
		t.Errorf("missed surface: %+v", r)
	}
	// One flat side of a box is no round, but is measured all the same.
	box := meshtest.Box(v3(-1, -1, -1), v3(1, 1, 1))
	r = measure(t, patches(box), zAxis, RunoutOptions{})
	if !math.IsNaN(r.CircularRadial) { // its corners make no section
		t.Errorf("runout %v of a box side", r.CircularRadial)
	}
}

func BenchmarkMeasureRunout(b *testing.B) {
	for _, c := range []struct {
		name     string
		n, rings int
	}{{"128 triangles", 64, 1}, {"200000 triangles", 1000, 100}} {
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			h := all(meshtest.Cylinder(10, -20, 20, c.n, c.rings, false, Rotation(Axis{Dir: v3(0, 1, 0)}, 0.01).Apply))
			for b.Loop() {
				if _, err := MeasureRunout(context.Background(), h, zAxis, RunoutOptions{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
