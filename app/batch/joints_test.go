package batch

import (
	"math"
	"testing"

	"pintle/app/doc/wire"
	"pintle/app/handover"
	"pintle/fit/mesh"
	"pintle/kinematics"
)

// Joints are listed with a range for each freedom that is limited, couplings
// below them.
func TestJointTable(t *testing.T) {
	inf := wire.Num(math.Inf(1))
	turn := func(about kinematics.Role, name string, lower, upper wire.Num) handover.SpecFreedom {
		return handover.SpecFreedom{Motion: name, About: about, Unit: "degree", Lower: lower, Upper: upper}
	}
	base := "base"
	half := wire.Num(-0.5)
	spec := handover.Spec{
		Model: handover.SpecModel{Unit: mesh.Millimetre},
		Joints: []handover.SpecJoint{
			{Name: "hip", Type: kinematics.Spherical, Parent: &base, Child: "thigh", Cone: []wire.Deg{wire.Deg(kinematics.Radians(20)), wire.Deg(kinematics.Radians(35))}, Freedoms: []handover.SpecFreedom{
				turn("hinge", "swing", -40, inf), turn("side", "swing", -inf, inf), turn("reach", "twist", -90, 90),
			}},
			{Name: "slide", Type: kinematics.Prismatic, Child: "rod", Closes: true, Freedoms: []handover.SpecFreedom{
				{Motion: "slide", About: "hinge", Unit: "length", Lower: 0, Upper: 12.5},
			}},
			{Name: "free", Type: kinematics.Revolute, Child: "wheel", Freedoms: []handover.SpecFreedom{turn("hinge", "turn", -inf, inf)}},
		},
		Couplings: []handover.SpecCoupling{
			{Follower: handover.SpecRef{Joint: "slide"}, Driver: handover.SpecRef{Joint: "hip", Freedom: 2}, Law: "linear", Ratio: &half, Offset: 3},
			{Follower: handover.SpecRef{Joint: "free"}, Driver: handover.SpecRef{Joint: "slide"}, Law: "ratio", Ratio: &half},
			{Follower: handover.SpecRef{Joint: "hip", Freedom: 1}, Driver: handover.SpecRef{Joint: "free"}, Law: "curve", Curve: make([][2]wire.Num, 3)},
		},
	}
	const want = "joint  type       parent     child  limits\n" +
		"hip    spherical  base       thigh  swing about hinge -40 to any deg, twist about reach -90 to 90 deg, leans up to 35 deg\n" +
		"slide  prismatic  the world  rod    0 to 12.5 mm, closes a loop\n" +
		"free   revolute   the world  wheel\n" +
		"slide follows hip (twist about reach) x -0.5 + 3\n" +
		"free follows slide x -0.5\n" +
		"hip (swing about side) follows free by a curve of 3 points\n"
	if got := jointTable(spec); got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
	if got := jointTable(handover.Spec{}); got != "" {
		t.Errorf("no joints: %q", got)
	}
}
