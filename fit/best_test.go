package fit

import (
	"errors"
	"math"
	"math/rand"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

// bestPoints spreads points over a shape, exact but for the noise.
func bestPoints(d Datum, noise float64) (pts, normals []r3.Vec) {
	r := rand.New(rand.NewSource(3))
	s := []float64{-6, -3, 0, 4, 7}
	switch d.Kind {
	case Plane:
		s = []float64{1, 3, 5, 8}
	case Circle:
		s = []float64{0}
	case Sphere:
		s = []float64{-1.2, -0.5, 0, 0.6, 1.1}
	case Cone:
		s = []float64{8, 12, 18, 25}
	case Torus:
		s = []float64{0, 1, 2, 3, 4, 5}
	}
	for _, h := range s {
		for i := range 24 {
			p, n := onDatum(d, 2*math.Pi*float64(i)/24, h, noise*r.NormFloat64())
			if d.Kind == Circle || d.Kind == Line { // both residuals
				p = r3.Add(p, r3.Scale(noise*r.NormFloat64(), anyNormal(n)))
			}
			pts, normals = append(pts, p), append(normals, n)
		}
	}
	return pts, normals
}

func TestBest(t *testing.T) {
	for _, kind := range fittedKinds {
		for _, noise := range []float64{0, 1e-7, 1e-3, 0.05} {
			pts, normals := bestPoints(robustShape(kind), noise)
			d, err := Best(pts, Options{})
			if err != nil {
				t.Fatal(kind, err)
			}
			if d.Kind != kind {
				t.Errorf("a %s with noise %g passes for a %s", kind, noise, d.Kind)
			}
			if components(kind) > 1 {
				continue
			}
			d, err = Best(pts, Options{Normals: normals})
			if err != nil {
				t.Fatal(kind, err)
			}
			if d.Kind != kind {
				t.Errorf("a %s with normals and noise %g passes for a %s", kind, noise, d.Kind)
			}
		}
	}
}

// Two rings lie on a sphere as exactly as on a cylinder, and the sphere is the
// simpler shape: only normals tell.
func TestBestNeedsNormals(t *testing.T) {
	d := robustShape(Cylinder)
	var pts, normals []r3.Vec
	for _, h := range []float64{-4, 4} {
		for i := range 24 {
			p, n := onDatum(d, 2*math.Pi*float64(i)/24, h, 0)
			pts, normals = append(pts, p), append(normals, n)
		}
	}
	if got, err := Best(pts, Options{}); err != nil || got.Kind != Sphere {
		t.Errorf("without normals: %s, %v", got.Kind, err)
	}
	if got, err := Best(pts, Options{Normals: normals}); err != nil || got.Kind != Cylinder {
		t.Errorf("with normals: %s, %v", got.Kind, err)
	}
}

// A hub with lobes is still a cylinder, although a torus or cone always fits
// a little better.
func TestBestOfRoughHub(t *testing.T) {
	r := rand.New(rand.NewSource(9))
	var pts []r3.Vec
	for _, h := range []float64{-4, -1, 2, 5} {
		for i := range 40 {
			phi := 2 * math.Pi * float64(i) / 40
			p, _ := onDatum(robustShape(Cylinder), phi, h, 0.3*math.Cos(2*phi+h/3)+0.02*r.NormFloat64())
			pts = append(pts, p)
		}
	}
	d, err := Best(pts, Options{})
	if err != nil || d.Kind != Cylinder {
		t.Errorf("a rough hub passes for a %s, %v", d.Kind, err)
	}
}

func TestBestRobust(t *testing.T) {
	for _, kind := range []Kind{Plane, Sphere, Cylinder} {
		all, _ := spoilt(robustShape(kind), 200, 0.3, 0.01, 2)
		d, err := Best(all, Options{Robust: true})
		if err != nil || d.Kind != kind {
			t.Errorf("a %s with outliers passes for a %s, %v", kind, d.Kind, err)
		}
	}
}

// The choice does not depend on units or pose.
func TestBestInvariance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		kind := rapid.SampledFrom([]Kind{Plane, Circle, Sphere, Cylinder, Cone}).Draw(t, "kind")
		pts, _ := bestPoints(robustShape(kind), 1e-3)
		m := drawMotion(t)
		there := make([]r3.Vec, len(pts))
		for i, p := range pts {
			there[i] = m.apply(p)
		}
		if d, err := Best(there, Options{}); err != nil || d.Kind != kind {
			t.Fatalf("a %s elsewhere passes for a %s, %v", kind, d.Kind, err)
		}
	})
}

func TestRank(t *testing.T) {
	pts, _ := bestPoints(robustShape(Cylinder), 1e-3)
	list, err := Rank(pts, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(list) < 4 || list[0].Datum.Kind != Cylinder {
		t.Fatalf("%d kinds, first %s", len(list), list[0].Datum.Kind)
	}
	for i := 2; i < len(list); i++ {
		if list[i].Length < list[i-1].Length {
			t.Errorf("%s at %g after %s at %g", list[i].Datum.Kind, list[i].Length, list[i-1].Datum.Kind, list[i-1].Length)
		}
	}
	var few *CountError
	if _, err := Rank(nil, Options{}); !errors.As(err, &few) {
		t.Errorf("no points: %v", err)
	}
	var opt *OptionError
	if _, err := Rank(pts, Options{Start: &Datum{}}); !errors.As(err, &opt) {
		t.Errorf("a start: %v", err)
	}
	var fin *FiniteError
	if _, err := Best([]r3.Vec{{X: math.Inf(1)}}, Options{}); !errors.As(err, &fin) {
		t.Errorf("infinity: %v", err)
	}
	if d, err := Best([]r3.Vec{{X: 1}, {X: 1}, {X: 1}}, Options{}); err != nil || d.Kind != Point {
		t.Errorf("coincident points: %s, %v", d.Kind, err)
	}
}
