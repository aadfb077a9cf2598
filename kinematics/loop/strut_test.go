package loop

import (
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/kinematics"
)

// Law of cosines, p = 5, q = 3: lengths and moment arms recomputed to full
// precision.
func TestStrutByTheLawOfCosines(t *testing.T) {
	s, err := StrutBetween(kinematics.Axis{Dir: z}, v3(5, 0, 0), v3(3*math.Cos(deg(90)), 3, 0))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "phi", s.Phi, deg(90), 1e-15)
	for phi, want := range map[float64][2]float64{
		30: {2.83182589268247, 2.64846790877231}, 60: {4.35889894354067, 2.98019780339635},
		90: {5.8309518948453, 2.57247877713763}, 120: {7, 1.85576872239523}, 150: {7.74472479262712, 0.968401098918312},
	} {
		at := deg(phi - 90)
		near(t, "length", s.Length(at), want[0], 1e-14)
		near(t, "arm", s.Arm(at), want[1], 1e-14)
		back, err := s.Turn(s.Extension(at))
		if err != nil {
			t.Fatal(err)
		}
		near(t, "turn", back, at, 1e-14)
	}
	least, greatest := s.Lengths()
	near(t, "least", least, 2, 0)
	near(t, "greatest", greatest, 8, 0)
	turn, err := s.Turn(7 - s.Rest)
	near(t, "L = 7 is 120 degrees", turn, deg(30), 1e-14)
	if err != nil {
		t.Fatal(err)
	}
	if _, err = s.Turn(8.1 - s.Rest); err == nil || err.Error() != "a strut of length 8.1 is 0.1 too long: its pivots are 8 apart at the most" {
		t.Errorf("L = 8.1: %v", err)
	}
	r, err := s.TurnRange(kinematics.Range{Lower: 2.83182589268247 - s.Rest, Upper: 20})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "range from", r.Lower, deg(-60), 1e-13)
	near(t, "range to the dead point", r.Upper, deg(90), 1e-13)
}

// bridge are the joints of a leaf that a strut lifts, in the plane x = 0: hinge
// at the origin, foot and head given, all as modelled. Parts: leaf, barrel, rod.
func bridge(foot, head r3.Vec) []kinematics.Joint {
	x := v3(1, 0, 0)
	return []kinematics.Joint{
		pairAt("leaf hinge", kinematics.Revolute, kinematics.World, 0, v3(0, 0, 0), x),
		pairAt("strut foot", kinematics.Revolute, kinematics.World, 1, foot, x),
		pairAt("strut slide", kinematics.Prismatic, 1, 2, head, r3.Sub(head, foot)),
		pairAt("strut head", kinematics.Revolute, 0, 2, head, x),
	}
}

// ends of the drawbridge demo: foot, and head with the leaf open by the angle.
func bridgeEnds(open float64) (foot, head r3.Vec) {
	s, c := math.Sincos(open)
	return v3(0, 46, -196), v3(0, 300*c+40*s, 300*s-40*c)
}

// The drawbridge's strut against the law of cosines, the strut found in the
// loop, driven either way.
func TestDrawbridge(t *testing.T) {
	open := deg(37)
	foot, head := bridgeEnds(open)
	l := mechanism(t, 3, bridge(foot, head), 1, nil, Options{})
	if got := l.name(l.Drivers()[0]); got != `"leaf hinge"` {
		t.Errorf("%s drives, want the leaf", got)
	}
	struts := l.Struts()
	if len(struts) != 1 || struts[0].Hinge != 0 || struts[0].Slide != 2 || struts[0].Foot != 1 || struts[0].Head != 3 {
		t.Fatalf("struts %+v", struts)
	}
	s := struts[0]
	rod, err := l.WithDrivers([]int{2})
	if err != nil {
		t.Fatal(err)
	}
	for _, to := range []float64{0, 12, 37.5, 63, 80, -20} {
		turn := deg(to) - open
		v := solve(t, l, l.Zero(), turn)
		near(t, "slide", v[2], s.Extension(turn), 1e-10)
		_, there := bridgeEnds(deg(to))
		near(t, "length", s.Length(turn), r3.Norm(r3.Sub(there, foot)), 1e-11)
		back := solve(t, rod, rod.Zero(), v[2])
		near(t, "leaf driven by the rod", back[0], turn, 1e-12)
	}
	r, err := rod.Reach(background(t), rod.Zero(), 0)
	if err != nil {
		t.Fatal(err)
	}
	least, greatest := s.Lengths()
	near(t, "shortest", r.Range.Lower+s.Rest, least, 1e-9)
	near(t, "longest", r.Range.Upper+s.Rest, greatest, 1e-9)
	dead := s.DeadPoints()
	near(t, "leaf at the shortest", r.Lower.Values[0], dead.Lower, 1e-9)
	near(t, "leaf at the longest", r.Upper.Values[0], dead.Upper, 1e-9)
	full, err := l.Reach(background(t), l.Zero(), 0)
	if err != nil || full.Upper.Reason != FullTurn {
		t.Errorf("the leaf reaches %+v, %v", full, err)
	}
}

func TestStrutTooShort(t *testing.T) {
	foot, head := bridgeEnds(deg(37))
	joints := bridge(foot, head)
	joints[2].Limits = []kinematics.Range{{Lower: -100, Upper: 50}}
	l := mechanism(t, 3, joints, 1, []int{0}, Options{HoldLimits: true, Unit: "mm"})
	s := l.Struts()[0]
	turn := deg(62) - deg(37)
	v, report, err := l.Solve(background(t), l.Zero(), []float64{turn})
	over := s.Extension(turn) - 50
	if err == nil || !strings.HasPrefix(err.Error(), "the loop cannot close at 25 deg: \"strut slide\" would have to be ") || !strings.HasSuffix(err.Error(), " mm longer") {
		t.Fatalf("error %v", err)
	}
	closure := err.(*ClosureError)
	near(t, "how much longer", closure.Over, over, 1e-9)
	near(t, "the slide stops at its limit", v[2], 50, 1e-9)
	stop, _ := s.Turn(50)
	near(t, "the leaf stops with it", v[0], stop, 1e-12)
	if len(report.Over) != 0 {
		t.Errorf("beyond limits: %+v", report.Over)
	}
	r, err := l.Reach(background(t), l.Zero(), 0)
	if err != nil || r.Upper.Reason != AtLimit || r.Upper.Value != 2 || r.Lower.Reason != AtLimit {
		t.Fatalf("reach %+v, %v", r, err)
	}
	want, err := s.TurnRange(joints[2].Limits[0])
	if err != nil {
		t.Fatal(err)
	}
	near(t, "from", r.Range.Lower, want.Lower, 1e-12)
	near(t, "to", r.Range.Upper, want.Upper, 1e-12)
}

// A strut anywhere in space, its slide beside the pivots, in any of the loop's
// orders: the closed form and the solved loop agree.
func TestStrutEqualsLoop(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := rapid.Float64Range(0.5, 2)
		a := rapid.Float64Range(0.4, 2.7)
		size := math.Pow(10, rapid.Float64Range(-2, 4).Draw(t, "size"))
		p, q, phi := size*c.Draw(t, "p"), size*c.Draw(t, "q"), a.Draw(t, "phi")
		foot, head := v3(0, p, 0), v3(0, q*math.Cos(phi), q*math.Sin(phi))
		joints := bridge(foot, head)
		lean := rapid.Float64Range(-0.3, 0.3).Draw(t, "lean")
		tilt := kinematics.Rotation(kinematics.Axis{Dir: v3(1, 0, 0)}, lean)
		joints[2].Frame.Hinge, joints[2].Frame.Reach = tilt.Turn(joints[2].Frame.Hinge), tilt.Turn(joints[2].Frame.Reach)
		if rapid.Bool().Draw(t, "flip") {
			joints[0] = joints[0].Flipped()
			joints[2] = joints[2].Flipped()
		}
		joints = moved(genMotion(3*size).Draw(t, "pose"), joints...)
		cut := rapid.IntRange(0, 2).Draw(t, "cut") // which joint closes the loop
		switch cut {
		case 1: // the slide
			joints[2], joints[3] = joints[3], joints[2]
		case 2: // the hinge, with the leaf on the rod
			joints[3].Parent, joints[3].Child = 2, 0
			joints[0], joints[3] = joints[3], joints[0]
			joints[0], joints[1], joints[2] = joints[1], joints[2], joints[0]
		}
		l := mechanism(t, 3, joints, 1, nil, Options{})
		struts := l.Struts()
		if len(struts) != 1 {
			t.Fatalf("cut %d: struts %+v", cut, struts)
		}
		s := struts[0]
		near(t, "beside", s.Beside, math.Abs(math.Sin(lean))*s.Length(0), 1e-9*size)
		l, err := l.WithDrivers([]int{s.Hinge})
		if err != nil {
			t.Fatal(err)
		}
		turn := rapid.Float64Range(-0.3, 0.3).Draw(t, "turn")
		want := s.Extension(turn)
		v, _, err := l.Solve(background(nil), l.Zero(), []float64{turn})
		if math.IsNaN(want) {
			return // the slide would run beside its pivots: see DeadPoints
		}
		if err != nil {
			t.Fatal(err)
		}
		near(t, "extension", v[s.Slide], want, 1e-8*size)
	})
}

func TestBadStruts(t *testing.T) {
	axis := kinematics.Axis{Dir: z}
	for want, ends := range map[string][2]r3.Vec{
		"strut between pivots 0 and 1 from the hinge: a pivot on the hinge's line turns nothing, choose pivots off it": {v3(0, 0, 3), v3(1, 0, 0)},
		"the strut's pivots coincide: choose two places":                                                               {v3(1, 0, 0), v3(1, 0, 0)},
		"strut between pivots {NaN 0 0} and {1 0 0}: give finite points":                                               {v3(math.NaN(), 0, 0), v3(1, 0, 0)},
	} {
		if _, err := StrutBetween(axis, ends[0], ends[1]); err == nil || err.Error() != want {
			t.Errorf("%v: %v, want %s", ends, err, want)
		}
	}
	s, _ := StrutBetween(axis, v3(5, 0, 0), v3(0, 3, 0))
	if _, err := s.TurnRange(kinematics.Range{Lower: 10, Upper: 20}); err == nil {
		t.Error("a strut reaches a range that it cannot")
	}
	if _, err := s.TurnRange(kinematics.Range{Lower: 1, Upper: 0}); err == nil {
		t.Error("a range turned about is taken")
	}
	if _, err := s.Turn(math.NaN()); err == nil {
		t.Error("NaN is taken")
	}
	if _, err := s.Turn(-100); err == nil {
		t.Error("a strut is turned inside out")
	}
}

// A strut modelled with its pivots in line on either side of the hinge: what it
// can turn to lies between the dead points it says.
func TestStrutModelledAtADeadPoint(t *testing.T) {
	hinge := kinematics.Axis{Dir: r3.Vec{Z: 1}}
	for _, head := range []r3.Vec{{X: -2}, {X: 2}} {
		s, err := StrutBetween(hinge, r3.Vec{X: 1}, head)
		if err != nil {
			t.Fatal(err)
		}
		dead := s.DeadPoints()
		for _, length := range []float64{1.2, 2, 2.9} {
			turn, err := s.Turn(length - s.Rest)
			if err != nil || !dead.Contains(turn) || math.Abs(s.Length(turn)-length) > 1e-12 {
				t.Errorf("head %v, length %g: turn %g of length %g, dead points %v (%v)", head, length, turn, s.Length(turn), dead, err)
			}
		}
	}
}

// Pivots that can come nearer than the slide runs beside them: the way ends
// where they are that near.
func TestStrutBesideItsPivots(t *testing.T) {
	s := Strut{P: 1, Q: 1, Beside: 0.6, Phi: math.Pi / 2, Rest: math.Sqrt(2 - 0.36)}
	got, err := s.TurnRange(kinematics.Unlimited())
	// The chord of a unit circle: 2 sin(phi/2) = 0.6.
	want := kinematics.Range{Lower: 2*math.Asin(0.3) - s.Phi, Upper: math.Pi - s.Phi}
	if err != nil || !(math.Abs(got.Lower-want.Lower) < 1e-12 && math.Abs(got.Upper-want.Upper) < 1e-7) {
		t.Errorf("turns %v, want %v (%v)", got, want, err)
	}
}
