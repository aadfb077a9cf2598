package loop_test

import (
	"context"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/kinematics"
	"pintle/kinematics/loop"
)

// A slider-crank: crank of 40 and rod of 120 in line, modelled with the crank
// pointing along the slide. Its cross-head closes the loop.
func Example() {
	z, x := r3.Vec{Z: 1}, r3.Vec{X: 1}
	at := func(name string, kind kinematics.Kind, parent, child int, px float64, dir r3.Vec) kinematics.Joint {
		return kinematics.Joint{
			Name: name, Kind: kind, Parent: parent, Child: child,
			Frame: kinematics.Frame{Origin: r3.Vec{X: px}, Hinge: dir, Reach: kinematics.Perpendicular(dir)},
		}
	}
	tree, err := kinematics.NewTree(3, []kinematics.Joint{
		at("crank", kinematics.Revolute, kinematics.World, 0, 0, z),
		at("big end", kinematics.Revolute, 0, 1, 40, z),
		at("small end", kinematics.Revolute, 1, 2, 160, z),
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	guide := at("cross-head", kinematics.Prismatic, kinematics.World, 2, 160, x)
	l, err := loop.New(tree, loop.Close(guide), []int{0}, loop.Options{Unit: "mm"})
	if err != nil {
		fmt.Println(err)
		return
	}
	ctx := context.Background()
	values, report, err := l.Solve(ctx, l.Zero(), []float64{math.Pi / 3})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("cross-head at %.6f, loop closed: %v\n", 160+values[l.Find("cross-head")], report.Length < 1e-9)

	// Driven by the cross-head, the crank's dead points end its way.
	piston, err := l.WithDrivers([]int{l.Find("cross-head")})
	if err != nil {
		fmt.Println(err)
		return
	}
	reach, err := piston.Reach(ctx, values, 0)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("it reaches from %.1f to %.1f\n", 160+reach.Range.Lower, 160+reach.Range.Upper)
	_, _, err = piston.Solve(ctx, values, []float64{-100})
	fmt.Println(err)

	// Output:
	// cross-head at 134.891253, loop closed: true
	// it reaches from 80.0 to 160.0
	// the loop cannot close at -100 mm: it goes to -80 mm, where "cross-head" locks; a gap of 20 mm would stay
}
