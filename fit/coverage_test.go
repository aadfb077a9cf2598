package fit

import (
	"math"
	"math/rand"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

func degrees(list ...float64) []float64 {
	out := make([]float64, len(list))
	for i, d := range list {
		out[i] = math.Remainder(d*math.Pi/180, 2*math.Pi)
	}
	return out
}

func ringOf(n int, from, arc float64) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = from + arc*float64(i)/float64(n)
	}
	return degrees(out...)
}

// A stray vertex anywhere outside an arc adds at most the arc up to it, and
// nothing where it stands alone.
func TestStrayVertex(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(12, 200).Draw(t, "n")
		arc := rapid.Float64Range(20, 150).Draw(t, "arc")
		from := rapid.Float64Range(0, 360).Draw(t, "from")
		share := rapid.Float64Range(0.35, 0.65).Draw(t, "share")
		a := append(ringOf(n, from, arc), degrees(from+arc+share*(360-arc))...)
		got, step := coveredArc(stretches(turnsOf(a)), false)
		want := arc * float64(n-1) / float64(n)
		if math.Abs(got*180/math.Pi-want) > 1e-9 || math.Abs(step*180/math.Pi-want/float64(n-1)) > 1e-9 {
			t.Fatalf("arc %g, step %g, want %g, %g", got*180/math.Pi, step*180/math.Pi, want, want/float64(n-1))
		}
	})
}

func turnsOf(angles []float64) []float64 {
	var out []float64
	for _, a := range angles {
		out = append(out, turnOf(math.Sincos(a)))
	}
	return out
}

// A turn grows with its angle and gives it back.
func TestTurns(t *testing.T) {
	last := math.Inf(-1)
	for i := -720; i <= 720; i++ {
		a := math.Pi * float64(i) / 720
		turn := turnOf(math.Sincos(a))
		wantAbs(t, "angle", angleOf(turn), a, 4e-16*math.Pi)
		if turn <= last {
			t.Fatalf("turn %g of angle %g after %g", turn, a, last)
		}
		last = turn
	}
	for _, c := range [][3]float64{{0, 1, 0}, {1, 0, 1}, {0, -1, 2}, {-1, 0, -1}, {math.Copysign(0, -1), -1, -2}} {
		wantAbs(t, "turn", turnOf(c[0], c[1]), c[2], 0)
	}
}

func TestCoveredArc(t *testing.T) {
	jitter := func(a []float64, copies int, e float64) []float64 {
		r := rand.New(rand.NewSource(1))
		var out []float64
		for _, x := range a {
			for range copies {
				out = append(out, math.Remainder(x+e*r.NormFloat64(), 2*math.Pi))
			}
		}
		return out
	}
	for _, c := range []struct {
		what      string
		angles    []float64
		closed    bool
		arc, step float64 // degrees
		tol       float64
	}{
		{"a closed triangle", ringOf(3, 10, 360), false, 360, 120, 1e-9},
		{"a closed 32-gon", ringOf(32, 3, 360), false, 360, 11.25, 1e-9},
		{"a 32-gon, four rings with noise", jitter(ringOf(32, 3, 360), 4, 1e-3), false, 360, 11.4, 0.2},
		{"a ring with one vertex missing", ringOf(31, 0, 348.75), false, 337.5, 11.25, 1e-9},
		{"the same, said to be closed", ringOf(31, 0, 348.75), true, 360, 22.5, 1e-9},
		{"half a ring", degrees(-90, -60, -30, 0, 30, 60, 90), false, 180, 30, 1e-9},
		{"an arc across the seam", degrees(150, 160, 170, 180, -170, -160), false, 50, 10, 1e-9},
		{"one fifth", degrees(0, 24, 48, 72), false, 72, 24, 1e-9},
		{"two opposite quarters", degrees(0, 15, 30, 45, 60, 75, 90, 180, 195, 210, 225, 240, 255, 270), false, 180, 15, 1e-9},
		{"a third and a stray vertex opposite", degrees(0, 30, 60, 90, 120, 240), false, 120, 30, 1e-9},
		{"half a ring and a stray vertex opposite", append(ringOf(19, 0, 190), degrees(270)...), false, 180, 10, 1e-9},
		{"a ring with a slot and a vertex in it", append(ringOf(31, 0, 279), degrees(315)...), false, 270, 9, 1e-9},
		{"three sectors", append(append(ringOf(7, 0, 70), ringOf(7, 120, 70)...), ringOf(7, 240, 70)...), false, 180, 10, 1e-9},
		{"a hexagon, one side cut in ten", append(ringOf(10, 0, 60), degrees(60, 120, 180, 240, 300)...), false, 360, 60, 1e-9},
		{"a 12-gon, one side cut in twenty", append(ringOf(20, 0, 30), ringOf(11, 30, 330)...), false, 360, 30, 1e-9},
		{"uneven but closed", degrees(0, 80, 170, 280), false, 360, 110, 1e-9},
		{"one point", degrees(40), false, 0, 0, 1e-9},
		{"two points", degrees(40, 60), false, 20, 20, 1e-9},
		{"two points at one angle", degrees(40, 40), false, 0, 0, 1e-9},
		{"two angles, three points each", degrees(40, 40, 40, 100, 100, 100), false, 60, 60, 1e-9},
		{"none", nil, false, 0, 0, 0},
	} {
		arc, step := coveredArc(stretches(turnsOf(c.angles)), c.closed)
		wantAbs(t, c.what+": arc", arc*180/math.Pi, c.arc, c.tol)
		wantAbs(t, c.what+": step", step*180/math.Pi, c.step, c.tol)
	}
}

// The arc does not depend on where the angles start.
func TestCoveredArcTurns(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := rapid.SliceOfN(rapid.Float64Range(-3, 3), 2, 40).Draw(t, "angles")
		turn := rapid.Float64Range(-math.Pi, math.Pi).Draw(t, "turn")
		b := make([]float64, len(a))
		for i := range a {
			b[i] = math.Remainder(a[i]+turn, 2*math.Pi)
		}
		arc1, step1 := coveredArc(stretches(turnsOf(a)), false)
		arc2, step2 := coveredArc(stretches(turnsOf(b)), false)
		if math.Abs(arc1-arc2) > 1e-9 || math.Abs(step1-step2) > 1e-9 {
			t.Fatalf("%g, %g before, %g, %g after the turn", arc1, step1, arc2, step2)
		}
	})
}

// Gathering many angles in bins keeps the large gaps: the brute-force answer
// sorts them all.
func TestStretchesAgainstSorting(t *testing.T) {
	r := rand.New(rand.NewSource(2))
	for _, arc := range []float64{0.3, 2, 6} {
		a := make([]float64, 5*maxAngles)
		for i := range a {
			a[i] = math.Remainder(1+arc*r.Float64(), 2*math.Pi)
		}
		sorted := slices.Clone(a)
		slices.Sort(sorted)
		want := 0.0
		for i := range sorted {
			next := sorted[0] + 2*math.Pi
			if i+1 < len(sorted) {
				next = sorted[i+1]
			}
			want = max(want, next-sorted[i])
		}
		got, _ := coveredArc(stretches(turnsOf(a)), false)
		wantAbs(t, "arc", got, 2*math.Pi-want, 1e-12)
	}
}

func TestSphereArc(t *testing.T) {
	ball := Datum{Kind: Sphere, Origin: r3.Vec{X: 1, Y: 2, Z: 3}, Radius: 2}
	dome := func(from float64, bands int) []r3.Vec {
		var s []float64
		for i := range bands {
			s = append(s, from+(math.Pi/2-from)*float64(i)/float64(bands))
		}
		return append(lattice(ball, 24, s...), r3.Vec{X: 1, Y: 2, Z: 5})
	}
	for _, c := range []struct {
		what string
		pts  []r3.Vec
		want float64
	}{
		{"a cap of 60 degrees", dome(math.Pi/3, 6), 60},
		{"half a sphere", dome(0, 9), 180},
		{"all but a cap of 60 degrees", dome(-math.Pi/3, 15), 300},
		{"a whole sphere", append(dome(-math.Pi/2+0.2, 17), r3.Vec{X: 1, Y: 2, Z: 1}), 360},
	} {
		d, err := FitSphere(c.pts, Options{})
		if err != nil {
			t.Fatal(c.what, err)
		}
		wantAbs(t, c.what, d.Arc*180/math.Pi, c.want, 1e-6)
	}
}

// The form error of a curve is the diameter of its residuals.
func TestDiameterAgainstAllPairs(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 60).Draw(t, "n")
		c := rapid.OneOf(rapid.Float64Range(-1, 1), rapid.Map(rapid.IntRange(-2, 2), func(i int) float64 { return float64(i) }))
		u, v := make([]float64, n), make([]float64, n)
		flat := rapid.Bool().Draw(t, "flat")
		for i := range u {
			u[i] = c.Draw(t, "u")
			if !flat {
				v[i] = c.Draw(t, "v")
			}
		}
		want := 0.0
		for i := range u {
			for j := range u[:i] {
				want = max(want, math.Hypot(u[i]-u[j], v[i]-v[j]))
			}
		}
		if got := diameter(u, v); math.Abs(got-want) > 1e-12 {
			t.Fatalf("diameter %g, want %g", got, want)
		}
	})
}

// The scatter matrix tells the extents of all but thin points as well as their
// triangular factor does; thin ones are left to that.
func TestRoughSpread(t *testing.T) {
	for _, thin := range []float64{1, 0.3, 1e-2, 1e-5} {
		pts := benchPoints(Cylinder, 500, 2)
		for i := range pts {
			h := r3.Dot(oblique, pts[i])
			pts[i] = r3.Add(pts[i], r3.Scale((thin-1)*h, oblique))
		}
		c, err := newCloud(pts, nil)
		if err != nil {
			t.Fatal(err)
		}
		got, want := c.roughSpread(), c.spread()
		for i := range want.value {
			wantRel(t, "extent", got.value[i], want.value[i], 1e-9)
			wantAbs(t, "direction", lineAngle(got.axis[i], want.axis[i]), 0, 1e-9)
		}
	}
}
