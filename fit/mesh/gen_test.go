package mesh_test

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/fit/mesh"
)

// drawVec draws a point of the cube -size..size.
func drawVec(t *rapid.T, size float64, label string) r3.Vec {
	c := rapid.Float64Range(-size, size)
	return r3.Vec{X: c.Draw(t, label+".x"), Y: c.Draw(t, label+".y"), Z: c.Draw(t, label+".z")}
}

// drawUnit draws a direction.
func drawUnit(t *rapid.T, label string) r3.Vec {
	z := rapid.Float64Range(-1, 1).Draw(t, label+".z")
	s, c := math.Sincos(rapid.Float64Range(-math.Pi, math.Pi).Draw(t, label+".turn"))
	r := math.Sqrt(1 - z*z)
	return r3.Vec{X: r * c, Y: r * s, Z: z}
}

// turning returns the rotation by angle about the unit axis, moved by shift.
func turning(axis r3.Vec, angle float64, shift r3.Vec) mesh.Rigid {
	turn := func(p r3.Vec) r3.Vec {
		// O. Rodrigues, Des lois geometriques qui regissent les deplacements
		// d'un systeme solide, 1840.
		s, c := math.Sincos(angle)
		return r3.Add(r3.Add(r3.Scale(c, p), r3.Scale(s, r3.Cross(axis, p))), r3.Scale((1-c)*r3.Dot(axis, p), axis))
	}
	return mesh.Rigid{X: turn(r3.Vec{X: 1}), Y: turn(r3.Vec{Y: 1}), Z: turn(r3.Vec{Z: 1}), T: shift}
}

// drawRigid draws a rigid motion that shifts by at most size per axis.
func drawRigid(t *rapid.T, size float64) mesh.Rigid {
	return turning(drawUnit(t, "axis"), rapid.Float64Range(-math.Pi, math.Pi).Draw(t, "angle"), drawVec(t, size, "shift"))
}

// drawMap draws a rigid motion followed by a scale between 1e-3 and 1e3.
func drawMap(t *rapid.T) (move func(r3.Vec) r3.Vec, scale float64) {
	x := drawRigid(t, 1e3)
	scale = math.Pow(10, rapid.Float64Range(-3, 3).Draw(t, "decades"))
	return func(p r3.Vec) r3.Vec { return r3.Scale(scale, x.Apply(p)) }, scale
}

// drawSoup draws a mesh of unrelated and of touching triangles.
func drawSoup(t *rapid.T, most int) *mesh.Mesh {
	b := mesh.NewBuilder()
	n := rapid.IntRange(3, most).Draw(t, "vertices")
	for range n {
		// A coarse lattice among the points makes coincidences likely.
		p := drawVec(t, 4, "v")
		if rapid.Bool().Draw(t, "lattice") {
			p = r3.Vec{X: math.Round(p.X), Y: math.Round(p.Y), Z: math.Round(p.Z)}
		}
		b.Vertex(p)
	}
	v := rapid.Int32Range(0, int32(n-1))
	for range rapid.IntRange(1, 2*most).Draw(t, "faces") {
		b.Face(v.Draw(t, "a"), v.Draw(t, "b"), v.Draw(t, "c"))
	}
	return build(t, b, mesh.Options{})
}

// fataler is what *testing.T, *testing.B and *rapid.T have in common here.
type fataler interface {
	Helper()
	Fatalf(format string, args ...any)
}

func build(t fataler, b *mesh.Builder, o mesh.Options) *mesh.Mesh {
	t.Helper()
	m, _, err := b.Build(o)
	if err != nil {
		t.Fatalf("Build: %v", err)
	}
	return m
}

// polygons returns a mesh of the given points and faces.
func polygons(t fataler, points []r3.Vec, faces ...[]int32) *mesh.Mesh {
	t.Helper()
	b := mesh.NewBuilder()
	for _, p := range points {
		b.Vertex(p)
	}
	for _, f := range faces {
		b.Face(f...)
	}
	return build(t, b, mesh.Options{})
}

func wantNear(t fataler, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Fatalf("%s = %.17g, want %.17g within %g", what, got, want, tol)
	}
}

func wantValid(t fataler, m *mesh.Mesh) {
	t.Helper()
	if err := mesh.Validate(m); err != nil {
		t.Fatalf("Validate: %v", err)
	}
}

func wantEqual[T comparable](t fataler, what string, got, want T) {
	t.Helper()
	if got != want {
		t.Fatalf("%s = %v, want %v", what, got, want)
	}
}

// tetrahedron is regular, with edges of 2 sqrt 2.
func tetrahedron(t *testing.T) *mesh.Mesh {
	t.Helper()
	return polygons(t,
		[]r3.Vec{{X: 1, Y: 1, Z: 1}, {X: 1, Y: -1, Z: -1}, {X: -1, Y: 1, Z: -1}, {X: -1, Y: -1, Z: 1}},
		[]int32{0, 1, 2}, []int32{0, 3, 1}, []int32{0, 2, 3}, []int32{1, 3, 2})
}

const deg = math.Pi / 180
