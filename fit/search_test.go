package fit

import (
	"fmt"
	"math"
	"math/rand"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

// patchOf draws n points at random on a piece of a shape: arc radians round
// the axis and about aspect radii along it, with noise of 2 % of the piece's
// depth.
func patchOf(r *rand.Rand, kind Kind, arc, aspect float64, n int) (Datum, []r3.Vec) {
	axis := r3.Unit(r3.Vec{X: r.NormFloat64(), Y: r.NormFloat64(), Z: r.NormFloat64()})
	d := Datum{Kind: kind, Origin: r3.Vec{X: 10 * r.NormFloat64(), Y: 10 * r.NormFloat64()}, Axis: axis, Radius: 1}
	noise := 0.02 * min(1-math.Cos(arc/2), aspect)
	from, to := -aspect/2, aspect/2
	switch kind {
	case Cone:
		d.Radius, d.HalfAngle = 0, 0.1+0.9*r.Float64()
		from = 0.3 / math.Sin(d.HalfAngle)
		to = from + aspect
	case Torus:
		d.Radius2 = 0.1 + 0.6*r.Float64()
		from = 2 * math.Pi * r.Float64()
		to = from + 2*math.Pi*min(1, 0.1+0.9*aspect)
	}
	turn := 2 * math.Pi * r.Float64()
	var pts []r3.Vec
	for range n {
		p, _ := onDatum(d, turn+arc*r.Float64(), from+(to-from)*r.Float64(), noise*r.NormFloat64())
		pts = append(pts, p)
	}
	return d, pts
}

// The search must find the global minimum without normals, on short arcs, on
// long thin and on flat disc-like pieces, from few and from many points: a fit
// started at the true shape never ends lower.
func TestSearchFindsTheGlobalMinimum(t *testing.T) {
	for _, kind := range []Kind{Cylinder, Cone, Torus} {
		few := 12
		if kind == Torus {
			few = 40 // with fewer, several minima are as deep as the noise
		}
		for _, arc := range []float64{20, 45, 90, 180, 360} {
			for _, aspect := range []float64{0.05, 0.3, 1, 4, 30} {
				for _, n := range []int{few, 200, 1500} {
					r := rand.New(rand.NewSource(int64(n)))
					for rep := range 2 {
						name := fmt.Sprintf("%s, arc %g deg, aspect %g, %d points, draw %d", kind, arc, aspect, n, rep)
						truth, pts := patchOf(r, kind, arc*math.Pi/180, aspect, n)
						ref, err := Fit(kind, pts, Options{Start: &truth})
						if err != nil {
							continue // the points do not determine it
						}
						d, err := Fit(kind, pts, Options{})
						if err != nil {
							t.Errorf("%s: %v", name, err)
						} else if d.RMS > ref.RMS*(1+1e-9) {
							t.Errorf("%s: RMS %g, from the truth %g", name, d.RMS, ref.RMS)
						}
					}
				}
			}
		}
	}
}

// A 20 degree arc is fitted, and says how little it knows: the truth lies
// within a few sigma, and sigma is as large as the closed form has it.
func TestShortArcIsHonest(t *testing.T) {
	r := rand.New(rand.NewSource(8))
	want := Datum{Kind: Cylinder, Origin: r3.Vec{X: 4, Y: 5, Z: 6}, Axis: oblique, Radius: 10}
	var pts []r3.Vec
	const n, noise, arc = 4000, 1e-3, math.Pi / 9
	for range n {
		p, _ := onDatum(want, arc*r.Float64(), 20*r.Float64()-10, noise*r.NormFloat64())
		pts = append(pts, p)
	}
	d, err := FitCylinder(pts, Options{})
	if err != nil {
		t.Fatal(err)
	}
	wantAbs(t, "arc (deg)", d.Arc*180/math.Pi, 20, 0.1)
	wantRel(t, "sigma of the origin", d.SigmaOrigin, 220.7*noise/math.Sqrt(n), 0.05)
	wantRel(t, "sigma of the radius", d.SigmaRadius, 219.6*noise/math.Sqrt(n), 0.05)
	if e := math.Abs(d.Radius - want.Radius); e > 4*d.SigmaRadius {
		t.Errorf("radius off by %g, sigma %g", e, d.SigmaRadius)
	}
	if e := lineAngle(d.Axis, want.Axis); e > 4*d.SigmaAxis || d.SigmaAxis > 1e-2 {
		t.Errorf("axis off by %g, sigma %g", e, d.SigmaAxis)
	}
}

// The stated sigmas are those of repeated trials.
func TestSigmasAgainstTrials(t *testing.T) {
	for _, kind := range fittedKinds {
		want := Datum{Kind: kind, Origin: r3.Vec{X: 3, Y: -2, Z: 1}, Axis: oblique, Radius: 4, Radius2: 1.5, HalfAngle: 0.5}
		seen, said := scatter(t, want, 300)
		// 300 trials tell a variance to 8 %.
		check := func(what string, seen, said, low, high float64) {
			if q := math.Sqrt(seen / said); !(q > low && q < high) {
				t.Errorf("%s: scatter of the %s is %.3f of the stated sigma", kind, what, q)
			}
		}
		if kind != Sphere {
			// The angle adds the lesser tilt to the worse one.
			check("axis", seen.SigmaAxis, said.SigmaAxis, 0.88, 1.5)
		}
		switch kind {
		case Circle, Sphere, Cylinder, Torus:
			check("radius", seen.SigmaRadius, said.SigmaRadius, 0.88, 1.12)
		}
		switch kind {
		case Torus:
			check("tube", seen.SigmaRadius2, said.SigmaRadius2, 0.88, 1.12)
		case Cone:
			check("half angle", seen.SigmaHalfAngle, said.SigmaHalfAngle, 0.88, 1.12)
		}
		if kind == Sphere || kind == Circle || kind == Torus {
			check("centre", seen.SigmaOrigin, said.SigmaOrigin, 0.88, 1.8)
		}
	}
}

// scatter fits noisy points many times and returns the summed squares of the
// errors and of the stated sigmas.
func scatter(t *testing.T, want Datum, trials int) (seen, said Quality) {
	r := rand.New(rand.NewSource(21))
	const noise = 1e-3
	for range trials {
		var pts []r3.Vec
		for i := range 60 {
			p, n := onDatum(want, 2.5*float64(i)/60, 1+float64(i*7%60)/12, noise*r.NormFloat64())
			if components(want.Kind) == 2 { // across the curve, both ways
				across := want.Axis
				if want.Kind == Line {
					across = r3.Cross(want.Axis, n)
				}
				p = r3.Add(p, r3.Scale(noise*r.NormFloat64(), across))
			}
			pts = append(pts, p)
		}
		o := Options{Start: &want}
		if want.Kind == Line || want.Kind == Plane {
			o.Start = nil
		}
		d, err := Fit(want.Kind, pts, o)
		if err != nil {
			t.Fatal(want.Kind, err)
		}
		add := func(sum *float64, x float64) { *sum += x * x }
		add(&seen.SigmaAxis, lineAngle(d.Axis, want.Axis))
		add(&seen.SigmaOrigin, r3.Norm(r3.Sub(d.Origin, want.Origin)))
		add(&seen.SigmaRadius, d.Radius-want.Radius)
		add(&seen.SigmaRadius2, d.Radius2-want.Radius2)
		add(&seen.SigmaHalfAngle, d.HalfAngle-want.HalfAngle)
		add(&said.SigmaAxis, d.SigmaAxis)
		add(&said.SigmaOrigin, d.SigmaOrigin)
		add(&said.SigmaRadius, d.SigmaRadius)
		add(&said.SigmaRadius2, d.SigmaRadius2)
		add(&said.SigmaHalfAngle, d.SigmaHalfAngle)
	}
	return seen, said
}

// A sample takes distinct points from every part of the list, the same ones
// each time.
func TestSample(t *testing.T) {
	c := randomCloud(rand.New(rand.NewSource(1)), 1001)
	a, b := c.sample(100), c.sample(100)
	if a.len() != 100 || c.sample(2000) != c {
		t.Fatalf("%d points", a.len())
	}
	seen := map[float64]bool{}
	for i := range a.x {
		if a.x[i] != b.x[i] {
			t.Fatal("two samples differ")
		}
		seen[a.x[i]] = true
	}
	if len(seen) != 100 {
		t.Errorf("%d distinct points of 100", len(seen))
	}
}
