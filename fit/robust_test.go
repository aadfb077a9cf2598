package fit

import (
	"fmt"
	"math"
	"math/rand"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

// spoilt returns n points of a shape with noise, the given fraction of them
// replaced by points anywhere in the box of half-size 20 about the shape, in
// random order, and the good ones alone.
func spoilt(d Datum, n int, fraction, noise float64, seed int64) (all, good []r3.Vec) {
	r := rand.New(rand.NewSource(seed))
	lo, hi := -12.0, 12.0
	switch d.Kind {
	case Cone:
		lo, hi = 8, 30
	case Sphere:
		lo, hi = -1.5, 1.5
	case Torus:
		lo, hi = 0, 2*math.Pi
	}
	for range n - int(fraction*float64(n)) {
		e := noise * r.NormFloat64()
		p, _ := onDatum(d, 2*math.Pi*r.Float64(), lo+(hi-lo)*r.Float64(), e)
		good = append(good, p)
	}
	all = append(all, good...)
	for len(all) < n {
		box := r3.Vec{X: 40*r.Float64() - 20, Y: 40*r.Float64() - 20, Z: 40*r.Float64() - 20}
		all = append(all, r3.Add(d.Origin, box))
	}
	r.Shuffle(len(all), func(i, j int) { all[i], all[j] = all[j], all[i] })
	return all, good
}

func robustShape(kind Kind) Datum {
	d := Datum{Kind: kind, Origin: r3.Vec{X: 15, Y: -8, Z: 4}, Axis: oblique}
	switch kind {
	case Circle, Sphere, Cylinder:
		d.Radius = 10
	case Cone:
		d.HalfAngle = 25 * math.Pi / 180
	case Torus:
		d.Radius, d.Radius2 = 14, 5
	}
	if kind == Sphere {
		d.Axis = r3.Vec{}
	}
	return d
}

// With 40 % gross outliers the robust fit must be as good as the fit to the
// good points alone, while the plain fit is lost.
func TestRobustFortyPercent(t *testing.T) {
	for _, kind := range fittedKinds {
		for _, n := range []int{40, 200, 2000} {
			for seed := int64(1); seed <= 3; seed++ {
				t.Run(fmt.Sprintf("%s/%d/%d", kind, n, seed), func(t *testing.T) {
					all, good := spoilt(robustShape(kind), n, 0.4, 0.01, seed)
					ref, err := Fit(kind, good, Options{})
					if err != nil {
						t.Fatal(err)
					}
					d, err := Fit(kind, all, Options{Robust: true})
					if err != nil {
						t.Fatal(err)
					}
					// An outlier near the surface may pass for a good point and
					// a point at four sigma for an outlier: allow 3 %.
					slack := 2 + n*3/100
					if d.Count+d.Rejected != n || d.Count < len(good)-slack || d.Count > len(good)+slack {
						t.Errorf("count %d, rejected %d; %d are good", d.Count, d.Rejected, len(good))
					}
					if d.RMS > 1.3*ref.RMS {
						t.Errorf("RMS %g, that of the good points is %g", d.RMS, ref.RMS)
					}
					offset, angle := d.Offset(ref)
					if offset > 3*ref.SigmaOrigin || angle > 3*ref.SigmaAxis+1e-12 {
						t.Errorf("off by %g (sigma %g) and %g rad (sigma %g)", offset, ref.SigmaOrigin, angle, ref.SigmaAxis)
					}
					if !(d.SigmaOrigin < 1.5*ref.SigmaOrigin) {
						t.Errorf("sigma of the origin %g, that of the good points is %g", d.SigmaOrigin, ref.SigmaOrigin)
					}
					if plain, err := Fit(kind, all, Options{}); err == nil && plain.RMS < 50*ref.RMS {
						t.Errorf("the outliers are not gross: the plain fit has RMS %g", plain.RMS)
					}
				})
			}
		}
	}
}

// On exact points with a few wrong ones the robust fit is the exact shape.
func TestRobustExact(t *testing.T) {
	for _, kind := range fittedKinds {
		want := robustShape(kind)
		all, good := spoilt(want, 60, 0.25, 0, 4)
		d, err := Fit(kind, all, Options{Robust: true})
		if err != nil {
			t.Fatalf("%s: %v", kind, err)
		}
		sameGeometry(t, d, want, 1e-11)
		if d.Count != len(good) || d.Rejected != len(all)-len(good) {
			t.Errorf("%s: count %d, rejected %d; %d of %d are good", kind, d.Count, d.Rejected, len(good), len(all))
		}
	}
}

// Clean points lose hardly any to the robust fit, whatever their form error.
func TestRobustClean(t *testing.T) {
	for _, kind := range fittedKinds {
		all, _ := spoilt(robustShape(kind), 500, 0, 0.05, 5)
		d, err := Fit(kind, all, Options{Robust: true})
		if err != nil {
			t.Fatalf("%s: %v", kind, err)
		}
		if d.Rejected > 2 {
			t.Errorf("%s: rejected %d of 500 good points", kind, d.Rejected)
		}
	}
	// Lobes are not outliers.
	var ring []r3.Vec
	want := robustShape(Circle)
	for i := range 90 {
		phi := 2 * math.Pi * float64(i) / 90
		p, _ := onDatum(want, phi, 0, 0.3*math.Cos(3*phi))
		ring = append(ring, p)
	}
	d, err := FitCircle(ring, Options{Robust: true})
	if err != nil {
		t.Fatal(err)
	}
	sameGeometry(t, d, want, 1e-12)
	if d.Rejected != 0 {
		t.Errorf("rejected %d points of a lobed ring", d.Rejected)
	}
}

func TestRobustPoint(t *testing.T) {
	r := rand.New(rand.NewSource(6))
	var pts []r3.Vec
	for range 60 {
		pts = append(pts, r3.Vec{X: 1 + 0.01*r.NormFloat64(), Y: 2 + 0.01*r.NormFloat64(), Z: 3 + 0.01*r.NormFloat64()})
	}
	for range 40 {
		pts = append(pts, r3.Vec{X: 10 * r.Float64(), Y: 10 * r.Float64(), Z: 10 * r.Float64()})
	}
	d, err := FitPoint(pts, Options{Robust: true})
	if err != nil {
		t.Fatal(err)
	}
	if r3.Norm(r3.Sub(d.Origin, r3.Vec{X: 1, Y: 2, Z: 3})) > 0.01 || d.Rejected < 38 || d.Rejected > 43 {
		t.Errorf("origin %v, rejected %d of 40", d.Origin, d.Rejected)
	}
}

// The extent and the origin of a robust fit are those of the points it kept.
func TestRobustExtent(t *testing.T) {
	var pts []r3.Vec
	want := Datum{Kind: Cylinder, Axis: r3.Vec{Z: 1}, Radius: 2}
	for i := range 24 {
		for _, h := range []float64{1, 2, 5} {
			p, _ := onDatum(want, 2*math.Pi*float64(i)/24, h, 0)
			pts = append(pts, p)
		}
	}
	pts = append(pts, r3.Vec{X: 30, Z: 400}, r3.Vec{X: -9, Y: 5, Z: -300})
	d, err := FitCylinder(pts, Options{Robust: true})
	if err != nil {
		t.Fatal(err)
	}
	if d.Rejected != 2 {
		t.Errorf("rejected %d, want 2", d.Rejected)
	}
	wantAbs(t, "origin", d.Origin.Z, 8.0/3, 1e-12)
	wantAbs(t, "extent from", d.Extent[0], 1-8.0/3, 1e-12)
	wantAbs(t, "extent to", d.Extent[1], 5-8.0/3, 1e-12)
}

func BenchmarkRobust(b *testing.B) {
	for _, kind := range fittedKinds {
		for _, n := range []int{1000, 100000} {
			all, _ := spoilt(robustShape(kind), n, 0.4, 0.01, 1)
			b.Run(fmt.Sprintf("%s_1e%d", kind, int(math.Log10(float64(n)))), func(b *testing.B) {
				b.ReportAllocs()
				for b.Loop() {
					if _, err := Fit(kind, all, Options{Robust: true}); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
}
