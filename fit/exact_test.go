package fit

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

// The answers here are closed forms: the gradient of the sum of squares
// vanishes by symmetry, because the harmonics k >= 2 are orthogonal to 1, cos
// and sin over equal steps. They hold for n that divides neither k-1, k, k+1.

var oblique = r3.Unit(r3.Vec{X: 0.3, Y: -0.5, Z: 0.8})

func TestLobedShapes(t *testing.T) {
	centre := r3.Vec{X: 15, Y: -8, Z: 4}
	for _, k := range []int{2, 3, 5} {
		for _, n := range []int{13, 32} {
			const lobe = 0.05
			wave := func(i int) float64 { return lobe * math.Cos(2*math.Pi*float64(i*k)/float64(n)) }
			ring := func(d Datum, s ...float64) (pts []r3.Vec) {
				for _, at := range s {
					for i := range n {
						p, _ := onDatum(d, 2*math.Pi*float64(i)/float64(n), at, wave(i))
						pts = append(pts, p)
					}
				}
				return pts
			}
			for _, c := range []struct {
				d Datum
				s []float64
			}{
				{Datum{Kind: Circle, Origin: centre, Axis: oblique, Radius: 6}, []float64{0}},
				{Datum{Kind: Cylinder, Origin: centre, Axis: oblique, Radius: 6}, []float64{-4, 5}},
				{Datum{Kind: Cylinder, Origin: centre, Axis: oblique, Radius: 6}, []float64{-1, 0, 0.5, 2}},
				{Datum{Kind: Cone, Origin: centre, Axis: oblique, HalfAngle: 0.4}, []float64{5, 9, 12}},
				{Datum{Kind: Torus, Origin: centre, Axis: oblique, Radius: 10, Radius2: 3}, []float64{0, 1.1, 2.3, 3.5, 5.2}},
			} {
				t.Run(fmt.Sprintf("%s/k%d/n%d/rings%d", c.d.Kind, k, n, len(c.s)), func(t *testing.T) {
					d, err := Fit(c.d.Kind, ring(c.d, c.s...), Options{})
					if err != nil {
						t.Fatal(err)
					}
					sameGeometry(t, d, c.d, 1e-12)
					wantRel(t, "RMS", d.RMS, lobe/math.Sqrt2, 1e-12)
					wantAbs(t, "arc", d.Arc, 2*math.Pi, 0)
					low, high := 0.0, 0.0 // +1 and -1 need not both be sampled
					for i := range n {
						low, high = min(low, wave(i)), max(high, wave(i))
					}
					wantAbs(t, "form error", d.FormError, high-low, 1e-13)
				})
			}
		}
	}
}

// The octahedron with two axes stretched and squeezed by A: centre and radius
// stay, RMS is A sqrt(2/3).
func TestStretchedOctahedron(t *testing.T) {
	c, r, a := r3.Vec{X: 1, Y: 2, Z: 3}, 5.0, 0.25
	pts := []r3.Vec{
		{X: r + a}, {X: -r - a}, {Y: r - a}, {Y: a - r}, {Z: r}, {Z: -r},
	}
	for i := range pts {
		pts[i] = r3.Add(pts[i], c)
	}
	d, err := FitSphere(pts, Options{})
	if err != nil {
		t.Fatal(err)
	}
	sameGeometry(t, d, Datum{Kind: Sphere, Origin: c, Radius: r}, 1e-13)
	wantRel(t, "RMS", d.RMS, a*math.Sqrt(2.0/3), 1e-12)
	wantRel(t, "form error", d.FormError, 2*a, 1e-12)
}

// Corners at the height h of the sign of x y: the plane is z = 0.
func TestSaddlePlane(t *testing.T) {
	const h = 0.3
	var pts []r3.Vec
	for _, x := range []float64{-1, 1} {
		for _, y := range []float64{-1, 1} {
			pts = append(pts, r3.Vec{X: x, Y: y, Z: h * x * y})
		}
	}
	d, err := FitPlane(pts, Options{})
	if err != nil {
		t.Fatal(err)
	}
	sameGeometry(t, d, Datum{Kind: Plane, Axis: r3.Vec{Z: 1}}, 1e-15)
	wantRel(t, "RMS", d.RMS, h, 1e-14)
	wantRel(t, "form error", d.FormError, 2*h, 1e-14)
	wantRel(t, "sigma axis", d.SigmaAxis, 2*h/2, 1e-14) // s = 2h with 4 - 3 degrees of freedom, extent 2
}

// TestArcTable checks the standard deviations of a circle known from an arc.
// Closed form for n points spread evenly over the half-width a, noise sigma:
// with m1 = sin(a)/a, m2 = 1/2 + sin(2a)/(4a) and D = m2 - m1^2 the variances
// are sigma^2/(n D) along the bisector, sigma^2/(n (1-m2)) across, and
// sigma^2 m2/(n D) for the radius. The factors multiply sigma/sqrt(n). Derived
// from the normal equations; N. Chernov, Circular and Linear Regression
// (2010), ch. 7 treats the subject.
func TestArcTable(t *testing.T) {
	for _, row := range []struct{ arc, x, y, r float64 }{
		{360, 1.41421356237, 1.41421356237, 1.0},
		{270, 1.8141877144, 1.28447802102, 1.13860580935},
		{180, 3.2493014897, 1.41421356237, 2.29760311749},
		{120, 6.61825888605, 1.84662944951, 5.5638594249},
		{90, 11.3662661112, 2.34603426824, 10.2819791462},
		{60, 24.9531104881, 3.40003659021, 23.8494393543},
		{45, 43.9818839903, 4.47922582354, 42.8718060655},
		{30, 98.3548647288, 6.66146228959, 97.2403280468},
		{20, 220.697093398, 9.95420058317, 219.580606161},
		{10, 881.348683825, 19.8629615349, 880.231035386},
	} {
		const n, noise = 20000, 1e-9
		var pts []r3.Vec
		want := Datum{Kind: Circle, Axis: r3.Vec{Z: 1}, Radius: 1}
		for i := range n {
			phi := (float64(i) + 0.5) / n * row.arc * math.Pi / 180
			// Alternating noise sums to zero against every smooth function.
			p, _ := onDatum(want, phi, 0, noise*float64(1-2*(i%2)))
			pts = append(pts, p)
		}
		d, err := FitCircle(pts, Options{})
		if err != nil {
			t.Fatal(row.arc, err)
		}
		unit := noise / math.Sqrt(n)
		wantRel(t, fmt.Sprintf("arc %g: sigma of the centre", row.arc), d.SigmaOrigin/unit, max(row.x, row.y), 2e-4)
		wantRel(t, fmt.Sprintf("arc %g: sigma of the radius", row.arc), d.SigmaRadius/unit, row.r, 2e-4)
		wantAbs(t, "arc (deg)", d.Arc*180/math.Pi, min(360, row.arc), row.arc/n*1.01)
	}
}

// TestTessellation checks sagitta r (1 - cos(pi/n)) and the error of taking
// vertices 0 and n/2 for opposite: 0 for even n, r sin(pi/(2n)) for odd n.
// Closed form.
func TestTessellation(t *testing.T) {
	for _, row := range []struct {
		n              int
		sagitta, error float64
	}{
		{5, 0.190983005625053, 0.309016994374947},
		{6, 0.133974596215561, 0},
		{8, 0.0761204674887132, 0},
		{12, 0.0340741737109317, 0},
		{16, 0.0192147195967696, 0},
		{17, 0.0170269003160982, 0.092268359463302},
		{24, 0.00855513862618959, 0},
		{31, 0.00513067660810485, 0.0506491688387127},
		{32, 0.00481527332780311, 0},
		{48, 0.00214107676139649, 0},
		{64, 0.00120454379482761, 0},
		{96, 0.000535412523634356, 0},
	} {
		var loop []r3.Vec
		ring := Datum{Kind: Circle, Axis: r3.Vec{Z: 1}, Radius: 1, Origin: r3.Vec{X: 3, Y: -1, Z: 2}}
		for i := range row.n {
			p, _ := onDatum(ring, 2*math.Pi*float64(i)/float64(row.n), 0, 0)
			loop = append(loop, p)
		}
		d, err := FitCircle(loop, Options{})
		if err != nil {
			t.Fatal(err)
		}
		wantAbs(t, "arc", d.Arc, 2*math.Pi, 0)
		wantAbs(t, "sagitta", d.Sagitta, row.sagitta, 2e-15)
		c, err := Compare(Pick{Loop: loop})
		if err != nil {
			t.Fatal(err)
		}
		a, b := c.Alternatives[0], c.Alternatives[1]
		if a.Name != OppositeVertices || b.Name != LoopCircle {
			t.Fatalf("alternatives %q, %q", a.Name, b.Name)
		}
		wantAbs(t, fmt.Sprintf("n %d: midpoint error", row.n), c.Differences[0].Offset, row.error, 2e-15)
	}
}

// Two rings of a tessellated cylinder lie on spheres, cones and other
// quadrics too; the cylinder itself must come out exactly, however flat or
// long it is.
func TestTwoRings(t *testing.T) {
	for _, aspect := range []float64{1e-3, 0.05, 1, 20, 1000} {
		for _, n := range []int{5, 6, 12, 96} {
			want := Datum{Kind: Cylinder, Origin: r3.Vec{X: 5, Y: 6, Z: 7}, Axis: oblique, Radius: 2}
			var pts, normals []r3.Vec
			for _, h := range []float64{-aspect, aspect} {
				for i := range n {
					p, q := onDatum(want, 2*math.Pi*float64(i)/float64(n), h, 0)
					pts, normals = append(pts, p), append(normals, q)
				}
			}
			for _, o := range []Options{{}, {Normals: normals}} {
				d, err := FitCylinder(pts, o)
				if err != nil {
					t.Fatalf("aspect %g, n %d: %v", aspect, n, err)
				}
				sameGeometry(t, d, want, 2e-14/min(aspect, 1)*max(aspect, 1))
			}
		}
	}
}

// The corners of a cube lie on three equal cylinders: without normals there
// is no answer, with them or with a start there is.
func TestCubeIsAmbiguous(t *testing.T) {
	var pts, normals []r3.Vec
	for _, x := range []float64{-1, 1} {
		for _, y := range []float64{-1, 1} {
			for _, z := range []float64{-1, 1} {
				pts = append(pts, r3.Vec{X: x, Y: y, Z: z})
				normals = append(normals, r3.Vec{X: x, Z: z})
			}
		}
	}
	_, err := FitCylinder(pts, Options{})
	var amb *AmbiguousError
	if !errors.As(err, &amb) || len(amb.Datums) != 3 {
		t.Fatalf("got %v, want an AmbiguousError with 3 cylinders", err)
	}
	want := Datum{Kind: Cylinder, Axis: r3.Vec{Y: 1}, Radius: math.Sqrt2}
	d, err := FitCylinder(pts, Options{Normals: normals})
	if err != nil {
		t.Fatal(err)
	}
	sameGeometry(t, d, want, 1e-13)
	start := Datum{Kind: Cylinder, Axis: r3.Vec{X: 0.2, Y: -1, Z: 0.1}, Radius: 1}
	d, err = FitCylinder(pts, Options{Start: &start})
	if err != nil {
		t.Fatal(err)
	}
	sameGeometry(t, d, want, 1e-13)
	if r3.Dot(d.Axis, start.Axis) < 0 {
		t.Errorf("axis %v points against the start's", d.Axis)
	}
}
