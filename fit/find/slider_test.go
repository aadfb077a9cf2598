package find

import (
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
)

// sleeve is a square tube along x round a bar, made of four plates.
func sleeve(move ...func(r3.Vec) r3.Vec) []mesh.Part {
	var plates []*mesh.Mesh
	for i := range 4 {
		x := mesh.Identity()
		for range i {
			y, z := x.Y, x.Z
			x.Y, x.Z = z, r3.Scale(-1, y)
		}
		with := append([]func(r3.Vec) r3.Vec{x.Apply}, move...)
		for k := range 5 {
			plates = append(plates, meshtest.Box(r3.Vec{X: 20 * float64(k), Y: -10, Z: 5}, r3.Vec{X: 20 * float64(k+1), Y: 10, Z: 10}, with...))
		}
	}
	bar := meshtest.Box(r3.Vec{X: -50, Y: -5, Z: -5}, r3.Vec{X: 150, Y: 5, Z: 5}, move...)
	return []mesh.Part{{Name: "sleeve", Mesh: mesh.Join(plates...)}, {Name: "bar", Mesh: bar}}
}

func TestSquareSlider(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		turn := r3.NewRotation(rapid.Float64Range(-3, 3).Draw(t, "turn"), r3.Vec{X: 1, Y: rapid.Float64Range(-2, 2).Draw(t, "y"), Z: 0.7})
		scale := rapid.SampledFrom([]float64{1e-3, 1, 25.4}).Draw(t, "scale")
		res, err := Joints(t.Context(), sleeve(func(p r3.Vec) r3.Vec { return r3.Scale(scale, turn.Rotate(p)) }), Options{})
		if err != nil || len(res.Joints) != 1 {
			t.Fatalf("%+v, %v", res, err)
		}
		c := res.Joints[0]
		if a := lineAngle(c.Axis, turn.Rotate(r3.Vec{X: 1})); c.Kind != Prismatic || a > 1e-9 || c.Confidence < 0.5 {
			t.Errorf("%s, %g rad off, confidence %g", c.Kind, a, c.Confidence)
		}
	})
}
