package fit

import (
	"fmt"
	"math"
	"math/rand"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

// benchPoints draws n points uniformly on a shape in an oblique pose, 15 to 40
// units large, with noise of 0.01; arc limits the sweep.
func benchPoints(kind Kind, n int, arc float64) []r3.Vec {
	r := rand.New(rand.NewSource(12345))
	d := robustShape(kind)
	if kind == Torus {
		d.Radius, d.Radius2 = 20, 6
	}
	pts := make([]r3.Vec, n)
	for i := range pts {
		s := 30*r.Float64() - 15
		switch kind {
		case Sphere:
			s = math.Asin(2*r.Float64() - 1)
		case Cone:
			s = math.Sqrt(64 + 1536*r.Float64())
		case Torus:
			s = 2 * math.Pi * r.Float64()
		case Plane:
			s = 20 * math.Sqrt(r.Float64())
		}
		p, normal := onDatum(d, arc*r.Float64(), s, 0.01*r.NormFloat64())
		if components(kind) == 2 {
			p = r3.Add(p, r3.Scale(0.01*r.NormFloat64(), r3.Unit(r3.Cross(normal, r3.Vec{X: 0.2, Y: 0.9, Z: 0.1}))))
		}
		pts[i] = p
	}
	return pts
}

func BenchmarkFit(b *testing.B) {
	for _, kind := range fittedKinds {
		for _, n := range []int{1000, 100000} {
			pts := benchPoints(kind, n, 2*math.Pi)
			b.Run(fmt.Sprintf("%s_1e%d", kind, int(math.Log10(float64(n)))), func(b *testing.B) {
				b.ReportAllocs()
				for b.Loop() {
					if _, err := Fit(kind, pts, Options{}); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
		if kind == Line || kind == Plane {
			continue
		}
		pts := benchPoints(kind, 1000, math.Pi/3)
		b.Run(string(kind)+"_arc", func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Fit(kind, pts, Options{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkPass measures one pass of residuals, Jacobian and QR over 1e5
// points, the unit that the iterations are made of.
func BenchmarkPass(b *testing.B) {
	for _, kind := range []Kind{Circle, Sphere, Cylinder, Cone, Torus} {
		pts := benchPoints(kind, 100000, 2*math.Pi)
		c, err := newCloud(pts, nil)
		if err != nil {
			b.Fatal(err)
		}
		f := fitter{kind: kind, solver: newMinimizer()}
		t, err := f.minimise(c, c.spread())
		if err != nil {
			b.Fatal(err)
		}
		b.Run(string(kind), func(b *testing.B) {
			b.ReportAllocs()
			f.solver.fitTo(t.m)
			for b.Loop() {
				f.solver.evaluate(t.m, f.solver.cur)
			}
		})
	}
}

func BenchmarkBest(b *testing.B) {
	pts := benchPoints(Cylinder, 1000, 2*math.Pi)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Best(pts, Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
