package loop

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/kinematics"
)

// norton is the four-bar of R. L. Norton, Design of Machinery, Example 4-1 (and
// 6-7): a = 40, b = 120, c = 80, d = 100, theta2 = 40 deg.
var norton = FourBar{Crank: 40, Coupler: 120, Rocker: 80, Ground: 100}

// Published: theta3 20.30 / -60.98, theta4 57.33 / -98.01; the further digits
// are recomputed.
func TestFourBarOfTheBook(t *testing.T) {
	for _, c := range []struct {
		Circuit
		theta3, theta4, x, y float64
	}{
		{Open, 20.29788278819647, 57.32488007036079, 143.189988210485, 67.3396236875301},
		{Crossed, -60.97796679586443, -98.00496407802875, 88.859288258094, -79.2204805708963},
	} {
		s, ok := norton.At(deg(40), c.Circuit)
		if !ok {
			t.Fatal("the linkage does not close")
		}
		near(t, "theta3", s.Coupler, deg(c.theta3), 1e-13)
		near(t, "theta4", s.Rocker, deg(c.theta4), 1e-13)
		near(t, "B x", s.B[0], c.x, 1e-11)
		near(t, "B y", s.B[1], c.y, 1e-11)
		k1, k2, k3 := 2.5, 1.25, 0.5625 // of Freudenstein's equation, from the book
		near(t, "Freudenstein's equation", k1*math.Cos(s.Rocker)-k2*math.Cos(deg(40))+k3, math.Cos(deg(40)-s.Rocker), 1e-13)

		// Modelled at 100 degrees, driven to 40.
		l := mechanism(t, 3, bars(norton, deg(100), c.Circuit), 1, []int{0}, Options{})
		v := solve(t, l, l.Zero(), deg(-60))
		from, _ := norton.At(deg(100), c.Circuit)
		nearTurn(t, "coupler", v[0]+v[1], deg(c.theta3)-from.Coupler, 1e-12)
		nearTurn(t, "rocker", v[2], deg(c.theta4)-from.Rocker, 1e-12)
		angle, length := openings(l, v)
		near(t, "angle left", angle, 0, 1e-12)
		near(t, "length left", length, 0, 1e-11)
	}
	for deg2, want := range map[float64]float64{0: 26.384329749408, 180: 86.416678301528} {
		s, _ := norton.At(deg(deg2), Open)
		near(t, "transmission angle", s.Transmission, deg(want), 1e-12)
	}
}

// Rates of Norton, Example 6-7: omega2 = 25 gives omega3 = -4.121, omega4 =
// 6.998 on the open circuit. Here by differences of solutions.
func TestFourBarRatesOfTheBook(t *testing.T) {
	l := mechanism(t, 3, bars(norton, deg(40), Open), 1, []int{0}, Options{})
	const h = 1e-4
	p, q := solve(t, l, l.Zero(), h), solve(t, l, l.Zero(), -h)
	near(t, "omega4", 25*(p[2]-q[2])/(2*h), 6.99798524217677, 1e-6)
	near(t, "omega3", 25*(p[0]+p[1]-q[0]-q[1])/(2*h), -4.1209144153477, 1e-6)
}

// Rocker limits of the same linkage, stretched and folded: closed form.
func TestDeadPointsOfTheRocker(t *testing.T) {
	l := mechanism(t, 3, bars(norton, deg(40), Open), 1, []int{0}, Options{})
	start, _ := norton.At(deg(40), Open)
	dead, changes, err := l.DeadPoints(background(t), l.Zero(), 0)
	if err != nil || len(changes) != 0 {
		t.Fatal(changes, err)
	}
	want := map[float64]float64{231.317812546511: 128.682187453489, 24.1468479965024 + 360: 54.9003678046065}
	found := 0
	for _, d := range dead {
		if d.Value != 2 {
			continue
		}
		for crank, rocker := range want {
			if math.Abs(d.Drive+deg(40)-deg(crank)) < 1e-9 {
				near(t, "rocker", d.Values[2]+start.Rocker, deg(rocker), 1e-12)
				found++
			}
		}
	}
	if found != 2 {
		t.Errorf("%d of the 2 limits were found among %+v", found, dead)
	}

	r, err := l.Reach(background(t), l.Zero(), 0)
	if err != nil || !math.IsInf(r.Range.Lower, -1) || !math.IsInf(r.Range.Upper, 1) || r.Upper.Reason != FullTurn {
		t.Errorf("the crank reaches %+v, %v", r, err)
	}
	if l, err = l.WithDrivers([]int{2}); err != nil {
		t.Fatal(err)
	}
	if r, err = l.Reach(background(t), l.Zero(), 0); err != nil {
		t.Fatal(err)
	}
	near(t, "lower", r.Range.Lower+start.Rocker, deg(54.9003678046065), 1e-12)
	near(t, "upper", r.Range.Upper+start.Rocker, deg(128.682187453489), 1e-12)
	near(t, "swing", r.Range.Span(), deg(73.781819648883), 1e-12)
	if r.Lower.Reason != DeadPoint || r.Upper.Reason != DeadPoint || r.Upper.Value != 2 {
		t.Errorf("the rocker ends at %+v and %+v", r.Lower, r.Upper)
	}
}

// Grashof's cases: from memory, each swept by closing the loop over the turn.
func TestGrashof(t *testing.T) {
	for _, c := range []struct {
		f           FourBar
		class       Class
		crank, rock bool // turn fully
	}{
		{FourBar{40, 120, 80, 100}, CrankRocker, true, false},
		{FourBar{100, 120, 80, 40}, DoubleCrank, true, true},
		{FourBar{100, 40, 120, 80}, DoubleRocker, false, false},
		{FourBar{80, 100, 40, 120}, RockerCrank, false, true},
		{FourBar{70, 120, 80, 100}, TripleRocker, false, false},
		{FourBar{60, 120, 80, 100}, ChangePoint, true, false},
		{FourBar{50, 90, 50, 90}, Parallelogram, true, true},
		{FourBar{10, 20, 30, 100}, Impossible, false, false},
	} {
		if got := c.f.Class(0); got != c.class {
			t.Errorf("%+v is a %s, want %s", c.f, got, c.class)
		}
		if c.class == Impossible || c.class == ChangePoint {
			continue
		}
		at := 0.0 // an angle that it reaches
		for _, ok := c.f.At(at, Open); !ok; _, ok = c.f.At(at, Open) {
			at += 0.1
		}
		l := mechanism(t, 3, bars(c.f, at+0.05, Open), 1, []int{0}, Options{})
		for k, full := range map[int]bool{0: c.crank, 2: c.rock} {
			d, err := l.WithDrivers([]int{k})
			if err != nil {
				t.Fatal(err)
			}
			r, err := d.Reach(background(t), d.Zero(), 0)
			if err != nil {
				t.Fatal(err)
			}
			if got := math.IsInf(r.Range.Span(), 1); got != full {
				t.Errorf("%s: joint %d turns fully: %v, want %v (%+v)", c.class, k, got, full, r)
			}
		}
	}
}

// slider are the joints of a slider-crank with its crank at theta2. Parts:
// crank, rod, slider; the slider's way closes the loop.
func slider(s SliderCrank, theta2 float64, c Circuit) []kinematics.Joint {
	x, _ := s.At(theta2, c)
	pin := v3(s.Crank*math.Cos(theta2), s.Crank*math.Sin(theta2), 0)
	return []kinematics.Joint{
		pairAt("crank", kinematics.Revolute, kinematics.World, 0, v3(0, 0, 0), z),
		pairAt("big end", kinematics.Revolute, 0, 1, pin, z),
		pairAt("small end", kinematics.Revolute, 1, 2, v3(x, s.Offset, 0), z),
		pairAt("slide", kinematics.Prismatic, kinematics.World, 2, v3(x, s.Offset, 0), v3(1, 0, 0)),
	}
}

// R. L. Norton, Design of Machinery, Example 4-2: crank 40, rod 120, offset -20,
// theta2 = 60 deg: d = 126.84 open, -86.84 crossed. In line: closed form.
func TestSliderCrank(t *testing.T) {
	book := SliderCrank{Crank: 40, Rod: 120, Offset: -20}
	for c, want := range map[Circuit]float64{Open: 126.8380051945229, Crossed: -86.83800519452288} {
		x, ok := book.At(deg(60), c)
		if !ok {
			t.Fatal("the rod does not reach")
		}
		near(t, "d", x, want, 1e-12)
		l := mechanism(t, 3, slider(book, 0.3, c), 1, []int{0}, Options{})
		x0, _ := book.At(0.3, c)
		v := solve(t, l, l.Zero(), deg(60)-0.3)
		near(t, "slide", v[3]+x0, want, 1e-10)
	}
	outer, inner, ok := book.Stroke()
	if !ok {
		t.Fatal("the crank does not turn")
	}
	near(t, "outer end", outer, 158.745078663875, 1e-11)
	near(t, "inner end", inner, 77.4596669241483, 1e-11)

	// Driven by the slider, the dead points are the ends of the stroke.
	l := mechanism(t, 3, slider(book, deg(60), Open), 1, []int{3}, Options{})
	r, err := l.Reach(background(t), l.Zero(), 0)
	if err != nil {
		t.Fatal(err)
	}
	x0, _ := book.At(deg(60), Open)
	near(t, "outer end", r.Range.Upper+x0, outer, 1e-10)
	near(t, "inner end", r.Range.Lower+x0, inner, 1e-10)
	near(t, "crank at the outer end", r.Upper.Values[0]+deg(60), deg(-7.18075578145828), 1e-9)
	near(t, "crank at the inner end", r.Lower.Values[0]+deg(60), deg(165.52248781407), 1e-9)
	v := solve(t, l, l.Zero(), 100-x0) // the book's 4-3: d = 100
	near(t, "theta2 at d = 100", v[0]+deg(60), deg(95.7980930916289), 1e-11)

	line := SliderCrank{Crank: 1, Rod: 3}
	l = mechanism(t, 3, slider(line, deg(30), Open), 1, []int{0}, Options{})
	for theta, want := range map[float64]float64{0: 4, 30: 3.82406529533425, 90: 2 * math.Sqrt2, 150: 2.09201448776537, 180: 2} {
		v := solve(t, l, l.Zero(), deg(theta-30))
		near(t, "in-line slide", v[3]+3.82406529533425, want, 1e-12)
	}
}

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
		x := l.Tree().FK(v[:l.NumTreeValues()])
		gotQ, gotP := x[bq].Apply(q), x[bp].Apply(p)
		near(t, "Q runs on the line x = 4", gotQ.X, 4, 1e-11)
		near(t, "OP OQ", r3.Norm(gotP)*r3.Norm(gotQ), 16, 1e-10)
		wantP, _, _, _ := at(to)
		near(t, "P on its circle", r3.Norm(r3.Sub(gotP, wantP)), 0, 1e-11)
	}
}
