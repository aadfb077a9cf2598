package kinematics

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

// robot is a published arm: joint axes in model axes with all values 0, and the
// poses there of the frames whose motion is published. Part i is what joint i
// carries.
type robot struct {
	tree *Tree
	home []Transform
}

// newRobot makes a chain of revolute joints.
func newRobot(t *testing.T, axes []Axis, home []Transform) robot {
	t.Helper()
	joints := make([]Joint, len(axes))
	for i, a := range axes {
		joints[i] = Joint{
			Kind: Revolute, Parent: i - 1, Child: i,
			Frame: Frame{Origin: a.Point, Hinge: a.Dir, Reach: Perpendicular(a.Dir)},
		}
	}
	tree, err := NewTree(len(axes), joints)
	if err != nil {
		t.Fatal(err)
	}
	return robot{tree, home}
}

// pose returns where the frame of part i stands at the joint values.
func (r robot) pose(i int, values ...float64) Transform { return r.tree.FK(values)[i].Mul(r.home[i]) }

// distalRow is a row of a distal Denavit-Hartenberg table; the joint turns about
// the Z of the frame before it. A_i = Rot(z, theta) Trans(z, d) Trans(x, a)
// Rot(x, alpha).
type distalRow struct{ d, a, alpha float64 }

func distalRobot(t *testing.T, table []distalRow) robot {
	t.Helper()
	x := Identity()
	axes, home := make([]Axis, len(table)), make([]Transform, len(table))
	for i, r := range table {
		axes[i] = Axis{Point: x.T, Dir: x.Z}
		step := Rotation(Axis{Dir: v3(1, 0, 0)}, r.alpha)
		step.T = v3(r.a, 0, r.d)
		x = x.Mul(step)
		home[i] = x
	}
	return newRobot(t, axes, home)
}

func proximalRobot(t *testing.T, table []DHRow) robot {
	t.Helper()
	x := Identity()
	axes, home := make([]Axis, len(table)), make([]Transform, len(table))
	for i, r := range table {
		x = x.Mul(r.Transform())
		axes[i], home[i] = Axis{Point: x.T, Dir: x.Z}, x
	}
	return newRobot(t, axes, home)
}

const quarter = math.Pi / 2

// P. Corke, B. Armstrong-Helouvry, A search for consensus among model
// parameters reported for the PUMA 560 robot, ICRA 1994, 1608-1613. Pose at qn:
// P. Corke, Robotics, Vision and Control (0.5963, -0.1501, -0.01435). Full digits
// recomputed.
func TestPumaPublished(t *testing.T) {
	puma := distalRobot(t, []distalRow{
		{0, 0, quarter},
		{0, 0.4318, 0},
		{0.15005, 0.0203, -quarter},
		{0.4318, 0, quarter},
		{0, 0, -quarter},
		{0, 0, 0},
	})
	for _, c := range []struct {
		name string
		q    []float64
		want Transform
	}{
		{"qz", []float64{0, 0, 0, 0, 0, 0}, rows(1, 0, 0, 0.4521, 0, 1, 0, -0.15005, 0, 0, 1, 0.4318)},
		{"qr", []float64{0, quarter, -quarter, 0, 0, 0}, rows(1, 0, 0, 0.0203, 0, 1, 0, -0.15005, 0, 0, 1, 0.8636)},
		{"qs", []float64{0, 0, -quarter, 0, 0, 0}, rows(0, 0, 1, 0.8636, 0, 1, 0, -0.15005, -1, 0, 0, -0.0203)},
		{
			"qn",
			[]float64{0, math.Pi / 4, math.Pi, 0, math.Pi / 4, 0},
			rows(0, 0, 1, 0.596303148574616, 0, 1, 0, -0.15005, -1, 0, 0, -0.0143542676580869),
		},
		{"0.1 to 0.6", []float64{0.1, 0.2, 0.3, 0.4, 0.5, 0.6}, rows(
			0.121697681416533, -0.606671726017529, -0.78558200793345, 0.247802746923637,
			0.818363824703929, 0.509197468845527, -0.266455602563102, -0.125940181451531,
			0.561667450324298, -0.610464867598636, 0.558446345385107, 0.474457905695236)},
	} {
		nearRows(t, c.name, puma.pose(5, c.q...), c.want, 2e-15)
	}
}

// J. J. Craig, Introduction to Robotics, sect. 3.7: proximal table.
func TestPumaProximalPublished(t *testing.T) {
	puma := proximalRobot(t, []DHRow{
		{},
		{Alpha: -quarter},
		{A: 0.4318, D: 0.12446},
		{A: 0.0203, Alpha: -quarter, D: 0.4318},
		{Alpha: quarter},
		{Alpha: -quarter},
	})
	nearRows(t, "0.1 to 0.6", puma.pose(5, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6), rows(
		0.281855623557931, -0.493416762012959, -0.822859226376794, 0.220397475719917,
		-0.777873436180316, -0.619574486557046, 0.105073178749866, 0.14719841195894,
		-0.561667450324298, 0.610464867598636, -0.558446345385107, -0.474457905695236), 2e-15)
}

// Universal Robots CB3 service manual, appendix Robot Parameter, UR5 series 3.
func TestUR5Published(t *testing.T) {
	ur5 := distalRobot(t, []distalRow{
		{0.089159, 0, quarter},
		{0, -0.425, 0},
		{0, -0.39225, 0},
		{0.10915, 0, quarter},
		{0.09465, 0, -quarter},
		{0.0823, 0, 0},
	})
	for _, c := range []struct {
		name string
		q    []float64
		want Transform
	}{
		{"home", []float64{0, 0, 0, 0, 0, 0}, rows(1, 0, 0, -0.81725, 0, 0, -1, -0.19145, 0, 1, 0, -0.005491)},
		{"upright", []float64{0, -quarter, 0, -quarter, 0, 0}, rows(-1, 0, 0, 0, 0, 0, -1, -0.19145, 0, -1, 0, 1.001059)},
		{"bent", []float64{0, -quarter, 0, 0, quarter, 0}, rows(0, 1, 0, -0.09465, -1, 0, 0, -0.10915, 0, 0, 1, 0.988709)},
		{"0.1 to 0.6", []float64{0.1, 0.2, 0.3, 0.4, 0.5, 0.6}, rows(
			0.0473956980208415, -0.976784652750877, -0.208914791145734, -0.689484802510187,
			-0.392918251885187, 0.174057836899131, -0.902950229386694, -0.251464945711377,
			0.918351182905867, 0.124882390929802, -0.375546925551322, -0.273073028575092)},
	} {
		nearRows(t, c.name, ur5.pose(5, c.q...), c.want, 2e-15)
	}
}

// K. M. Lynch, F. C. Park, Modern Robotics, example 4.5: UR5 by screws.
func TestUR5ScrewsPublished(t *testing.T) {
	const w1, w2, l1, l2, h1, h2 = 0.109, 0.082, 0.425, 0.392, 0.089, 0.095
	y := v3(0, 1, 0)
	axes := []Axis{
		{Point: v3(0, 0, 0), Dir: v3(0, 0, 1)},
		{Point: v3(0, 0, h1), Dir: y},
		{Point: v3(l1, 0, h1), Dir: y},
		{Point: v3(l1+l2, 0, h1), Dir: y},
		{Point: v3(l1+l2, w1, 0), Dir: v3(0, 0, -1)},
		{Point: v3(l1+l2, 0, h1-h2), Dir: y},
	}
	// The book's space screws (omega, v) of these axes.
	for i, want := range []r3.Vec{
		{}, v3(-h1, 0, 0), v3(-h1, 0, l1), v3(-h1, 0, l1+l2), v3(-w1, l1+l2, 0), v3(h2-h1, 0, l1+l2),
	} {
		nearVec(t, "linear part of the screw", axes[i].Twist(0).Linear, want, 1e-16)
	}
	home := make([]Transform, 6)
	home[5] = rows(-1, 0, 0, l1+l2, 0, 0, 1, w1+w2, 0, 1, 0, h1-h2)
	ur5 := newRobot(t, axes, home)
	nearRows(t, "theta2 = -pi/2, theta5 = pi/2", ur5.pose(5, 0, -quarter, 0, 0, quarter, 0),
		rows(0, -1, 0, 0.095, 1, 0, 0, 0.109, 0, 0, 1, 0.988), 1e-15)
	nearRows(t, "0.1 to 0.6", ur5.pose(5, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6), rows(
		-0.0473956980208415, 0.976784652750877, 0.208914791145734, 0.688946008770978,
		0.392918251885187, -0.174057836899131, 0.902950229386694, 0.250995536230775,
		0.918351182905867, 0.124882390929802, -0.375546925551322, -0.27321707160167), 2e-15)
}

// Franka Emika control-parameters page; poses of every frame at q = 1, 2, ..., 7
// published to 4 decimals in the test suite of the Robotics Toolbox for Python.
func TestPandaPublished(t *testing.T) {
	panda := proximalRobot(t, []DHRow{
		{D: 0.333},
		{Alpha: -quarter},
		{Alpha: quarter, D: 0.316},
		{A: 0.0825, Alpha: quarter},
		{A: -0.0825, Alpha: -quarter, D: 0.384},
		{Alpha: quarter},
		{A: 0.088, Alpha: quarter, D: 0.107},
	})
	for i, want := range []Transform{
		rows(0.5403023058681, -0.8414709848079, 0, 0, 0.8414709848079, 0.5403023058681, 0, 0, 0, 0, 1, 0.333),
		rows(-0.2248450953662, -0.4912954964339, -0.8414709848079, 0, -0.350175488374, -0.7651474012343, 0.5403023058681, 0, -0.9092974268257, 0.4161468365471, 0, 0.333),
		rows(0.1038465651517, 0.8647801027371, 0.4912954964339, 0.1552493768731, 0.4229185717425, -0.4854784609637, 0.7651474012343, 0.24178657879, 0.9001976297355, 0.1283200602025, -0.4161468365471, 0.2014975996511),
		rows(-0.4396923024947, -0.2425408275671, -0.8647801027371, 0.1638167184981, -0.8555034890968, -0.1800678874303, 0.4854784609637, 0.2766773609588, -0.2734674738798, 0.9532835375057, -0.1283200602025, 0.2757639041043),
		rows(-0.9539827122173, -0.1763262083572, -0.2425408275671, 0.1069556556682, 0.2228630916556, -0.9580749439862, -0.1800678874303, 0.278110330036, -0.2006216019482, -0.2258350503183, 0.9532835375057, 0.6643858491016),
		rows(-0.8482161880809, -0.4994380507369, 0.1763262083572, 0.1069556556682, 0.2643002770747, -0.1106244333054, 0.9580749439862, 0.278110330036, -0.4589930956079, 0.8592577426081, 0.2258350503183, 0.6643858491016),
		rows(-0.5236281404711, 0.6901993943658, 0.4994380507369, 0.08575250254589, 0.8286989734773, 0.5486531200253, 0.1106244333054, 0.3132055687823, -0.1976653279267, 0.4718098662636, -0.8592577426081, 0.532053878229),
	} {
		nearRows(t, "frame "+string(rune('1'+i)), panda.pose(i, 1, 2, 3, 4, 5, 6, 7), want, 6e-14)
	}
	tool := Rotation(Axis{Dir: v3(0, 0, 1)}, deg(-45))
	tool.T = v3(0, 0, 0.103)
	nearRows(t, "tool", panda.pose(6, 1, 2, 3, 4, 5, 6, 7).Mul(tool), rows(
		-0.85830568107414, 0.117783663179651, 0.499438050736865, 0.137194621771789,
		0.198022322019121, 0.973935005397182, 0.110624433305424, 0.324599885412739,
		-0.473390449648081, 0.193849462083271, -0.859257742608127, 0.443550330740368), 2e-15)
	nearRows(t, "flange at 0", panda.pose(6, 0, 0, 0, 0, 0, 0, 0), rows(1, 0, 0, 0.088, 0, -1, 0, 0, 0, 0, -1, 0.926), 1e-15)
}

// Modern Robotics code library, FKinSpace and FKinBody: revolute, prismatic and
// screw of pitch 0.1. Published z 1.68584073, in full 2 - pi/10.
func TestThreeJointChainPublished(t *testing.T) {
	m := rows(-1, 0, 0, 0, 0, 1, 0, 6, 0, 0, -1, 2)
	frame := func(p, d r3.Vec) Frame { return Frame{Origin: p, Hinge: d, Reach: Perpendicular(d)} }
	joints := []Joint{
		{Kind: Revolute, Parent: World, Child: 2, Frame: frame(v3(0, 4, 0), v3(0, 0, 1))},
		{Kind: Prismatic, Parent: 2, Child: 1, Frame: frame(r3.Vec{}, v3(0, 1, 0))},
		{Kind: Helical, Parent: 1, Child: 0, Frame: frame(v3(0, 6, 0), v3(0, 0, -1)), Pitch: 0.1},
	}
	tree, err := NewTree(3, joints)
	if err != nil {
		t.Fatal(err)
	}
	want := rows(0, 1, 0, -5, 1, 0, 0, 4, 0, 0, -1, 2-math.Pi/10)
	nearRows(t, "space form", tree.FK([]float64{quarter, 3, math.Pi})[0].Mul(m), want, 2e-15)
	// The book's space screws, and the same chain as a product of exponentials.
	x := Identity()
	for i, s := range []Twist{
		{v3(0, 0, 1), v3(4, 0, 0)}, {r3.Vec{}, v3(0, 1, 0)}, {v3(0, 0, -1), v3(-6, 0, -0.1)},
	} {
		got := joints[i].Twists()[0]
		nearVec(t, "angular part of the screw", got.Angular, s.Angular, 0)
		nearVec(t, "linear part of the screw", got.Linear, s.Linear, 0)
		x = x.Mul(s.Scale([]float64{quarter, 3, math.Pi}[i]).Exp())
	}
	nearRows(t, "product of exponentials", x.Mul(m), want, 2e-15)
	// The body screws, seen from the end.
	y := m
	for i, s := range []Twist{
		{v3(0, 0, -1), v3(2, 0, 0)}, {r3.Vec{}, v3(0, 1, 0)}, {v3(0, 0, 1), v3(0, 0, 0.1)},
	} {
		y = y.Mul(s.Scale([]float64{quarter, 3, math.Pi}[i]).Exp())
	}
	nearRows(t, "body form", y, want, 2e-15)
}
