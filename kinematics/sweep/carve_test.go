package sweep

import (
	"context"
	"errors"
	"math"
	"runtime"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
	"pintle/kinematics"
)

func mustCarve(t interface {
	Fatalf(string, ...any)
	Helper()
}, e Envelope, moving, still []*mesh.Mesh,
) Carving {
	t.Helper()
	c, err := Carve(context.Background(), e, moving, still, CarveOptions{})
	if err != nil {
		t.Fatalf("Carve: %v", err)
	}
	for i, p := range c.Parts {
		area := 0.0
		if p.Mesh != nil {
			area = p.Mesh.Area()
		}
		if math.Abs(area-p.Area) > 1e-9*(1+area) {
			t.Fatalf("part %d: its patch has an area of %v, stated is %v", i, area, p.Area)
		}
		if !slices.IsSorted(p.Triangles) || (len(p.Triangles) == 0) != (p.Area == 0) {
			t.Fatalf("part %d: triangles %v for an area of %v", i, p.Triangles, p.Area)
		}
	}
	return c
}

func box(x0, y0, z0, x1, y1, z1 float64) *mesh.Mesh {
	return meshtest.Box(r3.Vec{X: x0, Y: y0, Z: z0}, r3.Vec{X: x1, Y: y1, Z: z1})
}

// A unit cube slides 5 along x. What it cuts out of still parts is known in
// closed form, and how deep: as far as the middle of its way's cross section.
func TestWhereASliderCuts(t *testing.T) {
	cube := []*mesh.Mesh{box(0, 0, 0, 1, 1, 1)}
	e := mustSlide(t, cube, r3.Vec{X: 1}, kinematics.Range{Upper: 5}, 100)
	ball := meshtest.Sphere(0.3, 40, 20, moved(r3.Vec{X: 4, Y: 0.5, Z: 0.5}))
	for _, c := range []struct {
		name        string
		still       *mesh.Mesh
		area, depth float64
		rest        float64
	}{
		{"wall across the way", box(3, -5, -5, 3.5, 5, 5), 2, 0.5, 0},
		{"bar in the way", box(2.5, -1, 0.25, 3, 2, 0.75), 2*0.5 + 2*0.5, 0.5, 0},
		{"ball in the way", ball, ball.Area(), 0.5, 0},
		{"wall beyond", box(6.2, -5, -5, 7, 5, 5), 0, 0, 0},
		{"floor that it slides on", box(-1, -1, -1, 8, 2, 0), 0, 0, 1},
		{"step that it runs into", box(3, -1, -1, 8, 2, 0.25), 3 + 0.25, 0.25, 0},
		{"stop that it touches", box(1, 0.25, 0.25, 2, 0.75, 0.75), 4*0.5 + 2*0.25, 0.5, 0},
		{"peg through it", box(0.4, 0.4, -3, 0.6, 0.6, 4), 0, 0, 4 * 0.2},
		{"pocket that it sits in", box(-1, -1, -1, 0.5, 2, 0.5), 0, 0, 1},
		{"all round it", box(-9, -9, -9, 9, 9, 9), 0, 0, 0},
	} {
		got := mustCarve(t, e, cube, []*mesh.Mesh{c.still})
		p := got.Parts[0]
		// The cut runs off the true one by the tolerance.
		slack := 14 * got.Tolerance
		if math.Abs(p.Area-c.area) > slack*max(1, c.area) || c.area == 0 && p.Area > 0 {
			t.Errorf("%s: area %.5g, want %.5g within %.2g", c.name, p.Area, c.area, slack)
		}
		if math.Abs(p.Depth-c.depth) > p.Resolution+got.Tolerance {
			t.Errorf("%s: depth %.5g at %v, want %.5g", c.name, p.Depth, p.Deepest, c.depth)
		}
		if c.rest > 0 && math.Abs(p.AtRest-c.rest) > slack {
			t.Errorf("%s: %.5g at rest, want %.5g within %.2g", c.name, p.AtRest, c.rest, slack)
		}
		if got.Area != p.Area || got.Depth != p.Depth {
			t.Errorf("%s: the whole has %v and %v, its only part %v and %v", c.name, got.Area, got.Depth, p.Area, p.Depth)
		}
	}
}

// Mating surfaces of revolution about the hinge need no carving, whichever of
// them moves and however they are tessellated; nor do hubs that overlap, flush
// flanges, or a bolt through both parts.
func TestWhatMatesNeedsNoCarving(t *testing.T) {
	pin := func(r float64, n int) *mesh.Mesh { return meshtest.Cylinder(r, -2, 2, n, 1, true) }
	hub := func(n int) *mesh.Mesh { return tube(1, 2, -1, 1, n) }
	arm := box(1.5, -0.3, -0.5, 6, 0.3, 0.5)
	for _, c := range []struct {
		name          string
		moving, still []*mesh.Mesh
	}{
		{"pin still in a turning hub", []*mesh.Mesh{hub(24), arm}, []*mesh.Mesh{pin(1, 37)}},
		{"pin turning in a still hub", []*mesh.Mesh{pin(1, 24)}, []*mesh.Mesh{hub(50)}},
		{"coarse pin in a fine hub", []*mesh.Mesh{pin(1, 12)}, []*mesh.Mesh{hub(90)}},
		{"fine pin in a coarse hub", []*mesh.Mesh{pin(1, 90)}, []*mesh.Mesh{hub(12)}},
		{"pressed pin", []*mesh.Mesh{hub(24), arm}, []*mesh.Mesh{pin(1.2, 24)}},
		{"flanges face to face", []*mesh.Mesh{hub(24), arm}, []*mesh.Mesh{tube(0.5, 3, 1, 1.5, 32), tube(0.5, 3, -1.5, -1, 32)}},
	} {
		e := mustSweep(t, c.moving, upAxis(), degrees(-50, 70), 150)
		got := mustCarve(t, e, c.moving, c.still)
		if got.Area > 0 || got.Mesh != nil {
			t.Errorf("%s: %.3g to carve, %.3g deep; tolerance %.3g", c.name, got.Area, got.Depth, got.Tolerance)
		}
		rest := 0.0
		for _, p := range got.Parts {
			rest += p.AtRest
		}
		if rest == 0 {
			t.Errorf("%s: nothing at rest", c.name)
		}
	}
}

// A post in the way of an arm: its whole mantle within the arm's height, and
// only there.
func TestWhereAnArmCuts(t *testing.T) {
	arm := []*mesh.Mesh{box(0, -0.5, -0.5, 5, 0.5, 0.5)}
	e := mustSweep(t, arm, upAxis(), degrees(0, 90), 150)
	at := r3.Vec{X: 2.5, Y: 2.5}
	post := meshtest.Cylinder(0.4, -2, 2, 40, 1, true, moved(at))
	away := meshtest.Cylinder(0.4, -2, 2, 40, 1, true, moved(r3.Vec{X: -2.5, Y: 2.5}))
	got := mustCarve(t, e, arm, []*mesh.Mesh{post, away})
	around := 80 * 0.4 * math.Sin(math.Pi/40)
	if p := got.Parts[0]; math.Abs(p.Area-around) > 3*got.Tolerance*around || math.Abs(p.Depth-0.5) > p.Resolution+got.Tolerance {
		t.Errorf("post: area %.5g and depth %.4g, want %.5g and 0.5", p.Area, p.Depth, around)
	}
	if p := got.Parts[1]; p.Area != 0 {
		t.Errorf("post out of the way: area %v", p.Area)
	}
	if b := got.Mesh.Bounds(); b.Min.Z < -0.5 || b.Max.Z > 0.5 {
		t.Errorf("the patch reaches from %v to %v", b.Min.Z, b.Max.Z)
	}
}

func TestCarvingIsTheSameInEveryFrameAndSize(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawScene(t)
		s.bodies = s.bodies[:1]
		still := scene{bodies: []*mesh.Mesh{meshtest.Sphere(rapid.Float64Range(0.3, 1).Draw(t, "radius"), 16, 8, moved(drawVec(t, "ball", 2)))}}
		carve := func(s, still scene) Carving {
			e, err := Hinge(context.Background(), s.bodies, s.axis, s.over, Options{Resolution: 24})
			if err != nil {
				t.Fatalf("Hinge: %v", err)
			}
			return mustCarve(t, e, s.bodies, still.bodies)
		}
		a := carve(s, still)
		x := kinematics.Rotation(drawAxis(t), rapid.Float64Range(-3, 3).Draw(t, "angle"))
		x.T = r3.Add(x.T, drawVec(t, "shift", 100))
		k := math.Pow(10, rapid.Float64Range(-3, 3).Draw(t, "scale"))
		at := func(p r3.Vec) r3.Vec { return x.Apply(r3.Scale(k, p)) }
		b := carve(s.mapped(at, x.Turn), still.mapped(at, x.Turn))
		// Where the columns stand about the hinge moves the surface by a cell.
		slack := 4 * a.Tolerance
		if math.Abs(a.Depth-b.Depth/k) > slack {
			t.Fatalf("depth %.6g becomes %.6g, tolerance %.3g", a.Depth, b.Depth/k, a.Tolerance)
		}
	})
}

func TestCarvingHasTheSameBitsOnAnyNumberOfCores(t *testing.T) {
	arm := []*mesh.Mesh{box(0, -0.5, -0.5, 5, 0.5, 0.5)}
	e := mustSweep(t, arm, upAxis(), degrees(0, 90), 60)
	still := []*mesh.Mesh{meshtest.Sphere(1, 60, 30, moved(r3.Vec{X: 3, Y: 3}))}
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	one := mustCarve(t, e, arm, still)
	for _, n := range []int{2, 7} {
		runtime.GOMAXPROCS(n)
		c := mustCarve(t, e, arm, still)
		if c.Area != one.Area || c.Depth != one.Depth || c.Parts[0].AtRest != one.Parts[0].AtRest ||
			!slices.Equal(c.Mesh.Vertices(), one.Mesh.Vertices()) || !slices.Equal(c.Mesh.Triangles(), one.Mesh.Triangles()) {
			t.Errorf("carvings differ between 1 and %d cores", n)
		}
	}
}

func TestBadCarvingsAreRefusedInOneSentence(t *testing.T) {
	cube := []*mesh.Mesh{box(0, 0, 0, 1, 1, 1)}
	e := mustSlide(t, cube, r3.Vec{X: 1}, kinematics.Range{Upper: 5}, 20)
	for _, c := range []struct {
		name          string
		e             Envelope
		moving, still []*mesh.Mesh
		o             CarveOptions
		want          string
	}{
		{"no envelope", Envelope{}, cube, cube, CarveOptions{}, "has no mesh"},
		{"still missing", e, cube, []*mesh.Mesh{cube[0], nil}, CarveOptions{}, "still part 1 is missing"},
		{"moving missing", e, []*mesh.Mesh{nil}, cube, CarveOptions{}, "moving part 0 is missing"},
		{"negative tolerance", e, cube, cube, CarveOptions{Tolerance: -1}, "give a length"},
		{"NaN tolerance", e, cube, cube, CarveOptions{Tolerance: math.NaN()}, "give a length"},
	} {
		_, err := Carve(context.Background(), c.e, c.moving, c.still, c.o)
		if err == nil || !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: error is %v, want one that says %q", c.name, err, c.want)
		}
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Carve(ctx, e, cube, []*mesh.Mesh{box(2, 0, 0, 3, 1, 1)}, CarveOptions{}); !errors.Is(err, context.Canceled) {
		t.Errorf("error is %v, want context.Canceled", err)
	}
	if c := mustCarve(t, e, nil, nil); c.Mesh != nil || c.Area != 0 || len(c.Parts) != 0 {
		t.Errorf("nothing still gives %v", c)
	}
}

// tube is a ring about the z axis with n sides.
func tube(r0, r1, z0, z1 float64, n int) *mesh.Mesh {
	b := mesh.NewBuilder()
	for k := range n {
		s, c := math.Sincos(2 * math.Pi * float64(k) / float64(n))
		for _, p := range [4][2]float64{{r0, z0}, {r1, z0}, {r1, z1}, {r0, z1}} {
			b.Vertex(r3.Vec{X: p[0] * c, Y: p[0] * s, Z: p[1]})
		}
	}
	for k := range int32(n) {
		a, c := 4*k, 4*((k+1)%int32(n))
		for i := range int32(4) {
			j := (i + 1) % 4
			b.Face(a+i, c+i, c+j, a+j)
		}
	}
	m, _, err := b.Build(mesh.Options{})
	if err != nil {
		panic(err)
	}
	return m
}
