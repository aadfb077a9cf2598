package sweep

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/fit/mesh"
	"pintle/kinematics"
)

// Plates across the hinge and walls about it that are far thinner than a cell
// count with all their volume, and nothing sticks out.
func TestThinPlatesAndWallsAreNotPassedOver(t *testing.T) {
	const thin = 1e-3
	block := box(1, -0.5, 0, 3, 0.5, 2)
	for _, c := range []struct {
		name string
		body []*mesh.Mesh
		over kinematics.Range
		want float64
	}{
		{"plate beside a block", []*mesh.Mesh{block, box(1, -0.5, 3, 3, 0.5, 3+thin)}, degrees(0, 90), boxSwept(1, 3, 1, 2+thin, math.Pi/2)},
		{"plate alone", []*mesh.Mesh{box(1, -0.5, 3, 3, 0.5, 3+thin)}, degrees(0, 90), boxSwept(1, 3, 1, thin, math.Pi/2)},
		{"two plates with a slot", []*mesh.Mesh{box(1, -0.5, 0, 3, 0.5, 1), box(1, -0.5, 1+thin, 3, 0.5, 2)}, degrees(0, 90), boxSwept(1, 3, 1, 2-thin, math.Pi/2)},
		{"can in a block", []*mesh.Mesh{tube(1-thin, 1, -1, 1, 400), box(-0.1, -0.1, -3, 0.1, 0.1, 3)}, degrees(0, 360), 200*math.Sin(math.Pi/200)*(2*thin-thin*thin)*2 + math.Pi*0.02*6},
	} {
		for _, cells := range []int{40, 130} {
			e := mustSweep(t, c.body, upAxis(), c.over, cells)
			if math.Abs(e.Volume-c.want) > e.Error+2e-6*c.want || e.Error > 0.15*c.want {
				t.Errorf("%s, %d cells: volume %.9g, want %.9g within %.3g", c.name, cells, e.Volume, c.want, e.Error)
			}
			if len(e.Notes) > 0 {
				t.Errorf("%s, %d cells: %q", c.name, cells, e.Notes)
			}
		}
	}
}

// A thin plate along a slide, askew to the model's axes.
func TestThinPlatesAlongASlide(t *testing.T) {
	x := kinematics.Rotation(kinematics.Axis{Dir: r3.Unit(r3.Vec{X: 1, Y: 2, Z: -1})}, 1.1)
	s := scene{bodies: []*mesh.Mesh{box(0, 0, 0, 4, 1, 3), box(1, -2, 1, 3, 0, 1+1e-3)}}.mapped(x.Apply, x.Turn)
	for _, cells := range []int{40, 130} {
		e := mustSlide(t, s.bodies, x.Turn(r3.Vec{X: 1}), kinematics.Range{Upper: 2}, cells)
		if want := 18 + 4*2*1e-3; math.Abs(e.Volume-want) > e.Error || e.Error > 0.01*want || len(e.Notes) > 0 {
			t.Errorf("%d cells: volume %.9g, want %.9g within %.3g; notes %q", cells, e.Volume, want, e.Error, e.Notes)
		}
	}
}

// Nodes rise, keep all even places, and are found by where they lie.
func TestTicksAgainstLookingThemUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 12).Draw(t, "n")
		start, step := rapid.Float64Range(-3, 3).Draw(t, "start"), rapid.Float64Range(0.1, 2).Draw(t, "step")
		var levels []level
		for range rapid.IntRange(0, 9).Draw(t, "levels") {
			levels = append(levels, level{start + rapid.Float64Range(-1, float64(n)).Draw(t, "at")*step, rapid.Float64Range(0, 2).Draw(t, "area")})
		}
		levels = merged(levels, 1e-6)
		g := between(n, start, step, levels, 0.5)
		count := max(n, len(g.at))
		if count > 2*n {
			t.Fatalf("%d nodes for %d even ones", count, n)
		}
		even := 0
		for i := range count {
			x := g.place(i, start, step)
			if i > 0 && !(x > g.place(i-1, start, step)) {
				t.Fatalf("node %d at %v does not rise", i, x)
			}
			if math.Abs(x-(start+float64(even)*step)) < 1e-12 {
				even++
			}
		}
		if even != n {
			t.Fatalf("%d of %d even places left", even, n)
		}
		lo := start + rapid.Float64Range(-2, float64(n+1)).Draw(t, "lo")*step
		hi := lo + rapid.Float64Range(0, 3).Draw(t, "width")*step
		from, to := g.within(lo, hi, count, start, step)
		for i := range count {
			x := g.place(i, start, step)
			if in := i >= from && i <= to; in != (x >= lo && x <= hi) && math.Abs(x-lo) > 1e-5*step && math.Abs(x-hi) > 1e-5*step {
				t.Fatalf("node %d at %v is within %v to %v: %v", i, x, lo, hi, in)
			}
		}
		if c := g.cell(lo, count, start, step); c < 0 || c > count-2 || lo > g.place(0, start, step)+1e-5*step && lo < g.place(count-1, start, step)-1e-5*step &&
			(g.place(c, start, step) > lo+1e-5*step || g.place(c+1, start, step) < lo-1e-5*step) {
			t.Fatalf("%v lies in cell %d", lo, c)
		}
	})
}
