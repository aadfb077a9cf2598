package kinematics_test

import (
	"context"
	"encoding/json"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
	"pintle/kinematics"
)

// A frame from a fitted hinge line, with the reach toward a picked point. The
// recipe is what a document keeps; the frame can be built from it at any time.
func ExampleBuild() {
	spec := kinematics.FrameSpec{
		Datum: kinematics.Axis{Point: r3.Vec{X: 10}, Dir: r3.Vec{Z: 1}},
		Slide: 5,
		Reach: kinematics.Aim{At: kinematics.Reference{
			Kind: kinematics.FromPoint, Point: r3.Vec{X: 10, Y: 80, Z: 20},
		}},
	}
	frame, err := kinematics.Build(spec, kinematics.Surroundings{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println("origin", frame.Origin)
	fmt.Println("hinge", frame.Hinge, "reach", frame.Reach, "side", frame.Side())

	spec.Reach.At.Point = r3.Vec{X: 10, Z: 20} // on the hinge line itself
	_, err = kinematics.Build(spec, kinematics.Surroundings{})
	fmt.Println(err)
	// Output:
	// origin {10 0 5}
	// hinge {0 0 1} reach {0 1 0} side {-1 0 0}
	// reach: cannot aim reach at point (10, 0, 20): it lies on or runs along the hinge (sine 0, need 1e-06), choose a reference off the hinge
}

// A typed turn stays what was typed; angles are degrees in JSON.
func ExampleFrameSpec_MarshalJSON() {
	spec := kinematics.FrameSpec{
		Datum: kinematics.Axis{Dir: r3.Vec{Z: 1}},
		Reach: kinematics.Aim{At: kinematics.Reference{Kind: kinematics.FromWorld, World: kinematics.PlusX}, Angle: kinematics.Radians(33.3)},
	}
	data, err := json.Marshal(spec)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(string(data))
	// Output:
	// {"datum":{"point":[0,0,0],"direction":[0,0,1]},"reach":{"at":{"kind":"world","world":"X"},"angle":33.3}}
}

// The letters that an export gives to the roles, and the quaternion that follows.
func ExampleLetters() {
	letters, err := kinematics.ParseLetters("hinge=Y reach=-X")
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(letters, "side="+string(letters.Side()))
	pose, err := letters.Pose(kinematics.Frame{Hinge: r3.Vec{Y: 1}, Reach: r3.Vec{X: -1}})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(pose.Quaternion())
	// Output:
	// hinge=Y reach=-X side=Z
	// [0 0 0 1]
}

// A two-joint arm: the tree is made once, the joint values are the caller's.
func ExampleTree_FK() {
	z, x := r3.Vec{Z: 1}, r3.Vec{X: 1}
	tree, err := kinematics.NewTree(2, []kinematics.Joint{
		{Name: "shoulder", Kind: kinematics.Revolute, Parent: kinematics.World, Child: 0, Frame: kinematics.Frame{Hinge: z, Reach: x}},
		{Name: "elbow", Kind: kinematics.Revolute, Parent: 0, Child: 1, Frame: kinematics.Frame{Origin: r3.Vec{X: 300}, Hinge: z, Reach: x}},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	values := tree.Zero()
	elbow, _ := tree.ValueIndex(tree.Find("elbow"))
	values[elbow] = math.Pi / 2
	hand := tree.FK(values)[1].Apply(r3.Vec{X: 500})
	fmt.Printf("hand at %.0f, %.0f\n", hand.X, hand.Y)
	// Output:
	// hand at 300, 200
}

// A bore of radius 10 that is 0.35 off its joint axis runs out by twice that.
func ExampleMeasureRunout() {
	const n = 48
	b := mesh.NewBuilder()
	for _, z := range []float64{0, 30} {
		for i := range n {
			s, c := math.Sincos(2 * math.Pi * float64(i) / n)
			b.Vertex(r3.Vec{X: 0.35 + 10*c, Y: 10 * s, Z: z})
		}
	}
	var patch []int32
	for i := range int32(n) {
		j := (i + 1) % n
		b.Face(i, j, n+j, n+i)
		patch = append(patch, 2*i, 2*i+1) // a quad is two triangles
	}
	bore, _, err := b.Build(mesh.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	joint := kinematics.Axis{Dir: r3.Vec{Z: 1}}
	r, err := kinematics.MeasureRunout(context.Background(),
		kinematics.Housing{Mesh: bore, Patches: [][]int32{patch}}, joint, kinematics.RunoutOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("circular radial %.3f, total radial %.3f\n", r.CircularRadial, r.TotalRadial)
	fmt.Printf("sagitta of the facets %.3f\n", r.Sagitta)
	fmt.Printf("eccentricity %.3f\n", r.Surfaces[0].Eccentricity.X)
	// Output:
	// circular radial 0.700, total radial 0.700
	// sagitta of the facets 0.021
	// eccentricity 0.350
}

// How far the centre of an off-hinge housing wanders, and what would mend it.
func ExampleCorrectionOf() {
	joint := kinematics.Frame{Hinge: r3.Vec{Z: 1}, Reach: r3.Vec{X: 1}}
	housing := kinematics.Axis{Point: r3.Vec{X: 0.8}, Dir: r3.Vec{Z: 1}}
	drift := kinematics.DriftOf(housing.Point, joint.Axis(), kinematics.Range{Upper: math.Pi / 2})
	fmt.Printf("wanders %.3f over %.3f of arc\n", drift.Max, drift.Arc)
	fix := kinematics.CorrectionOf(joint, housing)
	fmt.Println("move by", fix.Move, "tilt by", fix.Tilt)
	fmt.Println("left over", kinematics.AxisErrorOf(fix.Apply(joint).Axis(), housing))
	// Output:
	// wanders 1.131 over 1.257 of arc
	// move by {0.8 0 0} tilt by {0 0 0}
	// left over {0 0}
}

// A bent universal joint passes turning on unevenly: the output of two joints
// whose middle forks are parallel is even again.
func ExampleCardan() {
	joint := kinematics.Cardan{Bend: kinematics.Radians(30)}
	for _, in := range []float64{0, 45, 90} {
		a := kinematics.Radians(in)
		middle := joint.Output(a)
		out := joint.Output(middle+math.Pi/2) - math.Pi/2
		fmt.Printf("in %2.0f: middle %.3f at %.3f, out %.3f\n",
			in, kinematics.Degrees(middle), joint.Ratio(a), math.Abs(kinematics.Degrees(out)))
	}
	// Output:
	// in  0: middle 0.000 at 1.155, out 0.000
	// in 45: middle 49.107 at 0.990, out 45.000
	// in 90: middle 90.000 at 0.866, out 90.000
}

// A ball joint leans by its two swings, whatever its twist; a cone limits that.
func ExampleJoint_Clamp() {
	ball := kinematics.Joint{
		Kind:  kinematics.Spherical,
		Frame: kinematics.Frame{Hinge: r3.Vec{Z: 1}, Reach: r3.Vec{X: 1}},
		Cone:  &kinematics.Cone{Max: []float64{kinematics.Radians(25)}},
	}
	for i, f := range ball.Kind.FreedomList() {
		fmt.Println(i, f)
	}
	values := []float64{0.3, 0.4, 1.2}
	ball.Clamp(values)
	_, lean := ball.Kind.Lean(values[0], values[1])
	fmt.Printf("leans %.1f degrees, twist %.1f\n", kinematics.Degrees(lean), values[2])
	fmt.Printf("solid angle %.4f\n", ball.Cone.SolidAngle())
	// Output:
	// 0 swing about hinge
	// 1 swing about side
	// 2 twist about reach
	// leans 25.0 degrees, twist 1.2
	// solid angle 0.5887
}

// Two fingers that a gear of 20 teeth and one of 30 hold together, and how far
// the first may go for the second to keep its limits.
func ExampleNewCouplings() {
	f := kinematics.Frame{Hinge: r3.Vec{Z: 1}, Reach: r3.Vec{X: 1}}
	tree, err := kinematics.NewTree(2, []kinematics.Joint{
		{Name: "finger 1", Kind: kinematics.Revolute, Parent: kinematics.World, Child: 0, Frame: f},
		{Name: "finger 2", Kind: kinematics.Revolute, Parent: kinematics.World, Child: 1, Frame: f, Limits: []kinematics.Range{{Lower: -0.4, Upper: 0.1}}},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	gears, err := kinematics.GearLaw(20, 30, false)
	if err != nil {
		fmt.Println(err)
		return
	}
	c, err := kinematics.NewCouplings(tree, []kinematics.Coupling{{
		Driver: kinematics.ValueRef{Joint: 0}, Follower: kinematics.ValueRef{Joint: 1}, Law: gears,
	}})
	if err != nil {
		fmt.Println(err)
		return
	}
	values := c.Zero()
	values[0] = 0.3
	c.Apply(values)
	fmt.Printf("%.2f\n", values)
	fmt.Printf("%.2f\n", c.Allowed()[0])
	// Output:
	// [0.30 -0.20]
	// {-0.15 0.60}
}
