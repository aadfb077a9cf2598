package loop

import (
	"context"
	"errors"
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/diff/fd"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/kinematics"
)

// The rod of an RSSR linkage keeps its length: the rocker's angle solves A cos t
// + B sin t = C (J. Denavit, R. S. Hartenberg, Kinematic Synthesis of Linkages,
// 1964). The crank takes the balls round by every pose.
func TestSpatialFourBar(t *testing.T) {
	joints := rssr(kinematics.Spherical)
	l := mechanism(t, 3, joints, 1, []int{0}, Options{})
	a, b := joints[1].Frame.Origin, joints[3].Frame.Origin
	rod := r3.Norm(r3.Sub(b, a))
	rocker := joints[2].Frame.Axis()
	want := func(crank, near float64) (float64, bool) {
		p := kinematics.Rotation(joints[0].Frame.Axis(), crank).Apply(a)
		e := rocker.Offset(b)
		f := r3.Cross(rocker.Dir, e)
		w := r3.Sub(rocker.Foot(b), p) // |w + e cos t + f sin t| = rod
		ca, cb := 2*r3.Dot(w, e), 2*r3.Dot(w, f)
		cc := rod*rod - r3.Norm2(w) - r3.Norm2(e)
		size := math.Hypot(ca, cb)
		if math.Abs(cc) > size {
			return 0, false
		}
		mid, half := math.Atan2(cb, ca), math.Acos(cc/size)
		one, two := mid+half, mid-half
		if math.Abs(math.Remainder(one-near, 2*math.Pi)) < math.Abs(math.Remainder(two-near, 2*math.Pi)) {
			return one, true
		}
		return two, true
	}
	r, err := l.Reach(background(t), l.Zero(), 0)
	if err != nil {
		t.Fatal(err)
	}
	if r.Upper.Reason != FullTurn {
		t.Fatalf("the crank reaches %v", r.Range)
	}
	v := l.Zero()
	for i := range 80 {
		to := deg(9 * float64(i))
		v = solve(t, l, v, to)
		near4, ok := want(to, v[4])
		if !ok {
			t.Fatalf("crank at %v: the rod does not reach", to)
		}
		nearTurn(t, "rocker", v[4], near4, 1e-11)
		angle, length := openings(l, v)
		near(t, "left open", angle+length, 0, 1e-10)
	}
}

// The legs of a hexapod for a pose of its plate are distances of points; driven
// to those lengths, the plate must stand there.
func TestHexapodTakesThePoseOfItsLegs(t *testing.T) {
	joints := hexapod(kinematics.Universal)
	tree, err := kinematics.NewTree(13, joints[:len(joints)-5])
	if err != nil {
		t.Fatal(err)
	}
	var legs []int
	for j := range tree.NumJoints() {
		if tree.Joint(j).Kind == kinematics.Prismatic {
			v, _ := tree.ValueIndex(j)
			legs = append(legs, v)
		}
	}
	l, err := New(tree, Close(joints[len(joints)-5:]...), legs, Options{})
	if err != nil {
		t.Fatal(err)
	}
	v := l.Zero()
	for _, pose := range []kinematics.Twist{
		{Linear: v3(0.2, 0, 0.4)},
		{Angular: v3(0.2, -0.1, 0.3), Linear: v3(0.1, 0.3, -0.2)},
		{Angular: v3(-0.2, 0.2, -0.4), Linear: v3(0.1, -0.3, 0.1)},
	} {
		x := pose.Exp()
		drive := make([]float64, 6)
		for i := range drive {
			foot, top := hexapodEnds(i)
			drive[i] = r3.Norm(r3.Sub(x.Apply(top), foot)) - r3.Norm(r3.Sub(top, foot))
		}
		v = solve(t, l, v, drive...)
		plate := l.Tree().FK(v[:l.Tree().NumValues()])[12]
		off := x.Inverse().Mul(plate).Log()
		near(t, "plate", r3.Norm(off.Angular)+r3.Norm(off.Linear), 0, 1e-10)
		angle, length := openings(l, v)
		near(t, "left open", angle+length, 0, 1e-10)
	}
}

// genBars draws a four-bar, an angle that it reaches, a circuit and a place.
func genBars(t *rapid.T) (f FourBar, at float64, c Circuit, joints []kinematics.Joint) {
	size := math.Pow(10, rapid.Float64Range(-2, 4).Draw(t, "size"))
	link := rapid.Float64Range(0.3, 2)
	for {
		f = FourBar{size * link.Draw(t, "a"), size * link.Draw(t, "b"), size * link.Draw(t, "c"), size * link.Draw(t, "d")}
		at = rapid.Float64Range(-3, 3).Draw(t, "at")
		c = Circuit(rapid.IntRange(0, 1).Draw(t, "circuit"))
		s, ok := f.At(at, c)
		// Not close to where the circuits meet, which is at change points too.
		if cl := f.Class(1e-4); ok && s.Transmission > 0.02 && cl != ChangePoint && cl != Parallelogram {
			break
		}
	}
	return f, at, c, bars(f, at, c)
}

// Whatever the steps, the solution stays on its circuit and agrees with the
// closed form, up to the dead points; beyond them there is an error.
func TestFourBarStaysOnItsCircuit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f, at, c, joints := genBars(t)
		x := genMotion(1000*f.Ground).Draw(t, "pose")
		l := mechanism(t, 3, moved(x, joints...), 1, []int{0}, Options{})
		start, _ := f.At(at, c)
		r, err := l.Reach(context.Background(), l.Zero(), 0)
		if err != nil {
			t.Fatal(err)
		}
		v, side := l.Zero(), c
		for range 4 {
			to := rapid.Float64Range(-7, 7).Draw(t, "to")
			next, _, err := l.Solve(context.Background(), v, []float64{to})
			if inside := r.Range.Contains(to); inside != (err == nil) {
				t.Fatalf("to %v of %v: %v", to, r.Range, err)
			}
			if err != nil {
				var closure *ClosureError
				if !errors.As(err, &closure) || closure.Stop.Reason != DeadPoint {
					t.Fatalf("to %v of %v: %v", to, r.Range, err)
				}
				continue
			}
			v = next
			want, ok := f.At(at+to, side)
			if !ok {
				t.Fatalf("closed at %v where the links do not reach", at+to)
			}
			// Near a dead point, where the ends' rounding decides, there is less to hold.
			tol := 1e-9 / math.Max(want.Transmission, 1e-4)
			nearTurn(t, "rocker", v[2], want.Rocker-start.Rocker, tol)
			nearTurn(t, "coupler", v[0]+v[1], want.Coupler-start.Coupler, tol)
		}
	})
}

// The dead points of the crank, by lengths alone: coupler and rocker in line.
func TestReachOfACrankEqualsItsTriangle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f, at, _, joints := genBars(t)
		l := mechanism(t, 3, joints, 1, []int{0}, Options{})
		r, err := l.Reach(context.Background(), l.Zero(), 0)
		if err != nil {
			t.Fatal(err)
		}
		for _, end := range []Stop{r.Lower, r.Upper} {
			if end.Reason == FullTurn {
				if cl := f.Class(1e-9); cl == TripleRocker || cl == DoubleRocker || cl == RockerCrank {
					t.Errorf("the crank of a %s turns fully", cl)
				}
				continue
			}
			if end.Reason != DeadPoint {
				t.Fatalf("it ends at %+v", end)
			}
			d := math.Hypot(f.Ground-f.Crank*math.Cos(at+end.Drive), f.Crank*math.Sin(at+end.Drive))
			off := math.Min(math.Abs(d-(f.Coupler+f.Rocker)), math.Abs(d-math.Abs(f.Coupler-f.Rocker)))
			near(t, "coupler and rocker in line", off/f.Ground, 0, 1e-9)
		}
	})
}

// Scale, shift and rotation of the whole mechanism change nothing but lengths.
func TestLoopsAreInvariant(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		joints := rssr(kinematics.Spherical)
		s := math.Pow(10, rapid.Float64Range(-3, 5).Draw(t, "scale"))
		x := genMotion(100).Draw(t, "pose")
		other := moved(x, joints...)
		for i := range other {
			other[i].Frame.Origin = r3.Scale(s, other[i].Frame.Origin)
		}
		to := rapid.Float64Range(-0.8, 0.8).Draw(t, "to")
		l := mechanism(t, 3, joints, 1, []int{0}, Options{})
		m := mechanism(t, 3, other, 1, []int{0}, Options{})
		p, q := solve(t, l, l.Zero(), to), solve(t, m, m.Zero(), to)
		for i := range p {
			near(t, "value", q[i], p[i], 1e-9)
		}
	})
}

// There and back is where it began; the way in pieces is the way.
func TestThereAndBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		joints := rssr(kinematics.Universal)
		l := mechanism(t, 3, joints, 1, []int{0}, Options{})
		to := rapid.Float64Range(-0.8, 0.8).Draw(t, "to")
		there := solve(t, l, l.Zero(), to)
		path, err := l.Path(context.Background(), l.Zero(), [][]float64{{to / 3}, {-to / 5}, {to}})
		if err != nil {
			t.Fatal(err)
		}
		back := solve(t, l, there, 0)
		for i := range there {
			near(t, "the same by another way", path[2][i], there[i], 1e-10)
			near(t, "back", back[i], 0, 1e-10)
		}
	})
}

// The derivatives of the loop's opening against central differences, for every
// kind, at poses at which the loop stands open.
func TestDerivativesOfEveryKind(t *testing.T) {
	kinds := kinematics.Kinds()
	rapid.Check(t, func(t *rapid.T) {
		kind := rapid.SampledFrom(kinds)
		frame := func() kinematics.Frame { return kinematics.FrameOf(genMotion(2).Draw(t, "frame")) }
		joint := func(parent, child int) kinematics.Joint {
			return kinematics.Joint{Kind: kind.Draw(t, "kind"), Parent: parent, Child: child, Frame: frame(), Pitch: 0.3}
		}
		tree, err := kinematics.NewTree(3, []kinematics.Joint{joint(kinematics.World, 0), joint(0, 1), joint(kinematics.World, 2)})
		if err != nil {
			t.Fatal(err)
		}
		on := frame()
		l, err := build(tree, []Closing{{Joint: joint(1, 2), OnChild: &on}}, Options{})
		if err != nil {
			return // fixed joints only
		}
		w := l.newWork()
		at := make([]float64, l.values)
		for v := range at {
			at[v] = rapid.Float64Range(-0.7, 0.7).Draw(t, "value")
		}
		l.load(w, at)
		local := slices.Clone(w.values)
		for v := range local { // balls from their bases
			local[v] += 0.1 * float64(v%3)
		}
		n := len(l.active)
		open := func(y, x []float64) {
			copy(w.values, local)
			for c, v := range l.active {
				w.values[v] = x[c] * l.freedoms[v].scale
			}
			l.evaluate(w)
			copy(y, w.res)
		}
		x := make([]float64, n)
		for c, v := range l.active {
			x[c] = local[v] / l.freedoms[v].scale
		}
		y := make([]float64, 6)
		open(y, x)
		if norm(y[:3]) > 2.8 {
			return // close to half a turn, where the rotation vector jumps
		}
		got := mat.NewDense(6, n, slices.Clone(w.jac))
		want := mat.NewDense(6, n, nil)
		fd.Jacobian(want, open, x, &fd.JacobianSettings{Formula: fd.Central, Step: 1e-5})
		for i := range 6 {
			for c := range n {
				near(t, "derivative", got.At(i, c), want.At(i, c), 1e-6*(1+math.Abs(want.At(i, c))))
			}
		}
	})
}

// A ball's own values and what the walk makes of them agree.
func TestBallsKeepTheirPoses(t *testing.T) {
	joints := rssr(kinematics.Spherical)
	l := mechanism(t, 3, joints, 1, []int{0}, Options{})
	rapid.Check(t, func(t *rapid.T) {
		w := l.newWork()
		v := make([]float64, l.values)
		for i := range v {
			v[i] = rapid.Float64Range(-1.2, 1.2).Draw(t, "value")
		}
		l.load(w, v)
		for i, x := range l.saved(w) {
			near(t, "value", x, v[i], 1e-13)
		}
	})
}

// The same input gives the same bits, from several goroutines too.
func TestSolveIsDeterministic(t *testing.T) {
	l := mechanism(t, 3, rssr(kinematics.Spherical), 1, []int{0}, Options{})
	want := solve(t, l, l.Zero(), 0.7)
	done := make(chan []float64)
	for range 8 {
		go func() {
			var v []float64
			for k := range 20 {
				if _, _, err := l.Solve(context.Background(), l.Zero(), []float64{float64(k) / 40}); err != nil {
					break
				}
			}
			v, _, _ = l.Solve(context.Background(), l.Zero(), []float64{0.7})
			done <- v
		}()
	}
	for range 8 {
		if v := <-done; !slices.Equal(v, want) {
			t.Errorf("values %v, want %v", v, want)
		}
	}
}
