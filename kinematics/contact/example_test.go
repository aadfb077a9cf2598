package contact_test

import (
	"context"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
	"pintle/kinematics"
	"pintle/kinematics/contact"
)

// A flap on a barrel turns on a pin of the bore's own radius until it meets a
// stop.
func Example() {
	v := func(x, y, z float64) r3.Vec { return r3.Vec{X: x, Y: y, Z: z} }
	flap := mesh.Join(meshtest.Box(v(3, -2, 6), v(50, 1, 9)), meshtest.Cylinder(4, -20, 20, 24, 1, true))
	stop := meshtest.Box(v(20, 18, 0), v(30, 28, 10))
	bracket := meshtest.Cylinder(4, -5, 5, 32, 1, false)

	s, err := contact.NewScene(context.Background(),
		[]contact.Body{{Name: "flap", Mesh: flap}},
		[]contact.Body{{Name: "bracket", Mesh: bracket}, {Name: "stop", Mesh: stop}},
		contact.Hinge(kinematics.Axis{Dir: v(0, 0, 1)}), contact.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	r, err := s.FreeRange(context.Background(), kinematics.Range{Lower: -math.Pi, Upper: math.Pi})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println("lower:", r.Lower)
	fmt.Printf("upper: %.6f deg at (%.3g, %.3g)\n", r.Upper.Value*180/math.Pi, r.Upper.Point.X, r.Upper.Point.Y)
	for _, x := range r.Rest {
		fmt.Println("at rest:", x.Kind, "ignored:", x.Ignored)
	}
	// Output:
	// lower: <nil>
	// upper: 29.325843 deg at (30, 18)
	// at rest: mating ignored: true
}
