package kinematics

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/fit"
)

// Geometric circle fit: W. Gander, G. H. Golub, R. Strebel, Least-squares fitting
// of circles and ellipses, BIT 34 (1994) 558-578: six points, centre (4.7398,
// 2.9835), radius 4.7142.
func TestFitCirclePublished(t *testing.T) {
	c, ok := fitCircle([]float64{1, 2, 5, 7, 9, 3}, []float64{7, 6, 8, 7, 5, 7})
	if !ok {
		t.Fatal("no circle")
	}
	near(t, "x", c.x, 4.7398, 5e-5)
	near(t, "y", c.y, 2.9835, 5e-5)
	near(t, "r", c.r, 4.7142, 5e-5)
}

func genCirclePoints(t *rapid.T) (xs, ys []float64, want circle) {
	want = circle{rapid.Float64Range(-5, 5).Draw(t, "x"), rapid.Float64Range(-5, 5).Draw(t, "y"), rapid.Float64Range(0.5, 5).Draw(t, "r")}
	n := rapid.IntRange(5, 40).Draw(t, "n")
	arc := rapid.Float64Range(1, 2*math.Pi).Draw(t, "arc")
	for i := range n {
		s, c := math.Sincos(arc * float64(i) / float64(n))
		xs, ys = append(xs, want.x+want.r*c), append(ys, want.y+want.r*s)
	}
	return xs, ys, want
}

func TestFitCircleProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		xs, ys, want := genCirclePoints(t)
		c, ok := fitCircle(xs, ys)
		if !ok {
			t.Fatalf("no circle")
		}
		near(t, "x", c.x, want.x, 1e-11)
		near(t, "y", c.y, want.y, 1e-11)
		near(t, "r", c.r, want.r, 1e-11)
		// With noise: turning, shifting and scaling the points moves the circle so.
		noise := rapid.SliceOfN(rapid.Float64Range(-0.01, 0.01), len(xs), len(xs)).Draw(t, "noise")
		for i := range xs {
			xs[i] += noise[i]
		}
		c, ok = fitCircle(xs, ys)
		if !ok {
			t.Fatalf("no circle for the noisy points")
		}
		w, k := genMotion(0).Draw(t, "turn"), rapid.Float64Range(1e-3, 1e3).Draw(t, "scale")
		w = turn(v3(0, 0, 1), 3*w.X.X)
		place := func(x, y float64) r3.Vec { return r3.Add(r3.Scale(k, w.Turn(v3(x, y, 0))), v3(100, -50, 0)) }
		mx, my := make([]float64, len(xs)), make([]float64, len(xs))
		for i := range xs {
			p := place(xs[i], ys[i])
			mx[i], my[i] = p.X, p.Y
		}
		m, ok := fitCircle(mx, my)
		if !ok {
			t.Fatalf("no circle for the moved points")
		}
		tol := 1e-8 * max(1, k)
		nearVec(t, "moved centre", v3(m.x, m.y, 0), place(c.x, c.y), tol)
		near(t, "scaled radius", m.r, k*c.r, tol)
	})
}

// Oracle: the circle datum fitted in space by its own method.
func TestFitCircleAgainstDatum(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		xs, ys, _ := genCirclePoints(t)
		points := make([]r3.Vec, len(xs))
		for i := range xs {
			xs[i] += rapid.Float64Range(-0.01, 0.01).Draw(t, "noise")
			points[i] = v3(xs[i], ys[i], 3)
		}
		got, ok := fitCircle(xs, ys)
		want, err := fit.FitCircle(points, fit.Options{})
		if !ok || err != nil {
			t.Fatalf("circle %v, datum error %v", ok, err)
		}
		nearVec(t, "centre", v3(got.x, got.y, 3), want.Origin, 1e-7)
		near(t, "radius", got.r, want.Radius, 1e-7)
	})
}

// Oracle: no other circle nearby has a smaller sum of squares.
func TestFitCircleIsLeast(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		xs, ys, _ := genCirclePoints(t)
		for i := range xs {
			xs[i] += rapid.Float64Range(-0.05, 0.05).Draw(t, "noise")
		}
		c, ok := fitCircle(xs, ys)
		if !ok {
			t.Skip("no circle")
		}
		sum := func(c circle) float64 {
			s := 0.0
			for i := range xs {
				d := math.Hypot(xs[i]-c.x, ys[i]-c.y) - c.r
				s += d * d
			}
			return s
		}
		d := rapid.Float64Range(-1e-3, 1e-3)
		other := circle{c.x + d.Draw(t, "dx"), c.y + d.Draw(t, "dy"), c.r + d.Draw(t, "dr")}
		if sum(other) < sum(c)*(1-1e-9) {
			t.Errorf("circle %v has %.12g, %v has %.12g", c, sum(c), other, sum(other))
		}
	})
}

func TestFitLineAndPlane(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(3, 20).Draw(t, "n")
		v := rapid.Float64Range(-5, 5)
		a, b, c := v.Draw(t, "a"), v.Draw(t, "b"), v.Draw(t, "c")
		x, y, z, line := make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
		for i := range n {
			s, cs := math.Sincos(2 * math.Pi * float64(i) / float64(n))
			x[i], y[i] = 3*cs, 2*s
			z[i], line[i] = a+b*x[i]+c*y[i], a+b*x[i]
		}
		at, slope := fitLine(x, line)
		near(t, "line at", at, a, 1e-13)
		near(t, "line slope", slope, b, 1e-13)
		at, sx, sy, ok := fitPlane(x, y, z)
		if !ok {
			t.Fatalf("no plane")
		}
		near(t, "plane at", at, a, 1e-12)
		near(t, "plane slope x", sx, b, 1e-12)
		near(t, "plane slope y", sy, c, 1e-12)
	})
	if at, slope := fitLine([]float64{2, 2}, []float64{5, 7}); at != 6 || slope != 0 {
		t.Errorf("line through one x: %v, %v", at, slope)
	}
}

func TestFitCircleBadInput(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range []struct{ xs, ys []float64 }{
		{nil, nil},
		{[]float64{1, 2}, []float64{1, 2}},
		{[]float64{1, 1, 1, 1}, []float64{2, 2, 2, 2}},
		{[]float64{0, 1, 2, 3}, []float64{0, 1, 2, 3}},
		{[]float64{0, 1, nan, 3}, []float64{0, 1, 5, 3}},
		{[]float64{0, 1, inf, 3}, []float64{0, 1, 5, 3}},
	} {
		if got, ok := fitCircle(c.xs, c.ys); ok {
			t.Errorf("circle through %v, %v: %v", c.xs, c.ys, got)
		}
	}
	if _, _, _, ok := fitPlane([]float64{0, 1, 2}, []float64{0, 1, 2}, []float64{0, 0, 1}); ok {
		t.Error("a plane through points on a line")
	}
}

func BenchmarkFitCircle64(b *testing.B) {
	b.ReportAllocs()
	xs, ys := make([]float64, 64), make([]float64, 64)
	for i := range xs {
		s, c := math.Sincos(2 * math.Pi * float64(i) / 64)
		xs[i], ys[i] = 3+c+1e-3*float64(i%3), 4+s
	}
	for b.Loop() {
		if _, ok := fitCircle(xs, ys); !ok {
			b.Fatal("no circle")
		}
	}
}
