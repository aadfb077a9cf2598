package loop

import (
	"math"
	"testing"
)

// Opposite links of a parallelogram stay parallel all the way round, through
// both poses in which it lies flat: closed form.
func TestParallelogramGoesStraightThroughItsChangePoints(t *testing.T) {
	f := FourBar{50, 90, 50, 90}
	l := mechanism(t, 3, bars(f, deg(70), Open), 1, []int{0}, Options{})
	v := l.Zero()
	for step := range 25 {
		to := deg(30 * float64(step))
		var r Report
		var err error
		if v, r, err = l.Solve(background(t), v, []float64{to}); err != nil {
			t.Fatal(err)
		}
		near(t, "rocker", v[2], to, 1e-9)
		near(t, "coupler", v[0]+v[1], 0, 1e-9)
		if through := math.Floor((to+deg(70))/math.Pi) != math.Floor((to+deg(40))/math.Pi); through != (len(r.Changes) == 1) && step > 0 {
			t.Errorf("to %v: change points %v", to, r.Changes)
		}
	}
	_, changes, err := l.DeadPoints(background(t), l.Zero(), 0)
	if err != nil || len(changes) != 2 {
		t.Fatalf("change points %v, %v", changes, err)
	}
	for i, c := range changes {
		near(t, "change point", c.Values[0], deg(110+180*float64(i)), 1e-5)
	}
	// The antiparallelogram is the other way to go on, and keeps to itself.
	l = mechanism(t, 3, bars(f, deg(70), Crossed), 1, []int{0}, Options{})
	start, _ := f.At(deg(70), Crossed)
	v = solve(t, l, l.Zero(), deg(80))
	want, _ := f.At(deg(150), Crossed)
	nearTurn(t, "rocker of the antiparallelogram", v[2], want.Rocker-start.Rocker, 1e-11)
}

// A hair from a parallelogram there is no change point: the two circuits pass
// close by each other where it is nearly flat, and each turns back there. The
// crank is taken round in one go.
func TestNearlyAParallelogramKeepsItsCircuit(t *testing.T) {
	for _, more := range []float64{1e-3, 1e-5, 1e-7} {
		f := FourBar{50, 90, 50 * (1 + more), 90}
		for _, c := range []Circuit{Open, Crossed} {
			l := mechanism(t, 3, bars(f, deg(70), c), 1, []int{0}, Options{})
			start, _ := f.At(deg(70), c)
			for _, to := range []float64{60, 150, 240, 330, -100} {
				v, r, err := l.Solve(background(t), l.Zero(), []float64{deg(to)})
				if err != nil {
					t.Fatal(err)
				}
				want, _ := f.At(deg(70+to), c)
				nearTurn(t, "rocker", v[2], want.Rocker-start.Rocker, 1e-8)
				if len(r.Changes) != 0 {
					t.Errorf("longer by %v: change points %v", more, r.Changes)
				}
			}
		}
	}
}

// With Snap a linkage that was measured a hair off a parallelogram is one: the
// rocker goes on with the crank, whichever side is the longer.
func TestNearlyAParallelogramSnaps(t *testing.T) {
	for _, more := range []float64{1e-4, -1e-4, 1e-5, -1e-5, -1e-7} {
		f := FourBar{50, 90, 50 * (1 + more), 90}
		l := mechanism(t, 3, bars(f, deg(70), Open), 1, []int{0}, Options{Snap: 2e-4})
		r, err := l.Reach(background(t), l.Zero(), 0)
		if err != nil || r.Upper.Reason != FullTurn || r.Lower.Reason != FullTurn {
			t.Errorf("longer by %v it reaches %+v, %v", more, r, err)
		}
		v, turns := l.Zero(), 0
		for step := range 37 {
			to := deg(20*float64(step) + 5)
			var report Report
			if v, report, err = l.Solve(background(t), v, []float64{to}); err != nil {
				t.Fatalf("longer by %v: %v", more, err)
			}
			turns += len(report.Changes)
			nearTurn(t, "rocker", v[2], to, 4*math.Sqrt(math.Abs(more)))
			angle, length := openings(l, v)
			near(t, "left open", angle+length, 0, 1e-8)
		}
		if turns != 4 {
			t.Errorf("longer by %v: %d change points in two turns", more, turns)
		}
	}
}
