package find

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

// What counts as round, case by case.
func TestFormIsRound(t *testing.T) {
	const deg = math.Pi / 180
	for _, c := range []struct {
		name  string
		form  form
		round bool
	}{
		{"eight sides", form{count: 8, closed: true, arc: 2 * math.Pi, step: 45 * deg}, true},
		{"six sides", form{count: 6, closed: true, arc: 2 * math.Pi, step: 60 * deg}, true},
		{"five exact", form{count: 5, closed: true, exact: true, arc: 2 * math.Pi, step: 80 * deg}, true},
		{"five rough", form{count: 5, closed: true, arc: 2 * math.Pi, step: 80 * deg, worst: 1e-3}, false},
		{"four by chance", form{count: 4, closed: true, exact: true, chance: true, arc: 2 * math.Pi, step: 100 * deg}, false},
		{"three", form{count: 3, closed: true, exact: true, arc: 2 * math.Pi, step: 120 * deg}, false},
		{"half open", form{count: 5, closed: true, exact: true, arc: 2 * math.Pi, step: 175 * deg}, false},
		{"rough and fine", form{count: 40, closed: true, arc: 2 * math.Pi, step: 9 * deg, worst: 1.9e-2}, true},
		{"too rough", form{count: 40, closed: true, arc: 2 * math.Pi, step: 9 * deg, worst: 2.1e-2}, false},
		{"rough in noise", form{count: 40, closed: true, arc: 2 * math.Pi, step: 9 * deg, worst: 5e-2, noise: 4e-2}, true},
		{"all noise", form{count: 40, closed: true, arc: 2 * math.Pi, step: 9 * deg, noise: 0.2}, false},
		{"off eight coarse corners", form{count: 8, closed: true, arc: 2 * math.Pi, step: 45 * deg, worst: 1.5e-2}, true},
		{"arc", form{count: 5, arc: 80 * deg, step: 20 * deg}, true},
		{"rough arc", form{count: 5, arc: 80 * deg, step: 20 * deg, worst: 3e-3}, false},
		{"wide arc", form{count: 5, arc: 190 * deg, step: 90 * deg, exact: true}, false},
		{"wide arc of more", form{count: 6, arc: 190 * deg, step: 90 * deg, exact: true}, true},
	} {
		if got := c.form.isRound(); got != c.round {
			t.Errorf("%s: %v", c.name, got)
		}
	}
}

// A clean circle weighs one; the weight falls with roughness beyond what noise
// and coarse steps explain.
func TestFormWeight(t *testing.T) {
	if w := (form{step: 0.1}).weight(); w != 1 {
		t.Errorf("clean: %g", w)
	}
	last := 1.0
	for _, worst := range []float64{1e-4, 1e-3, 1e-2, 1e-1} {
		w := form{step: 0.1, worst: worst}.weight()
		if w >= last {
			t.Errorf("%g at %g after %g", w, worst, last)
		}
		if noisy := (form{step: 0.1, worst: worst, noise: worst}).weight(); noisy < 0.5 {
			t.Errorf("explained by noise, %g weighs %g", worst, noisy)
		}
		last = w
	}
	if useful(0) != 1 || useful(math.NaN()) != 1 || math.Abs(useful(usefulTilt)-0.5) > 1e-15 || useful(1) > 1e-3 {
		t.Error("what is known badly is of use")
	}
}

func TestSymmetric(t *testing.T) {
	at := func(a ...float64) []r3.Vec {
		var p []r3.Vec
		for _, x := range a {
			s, c := math.Sincos(x)
			p = append(p, r3.Vec{X: c, Y: s})
		}
		return p
	}
	for name, c := range map[string]struct {
		p   []r3.Vec
		sym bool
	}{
		"rectangle": {at(0.4, math.Pi-0.4, math.Pi+0.4, 2*math.Pi-0.4), true}, "trapezium": {at(0.2, math.Pi-0.2, math.Pi+0.9, 2*math.Pi-0.9), true},
		"any": {at(0, 1, 2.5, 4.4), false}, "five": {at(0, 1, 2, 3, 4), false},
	} {
		f, ok := fitCircle(c.p)
		if !ok || symmetric(c.p, f) != c.sym {
			t.Errorf("%s: %v", name, !c.sym)
		}
	}
}

// Pieces of one circle become one ring, better known than either, whichever
// comes first; another circle stays apart.
func TestMerged(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, axis, r := drawCircle(t)
		piece := func(from, to float64) ring {
			p := roundPoints(c, axis, r, 2*math.Pi, 0, 360, nil)[int(from):int(to)]
			f, _ := fitCircle(p)
			return clean(9*r).newRing(f, form{arc: (to - from) * math.Pi / 180, step: 0.02}, p)
		}
		all := []ring{piece(0, 100), piece(120, 220), piece(230, 350), ringAbout(c, axis, 0.5*r, r, 1e-6, 1e-6*r)}
		if rapid.Bool().Draw(t, "turned") {
			slices.Reverse(all)
		}
		got := merged(all, 1e-3*r)
		if len(got) != 2 {
			t.Fatalf("%d rings", len(got))
		}
		i := slices.IndexFunc(got, func(g ring) bool { return r3.Norm(r3.Sub(g.centre, c)) < 1e-6*r })
		if i < 0 || math.Abs(got[i].arc-320*math.Pi/180) > 0.1 || lineAngle(got[i].axis, axis) > 1e-6 || len(got[i].points) > ringPoints {
			t.Errorf("%+v", got)
		}
	})
}

// The same ring twice counts once; short arcs and small circles are left out.
func TestMergedLeavesOut(t *testing.T) {
	z := r3.Vec{Z: 1}
	one := ringAbout(r3.Vec{}, z, 0, 2, 1e-6, 1e-6)
	small := ringAbout(r3.Vec{X: 5}, z, 0, 1e-4, 1e-6, 1e-9)
	short := ringAbout(r3.Vec{X: 9}, z, 0, 2, 1e-6, 1e-6)
	short.arc = leastCover - 0.01
	got := merged([]ring{one, small, one, short}, 1e-3)
	if len(got) != 1 || got[0].arc != one.arc {
		t.Errorf("%+v", got)
	}
	var many []ring
	for i := range mostRingsOfPart + 50 {
		many = append(many, ringAbout(r3.Vec{X: float64(i)}, z, 0, 0.3, 1e-6, 1e-6))
	}
	if got := merged(many, 1e-3); len(got) != mostRingsOfPart {
		t.Errorf("%d rings of %d", len(got), len(many))
	}
	if merged(nil, 1) != nil {
		t.Error("rings of none")
	}
}

// Two pieces are joined by how well each is known.
func TestJoin(t *testing.T) {
	z := r3.Vec{Z: 1}
	a, b := ringAbout(r3.Vec{}, z, 0, 1, 1e-3, 1e-3), ringAbout(r3.Vec{X: 3e-3}, r3.Unit(r3.Vec{X: -2e-3, Z: -1}), 0, 1, 2e-3, 2e-3)
	a.arc, b.arc = 2, 1
	a.join(b)
	if math.Abs(a.centre.X-3e-3/5) > 1e-12 || math.Abs(a.axis.X-2e-3/5) > 1e-8 || math.Abs(a.tilt-2e-3/math.Sqrt(5)) > 1e-12 || a.arc != 3 {
		t.Errorf("%+v", a)
	}
}

// A ring's figures are no better than file rounding allows, and worse for arcs.
func TestRingFloor(t *testing.T) {
	z := r3.Vec{Z: 1}
	known := func(arc float64) ring {
		p := roundPoints(r3.Vec{}, z, 1, arc, 0, 40, nil)
		f, _ := fitCircle(p)
		return clean(9).newRing(f, form{arc: arc}, p)
	}
	whole, half := known(2*math.Pi), known(math.Pi)
	if math.Abs(whole.tilt-fileRounding) > 1e-12 || math.Abs(half.tilt-4*fileRounding) > 1e-12 {
		t.Errorf("known to %g and %g", whole.tilt, half.tilt)
	}
	p := roundPoints(r3.Vec{}, z, 1, 6, 0.01, 40, rand.New(rand.NewPCG(1, 2)))
	f, _ := fitCircle(p)
	if r := clean(9).newRing(f, form{arc: 6}, p); r.tilt != f.tilt || r.shift != f.shift {
		t.Errorf("%g, %g, want %g, %g", r.tilt, r.shift, f.tilt, f.shift)
	}
}
