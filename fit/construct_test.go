package fit

import (
	"errors"
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

func TestThroughPoints(t *testing.T) {
	c, err := CircleThrough(r3.Vec{X: 1, Y: 1}, r3.Vec{X: 2, Y: 2}, r3.Vec{X: 3, Y: 1})
	if err != nil {
		t.Fatal(err)
	}
	sameGeometry(t, c, Datum{Kind: Circle, Origin: r3.Vec{X: 2, Y: 1}, Axis: r3.Vec{Z: 1}, Radius: 1}, 1e-14)
	s, err := SphereThrough(r3.Vec{X: 1, Z: 1}, r3.Vec{Y: 1, Z: 1}, r3.Vec{X: 1, Y: 2, Z: 1}, r3.Vec{X: 1, Y: 1, Z: 2})
	if err != nil {
		t.Fatal(err)
	}
	sameGeometry(t, s, Datum{Kind: Sphere, Origin: r3.Vec{X: 1, Y: 1, Z: 1}, Radius: 1}, 1e-14)
	m, err := Midpoint(r3.Vec{X: 1}, r3.Vec{X: 3, Y: 4})
	if err != nil {
		t.Fatal(err)
	}
	if m.Origin != (r3.Vec{X: 2, Y: 2}) || m.Kind != Point {
		t.Errorf("midpoint %+v", m)
	}
	l, err := LineThrough(r3.Vec{X: 1}, r3.Vec{X: 1, Z: -4})
	if err != nil {
		t.Fatal(err)
	}
	if l.Origin != (r3.Vec{X: 1, Z: -2}) || l.Axis != (r3.Vec{Z: -1}) || l.Extent != [2]float64{-2, 2} {
		t.Errorf("line %+v", l)
	}
	for _, d := range []Datum{c, s, m, l} {
		if !math.IsNaN(d.SigmaOrigin) || !math.IsNaN(d.SigmaRadius) || d.RMS > 1e-15 {
			t.Errorf("%s through its points has no redundancy, but quality %+v", d.Kind, d.Quality)
		}
	}
}

// Three and four points on a drawn circle and sphere give it back.
func TestThroughPointsProperty(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := Datum{Kind: Circle, Origin: drawVec(t, 100), Axis: drawDirection(t), Radius: rapid.Float64Range(0.1, 50).Draw(t, "r")}
		var p [4]r3.Vec
		for i := range p {
			p[i], _ = onDatum(d, float64(i)*1.7+rapid.Float64Range(0, 0.5).Draw(t, "phi"), 0, 0)
		}
		c, err := CircleThrough(p[0], p[1], p[2])
		if err != nil {
			t.Fatal(err)
		}
		if r3.Norm(r3.Sub(c.Origin, d.Origin)) > 1e-12*(100+d.Radius) || math.Abs(c.Radius-d.Radius) > 1e-12*(100+d.Radius) || lineAngle(c.Axis, d.Axis) > 1e-12*(100/d.Radius+1) {
			t.Fatalf("%+v, want %+v", c, d)
		}
		d.Kind = Sphere
		for i := range p {
			p[i], _ = onDatum(d, float64(i)*1.7, 1.2*float64(i%2)-0.3, 0)
		}
		s, err := SphereThrough(p[0], p[1], p[2], p[3])
		if err != nil {
			t.Fatal(err)
		}
		if r3.Norm(r3.Sub(s.Origin, d.Origin)) > 1e-12*(100+d.Radius) {
			t.Fatalf("%+v, want %+v", s, d)
		}
	})
}

func TestAxisThroughLoops(t *testing.T) {
	top := Datum{Kind: Circle, Origin: r3.Add(r3.Vec{X: 5}, r3.Scale(8, oblique)), Axis: oblique, Radius: 3}
	low := Datum{Kind: Circle, Origin: r3.Vec{X: 5}, Axis: oblique, Radius: 2}
	d, err := AxisThroughLoops(lattice(low, 16, 0), lattice(top, 24, 0))
	if err != nil {
		t.Fatal(err)
	}
	sameGeometry(t, d, Datum{Kind: Line, Origin: r3.Vec{X: 5}, Axis: oblique}, 1e-14)
	if r3.Dot(d.Axis, oblique) < 0 {
		t.Error("the axis does not point from the first loop to the second")
	}
	wantAbs(t, "length", d.Extent[1]-d.Extent[0], 8, 1e-14)
	wantAbs(t, "sagitta", d.Sagitta, 2*(1-math.Cos(math.Pi/16)), 1e-14)
	if d.Count != 40 || d.Arc != 2*math.Pi {
		t.Errorf("quality %+v", d.Quality)
	}
	// Noise e on n points moves a centre by sqrt(2/n) e and tilts the axis by
	// that over the length, from either end.
	const e = 1e-3
	noisy := func(d Datum, n int) (out []r3.Vec) {
		for i := range n {
			p, _ := onDatum(d, 2*math.Pi*float64(i)/float64(n), 0, e*float64(1-2*(i%2)))
			out = append(out, p)
		}
		return out
	}
	d, err = AxisThroughLoops(noisy(low, 64), noisy(top, 64))
	if err != nil {
		t.Fatal(err)
	}
	s := e * math.Sqrt(64.0/61)
	wantRel(t, "sigma axis", d.SigmaAxis, s*math.Sqrt(2.0/64)*math.Sqrt2/8, 1e-5)
	wantRel(t, "sigma origin", d.SigmaOrigin, s*math.Sqrt(2.0/64)/math.Sqrt2, 1e-5)
	wantRel(t, "RMS", d.RMS, e, 1e-5)
}

// The area centroid does not care how vertices crowd along the loop, nor where
// it starts or which way it runs; the mean of the vertices does.
func TestAreaCentroid(t *testing.T) {
	square := []r3.Vec{{X: 0}, {X: 4}, {X: 4, Y: 2}, {Y: 2}}
	crowded := []r3.Vec{{X: 0}, {X: 1}, {X: 1.5}, {X: 1.7}, {X: 4}, {X: 4, Y: 2}, {Y: 2}}
	triangle := []r3.Vec{{}, {X: 3}, {Y: 3}}
	ell := []r3.Vec{{}, {X: 2}, {X: 2, Y: 1}, {X: 1, Y: 1}, {X: 1, Y: 2}, {Y: 2}}
	for _, c := range []struct {
		loop []r3.Vec
		want r3.Vec
	}{
		{square, r3.Vec{X: 2, Y: 1}},
		{crowded, r3.Vec{X: 2, Y: 1}},
		{triangle, r3.Vec{X: 1, Y: 1}},
		{ell, r3.Vec{X: 5.0 / 6, Y: 5.0 / 6}}, // squares at (1/2,1/2), (3/2,1/2), (1/2,3/2)
	} {
		for turn := range c.loop {
			for _, back := range []bool{false, true} {
				loop := append(append([]r3.Vec(nil), c.loop[turn:]...), c.loop[:turn]...)
				if back {
					for i, j := 0, len(loop)-1; i < j; i, j = i+1, j-1 {
						loop[i], loop[j] = loop[j], loop[i]
					}
				}
				f := poseAlong(oblique, r3.Vec{X: 1})
				for i, p := range loop {
					loop[i] = r3.Add(r3.Vec{X: 100, Y: 200, Z: 300}, f.world(p))
				}
				d, err := AreaCentroid(loop)
				if err != nil {
					t.Fatal(err)
				}
				want := r3.Add(r3.Vec{X: 100, Y: 200, Z: 300}, f.world(c.want))
				if r3.Norm(r3.Sub(d.Origin, want)) > 1e-12 {
					t.Errorf("centroid %v, want %v", d.Origin, want)
				}
			}
		}
	}
}

func TestConstructBadInput(t *testing.T) {
	nan := r3.Vec{X: math.NaN()}
	p := r3.Vec{X: 1, Y: 2, Z: 3}
	var deg *DegenerateError
	var fin *FiniteError
	var few *CountError
	for what, err := range map[string]error{
		"equal points on a line":   second(LineThrough(p, p)),
		"collinear circle":         second(CircleThrough(r3.Vec{}, p, r3.Scale(2, p))),
		"coplanar sphere":          second(SphereThrough(r3.Vec{}, r3.Vec{X: 1}, r3.Vec{Y: 1}, r3.Vec{X: 1, Y: 1})),
		"a loop without area":      second(AreaCentroid([]r3.Vec{{}, {X: 1}, {X: 2}})),
		"concentric loops":         second(AxisThroughLoops(lattice(robustShape(Circle), 8, 0), lattice(robustShape(Circle), 12, 0))),
		"a collinear loop":         second(AxisThroughLoops([]r3.Vec{{}, p, r3.Scale(2, p)}, lattice(robustShape(Circle), 12, 0))),
		"a second, collinear loop": second(AxisThroughLoops(lattice(robustShape(Circle), 12, 0), []r3.Vec{{}, p, r3.Scale(2, p)})),
	} {
		if !errors.As(err, &deg) {
			t.Errorf("%s: got %v", what, err)
		}
	}
	for what, err := range map[string]error{
		"midpoint": second(Midpoint(nan, p)), "line": second(LineThrough(p, nan)),
		"circle": second(CircleThrough(p, nan, p)), "centroid": second(AreaCentroid([]r3.Vec{p, {}, nan})),
	} {
		if !errors.As(err, &fin) {
			t.Errorf("%s with NaN: got %v", what, err)
		}
	}
	if err := second(AreaCentroid([]r3.Vec{p, nan})); !errors.As(err, &few) {
		t.Errorf("a loop of two: got %v", err)
	}
	if err := second(LoopCentre([]r3.Vec{p, p}, true)); !errors.As(err, &few) {
		t.Errorf("a loop of two: got %v", err)
	}
}

func second(_ Datum, err error) error { return err }
