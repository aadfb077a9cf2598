package find

import (
	"context"
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/fit/find/findtest"
	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
)

// failer is a test or a case of a property.
type failer interface {
	Helper()
	Fatalf(format string, args ...any)
}

// pairOf looks at two parts and returns their link.
func pairOf(t failer, a, b *mesh.Mesh) (*work, *link) {
	t.Helper()
	w, err := survey(context.Background(), []mesh.Part{{Name: "a", Mesh: a}, {Name: "b", Mesh: b}}, Options{Near: defaultNear})
	if err != nil {
		t.Fatalf("%v", err)
	}
	links, err := w.links(context.Background())
	if err != nil || len(links) != 1 {
		t.Fatalf("%d links, %v", len(links), err)
	}
	return w, &links[0]
}

func kindOf(t testing.TB, a, b *mesh.Mesh, o, axis r3.Vec) Candidate {
	t.Helper()
	w, l := pairOf(t, a, b)
	c := Candidate{Parent: 0, Child: 1, Kind: Revolute, Axis: axis, Origin: o}
	w.kind(l, &c)
	return c
}

var zAxis = r3.Vec{Z: 1}

// What joints of known form are, by their mating faces.
func TestKindsByFaces(t *testing.T) {
	barrel := findtest.Lathe(findtest.Tube(5.02, 8, -20, 20, 0, 1), 48, 0)
	for name, c := range map[string]struct {
		a, b *mesh.Mesh
		want Kind
	}{
		"plain rod in a barrel":    {barrel, meshtest.Cylinder(5, -40, 40, 48, 8, true), Cylindrical},
		"rod with a head beyond":   {barrel, mesh.Join(meshtest.Cylinder(5, -40, 40, 48, 8, true), meshtest.Box(r3.Vec{X: -9, Y: -9, Z: 40}, r3.Vec{X: 9, Y: 3, Z: 50})), Prismatic},
		"rod with shoulders":       {barrel, findtest.Lathe([]findtest.Point{{X: 0, Y: -25}, {X: 7, Y: -25}, {X: 7, Y: -20.02}, {X: 5, Y: -20.02}, {X: 5, Y: 20.02}, {X: 7, Y: 20.02}, {X: 7, Y: 25}, {X: 0, Y: 25}}, 48, 0), Revolute},
		"short pin":                {findtest.Lathe(findtest.Tube(5.02, 8, -4, 4, 0, 1), 48, 0), meshtest.Cylinder(5, -9, 9, 48, 3, true), Revolute},
		"ball in a socket of half": {socket(10.05), meshtest.Sphere(10, 48, 24), Spherical},
	} {
		if got := kindOf(t, c.a, c.b, r3.Vec{Z: 1}, zAxis); got.Kind != c.want {
			t.Errorf("%s is %s, want %s", name, got.Kind, c.want)
		} else if c.want == Spherical && r3.Norm(got.Origin) > 0.02 {
			t.Errorf("%s turns about %v, want the middle", name, got.Origin)
		}
	}
}

// socket is the lower half of a hollow sphere in a cylinder.
func socket(r float64) *mesh.Mesh {
	p := []findtest.Point{{X: 0, Y: -1.3 * r}, {X: 1.3 * r, Y: -1.3 * r}, {X: 1.3 * r, Y: 0}}
	for i := range 13 {
		s, c := math.Sincos(math.Pi / 2 * float64(i) / 12)
		if i == 12 {
			c = 0
		}
		p = append(p, findtest.Point{X: r * c, Y: -r * s})
	}
	return findtest.Lathe(p, 48, 0)
}

// thread is a strip round the z axis whose profile over one pitch rises and
// falls by depth.
func thread(r, depth, pitch float64, turns, n int) *mesh.Mesh {
	b := mesh.NewBuilder()
	profile := [][2]float64{{-depth, 0}, {0, 0.25}, {0, 0.5}, {-depth, 0.75}}
	for k := 0; k <= turns*n; k++ {
		s, c := math.Sincos(2 * math.Pi * float64(k) / float64(n))
		for _, q := range profile {
			b.Vertex(r3.Vec{X: (r + q[0]) * c, Y: (r + q[0]) * s, Z: pitch * (float64(k)/float64(n) + q[1])})
		}
	}
	for k := range turns * n {
		at := int32(4 * k)
		for i := range int32(3) {
			b.Face(at+i, at+i+4, at+i+5, at+i+1)
		}
		if next := at + int32(4*n); k+n < turns*n {
			b.Face(at+3, at+7, next+4, next)
		}
	}
	m, _, err := b.Build(mesh.Options{})
	if err != nil {
		panic(err)
	}
	return m
}

// A thread's pitch is about that it was made with, its sign that of a right-hand
// thread, in any unit.
func TestThreadPitch(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		scale := rapid.SampledFrom([]float64{1e-3, 1, 25.4}).Draw(t, "scale")
		pitch := rapid.Float64Range(3.2, 6).Draw(t, "pitch") * scale
		hand := rapid.SampledFrom([]float64{1, -1}).Draw(t, "hand")
		bolt := thread(5*scale, 0.8*scale, pitch, 12, 24)
		if hand < 0 {
			bolt = flipped(bolt)
		}
		nut := mesh.Moved(findtest.Lathe(findtest.Tube(5.05*scale, 9*scale, 0, 12*scale, 0, 1), 48, 0), findtest.Shift(r3.Vec{Z: 5 * pitch}))
		w, l := pairOf(t, bolt, nut)
		got, ok := w.thread(l, r3.Vec{}, zAxis)
		if !ok || math.Abs(got-hand*pitch) > 0.05*pitch {
			t.Errorf("pitch %g, %v, want %g", got, ok, hand*pitch)
		}
	})
}

// A turned pin is no thread.
func TestNoThread(t *testing.T) {
	w, l := pairOf(t, findtest.Lathe(findtest.Tube(5.02, 8, -20, 20, 0, 1), 48, 0), findtest.Lathe(findtest.Rod(5, -30, 30, 2, 6), 48, 0))
	if p, ok := w.thread(l, r3.Vec{}, zAxis); ok {
		t.Errorf("pitch %g", p)
	}
}

// A cylinder is turned all over, a box about the middle of its faces hardly.
func TestTurnedAbout(t *testing.T) {
	w, _ := pairOf(t, meshtest.Cylinder(5, 0, 20, 64, 4, true), meshtest.Box(r3.Vec{X: -5, Y: -5, Z: 20}, r3.Vec{X: 5, Y: 5, Z: 60}))
	if x := w.parts[0].turnedAbout(r3.Vec{}, zAxis); x < 0.999 {
		t.Errorf("the cylinder is turned by %g", x)
	}
	if x := w.parts[0].turnedAbout(r3.Vec{X: 2}, zAxis); x > 0.6 {
		t.Errorf("beside its axis, by %g", x)
	}
	if x := w.parts[1].turnedAbout(r3.Vec{}, zAxis); x > 0.4 {
		t.Errorf("the box is turned by %g", x)
	}
}
