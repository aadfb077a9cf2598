package loop

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/kinematics"
)

// A. P. Bennett, A new mechanism, Engineering 76 (1903) 777: a/sin A = b/sin B
// and tan(t1/2) tan(t2/2) = sin((B+A)/2)/sin((B-A)/2).
func TestBennettLinkage(t *testing.T) {
	a, b, ta, tb := 1.0, math.Sqrt(3), deg(30), deg(60)
	constant := math.Sin((tb+ta)/2) / math.Sin((tb-ta)/2)
	near(t, "constant", constant, 1+math.Sqrt(3), 1e-15)
	second := func(t1 float64) float64 { return 2 * math.Atan(constant/math.Tan(t1/2)) }
	at := deg(60)
	joints := bennett(a, b, ta, tb, at, second(at))
	l := mechanism(t, 3, joints, 1, []int{0}, Options{})
	m, err := l.Mobility(l.Zero())
	if err != nil || m.Freedoms != 1 || m.Kutzbach != -2 || m.Redundant != 3 {
		t.Errorf("mobility %+v, %v", m, err)
	}
	for t1, t2 := range map[float64]float64{20: 172.614486348869, 60: 156.13507458395, 90: 139.792181277966, 150: 72.4120462260062} {
		v := solve(t, l, l.Zero(), deg(t1)-at)
		nearTurn(t, "t2", v[1], deg(t2)-second(at), 1e-11)
		nearTurn(t, "t3", v[2], -(deg(t1) - at), 1e-11)
		nearTurn(t, "t4", v[3], -(deg(t2) - second(at)), 1e-11)
	}
}

// bennett are the joints at t1, t2 of the loop Rz(t1) Tx(a) Rx(A) Rz(t2) Tx(b)
// Rx(B) Rz(-t1) Tx(a) Rx(A) Rz(-t2) Tx(b) Rx(B) = I.
func bennett(a, b, ta, tb, t1, t2 float64) []kinematics.Joint {
	x := kinematics.Identity()
	var joints []kinematics.Joint
	for i, s := range []struct{ turn, along, twist float64 }{{t1, a, ta}, {t2, b, tb}, {-t1, a, ta}, {-t2, b, tb}} {
		child := i
		if i == 3 {
			child = kinematics.World
		}
		joints = append(joints, pairAt("", kinematics.Revolute, i-1, child, x.T, x.Z))
		link := kinematics.Rotation(kinematics.Axis{Dir: z}, s.turn).
			Mul(kinematics.Translation(v3(s.along, 0, 0))).Mul(kinematics.Rotation(kinematics.Axis{Dir: v3(1, 0, 0)}, s.twist))
		x = x.Mul(link)
	}
	return joints
}

// A single cardan joint between two shafts that are bent by 30 degrees: tan
// theta2 = tan theta1 / cos b where the input fork begins in the plane of the
// shafts, cos b tan theta1 where it begins across it. Source: J. E. Shigley, J.
// J. Uicker, Theory of Machines and Mechanisms.
func TestCardanJointAsALoop(t *testing.T) {
	bend := deg(30)
	in, out := v3(1, 0, 0), v3(math.Cos(bend), math.Sin(bend), 0)
	for fork, want := range map[r3.Vec]map[float64]float64{
		v3(0, 0, 1): {15: 13.0643134295083, 45: 40.8933946491309, 75: 72.807876265979, 90: 90},
		v3(0, 1, 0): {15: 17.192123734021, 45: 49.1066053508691, 75: 76.9356865704917, 90: 90},
	} {
		// The joint as modelled: its cross is set for the bend by two hinges, since a
		// universal joint stands in line where it is zero.
		other := r3.Unit(r3.Cross(out, fork))
		joints := []kinematics.Joint{
			pairAt("in", kinematics.Revolute, kinematics.World, 0, v3(0, 0, 0), in),
			pairAt("fork", kinematics.Revolute, 0, 1, v3(0, 0, 0), fork),
			pairAt("other fork", kinematics.Revolute, 1, 2, v3(0, 0, 0), other),
			pairAt("out", kinematics.Revolute, kinematics.World, 2, v3(0, 0, 0), out),
		}
		l := mechanism(t, 3, joints, 1, []int{0}, Options{})
		for theta1, theta2 := range want {
			v := solve(t, l, l.Zero(), deg(theta1))
			near(t, "theta2", v[3], deg(theta2), 1e-12)
		}
	}
}

// Two universal joints with a middle shaft that may lengthen: equal bends, all
// shafts in one plane, forks of the middle shaft parallel pass turning on
// evenly; at right angles the unevenness is doubled (same source).
func TestDoubleCardan(t *testing.T) {
	bend := deg(30)
	shaft := v3(math.Cos(bend), math.Sin(bend), 0)
	for _, crossed := range []bool{false, true} {
		end := r3.Scale(10, shaft)
		joints := []kinematics.Joint{
			pairAt("in", kinematics.Revolute, kinematics.World, 0, v3(-5, 0, 0), v3(1, 0, 0)),
			pairAt("fork 1", kinematics.Revolute, 0, 1, v3(0, 0, 0), z),
			pairAt("fork 2", kinematics.Revolute, 1, 2, v3(0, 0, 0), r3.Cross(shaft, z)),
			pairAt("spline", kinematics.Prismatic, 2, 3, r3.Scale(5, shaft), shaft),
			pairAt("fork 3", kinematics.Revolute, 3, 4, end, r3.Cross(shaft, z)),
			pairAt("fork 4", kinematics.Revolute, 4, 5, end, z),
			pairAt("out", kinematics.Revolute, kinematics.World, 5, r3.Add(end, v3(5, 0, 0)), v3(1, 0, 0)),
		}
		if crossed { // the second joint a quarter turn on about the middle shaft
			joints[4] = pairAt("fork 3", kinematics.Revolute, 3, 4, end, z)
			joints[5] = pairAt("fork 4", kinematics.Revolute, 4, 5, end, v3(0, 1, 0))
		}
		l := mechanism(t, 6, joints, 1, []int{0}, Options{})
		for theta := range 12 {
			in := deg(30 * float64(theta))
			out := solve(t, l, l.Zero(), in)[6]
			want := in
			if crossed { // both begin across the plane: twice cos b
				want = math.Atan2(math.Cos(bend)*math.Cos(bend)*math.Sin(in), math.Cos(in))
			}
			nearTurn(t, "out", out, want, 1e-11)
		}
	}
}

// The same with universal joints: each is its two hinges in one. Against the
// closed form of a single joint, twice in a row.
func TestDoubleCardanOfUniversalJoints(t *testing.T) {
	bend := deg(20)
	shaft := v3(math.Cos(bend), math.Sin(bend), 0)
	end := r3.Scale(10, shaft)
	fork := func(name string, parent, child int, at, on, to r3.Vec) kinematics.Joint {
		on, to = r3.Unit(on), r3.Unit(to) // the axes of the parent's fork and of the child's: hinge and side
		return kinematics.Joint{
			Name: name, Kind: kinematics.Universal, Parent: parent, Child: child,
			Frame: kinematics.Frame{Origin: at, Hinge: on, Reach: r3.Cross(to, on)},
		}
	}
	across := r3.Cross(shaft, z)
	joints := []kinematics.Joint{
		pairAt("in", kinematics.Revolute, kinematics.World, 0, v3(-5, 0, 0), v3(1, 0, 0)),
		fork("first", 0, 1, v3(0, 0, 0), z, across),
		pairAt("spline", kinematics.Prismatic, 1, 2, r3.Scale(5, shaft), shaft),
		fork("second", 2, 3, end, across, z),
		pairAt("out", kinematics.Revolute, kinematics.World, 3, r3.Add(end, v3(5, 0, 0)), v3(1, 0, 0)),
	}
	l := mechanism(t, 4, joints, 1, nil, Options{})
	if got := l.name(l.Drivers()[0]); got != `"in"` {
		t.Errorf("%s drives, want the input shaft", got)
	}
	v := l.Zero()
	for theta := range 13 {
		in := deg(30 * float64(theta))
		v = solve(t, l, v, in)
		near(t, "out", v[6], in, 1e-11)
		near(t, "the spline stays", v[3], 0, 1e-10)
	}
}

// A screw between a shaft that turns and a nut that slides: s = lead theta / (2
// pi), 0.625 for a lead of 5 at 45 degrees.
func TestLeadScrew(t *testing.T) {
	x := v3(1, 0, 0)
	screw := pairAt("screw", kinematics.Helical, 0, 1, v3(2, 0, 0), x)
	screw.Pitch = 5 / (2 * math.Pi)
	joints := []kinematics.Joint{
		pairAt("bearing", kinematics.Revolute, kinematics.World, 0, v3(0, 0, 0), x), screw,
		pairAt("guide", kinematics.Prismatic, kinematics.World, 1, v3(2, 1, 0), x),
	}
	l := mechanism(t, 2, joints, 1, []int{0}, Options{})
	near(t, "nut", solve(t, l, l.Zero(), deg(45))[2], -0.625, 1e-12)
	near(t, "nut after ten turns", solve(t, l, l.Zero(), 20*math.Pi)[2], -50, 1e-9)
	l, err := l.WithDrivers([]int{2})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "the shaft, where the nut may drive", solve(t, l, l.Zero(), -0.625)[0], deg(45), 1e-12)
}

// The cell of A. Peaucellier (Nouvelles annales de mathematiques 3, 1864): long
// arms L = 5, rhombus r = 3, crank k = 2 through the fixed pin: OP x OQ = L^2 -
// r^2 = 16 and Q runs on the line at 16/(2 k) = 4. Three loops in one.
func TestPeaucellierInversor(t *testing.T) {
	const long, side, crank = 5.0, 3.0, 2.0
	at := func(turn float64) (p, q, b, d r3.Vec) { // the crank's pin is at (k, 0)
		p = v3(crank+crank*math.Cos(turn), crank*math.Sin(turn), 0)
		op := r3.Norm(p)
		u := r3.Scale(1/op, p)
		n := v3(-u.Y, u.X, 0)
		along := (long*long - side*side + op*op) / (2 * op)
		h := math.Sqrt(long*long - along*along)
		b, d = r3.Add(r3.Scale(along, u), r3.Scale(h, n)), r3.Sub(r3.Scale(along, u), r3.Scale(h, n))
		return p, r3.Scale(2*along-op, u), b, d
	}
	start := 0.4
	p, q, b, d := at(start)
	const ob, od, cp, bp, bq, dp, dq = 0, 1, 2, 3, 4, 5, 6
	pin := func(parent, child int, o r3.Vec) kinematics.Joint {
		return pairAt("", kinematics.Revolute, parent, child, o, z)
	}
	joints := []kinematics.Joint{
		pin(kinematics.World, ob, v3(0, 0, 0)), pin(kinematics.World, od, v3(0, 0, 0)), pin(kinematics.World, cp, v3(crank, 0, 0)),
		pin(ob, bp, b), pin(ob, bq, b), pin(od, dp, d), pin(od, dq, d),
		pin(cp, bp, p), pin(cp, dp, p), pin(bq, dq, q),
	}
	l := mechanism(t, 7, joints, 3, []int{2}, Options{})
	m, err := l.Mobility(l.Zero())
	if err != nil || m.Freedoms != 1 || m.Kutzbach != -8 {
		t.Errorf("mobility %+v, %v", m, err)
	}
	for _, to := range []float64{0.1, -0.3, -0.8, 0.9} {
		v := solve(t, l, l.Zero(), to-start)
		x := l.Tree().FK(v[:l.Tree().NumValues()])
		gotQ, gotP := x[bq].Apply(q), x[bp].Apply(p)
		near(t, "Q runs on the line x = 4", gotQ.X, 4, 1e-11)
		near(t, "OP OQ", r3.Norm(gotP)*r3.Norm(gotQ), 16, 1e-10)
		wantP, _, _, _ := at(to)
		near(t, "P on its circle", r3.Norm(r3.Sub(gotP, wantP)), 0, 1e-11)
	}
}
