package find

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
)

func all(m *mesh.Mesh) []int32 {
	out := make([]int32, len(m.Triangles()))
	for i := range out {
		out[i] = int32(i)
	}
	return out
}

// A cone and a ring have one turn that moves them along themselves.
func TestTurnedFindsTheAxis(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		turn := r3.NewRotation(rapid.Float64Range(-3, 3).Draw(t, "turn"), r3.Vec{X: 0.3, Y: rapid.Float64Range(-2, 2).Draw(t, "y"), Z: 0.7})
		scale := rapid.SampledFrom([]float64{1e-3, 1, 1e3}).Draw(t, "scale")
		at := r3.Scale(scale, r3.Vec{X: rapid.Float64Range(-50, 50).Draw(t, "x"), Y: 3, Z: -8})
		move := func(p r3.Vec) r3.Vec { return r3.Add(r3.Scale(scale, turn.Rotate(p)), at) }
		for name, m := range map[string]*mesh.Mesh{
			"cone": meshtest.Frustum(4, 1, 0, 5, 24, 3, false, move),
			"ring": meshtest.Torus(6, 2, 32, 16, move),
		} {
			r, ok := turned(m, all(m), 0)
			if !ok {
				t.Fatalf("%s: no axis", name)
			}
			if a, d := lineAngle(r.axis, turn.Rotate(r3.Vec{Z: 1})), fromLine(at, r.centre, r.axis)/scale; a > 1e-6 || d > 1e-5 {
				t.Errorf("%s: %g rad and %g off", name, a, d)
			}
		}
	})
}

// Planes, spheres and cylinders have more motions than one, boxes none.
func TestTurnedRefuses(t *testing.T) {
	for name, m := range map[string]*mesh.Mesh{
		"plane": meshtest.Grid(3, 4, 8, 8), "sphere": meshtest.Sphere(2, 24, 12),
		"cylinder": meshtest.Cylinder(1, 0, 3, 24, 2, false),
		"box":      mesh.Join(meshtest.Box(r3.Vec{}, r3.Vec{X: 1, Y: 2, Z: 3}), meshtest.Box(r3.Vec{X: 5}, r3.Vec{X: 7, Y: 1, Z: 1})),
	} {
		if r, ok := turned(m, all(m), 0); ok {
			t.Errorf("%s has an axis: %+v", name, r)
		}
	}
}

// The circle through three points, against its closed form.
func TestThrough(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rapid.Float64Range(1e-3, 1e3).Draw(t, "r")
		c := r3.Vec{X: rapid.Float64Range(-10, 10).Draw(t, "x"), Y: 2, Z: -1}
		on := func(a float64) r3.Vec { return r3.Add(c, r3.Vec{X: r * math.Cos(a), Z: r * math.Sin(a)}) }
		centre, axis, radius, ok := through(on(0.1), on(1.2), on(rapid.Float64Range(2, 5).Draw(t, "a")))
		if !ok || math.Abs(radius-r) > 1e-9*(r+10) || r3.Norm(r3.Sub(centre, c)) > 1e-9*(r+10) || lineAngle(axis, r3.Vec{Y: 1}) > 1e-9*(1+10/r) {
			t.Errorf("centre %v, axis %v, radius %g, want %v and %g", centre, axis, radius, c, r)
		}
	})
	if _, _, _, ok := through(r3.Vec{}, r3.Vec{X: 1}, r3.Vec{X: 2}); ok {
		t.Error("a circle through points on a line")
	}
}

// Four quarter fillets on one side of a line are no axis to trust; two halves
// on either side are.
func TestCover(t *testing.T) {
	arc := func(from, to, z float64) ring {
		r := ring{axis: r3.Vec{Z: 1}, centre: r3.Vec{Z: z}, radius: 2, arc: to - from, form: 1, tilt: 1e-6, shift: 1e-6}
		for i := range ringPoints {
			a := from + (to-from)*(float64(i)+0.5)/ringPoints
			r.points = append(r.points, r3.Vec{X: 2 * math.Cos(a), Y: 2 * math.Sin(a), Z: z})
		}
		return r
	}
	quarter := lines([]ring{arc(0, math.Pi/2, 0), arc(0, math.Pi/2, 1), arc(0, math.Pi/2, 2), arc(0, math.Pi/2, 3)}, 0.01)
	halves := lines([]ring{arc(0, math.Pi, 0), arc(math.Pi, 2*math.Pi, 1)}, 0.01)
	if len(quarter) != 1 || math.Abs(quarter[0].cover-0.25) > 0.06 || quarter[0].trust() > 0.45 {
		t.Errorf("quarters: %+v", quarter)
	}
	if len(halves) != 1 || halves[0].cover < 0.95 || halves[0].trust() != 1 {
		t.Errorf("halves: %+v", halves)
	}
}
