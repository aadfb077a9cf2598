package loop

import (
	"context"
	"errors"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/kinematics"
)

// At a dead point of the driver two ways lead back, and none on.
func TestStartAtADeadPoint(t *testing.T) {
	at := deg(24.1468479965024) // the crank's angle with the rocker at its lower limit
	l := mechanism(t, 3, bars(norton, at, Open), 1, []int{2}, Options{})
	v, r, err := l.Solve(background(t), l.Zero(), []float64{0.2})
	if err != nil || !r.Fork {
		t.Fatal(r, err)
	}
	want, _ := norton.At(at+v[0], Open)
	start, _ := norton.At(at, Open)
	nearTurn(t, "rocker", 0.2, want.Rocker-start.Rocker, 1e-9)
	near(t, "firmness at the dead point", reportAt(t, l, 0).Firmness, 0, 1e-6)
	_, _, err = l.Solve(background(t), l.Zero(), []float64{-0.2})
	var closure *ClosureError
	if !errors.As(err, &closure) || closure.Stop.Reason != DeadPoint {
		t.Errorf("beyond the dead point: %v", err)
	}
	reach, err := l.Reach(background(t), l.Zero(), 0)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "lower end", reach.Range.Lower, 0, 1e-12)
	near(t, "upper end", reach.Range.Upper, deg(73.781819648883), 1e-9)
}

func reportAt(t *testing.T, l *Linkage, drive float64) Report {
	t.Helper()
	_, r, err := l.Solve(background(t), l.Zero(), []float64{drive})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// The crossed rocker cannot come to where the open one can.
func TestOtherAssemblyIsTold(t *testing.T) {
	l := mechanism(t, 3, bars(norton, deg(40), Crossed), 1, []int{2}, Options{})
	_, _, err := l.Solve(background(t), l.Zero(), []float64{3})
	if err == nil || err.Error() != "the loop comes to 171.9 deg in another assembly only: from here it goes to 43.1 deg, where \"rocker\" locks" {
		t.Errorf("error %v", err)
	}
}

// Ten kilometres off, in millimetres.
func TestFarFromTheOrigin(t *testing.T) {
	x := kinematics.Twist{Angular: v3(0.3, -0.8, 0.5)}.Exp()
	x.T = v3(1e7, -1e7, 1e7)
	l := mechanism(t, 3, moved(x, bars(norton, deg(40), Open)...), 1, []int{0}, Options{})
	start, _ := norton.At(deg(40), Open)
	for to := 30.0; to < 360; to += 60 {
		want, _ := norton.At(deg(40+to), Open)
		nearTurn(t, "rocker", solve(t, l, l.Zero(), deg(to))[2], want.Rocker-start.Rocker, 1e-9)
	}
}

func TestFourBarIsFoundInItsLoop(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f, _, _, joints := genBars(t)
		for i := range joints { // an origin may stand anywhere on its axis
			o := &joints[i].Frame.Origin
			*o = r3.Add(*o, r3.Scale(f.Ground*rapid.Float64Range(-2, 2).Draw(t, "along"), joints[i].Frame.Hinge))
		}
		l := mechanism(t, 3, moved(genMotion(f.Ground).Draw(t, "pose"), joints...), 1, []int{0}, Options{})
		got, values, ok := l.FourBarOf(0)
		if !ok || values != [4]int{0, 1, 3, 2} {
			t.Fatalf("%v %v", values, ok)
		}
		for what, x := range map[string][2]float64{
			"crank": {got.Crank, f.Crank}, "coupler": {got.Coupler, f.Coupler}, "rocker": {got.Rocker, f.Rocker}, "ground": {got.Ground, f.Ground},
		} {
			near(t, what, x[0]/f.Ground, x[1]/f.Ground, 1e-9)
		}
		l, err := l.WithDrivers([]int{2})
		if err != nil {
			t.Fatal(err)
		}
		if got, values, ok = l.FourBarOf(0); !ok || values[0] != 2 {
			t.Errorf("driven by the rocker: %+v %v", got, values)
		}
	})
	l := mechanism(t, 3, rssr(kinematics.Universal), 1, []int{0}, Options{})
	if _, _, ok := l.FourBarOf(0); ok {
		t.Error("a spatial loop is taken for a plane one")
	}
	if _, _, ok := l.FourBarOf(1); ok {
		t.Error("there is no loop 1")
	}
}

// A limit found elsewhere, such as a contact, narrows the reach of the loop.
func TestNarrowerLimits(t *testing.T) {
	foot, head := bridgeEnds(deg(37))
	joints := bridge(foot, head)
	joints[2].Limits = []kinematics.Range{{Lower: -100, Upper: 80}}
	l := mechanism(t, 3, joints, 1, []int{0}, Options{})
	s := l.Struts()[0]
	narrow := l.WithLimits(map[int]kinematics.Range{2: {Lower: -200, Upper: 30}, 7: {}, 0: {Lower: 1, Upper: 0}})
	r, err := narrow.Reach(background(t), l.Zero(), 0)
	if err != nil || r.Upper.Reason != AtLimit || r.Upper.Value != 2 {
		t.Fatal(r, err)
	}
	upper, _ := s.Turn(30)
	lower, _ := s.Turn(-100)
	near(t, "upper", r.Range.Upper, upper, 1e-12)
	near(t, "lower", r.Range.Lower, lower, 1e-12)
	if r, err = l.Reach(background(t), l.Zero(), 0); err != nil || r.Upper.Reason != FullTurn {
		t.Errorf("the linkage itself now reaches %+v, %v", r, err)
	}
}

// What drives by default: the one that turns fully, else the one that moves
// most, at the loop's base.
func TestDefaultDrivers(t *testing.T) {
	for want, joints := range map[string][]kinematics.Joint{
		"crank": bars(norton, deg(40), Open), "slide": nil, "rocker": bars(FourBar{80, 100, 40, 120}, deg(60), Open),
	} {
		if joints == nil {
			// The crank's own hinge closes the loop, so the base has the slide alone.
			joints = slider(SliderCrank{Crank: 40, Rod: 120}, 0.5, Open)
			joints[0].Parent, joints[0].Child = 0, kinematics.World
			joints[1].Parent, joints[1].Child = 1, 0
			joints[2].Parent, joints[2].Child = 2, 1
			joints[0], joints[3] = joints[3], joints[0]
		}
		l := mechanism(t, 3, joints, 1, nil, Options{})
		if got := l.Joint(l.JointOf(l.Drivers()[0])).Name; got != want {
			t.Errorf("%q drives, want %q", got, want)
		}
		v, err := DefaultDrivers(l.Tree(), l.closings, []int{1}, Options{})
		if err != nil || len(v) != 1 || v[0] != 1 {
			t.Errorf("the wanted driver 1 gives %v, %v", v, err)
		}
	}
	l := mechanism(t, 13, hexapod(kinematics.Universal), 5, nil, Options{})
	if d := l.Drivers(); len(d) != 6 || l.Joint(l.JointOf(d[5])).Name != "leg" {
		t.Errorf("a hexapod is driven by %v", d)
	}
}

func TestBadValues(t *testing.T) {
	l := mechanism(t, 3, bars(norton, deg(40), Open), 1, []int{2}, Options{})
	for want, call := range map[string]func() error{
		"3 joint values were given, the linkage takes 4": func() error {
			_, _, err := l.Solve(background(t), make([]float64, 3), []float64{0})
			return err
		},
		"joint value 1 is NaN: give finite values": func() error {
			_, _, err := l.Solve(background(t), []float64{0, math.NaN(), 0, 0}, []float64{0})
			return err
		},
		"2 driver values were given, the linkage takes 1": func() error {
			_, _, err := l.Solve(background(t), l.Zero(), []float64{0, 1})
			return err
		},
		"driver value 0 is +Inf: give finite values": func() error {
			_, _, err := l.Solve(background(t), l.Zero(), []float64{math.Inf(1)})
			return err
		},
		"1 place for values were given, the linkage takes 4": func() error {
			_, err := l.SolveTo(background(t), make([]float64, 1), l.Zero(), []float64{0})
			return err
		},
		"driver 1: the linkage has drivers 0 to 0": func() error { _, err := l.Reach(background(t), l.Zero(), 1); return err },
		"pose 2 of the way: driver value 0 is NaN: give finite values": func() error {
			_, err := l.Path(background(t), l.Zero(), [][]float64{{0.1}, {math.NaN()}})
			return err
		},
		"the loop cannot close at 114.6 deg: it goes to 71.36 deg, where \"rocker\" locks; a gap of ": func() error {
			_, _, err := l.Solve(background(t), l.Zero(), []float64{2})
			return err
		},
	} {
		if err := call(); err == nil || !strings.HasPrefix(err.Error(), want) {
			t.Errorf("error %v\nwant  %s", err, want)
		}
	}
	v, _, err := l.Solve(background(t), l.Zero(), []float64{2})
	var closure *ClosureError
	if !errors.As(err, &closure) || closure.Stop.Reason != DeadPoint {
		t.Fatal(err)
	}
	near(t, "the values of the end", v[2], closure.Stop.Drive, 0)
	angle, length := openings(l, v)
	near(t, "closed at the end", angle+length, 0, 1e-9)

	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, _, err := l.Solve(ctx, l.Zero(), []float64{1}); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
	if _, err := l.Reach(ctx, l.Zero(), 0); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
}

// A joint that was measured 0.3 to the side on the child part, within the plane:
// the loop closes all the same. Across the plane and askew it cannot; then the
// rest is told.
func TestMisfit(t *testing.T) {
	joints := bars(norton, deg(40), Open)
	tree, err := kinematics.NewTree(3, joints[:3])
	if err != nil {
		t.Fatal(err)
	}
	make2 := func(shift r3.Vec, lean float64, o Options) (*Linkage, error) {
		on := joints[3].Frame
		on.Origin = r3.Add(on.Origin, shift)
		x := kinematics.Rotation(kinematics.Axis{Dir: v3(1, 0, 0)}, lean)
		on.Hinge, on.Reach = x.Turn(on.Hinge), x.Turn(on.Reach)
		return New(tree, []Closing{{Joint: joints[3], OnChild: &on}}, []int{0}, o)
	}
	l, err := make2(v3(0.2, -0.2, 0), 0, Options{})
	if err != nil {
		t.Fatal(err)
	}
	list, err := l.Misfits(l.Zero())
	if err != nil {
		t.Fatal(err)
	}
	near(t, "misfit as modelled", list[0].Length, 0.2*math.Sqrt2, 1e-12)
	v, r, err := l.Solve(background(t), l.Zero(), []float64{0})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "closed", r.Length+r.Angle, 0, 1e-11)
	if v[0] != 0 || v[1] == 0 || v[2] == 0 {
		t.Errorf("values %v: the followers take it up", v)
	}
	all, err := l.Assemble(l.Zero())
	if err != nil {
		t.Fatal(err)
	}
	if angle, length := openings(l, all); angle+length > 1e-11 || all[0] == 0 {
		t.Errorf("assembled: %v, open by %v and %v", all, angle, length)
	}

	if l, err = make2(v3(0.2, -0.2, 0.5), deg(0.4), Options{}); err != nil {
		t.Fatal(err)
	}
	_, r, err = l.Solve(background(t), l.Zero(), []float64{deg(50)})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "angle left", r.Angle, deg(0.4), 1e-3)
	near(t, "length left", r.Length, 0.5, 1e-2)

	_, err = make2(v3(0, 0, 30), 0, Options{Unit: "mm"})
	var open *OpenError
	if !errors.As(err, &open) || !strings.HasPrefix(err.Error(), "the loop is open by ") || !strings.Contains(err.Error(), " mm and ") || !strings.HasSuffix(err.Error(), `at "pin": look at the axes of its joints, or start from a pose that closes it`) {
		t.Errorf("30 across: %v", err)
	}
	near(t, "misfit in the error", math.Abs(open.Length-30), 0, 3)
}

// Measured hinges that are a little out of parallel still make a four-bar.
func TestHingesOutOfParallel(t *testing.T) {
	joints := bars(norton, deg(40), Open)
	for i, lean := range []r3.Vec{v3(0.0005, 0, 0), v3(0, -0.0008, 0), v3(-0.0003, 0.0004, 0), v3(0.0006, 0.0002, 0)} {
		f := &joints[i].Frame
		f.Hinge = r3.Unit(r3.Add(f.Hinge, lean))
		f.Reach = kinematics.Perpendicular(f.Hinge)
	}
	l := mechanism(t, 3, joints, 1, []int{0}, Options{})
	m, err := l.Mobility(l.Zero())
	if err != nil || m.Freedoms != 1 {
		t.Fatalf("mobility %+v, %v", m, err)
	}
	start, _ := norton.At(deg(40), Open)
	for to := 0.0; to <= 360; to += 45 {
		v, r, err := l.Solve(background(t), l.Zero(), []float64{deg(to)})
		if err != nil {
			t.Fatal(err)
		}
		want, _ := norton.At(deg(40+to), Open)
		nearTurn(t, "rocker", v[2], want.Rocker-start.Rocker, 2e-3)
		if r.Angle > 5e-3 || r.Length > 0.5 {
			t.Errorf("at %v it stands open by %v and %v", to, r.Angle, r.Length)
		}
	}
	joints[1].Frame.Hinge = r3.Unit(v3(0.2, 0.1, 1))
	joints[1].Frame.Reach = kinematics.Perpendicular(joints[1].Frame.Hinge)
	tree, err := kinematics.NewTree(3, joints[:3])
	if err != nil {
		t.Fatal(err)
	}
	if _, err = New(tree, Close(joints[3]), nil, Options{}); err == nil || !strings.HasPrefix(err.Error(), `the loop of "pin" is rigid: its 4 joint values meet 4 independent equations`) {
		t.Errorf("error %v", err)
	}
}
