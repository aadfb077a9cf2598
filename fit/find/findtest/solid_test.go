package findtest

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/fit/mesh"
)

// polygonArea is the area of a regular n-gon in a circle of radius r.
func polygonArea(r float64, n int) float64 {
	return float64(n) / 2 * r * r * math.Sin(2*math.Pi/float64(n))
}

func near(got, want, share float64) bool { return math.Abs(got-want) <= share*math.Abs(want) }

// A prism on a regular polygon, its frustum and its cone, in closed form.
func TestLatheVolumes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(3, 90).Draw(t, "n")
		r, h := rapid.Float64Range(0.1, 10).Draw(t, "r"), rapid.Float64Range(0.1, 10).Draw(t, "h")
		in := r * rapid.Float64Range(0.1, 0.9).Draw(t, "in")
		for name, c := range map[string]struct {
			profile []Point
			volume  float64
		}{
			"rod":  {Rod(r, -1, h, 0, 1), polygonArea(r, n) * (h + 1)},
			"tube": {Tube(in, r, 0, h, 0, 1), (polygonArea(r, n) - polygonArea(in, n)) * h},
			"cone": {[]Point{{0, 0}, {r, 0}, {0, h}}, polygonArea(r, n) * h / 3},
			"cup":  {[]Point{{in, 0}, {r, h}, {in, h}}, polygonArea(1, n) * (2.0 / 3) * (r*r + in*r - 2*in*in) * h / 2},
		} {
			m := Lathe(c.profile, n, 0.3)
			if err := mesh.Validate(m); err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			if v := m.Volume(); !near(v, c.volume, 1e-9) {
				t.Errorf("%s: volume %g, want %g", name, v, c.volume)
			}
		}
	})
}

// Rounded edges lie on the circle of their radius.
func TestRodRounds(t *testing.T) {
	m := Lathe(Rod(5, 0, 8, 1, 6), 32, 0)
	if err := mesh.Validate(m); err != nil {
		t.Fatal(err)
	}
	b := m.Bounds()
	if b.Min.Z != 0 || b.Max.Z != 8 || math.Abs(b.Max.X-5) > 1e-12 {
		t.Errorf("box %v", b)
	}
	sharp := Lathe(Rod(5, 0, 8, 0, 1), 32, 0)
	if lost := 1 - m.Volume()/sharp.Volume(); lost < 0.005 || lost > 0.05 {
		t.Errorf("rounding took %g of the volume", lost)
	}
}

// Plates with holes: area of the outline less the holes.
func TestExtrudeVolumes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := rapid.IntRange(1, 8).Draw(t, "k")
		outline := Rounded(-20, -10, 20, 10, rapid.SampledFrom([]float64{0, 1, 4}).Draw(t, "r"), k)
		area := planeArea(outline)
		var holes []Hole
		for i := range rapid.IntRange(0, 9).Draw(t, "holes") {
			h := Hole{X: -14 + 7*float64(i%5), Y: -4 + 8*float64(i/5), R: rapid.Float64Range(0.2, 3).Draw(t, "hole"), N: rapid.IntRange(3, 40).Draw(t, "n")}
			holes = append(holes, h)
			area -= polygonArea(h.R, h.N)
		}
		m := Extrude(outline, holes, -1, 2)
		if err := mesh.Validate(m); err != nil {
			t.Fatal(err)
		}
		if v := m.Volume(); !near(v, 3*area, 1e-9) {
			t.Errorf("volume %g, want %g", v, 3*area)
		}
	})
}

// A ring of bolt holes round a bore, whose bridges are the hard case.
func TestExtrudeFlange(t *testing.T) {
	for _, n := range []int{3, 6, 12} {
		holes := []Hole{{R: 5, N: 48}}
		area := polygonArea(10, 64) - polygonArea(5, 48)
		for i := range n {
			s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
			holes = append(holes, Hole{X: 7.5 * c, Y: 7.5 * s, R: 1, N: 16})
			area -= polygonArea(1, 16)
		}
		m := Extrude(Circle(0, 0, 10, 64), holes, 0, 1)
		if err := mesh.Validate(m); err != nil {
			t.Fatalf("%d bolts: %v", n, err)
		}
		if v := m.Volume(); !near(v, area, 1e-9) {
			t.Errorf("%d bolts: volume %g, want %g", n, v, area)
		}
	}
}

// The outline round two circles (the belt problem): tangents, and an arc each.
func TestDogboneArea(t *testing.T) {
	const l, a, b = 30.0, 8.0, 5.0
	lean := math.Asin((a - b) / l)
	want := (a+b)*l*math.Cos(lean) + a*a*(math.Pi/2+lean) + b*b*(math.Pi/2-lean)
	if got := planeArea(Dogbone(l, a, b, 2000)); !near(got, want, 1e-5) {
		t.Errorf("area %g, want %g", got, want)
	}
}

// planeArea is the area of an outline (the shoelace formula).
func planeArea(p []Point) float64 {
	sum := 0.0
	for i, a := range p {
		b := p[(i+1)%len(p)]
		sum += (a.X*b.Y - a.Y*b.X) / 2
	}
	return sum
}

// A hull is convex and holds every point; that of a sphere's points uses all.
func TestHull(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := source(rapid.Uint64().Draw(t, "seed"), 9)
		kind := rapid.SampledFrom([]string{"sphere", "ball", "box", "rod"}).Draw(t, "kind")
		var p []r3.Vec
		for range rapid.IntRange(8, 300).Draw(t, "n") {
			d := direction(r)
			switch kind {
			case "ball":
				d = r3.Scale(r.Float64(), d)
			case "box":
				d = r3.Vec{X: float64(r.IntN(5)), Y: float64(r.IntN(5)), Z: float64(r.IntN(5))}
			case "rod":
				s, c := math.Sincos(2 * math.Pi * float64(r.IntN(24)) / 24)
				d = r3.Vec{X: c, Y: s, Z: float64(r.IntN(3))}
			}
			p = append(p, d)
		}
		if kind == "box" || kind == "rod" {
			p = append(p, r3.Vec{X: 5}, r3.Vec{Y: 5}, r3.Vec{Z: 5}, r3.Vec{X: 5, Y: 5, Z: 5})
		}
		h := Hull(p)
		if h == nil || !h.IsClosed() {
			t.Fatalf("no closed hull of %d points", len(p))
		}
		for f := range h.Triangles() {
			a, _, _ := h.Corners(f)
			n := r3.Unit(h.AreaNormal(f))
			for _, q := range p {
				if x := r3.Dot(n, r3.Sub(q, a)); x > 1e-7 {
					t.Fatalf("a point lies %g outside", x)
				}
			}
		}
		if kind == "sphere" && len(h.Vertices()) != len(p) {
			t.Errorf("%d of %d points on the hull", len(h.Vertices()), len(p))
		}
	})
	if Hull([]r3.Vec{{}, {X: 1}, {Y: 1}, {X: 1, Y: 1}, {X: 3}}) != nil {
		t.Error("a hull of points in a plane")
	}
}
