package loop

import (
	"context"
	"errors"
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/kinematics"
)

// genRSSR draws a spatial four-bar as modelled: crank about z, rocker about a
// line that lets the rod move it, the ends as kinds say.
func genRSSR(t *rapid.T) []kinematics.Joint {
	c := rapid.Float64Range(-1, 1)
	a := v3(rapid.Float64Range(0.3, 0.9).Draw(t, "crank"), 0, 0)
	b := r3.Add(v3(2.5, 1.5, 0.5), v3(c.Draw(t, "x"), c.Draw(t, "y"), c.Draw(t, "z")))
	rod := r3.Unit(r3.Sub(b, a))
	along := r3.Unit(r3.Add(kinematics.Perpendicular(rod), r3.Scale(0.4, v3(c.Draw(t, "u"), c.Draw(t, "v"), c.Draw(t, "w")))))
	pin := r3.Add(b, r3.Scale(rapid.Float64Range(0.7, 2).Draw(t, "rocker"), r3.Unit(r3.Cross(rod, along))))
	joints := []kinematics.Joint{
		pairAt("crank", kinematics.Revolute, kinematics.World, 0, v3(0, 0, 0), z),
		pairAt("a", kinematics.Spherical, 0, 1, a, rod),
		pairAt("rocker", kinematics.Revolute, kinematics.World, 2, pin, along),
		pairAt("b", rapid.SampledFrom([]kinematics.Kind{kinematics.Spherical, kinematics.Universal}).Draw(t, "end"), 1, 2, b, rod),
	}
	f := &joints[3].Frame
	f.Hinge, f.Reach = f.Reach, f.Hinge
	return joints
}

// The rocker's angle of an RSSR linkage solves A cos t + B sin t = C: the one of
// its two roots that goes on from where it was, by small steps.
func TestSpatialFourBarsInGeneral(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		joints := genRSSR(t)
		l := mechanism(t, 3, joints, 1, []int{0}, Options{})
		a, b := joints[1].Frame.Origin, joints[3].Frame.Origin
		rod := r3.Norm(r3.Sub(b, a))
		rocker := joints[2].Frame.Axis()
		e := rocker.Offset(b)
		f := r3.Cross(rocker.Dir, e)
		gap := func(crank, turn float64) float64 {
			p := kinematics.Rotation(joints[0].Frame.Axis(), crank).Apply(a)
			q := r3.Add(rocker.Foot(b), r3.Add(r3.Scale(math.Cos(turn), e), r3.Scale(math.Sin(turn), f)))
			return r3.Norm(r3.Sub(p, q)) - rod
		}
		to := rapid.Float64Range(-2.5, 2.5).Draw(t, "to")
		turn, ok := 0.0, true
		const steps = 4000
		for i := 1; i <= steps && ok; i++ { // Newton in one unknown
			crank := to * float64(i) / steps
			for range 8 {
				h := 1e-6
				slope := (gap(crank, turn+h) - gap(crank, turn-h)) / (2 * h)
				if math.Abs(slope) < 0.02*r3.Norm(e) {
					ok = false // near its dead point: who gets there is told by the other tests
					break
				}
				turn -= gap(crank, turn) / slope
			}
		}
		if !ok {
			return
		}
		v := solve(t, l, l.Zero(), to)
		near(t, "rocker", v[4], turn, 1e-8)
		angle, length := openings(l, v)
		near(t, "left open", angle+length, 0, 1e-9)
	})
}

// A Watt six-bar is a four-bar with a dyad on its rocker: two closed forms, one
// after the other.
func TestSixBarEqualsTwoClosedForms(t *testing.T) {
	const long, far = 120.0, 110.0 // links of the dyad
	start, _ := norton.At(deg(40), Open)
	on := v3(150, 30, 0)     // the dyad's pin on the rocker, as modelled
	ground := v3(260, 10, 0) // its pin on the ground
	knee := func(p r3.Vec) r3.Vec {
		d := r3.Sub(ground, p)
		n := r3.Norm(d)
		along := (long*long - far*far + n*n) / (2 * n)
		h := math.Sqrt(long*long - along*along)
		u := r3.Scale(1/n, d)
		return r3.Add(p, r3.Add(r3.Scale(along, u), r3.Scale(h, v3(-u.Y, u.X, 0))))
	}
	four := bars(norton, deg(40), Open)
	joints := []kinematics.Joint{
		four[0], four[1], four[2],
		pairAt("dyad", kinematics.Revolute, 2, 3, on, z),
		pairAt("last", kinematics.Revolute, kinematics.World, 4, ground, z),
		four[3], pairAt("knee", kinematics.Revolute, 3, 4, knee(on), z),
	}
	l := mechanism(t, 5, joints, 2, []int{0}, Options{})
	rapid.Check(t, func(t *rapid.T) {
		to := rapid.Float64Range(-7, 7).Draw(t, "to")
		v := solve(t, l, l.Zero(), to)
		s, _ := norton.At(deg(40)+to, Open)
		nearTurn(t, "rocker", v[2], s.Rocker-start.Rocker, 1e-10)
		turn := kinematics.Rotation(kinematics.Axis{Point: v3(100, 0, 0), Dir: z}, s.Rocker-start.Rocker)
		want := knee(turn.Apply(on))
		x := l.Tree().FK(v[:l.Tree().NumValues()])
		near(t, "knee", r3.Norm(r3.Sub(x[4].Apply(knee(on)), want)), 0, 1e-9)
		near(t, "knee on the other link", r3.Norm(r3.Sub(x[3].Apply(knee(on)), want)), 0, 1e-9)
	})
}

// With limits that hold, the driver stops where the law of cosines says, and
// what is reported is where it stands.
func TestLimitsHoldAnyStrut(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		phi := rapid.Float64Range(0.6, 2.2).Draw(t, "phi")
		foot, head := v3(0, 1, 0), v3(0, 1.6*math.Cos(phi), 1.6*math.Sin(phi))
		joints := bridge(foot, head)
		x := rapid.Float64Range(0.01, 0.3)
		joints[2].Limits = []kinematics.Range{{Lower: -x.Draw(t, "shorter"), Upper: x.Draw(t, "longer")}}
		l := mechanism(t, 3, joints, 1, []int{0}, Options{HoldLimits: true})
		s := l.Struts()[0]
		want, err := s.TurnRange(joints[2].Limits[0])
		if err != nil {
			t.Fatal(err)
		}
		r, err := l.Reach(context.Background(), l.Zero(), 0)
		if err != nil {
			t.Fatal(err)
		}
		dead := s.DeadPoints()
		if want.Lower > dead.Lower+1e-6 {
			near(t, "lower", r.Range.Lower, want.Lower, 1e-9)
		}
		if want.Upper < dead.Upper-1e-6 {
			near(t, "upper", r.Range.Upper, want.Upper, 1e-9)
		}
		to := rapid.Float64Range(-0.5, 0.5).Draw(t, "to")
		v, report, err := l.Solve(context.Background(), l.Zero(), []float64{to})
		if inside := r.Range.Contains(to); inside != (err == nil) {
			t.Fatalf("to %v of %v: %v", to, r.Range, err)
		}
		if err != nil {
			near(t, "it stops at the end", v[0], r.Range.Clamp(to), 1e-9)
		}
		if len(report.Over) > 0 {
			t.Errorf("it stands beyond %+v", report.Over)
		}
		// Without holding it goes on, and tells by how much.
		free := mechanism(t, 3, joints, 1, []int{0}, Options{})
		v, report, err = free.Solve(context.Background(), free.Zero(), []float64{to})
		if err != nil {
			t.Fatal(err)
		}
		over := v[2] - joints[2].Limits[0].Clamp(v[2])
		switch {
		case math.Abs(over) < 1e-8:
		case len(report.Over) != 1 || report.Over[0].Value != 2:
			t.Errorf("the slide at %v of %v: %+v", v[2], joints[2].Limits, report.Over)
		default:
			near(t, "beyond the limit", report.Over[0].By, over, 1e-12)
		}
	})
}

// A joint that stands beyond its limit may come back but go no farther.
func TestBeyondALimitOnlyTheWayBackIsFree(t *testing.T) {
	foot, head := bridgeEnds(deg(37))
	joints := bridge(foot, head)
	joints[2].Limits = []kinematics.Range{{Lower: 10, Upper: 50}} // it stands at 0
	l := mechanism(t, 3, joints, 1, []int{0}, Options{HoldLimits: true, Unit: "mm"})
	s := l.Struts()[0]
	up, err := s.Turn(20)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "slide", solve(t, l, l.Zero(), up)[2], 20, 1e-9)
	v, report, err := l.Solve(background(t), l.Zero(), []float64{-0.1})
	var closure *ClosureError
	if !errors.As(err, &closure) || closure.Stop.Reason != AtLimit || closure.Stop.Value != 2 {
		t.Fatal(err)
	}
	if math.Abs(v[0]) > 1e-9 || len(report.Over) != 1 {
		t.Errorf("it went to %v, %+v", v, report.Over)
	}

	// The driver's own limit is told as such.
	joints[2].Limits = nil
	joints[0].Limits = []kinematics.Range{{Lower: -0.2, Upper: 0.1}}
	l = mechanism(t, 3, joints, 1, []int{0}, Options{HoldLimits: true, Unit: "mm"})
	v, _, err = l.Solve(background(t), l.Zero(), []float64{0.4})
	if err == nil || err.Error() != `the loop stops before 22.92 deg: "leaf hinge" is at its limit of 5.73 deg` {
		t.Errorf("error %v", err)
	}
	near(t, "driver", v[0], 0.1, 1e-12)

	// A hinge that would have to turn too far.
	joints[0].Limits = nil
	joints[1].Limits = []kinematics.Range{{Lower: -0.05, Upper: 0.05}}
	l = mechanism(t, 3, joints, 1, []int{0}, Options{HoldLimits: true, Unit: "mm"})
	_, _, err = l.Solve(background(t), l.Zero(), []float64{deg(-40)})
	if !errors.As(err, &closure) || closure.Stop.Value != 1 || closure.Over == 0 {
		t.Fatalf("error %v", err)
	}
	free := mechanism(t, 3, bridge(foot, head), 1, []int{0}, Options{})
	want := solve(t, free, free.Zero(), deg(-40))[1]
	near(t, "beyond", closure.Over, want-joints[1].Limits[0].Clamp(want), 1e-9)
	// And a slide that would have to be shorter.
	joints[1].Limits = nil
	joints[2].Limits = []kinematics.Range{{Lower: -20, Upper: 50}}
	l = mechanism(t, 3, joints, 1, []int{0}, Options{HoldLimits: true, Unit: "mm"})
	_, _, err = l.Solve(background(t), l.Zero(), []float64{deg(-20)})
	if !errors.As(err, &closure) || closure.Over >= 0 || !slices.Contains([]byte(err.Error()), 'm') {
		t.Fatalf("error %v", err)
	}
	near(t, "how much shorter", closure.Over, s.Extension(deg(-20))+20, 1e-9)
}

// From a parallelogram that lies flat one of the two ways is taken, and that
// there were two is told.
func TestStartAtAChangePoint(t *testing.T) {
	f := FourBar{50, 90, 50, 90}
	l := mechanism(t, 3, bars(f, deg(180), Open), 1, []int{0}, Options{})
	v, r, err := l.Solve(background(t), l.Zero(), []float64{0.5})
	if err != nil || !r.Fork {
		t.Fatal(r, err)
	}
	angle, length := openings(l, v)
	near(t, "closed", angle+length, 0, 1e-9)
	parallel := math.Abs(math.Remainder(v[2]-0.5, 2*math.Pi)) < 1e-9
	start, _ := f.At(deg(180), Open)
	anti, _ := f.At(deg(180)+0.5, Crossed)
	other, _ := f.At(deg(180)+0.5, Open)
	crossed := math.Abs(math.Remainder(v[2]-(anti.Rocker-start.Rocker), 2*math.Pi)) < 1e-9 ||
		math.Abs(math.Remainder(v[2]-(other.Rocker-start.Rocker), 2*math.Pi)) < 1e-9
	if !parallel && !crossed {
		t.Errorf("values %v are on neither way", v)
	}
}

// What a linkage says about its values.
func TestValuesOfALinkage(t *testing.T) {
	foot, head := bridgeEnds(deg(37))
	joints := bridge(foot, head)
	flag := pairAt("flag", kinematics.Revolute, 0, 3, head, z)
	joints = slices.Insert(joints, 3, flag)
	l := mechanism(t, 4, joints, 1, []int{0}, Options{})
	if l.NumValues() != 5 || l.Tree().NumValues() != 4 || l.NumLoops() != 1 || len(l.Zero()) != 5 {
		t.Errorf("%d values, %d of the tree, %d loops", l.NumValues(), l.Tree().NumValues(), l.NumLoops())
	}
	if !slices.Equal(l.Drivers(), []int{0}) || !slices.Equal(l.Followers(), []int{1, 2, 4}) {
		t.Errorf("drivers %v, followers %v", l.Drivers(), l.Followers())
	}
	for v, want := range []struct {
		name           string
		length, inLoop bool
		joint          int
	}{{"leaf hinge", false, true, 0}, {"strut foot", false, true, 1}, {"strut slide", true, true, 2}, {"flag", false, false, 3}, {"strut head", false, true, 4}} {
		if l.Find(want.name) != v || l.freedoms[v].length != want.length || l.InLoop(v) != want.inLoop || l.JointOf(v) != want.joint || l.Joint(want.joint).Name != want.name {
			t.Errorf("value %d: found %d, length %v, in a loop %v, joint %d", v, l.Find(want.name), l.freedoms[v].length, l.InLoop(v), l.JointOf(v))
		}
		if first, n := l.ValueIndex(want.joint); first != v || n != 1 {
			t.Errorf("joint %d has %d values from %d", want.joint, n, first)
		}
	}
	if l.Find("toe") != -1 || l.InLoop(-1) || l.InLoop(5) {
		t.Error("what is not there is found")
	}
	// What is in no loop keeps its value.
	from := l.Zero()
	from[3] = 0.7
	if v := solve(t, l, from, 0.2); v[3] != 0.7 || v[0] != 0.2 {
		t.Errorf("values %v", v)
	}
}
