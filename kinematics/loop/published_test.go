package loop

import (
	"math"
	"testing"

	"pintle/kinematics"
)

// norton is the four-bar of R. L. Norton, Design of Machinery, Example 4-1 (and
// 6-7): a = 40, b = 120, c = 80, d = 100, theta2 = 40 deg.
var norton = FourBar{Crank: 40, Coupler: 120, Rocker: 80, Ground: 100}

// Published: theta3 20.30 / -60.98, theta4 57.33 / -98.01; the further digits
// are recomputed.
func TestFourBarOfTheBook(t *testing.T) {
	for _, c := range []struct {
		Circuit
		theta3, theta4, x, y float64
	}{
		{Open, 20.29788278819647, 57.32488007036079, 143.189988210485, 67.3396236875301},
		{Crossed, -60.97796679586443, -98.00496407802875, 88.859288258094, -79.2204805708963},
	} {
		s, ok := norton.At(deg(40), c.Circuit)
		if !ok {
			t.Fatal("the linkage does not close")
		}
		near(t, "theta3", s.Coupler, deg(c.theta3), 1e-13)
		near(t, "theta4", s.Rocker, deg(c.theta4), 1e-13)
		near(t, "B x", s.B[0], c.x, 1e-11)
		near(t, "B y", s.B[1], c.y, 1e-11)
		k1, k2, k3 := 2.5, 1.25, 0.5625 // of Freudenstein's equation, from the book
		near(t, "Freudenstein's equation", k1*math.Cos(s.Rocker)-k2*math.Cos(deg(40))+k3, math.Cos(deg(40)-s.Rocker), 1e-13)

		// Modelled at 100 degrees, driven to 40.
		l := mechanism(t, 3, bars(norton, deg(100), c.Circuit), 1, []int{0}, Options{})
		v := solve(t, l, l.Zero(), deg(-60))
		from, _ := norton.At(deg(100), c.Circuit)
		nearTurn(t, "coupler", v[0]+v[1], deg(c.theta3)-from.Coupler, 1e-12)
		nearTurn(t, "rocker", v[2], deg(c.theta4)-from.Rocker, 1e-12)
		angle, length := openings(l, v)
		near(t, "angle left", angle, 0, 1e-12)
		near(t, "length left", length, 0, 1e-11)
	}
	for deg2, want := range map[float64]float64{0: 26.384329749408, 180: 86.416678301528} {
		s, _ := norton.At(deg(deg2), Open)
		near(t, "transmission angle", s.Transmission, deg(want), 1e-12)
	}
}

// Rates of Norton, Example 6-7: omega2 = 25 gives omega3 = -4.121, omega4 =
// 6.998 on the open circuit. Here by differences of solutions.
func TestFourBarRatesOfTheBook(t *testing.T) {
	l := mechanism(t, 3, bars(norton, deg(40), Open), 1, []int{0}, Options{})
	const h = 1e-4
	p, q := solve(t, l, l.Zero(), h), solve(t, l, l.Zero(), -h)
	near(t, "omega4", 25*(p[2]-q[2])/(2*h), 6.99798524217677, 1e-6)
	near(t, "omega3", 25*(p[0]+p[1]-q[0]-q[1])/(2*h), -4.1209144153477, 1e-6)
}

// Rocker limits of the same linkage, stretched and folded: closed form.
func TestDeadPointsOfTheRocker(t *testing.T) {
	l := mechanism(t, 3, bars(norton, deg(40), Open), 1, []int{0}, Options{})
	start, _ := norton.At(deg(40), Open)
	dead, changes, err := l.DeadPoints(background(t), l.Zero(), 0)
	if err != nil || len(changes) != 0 {
		t.Fatal(changes, err)
	}
	want := map[float64]float64{231.317812546511: 128.682187453489, 24.1468479965024 + 360: 54.9003678046065}
	found := 0
	for _, d := range dead {
		if d.Value != 2 {
			continue
		}
		for crank, rocker := range want {
			if math.Abs(d.Drive+deg(40)-deg(crank)) < 1e-9 {
				near(t, "rocker", d.Values[2]+start.Rocker, deg(rocker), 1e-12)
				found++
			}
		}
	}
	if found != 2 {
		t.Errorf("%d of the 2 limits were found among %+v", found, dead)
	}

	r, err := l.Reach(background(t), l.Zero(), 0)
	if err != nil || !math.IsInf(r.Range.Lower, -1) || !math.IsInf(r.Range.Upper, 1) || r.Upper.Reason != FullTurn {
		t.Errorf("the crank reaches %+v, %v", r, err)
	}
	if l, err = l.WithDrivers([]int{2}); err != nil {
		t.Fatal(err)
	}
	if r, err = l.Reach(background(t), l.Zero(), 0); err != nil {
		t.Fatal(err)
	}
	near(t, "lower", r.Range.Lower+start.Rocker, deg(54.9003678046065), 1e-12)
	near(t, "upper", r.Range.Upper+start.Rocker, deg(128.682187453489), 1e-12)
	near(t, "swing", r.Range.Span(), deg(73.781819648883), 1e-12)
	if r.Lower.Reason != DeadPoint || r.Upper.Reason != DeadPoint || r.Upper.Value != 2 {
		t.Errorf("the rocker ends at %+v and %+v", r.Lower, r.Upper)
	}
}

// Grashof's cases: from memory, each swept by closing the loop over the turn.
func TestGrashof(t *testing.T) {
	for _, c := range []struct {
		f           FourBar
		class       Class
		crank, rock bool // turn fully
	}{
		{FourBar{40, 120, 80, 100}, CrankRocker, true, false},
		{FourBar{100, 120, 80, 40}, DoubleCrank, true, true},
		{FourBar{100, 40, 120, 80}, DoubleRocker, false, false},
		{FourBar{80, 100, 40, 120}, RockerCrank, false, true},
		{FourBar{70, 120, 80, 100}, TripleRocker, false, false},
		{FourBar{60, 120, 80, 100}, ChangePoint, true, false},
		{FourBar{50, 90, 50, 90}, Parallelogram, true, true},
		{FourBar{10, 20, 30, 100}, Impossible, false, false},
	} {
		if got := c.f.Class(0); got != c.class {
			t.Errorf("%+v is a %s, want %s", c.f, got, c.class)
		}
		if c.class == Impossible || c.class == ChangePoint {
			continue
		}
		at := 0.0 // an angle that it reaches
		for _, ok := c.f.At(at, Open); !ok; _, ok = c.f.At(at, Open) {
			at += 0.1
		}
		l := mechanism(t, 3, bars(c.f, at+0.05, Open), 1, []int{0}, Options{})
		for k, full := range map[int]bool{0: c.crank, 2: c.rock} {
			d, err := l.WithDrivers([]int{k})
			if err != nil {
				t.Fatal(err)
			}
			r, err := d.Reach(background(t), d.Zero(), 0)
			if err != nil {
				t.Fatal(err)
			}
			if got := math.IsInf(r.Range.Span(), 1); got != full {
				t.Errorf("%s: joint %d turns fully: %v, want %v (%+v)", c.class, k, got, full, r)
			}
		}
	}
}

// slider are the joints of a slider-crank with its crank at theta2. Parts:
// crank, rod, slider; the slider's way closes the loop.
func slider(s SliderCrank, theta2 float64, c Circuit) []kinematics.Joint {
	x, _ := s.At(theta2, c)
	pin := v3(s.Crank*math.Cos(theta2), s.Crank*math.Sin(theta2), 0)
	return []kinematics.Joint{
		pairAt("crank", kinematics.Revolute, kinematics.World, 0, v3(0, 0, 0), z),
		pairAt("big end", kinematics.Revolute, 0, 1, pin, z),
		pairAt("small end", kinematics.Revolute, 1, 2, v3(x, s.Offset, 0), z),
		pairAt("slide", kinematics.Prismatic, kinematics.World, 2, v3(x, s.Offset, 0), v3(1, 0, 0)),
	}
}

// R. L. Norton, Design of Machinery, Example 4-2: crank 40, rod 120, offset -20,
// theta2 = 60 deg: d = 126.84 open, -86.84 crossed. In line: closed form.
func TestSliderCrank(t *testing.T) {
	book := SliderCrank{Crank: 40, Rod: 120, Offset: -20}
	for c, want := range map[Circuit]float64{Open: 126.8380051945229, Crossed: -86.83800519452288} {
		x, ok := book.At(deg(60), c)
		if !ok {
			t.Fatal("the rod does not reach")
		}
		near(t, "d", x, want, 1e-12)
		l := mechanism(t, 3, slider(book, 0.3, c), 1, []int{0}, Options{})
		x0, _ := book.At(0.3, c)
		v := solve(t, l, l.Zero(), deg(60)-0.3)
		near(t, "slide", v[3]+x0, want, 1e-10)
	}
	outer, inner, ok := book.Stroke()
	if !ok {
		t.Fatal("the crank does not turn")
	}
	near(t, "outer end", outer, 158.745078663875, 1e-11)
	near(t, "inner end", inner, 77.4596669241483, 1e-11)

	// Driven by the slider, the dead points are the ends of the stroke.
	l := mechanism(t, 3, slider(book, deg(60), Open), 1, []int{3}, Options{})
	r, err := l.Reach(background(t), l.Zero(), 0)
	if err != nil {
		t.Fatal(err)
	}
	x0, _ := book.At(deg(60), Open)
	near(t, "outer end", r.Range.Upper+x0, outer, 1e-10)
	near(t, "inner end", r.Range.Lower+x0, inner, 1e-10)
	near(t, "crank at the outer end", r.Upper.Values[0]+deg(60), deg(-7.18075578145828), 1e-9)
	near(t, "crank at the inner end", r.Lower.Values[0]+deg(60), deg(165.52248781407), 1e-9)
	v := solve(t, l, l.Zero(), 100-x0) // the book's 4-3: d = 100
	near(t, "theta2 at d = 100", v[0]+deg(60), deg(95.7980930916289), 1e-11)

	line := SliderCrank{Crank: 1, Rod: 3}
	l = mechanism(t, 3, slider(line, deg(30), Open), 1, []int{0}, Options{})
	for theta, want := range map[float64]float64{0: 4, 30: 3.82406529533425, 90: 2 * math.Sqrt2, 150: 2.09201448776537, 180: 2} {
		v := solve(t, l, l.Zero(), deg(theta-30))
		near(t, "in-line slide", v[3]+3.82406529533425, want, 1e-12)
	}
}
