package fit

import (
	"errors"
	"fmt"
	"math"
	"math/rand"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

var allKinds = append([]Kind{Point}, fittedKinds...)

// lattice returns points of a shape on a regular lattice of angles and
// positions.
func lattice(d Datum, around int, s ...float64) []r3.Vec {
	var pts []r3.Vec
	for _, h := range s {
		for i := range around {
			p, _ := onDatum(d, 2*math.Pi*float64(i)/float64(around), h, 0)
			pts = append(pts, p)
		}
	}
	return pts
}

func TestTooFewPoints(t *testing.T) {
	for _, kind := range allKinds {
		n, _ := need(kind)
		pts := randomPoints(n-1, 1)
		_, err := Fit(kind, pts, Options{})
		var few *CountError
		if !errors.As(err, &few) || few.Have != n-1 || few.Need != n || few.Kind != kind {
			t.Errorf("%s with %d points: got %v", kind, n-1, err)
		}
	}
}

func randomPoints(n int, seed int64) []r3.Vec {
	r := rand.New(rand.NewSource(seed))
	pts := make([]r3.Vec, n)
	for i := range pts {
		pts[i] = r3.Vec{X: r.NormFloat64(), Y: r.NormFloat64(), Z: r.NormFloat64()}
	}
	return pts
}

func TestNotFinite(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, kind := range allKinds {
		for _, robust := range []bool{false, true} {
			for _, bad := range []r3.Vec{{X: nan}, {Y: inf}, {Z: -inf}, {X: 1e308}} {
				pts := randomPoints(20, 2)
				pts[13] = bad
				_, err := Fit(kind, pts, Options{Robust: robust})
				var e *FiniteError
				if !errors.As(err, &e) || e.Index != 13 {
					t.Errorf("%s with %v: got %v", kind, bad, err)
				}
			}
			normals := randomPoints(20, 3)
			normals[4].Y = nan
			_, err := Fit(kind, randomPoints(20, 2), Options{Normals: normals, Robust: robust})
			var e *FiniteError
			if !errors.As(err, &e) || e.Index != 4 || e.What != "normal" {
				t.Errorf("%s with a NaN normal: got %v", kind, err)
			}
		}
	}
}

// Points that do not determine a datum are refused with a DegenerateError,
// near the origin and far from it, in every unit, robustly or not.
func TestDegenerate(t *testing.T) {
	line := Datum{Kind: Line, Axis: oblique}
	circle := Datum{Kind: Circle, Axis: oblique, Radius: 2}
	cylinder := Datum{Kind: Cylinder, Axis: oblique, Radius: 2}
	sphere := Datum{Kind: Sphere, Radius: 2}
	cone := Datum{Kind: Cone, Axis: oblique, HalfAngle: 0.5}
	var coincident, collinear, plane, oneRing, twoGenerators []r3.Vec
	for i := range 12 {
		p, _ := onDatum(line, 0, float64(i*i)/9, 0)
		collinear = append(collinear, p)
		coincident = append(coincident, r3.Vec{X: 1, Y: 2, Z: 3})
		q, _ := onDatum(Datum{Kind: Plane, Axis: oblique}, float64(i), 1+math.Sqrt(float64(i)), 0)
		plane = append(plane, q)
		g, _ := onDatum(cylinder, float64(i%2)*2.1, float64(i), 0)
		twoGenerators = append(twoGenerators, g)
	}
	oneRing = lattice(circle, 12, 0)
	flat := []Kind{Sphere, Cylinder, Cone, Torus}
	const twoRings = "two rings of a cone"
	cases := []struct {
		what  string
		pts   []r3.Vec
		kinds []Kind
	}{
		{"coincident points", coincident, append(flat, Line, Plane, Circle)},
		{"points on a line", collinear, append(flat, Plane, Circle)},
		{"points in a plane", plane, flat},
		{"one ring", oneRing, flat},
		{"two generators", twoGenerators, flat},
		{"points of a cylinder", lattice(cylinder, 12, -1, 0, 2), []Kind{Cone, Torus}},
		{"points of a sphere", lattice(sphere, 12, -1, 0, 0.5, 1), []Kind{Torus}},
		{twoRings, lattice(cone, 12, 2, 5), []Kind{Torus}},
		{"corners of a cube", lattice(Datum{Kind: Cylinder, Axis: r3.Vec{Z: 1}, Radius: math.Sqrt2}, 4, -1, 1), []Kind{Line, Plane}},
	}
	for _, c := range cases {
		for _, kind := range c.kinds {
			for _, far := range []float64{0, 1e3, 1e7} {
				if c.what == twoRings && far > 1e3 {
					continue // rounding singles out the tightest torus there
				}
				for _, scale := range []float64{1, 0.001, 25.4} {
					pts := make([]r3.Vec, len(c.pts))
					for i, p := range c.pts {
						pts[i] = r3.Scale(scale, r3.Add(p, r3.Vec{X: far, Y: -far, Z: far}))
					}
					for _, robust := range []bool{false, true} {
						d, err := Fit(kind, pts, Options{Robust: robust})
						var e *DegenerateError
						if !errors.As(err, &e) || e.Kind != kind {
							t.Errorf("%s as a %s, %g away, scale %g, robust %v: got %+v, %v", c.what, kind, far, scale, robust, d, err)
						}
					}
				}
			}
		}
	}
}

// What rounding or noise makes of a degenerate set is refused as well, or at
// least says how little it knows.
func TestNearlyDegenerate(t *testing.T) {
	r := rand.New(rand.NewSource(5))
	shake := func(p []r3.Vec, e float64) []r3.Vec {
		out := make([]r3.Vec, len(p))
		for i := range p {
			out[i] = r3.Add(p[i], r3.Vec{X: e * r.NormFloat64(), Y: e * r.NormFloat64(), Z: e * r.NormFloat64()})
		}
		return out
	}
	sheet := lattice(Datum{Kind: Plane, Axis: oblique}, 12, 1, 2, 3, 4)
	tube := lattice(Datum{Kind: Cylinder, Axis: oblique, Radius: 2}, 24, -3, -1, 1, 3)
	for _, e := range []float64{1e-7, 1e-4, 1e-2} {
		for _, c := range []struct {
			what string
			pts  []r3.Vec
			kind Kind
		}{
			{"a sheet", sheet, Sphere},
			{"a tube", tube, Cone},
			{"a tube", tube, Torus},
		} {
			d, err := Fit(c.kind, shake(c.pts, e), Options{})
			var deg *DegenerateError
			if errors.As(err, &deg) {
				continue
			}
			if err != nil {
				t.Errorf("%s as a %s with noise %g: %v", c.what, c.kind, e, err)
			}
			unsure := d.SigmaAxis > 0.1 || d.SigmaRadius > 0.2*d.Radius || d.SigmaOrigin > 1 || d.SigmaHalfAngle > 0.3*d.HalfAngle
			if !unsure {
				t.Errorf("%s passes for a %s with noise %g: %+v", c.what, c.kind, e, d)
			}
		}
	}
}

// A ring that noise thickens is a cylinder whose section would be an ellipse
// if it were tilted: noise e hides a tilt of about sqrt(2 e / r).
func TestThickRing(t *testing.T) {
	r := rand.New(rand.NewSource(5))
	for _, e := range []float64{1e-7, 1e-4} {
		pts := lattice(Datum{Kind: Circle, Axis: oblique, Radius: 2}, 24, 0)
		for i := range pts {
			pts[i] = r3.Add(pts[i], r3.Vec{X: e * r.NormFloat64(), Y: e * r.NormFloat64(), Z: e * r.NormFloat64()})
		}
		d, err := FitCylinder(pts, Options{})
		var deg *DegenerateError
		if err != nil && !errors.As(err, &deg) {
			t.Errorf("noise %g: %v", e, err)
		}
		if tilt := lineAngle(d.Axis, oblique); err == nil && tilt > 3*math.Sqrt(e) {
			t.Errorf("noise %g: axis off by %g", e, tilt)
		}
	}
}

func TestBadOptions(t *testing.T) {
	pts := lattice(Datum{Kind: Cylinder, Axis: oblique, Radius: 2}, 8, 0, 1, 2)
	nan := math.NaN()
	for _, o := range []Options{
		{Normals: pts[:3]},
		{Start: &Datum{Kind: Sphere, Radius: 1}},
		{Start: &Datum{Kind: Cylinder, Radius: 1}},
		{Start: &Datum{Kind: Cylinder, Axis: oblique}},
		{Start: &Datum{Kind: Cylinder, Axis: oblique, Radius: nan}},
		{Start: &Datum{Kind: Cylinder, Axis: r3.Vec{X: nan}, Radius: 1}},
		{Start: &Datum{Kind: Cylinder, Axis: oblique, Radius: 1, Origin: r3.Vec{Y: math.Inf(-1)}}},
	} {
		_, err := FitCylinder(pts, o)
		var e *OptionError
		if !errors.As(err, &e) {
			t.Errorf("%+v: got %v, want an OptionError", o, err)
		}
	}
	_, err := FitCone(pts, Options{Start: &Datum{Kind: Cone, Axis: oblique, HalfAngle: 0.3, Origin: r3.Scale(50, oblique)}})
	var e *OptionError
	if !errors.As(err, &e) {
		t.Errorf("a cone that opens away: got %v", err)
	}
	_, err = Fit("egg", pts, Options{})
	var k *KindError
	if !errors.As(err, &k) {
		t.Errorf("an egg: got %v", err)
	}
}

// Every error is one sentence that says what was asked and holds its number.
func TestErrorTexts(t *testing.T) {
	for _, c := range []struct {
		err  error
		want string
	}{
		{&CountError{Kind: Cylinder, Have: 4, Need: 5}, "a cylinder needs at least 5 points, got 4: pick more of the surface"},
		{&FiniteError{Index: 7, What: "point", Value: [3]float64{1, math.NaN(), math.Inf(1)}}, "point 7 is not finite, or out of range: (1, NaN, +Inf)"},
		{&DegenerateError{Kind: Circle, Reason: "all points lie on one line; ratio", Measure: 1e-17}, "the points do not determine a circle: all points lie on one line; ratio (1e-17)"},
		{&AmbiguousError{Kind: Cylinder, Datums: make([]Datum, 3)}, "3 different datums of kind cylinder fit the points equally well: give normals, a start or more points"},
		{&ConvergeError{Iterations: 200, RMS: 0.5, Step: 1e-3}, "least squares gave up after 200 iterations at residual RMS 0.5, last relative change 0.001"},
		{&OptionError{Option: "Start", Reason: "has no axis"}, "fit option Start: has no axis"},
		{&KindError{Kind: "egg", Reason: "not a datum kind"}, `datum kind "egg": not a datum kind`},
	} {
		if got := c.err.Error(); got != c.want || strings.ContainsAny(got, "\n") {
			t.Errorf("got %q, want %q", got, c.want)
		}
	}
}

// No input makes a fit panic or hang, and what it returns is finite.
func FuzzFit(f *testing.F) {
	f.Add(uint8(5), int64(1), uint8(12), 1e-3, 1.0, false)
	f.Add(uint8(7), int64(2), uint8(9), 0.0, 1e-9, true)
	f.Add(uint8(3), int64(3), uint8(4), 1e300, 1e5, false)
	f.Fuzz(func(t *testing.T, kind uint8, seed int64, n uint8, scale, shift float64, robust bool) {
		r := rand.New(rand.NewSource(seed))
		pts := make([]r3.Vec, n)
		coarse := float64(1 + r.Intn(4)) // few distinct coordinates: ties, planes, repeats
		for i := range pts {
			c := func() float64 { return scale*math.Round(coarse*r.NormFloat64())/coarse + shift }
			pts[i] = r3.Vec{X: c(), Y: c(), Z: c()}
		}
		k := allKinds[int(kind)%len(allKinds)]
		d, err := Fit(k, pts, Options{Robust: robust})
		if err != nil {
			return
		}
		if s := fmt.Sprint(d.Origin, d.Axis, d.Radius, d.Radius2, d.HalfAngle, d.RMS, d.FormError, d.Arc); strings.Contains(s, "NaN") || strings.Contains(s, "Inf") {
			t.Errorf("%s of %v: %s", k, pts, s)
		}
	})
}
