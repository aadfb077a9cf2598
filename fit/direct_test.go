package fit

import (
	"math"
	"math/rand"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

// roughPoints draws points of a circle or sphere in an oblique pose: an arc or
// cap of any width in any number of clusters, with noise and with stray points.
func roughPoints(t *rapid.T, kind Kind) []r3.Vec {
	r := rand.New(rand.NewSource(rapid.Int64().Draw(t, "seed")))
	n := rapid.IntRange(sparse+1, 400).Draw(t, "n")
	arc := rapid.Float64Range(0.1, 2*math.Pi).Draw(t, "arc")
	noise := math.Pow(10, rapid.Float64Range(-12, -0.5).Draw(t, "log noise"))
	stray := rapid.SampledFrom([]float64{0, 0, 0.02, 0.2}).Draw(t, "stray")
	clusters := rapid.IntRange(0, 6).Draw(t, "clusters")
	d := Datum{Kind: kind, Origin: r3.Vec{X: 3, Y: -2, Z: 1}, Axis: oblique, Radius: 1}
	pts := make([]r3.Vec, n)
	for i := range pts {
		u, v := r.Float64(), r.Float64()
		if clusters > 0 {
			u = (math.Floor(u*float64(clusters)) + 0.05*r.NormFloat64()) / float64(clusters)
		}
		p, _ := onDatum(d, arc*u, math.Pi/2-arc/2*math.Sqrt(v), 0)
		scatter := r3.Vec{X: r.NormFloat64(), Y: r.NormFloat64(), Z: r.NormFloat64()}
		size := noise
		if r.Float64() < stray {
			size = 1
		}
		pts[i] = r3.Add(p, r3.Scale(size, scatter))
	}
	return pts
}

// What is iterated from the algebraic fit alone is the minimum that the search
// over many starts finds.
func TestDirectIsTheSearchedMinimum(t *testing.T) {
	for _, kind := range []Kind{Circle, Sphere} {
		rapid.Check(t, func(t *rapid.T) {
			c, err := newCloud(roughPoints(t, kind), nil)
			if err != nil {
				t.Fatal(err)
			}
			f := fitter{kind: kind, solver: newMinimizer()}
			got, ok := f.direct(f.newModel(c), c, c.spread())
			if !ok {
				return
			}
			list, err := f.finalists(f.newModel(c), c)
			if err != nil {
				t.Fatalf("the search failed: %v", err)
			}
			round := 1e-15 * math.Sqrt(float64(c.len()))
			if a, b := math.Sqrt(got.ss), math.Sqrt(list[0].ss); a > b*(1+1e-9)+round {
				t.Fatalf("%s: root of the sum of squares %g, the search finds %g", kind, a, b)
			}
		})
	}
}

// Clean full shapes and clean arcs are iterated directly, a ring as thick as it
// is bent and a scatter are not.
func TestDirectKnowsItsLimits(t *testing.T) {
	blob := func(size float64) []r3.Vec {
		r := rand.New(rand.NewSource(4))
		pts := make([]r3.Vec, 300)
		for i := range pts {
			pts[i] = r3.Vec{X: r.NormFloat64(), Y: r.NormFloat64(), Z: size * r.NormFloat64()}
		}
		return pts
	}
	for _, c := range []struct {
		what string
		kind Kind
		pts  []r3.Vec
		want bool
	}{
		{"circle", Circle, benchPoints(Circle, 1000, 2*math.Pi), true},
		{"arc", Circle, benchPoints(Circle, 1000, math.Pi/3), true},
		{"sphere", Sphere, benchPoints(Sphere, 1000, 2*math.Pi), true},
		{"scattered disc", Circle, blob(0.01), false},
		{"scattered ball", Circle, blob(1), false},
		{"scattered ball", Sphere, blob(1), false},
		{"few points", Circle, benchPoints(Circle, sparse, 2*math.Pi), false},
	} {
		cl, err := newCloud(c.pts, nil)
		if err != nil {
			t.Fatal(err)
		}
		f := fitter{kind: c.kind, solver: newMinimizer()}
		if _, ok := f.direct(f.newModel(cl), cl, cl.spread()); ok != c.want {
			t.Errorf("%s as a %s: direct %v, want %v", c.what, c.kind, ok, c.want)
		}
	}
}
