package find

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/fit"
)

// roundPoints lists n points of an arc, each coordinate with noise.
func roundPoints(c, axis r3.Vec, radius, arc, sigma float64, n int, rng *rand.Rand) []r3.Vec {
	x := across(axis)
	y := r3.Cross(axis, x)
	p := make([]r3.Vec, n)
	for i := range p {
		s, cos := math.Sincos(arc * float64(i) / float64(n))
		p[i] = r3.Add(c, r3.Add(r3.Scale(radius*cos, x), r3.Scale(radius*s, y)))
		if sigma > 0 {
			p[i] = r3.Add(p[i], r3.Scale(sigma, r3.Vec{X: rng.NormFloat64(), Y: rng.NormFloat64(), Z: rng.NormFloat64()}))
		}
	}
	return p
}

func drawCircle(t *rapid.T) (c, axis r3.Vec, radius float64) {
	one := rapid.Float64Range(-1, 1)
	radius = math.Pow(10, rapid.Float64Range(-3, 3).Draw(t, "decade"))
	c = r3.Scale(20*radius, r3.Vec{X: one.Draw(t, "x"), Y: one.Draw(t, "y"), Z: one.Draw(t, "z")})
	axis = r3.Unit(r3.Vec{X: one.Draw(t, "ax"), Y: one.Draw(t, "ay"), Z: 0.1 + math.Abs(one.Draw(t, "az"))})
	return c, axis, radius
}

func TestFitCircleExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, axis, r := drawCircle(t)
		arc := rapid.Float64Range(0.8, 2*math.Pi).Draw(t, "arc")
		f, ok := fitCircle(roundPoints(c, axis, r, arc, 0, rapid.IntRange(4, 90).Draw(t, "n"), nil))
		if !ok || r3.Norm(r3.Sub(f.centre, c)) > 1e-9*r || lineAngle(f.axis, axis) > 1e-9 || math.Abs(f.radius-r) > 1e-9*r {
			t.Fatalf("got %+v, want %v %v %g", f, c, axis, r)
		}
		if f.tilt > 1e-9 || f.shift > 1e-9*r {
			t.Errorf("exact points leave %g rad, %g", f.tilt, f.shift)
		}
	})
}

// The orthogonal fit is the oracle; the two differ by second order.
func TestFitCircleAgainstOrthogonal(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, axis, r := drawCircle(t)
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		p := roundPoints(c, axis, r, rapid.Float64Range(2, 2*math.Pi).Draw(t, "arc"), 1e-3*r, rapid.IntRange(12, 80).Draw(t, "n"), rng)
		f, ok := fitCircle(p)
		want, err := fit.FitCircle(p, fit.Options{})
		if !ok || err != nil {
			t.Fatal(ok, err)
		}
		near := func(what string, got, want, off float64) {
			if !(math.Abs(got-want) <= off) {
				t.Errorf("%s %g, want %g", what, got, want)
			}
		}
		near("centre off by", r3.Norm(r3.Sub(f.centre, want.Origin)), 0, 0.1*want.SigmaOrigin)
		near("axis off by", lineAngle(f.axis, want.Axis), 0, 0.1*want.SigmaAxis)
		near("radius", f.radius, want.Radius, 0.1*want.SigmaRadius)
		near("tilt", f.tilt, want.SigmaAxis, 0.1*want.SigmaAxis)
	})
}

// The true axis lies within three standard deviations nearly always.
func TestFitCircleSigmasCover(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for _, arc := range []float64{2 * math.Pi, math.Pi} {
		tilted, shifted := 0, 0
		const runs = 400
		for range runs {
			f, ok := fitCircle(roundPoints(r3.Vec{}, r3.Vec{Z: 1}, 1, arc, 0.01, 40, rng))
			if !ok {
				t.Fatal("no circle")
			}
			if lineAngle(f.axis, r3.Vec{Z: 1}) <= 3*f.tilt {
				tilted++
			}
			if math.Hypot(f.centre.X, f.centre.Y) <= 3*f.shift {
				shifted++
			}
		}
		if tilted < runs*95/100 || shifted < runs*95/100 {
			t.Errorf("arc %g: of %d axes %d, of as many centres %d are within 3 sigma", arc, runs, tilted, shifted)
		}
	}
}

func TestFitCircleRefuses(t *testing.T) {
	line := []r3.Vec{{}, {X: 1}, {X: 2}, {X: 3}, {X: 5}}
	same := []r3.Vec{{X: 1}, {X: 1}, {X: 1}, {X: 1}}
	for name, p := range map[string][]r3.Vec{"line": line, "one place": same, "two points": line[:2], "none": nil} {
		if f, ok := fitCircle(p); ok {
			t.Errorf("%s: %+v", name, f)
		}
	}
}

func TestInverse(t *testing.T) {
	m := [3][3]float64{{4, 1, 0}, {1, 3, -1}, {0, -1, 2}}
	inv, ok := inverse(m)
	if !ok {
		t.Fatal("no inverse")
	}
	for i := range 3 {
		for j := range 3 {
			got, want := 0.0, 0.0
			for k := range 3 {
				got += m[i][k] * inv[k][j]
			}
			if i == j {
				want = 1
			}
			if math.Abs(got-want) > 1e-15 {
				t.Errorf("m inv [%d][%d] = %g", i, j, got)
			}
		}
	}
	if _, ok := inverse([3][3]float64{{1, 2, 3}, {2, 4, 6}, {3, 6, 9}}); ok {
		t.Error("a singular matrix has an inverse")
	}
}

func BenchmarkFitCircle(b *testing.B) {
	b.ReportAllocs()
	p := roundPoints(r3.Vec{X: 3}, r3.Vec{Z: 1}, 1, 2*math.Pi, 1e-3, 64, rand.New(rand.NewPCG(1, 1)))
	for b.Loop() {
		fitCircle(p)
	}
}
