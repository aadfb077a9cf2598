package sweep_test

import (
	"context"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
	"pintle/kinematics"
	"pintle/kinematics/sweep"
)

// A bar from 1 to 3 beside the hinge, turned by 90 degrees.
func ExampleHinge() {
	bar := meshtest.Box(r3.Vec{X: 1, Y: -0.25}, r3.Vec{X: 3, Y: 0.25, Z: 1})
	hinge := kinematics.Axis{Dir: r3.Vec{Z: 1}}
	env, err := sweep.Hinge(context.Background(), []*mesh.Mesh{bar}, hinge, kinematics.Range{Upper: math.Pi / 2}, sweep.Options{Resolution: 400})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("volume %.2f, error below %.3f\n", env.Volume, 0.001*math.Ceil(env.Error/0.001))
	// Output: volume 7.34, error below 0.001
}
