package fit

import (
	"errors"
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

// A hub that is not quite round: its loop has 31 vertices and three lobes. The
// answers differ by what the closed forms say.
func TestCompareHub(t *testing.T) {
	const n, r, lobe = 31, 20.0, 0.6
	hub := Datum{Kind: Cylinder, Origin: r3.Vec{X: 7, Y: -3, Z: 2}, Axis: oblique, Radius: r}
	wave := func(i int) float64 { return lobe * math.Cos(3*2*math.Pi*float64(i)/n) }
	var loop, patch, normals []r3.Vec
	for _, h := range []float64{0, 4, 9, 12} {
		for i := range n {
			p, q := onDatum(hub, 2*math.Pi*float64(i)/n, h, wave(i))
			patch, normals = append(patch, p), append(normals, q)
			if h == 0 {
				loop = append(loop, p)
			}
		}
	}
	c, err := Compare(Pick{Loop: loop, Patch: patch, Normals: normals})
	if err != nil {
		t.Fatal(err)
	}
	names := []string{OppositeVertices, LoopCircle, LoopArea, PatchSurface + "cylinder"}
	if len(c.Alternatives) != len(names) || len(c.Differences) != 6 {
		t.Fatalf("%d alternatives, %d differences", len(c.Alternatives), len(c.Differences))
	}
	at := map[[2]int]Difference{}
	for i, a := range c.Alternatives {
		if a.Name != names[i] || a.Err != nil {
			t.Errorf("alternative %d: %q, %v", i, a.Name, a.Err)
		}
	}
	for _, d := range c.Differences {
		at[[2]int{d.A, d.B}] = d
	}
	// Loop centre, area centroid and cylinder axis agree exactly by symmetry.
	wantAbs(t, "loop centre to area centroid", at[[2]int{1, 2}].Offset, 0, 1e-13)
	wantAbs(t, "loop centre to axis", at[[2]int{1, 3}].Offset, 0, 1e-13)
	wantAbs(t, "angle of loop and axis", at[[2]int{1, 3}].Angle, 0, 1e-13)
	if !math.IsNaN(at[[2]int{0, 1}].Angle) {
		t.Errorf("a midpoint has no axis, but angle %g", at[[2]int{0, 1}].Angle)
	}
	// The midpoint of vertices 0 and 15 is off by the chord's sag and by half
	// the difference of their two radii.
	a, b := r+wave(0), r+wave(n/2)
	turn := 2 * math.Pi * float64(n/2) / n
	want := math.Hypot(a+b*math.Cos(turn), b*math.Sin(turn)) / 2
	wantAbs(t, "midpoint to loop centre", at[[2]int{0, 1}].Offset, want, 1e-13)
	wantAbs(t, "midpoint to axis", at[[2]int{0, 3}].Offset, want, 1e-13)
	wantAbs(t, "largest", c.Largest, want, 1e-13)
}

func TestCompareParts(t *testing.T) {
	ring := lattice(Datum{Kind: Circle, Axis: oblique, Radius: 2}, 12, 0)
	two := [2]r3.Vec{{X: 1}, {X: 3}}
	for _, c := range []struct {
		what  string
		pick  Pick
		names []string
		fails int
	}{
		{"two vertices", Pick{Opposite: &two}, []string{OppositeVertices}, 0},
		{"an open loop", Pick{Loop: ring[:7], Open: true}, []string{OppositeVertices, LoopCircle}, 0},
		{"a loop with its own pair", Pick{Loop: ring, Opposite: &two}, []string{OppositeVertices, LoopCircle, LoopArea}, 0},
		{"a patch as a sphere", Pick{Patch: lattice(robustShape(Sphere), 12, -1, 0, 1), Surface: Sphere}, []string{PatchSurface + "sphere"}, 0},
		{"a flat patch", Pick{Loop: ring, Patch: ring}, []string{OppositeVertices, LoopCircle, LoopArea, PatchSurface + "cylinder"}, 1},
		{"a loop of two", Pick{Loop: ring[:2]}, []string{OppositeVertices, LoopCircle, LoopArea}, 2},
	} {
		got, err := Compare(c.pick)
		if err != nil {
			t.Fatal(c.what, err)
		}
		fails := 0
		for i, a := range got.Alternatives {
			if i >= len(c.names) || a.Name != c.names[i] {
				t.Errorf("%s: alternative %d is %q", c.what, i, a.Name)
			}
			if a.Err != nil {
				fails++
				if a.Datum != (Datum{}) {
					t.Errorf("%s: a failed alternative has a datum", c.what)
				}
			}
		}
		good := len(c.names) - c.fails
		if fails != c.fails || len(got.Alternatives) != len(c.names) || len(got.Differences) != good*(good-1)/2 {
			t.Errorf("%s: %d of %d fail, %d differences", c.what, fails, len(got.Alternatives), len(got.Differences))
		}
	}
	_, err := Compare(Pick{})
	var e *OptionError
	if !errors.As(err, &e) {
		t.Errorf("an empty pick: got %v", err)
	}
}

func TestOffset(t *testing.T) {
	z := r3.Vec{Z: 1}
	line := Datum{Kind: Line, Axis: z}
	tilted := Datum{Kind: Cylinder, Origin: r3.Vec{X: 3, Z: 7}, Axis: r3.Vec{X: 0.6, Z: 0.8}, Radius: 1}
	ball := Datum{Kind: Sphere, Origin: r3.Vec{X: 3, Y: 4, Z: 9}, Radius: 1}
	ring := Datum{Kind: Circle, Origin: r3.Vec{Y: 4, Z: 1}, Axis: r3.Vec{Z: -1}, Radius: 1}
	plane := Datum{Kind: Plane, Axis: z, Origin: r3.Vec{Z: 2}}
	for _, c := range []struct {
		a, b          Datum
		offset, angle float64
	}{
		{line, ball, 5, math.NaN()},
		{ball, ring, math.Hypot(3, 8), math.NaN()},
		{line, ring, 4, 0},
		{line, tilted, math.Max(3, math.Abs(3*0.8-7*0.6)), math.Atan2(0.6, 0.8)},
		{plane, ball, 7, math.NaN()},
	} {
		for _, pair := range [][2]Datum{{c.a, c.b}, {c.b, c.a}} {
			offset, angle := pair[0].Offset(pair[1])
			wantAbs(t, "offset", offset, c.offset, 1e-15)
			if math.IsNaN(angle) != math.IsNaN(c.angle) || math.Abs(angle-c.angle) > 1e-15 {
				t.Errorf("angle %g, want %g", angle, c.angle)
			}
		}
	}
}
