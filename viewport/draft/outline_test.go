package draft

import (
	"math"
	"sort"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
	"pintle/kinematics"
)

func outlineOf(m *mesh.Mesh, v View) [][]Pixel {
	return newOutliner(m, kinematics.Identity(), v).runs()
}

// Seen from the front, a box has its four corners for an outline.
func TestOutlineOfABox(t *testing.T) {
	m := meshtest.Box(r3.Vec{X: -2, Y: -1, Z: -1}, r3.Vec{X: 3, Y: 1, Z: 1.5})
	runs := outlineOf(m, front(1000, 1000))
	if len(runs) != 4 {
		t.Fatalf("%d runs, want the four sides", len(runs))
	}
	for _, r := range runs {
		p := r[0]
		x, z := (p.X-500)/100, (500-p.Y)/100
		if d := math.Abs(math.Abs(x-0.5)-2.5) + math.Abs(math.Abs(z-0.25)-1.25); d > 1e-9 {
			t.Errorf("corner at %g, %g is not one of the box", x, z)
		}
	}
}

// A ring seen along its axis has an outer and an inner outline.
func TestOutlineOfARing(t *testing.T) {
	m := meshtest.Torus(3, 1, 64, 24, func(p r3.Vec) r3.Vec { return r3.Vec{X: p.X, Y: -p.Z, Z: p.Y} })
	runs := outlineOf(m, front(1000, 1000))
	var radii []float64
	for _, r := range runs {
		for _, p := range r {
			radii = append(radii, math.Hypot(p.X-500, p.Y-500))
		}
	}
	sort.Float64s(radii)
	lo, hi := radii[0], radii[len(radii)-1]
	if len(runs) != 2 || math.Abs(lo-200) > 1.5 || math.Abs(hi-400) > 1.5 {
		t.Errorf("%d runs between %g and %g, want 2 between 200 and 400", len(runs), lo, hi)
	}
}

// The outline of a convex body is the hull of its projected vertices.
func TestOutlineIsTheHull(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		axis := vecGen(1).Draw(t, "axis")
		if r3.Norm(axis) < 0.1 {
			t.Skip("no axis")
		}
		angle := rapid.Float64Range(0, 3).Draw(t, "angle")
		m := meshtest.Box(r3.Vec{X: -2, Y: -1, Z: -1}, r3.Vec{X: 2, Y: 1, Z: 1.5}, func(p r3.Vec) r3.Vec {
			return r3.Rotate(p, angle, axis)
		})
		v := front(800, 800)
		var points []Pixel
		for _, p := range m.Vertices() {
			q, _ := v.Project(p)
			points = append(points, q)
		}
		want := polygonArea(hull(points))
		var loop []Pixel
		for _, r := range outlineOf(m, v) {
			loop = append(loop, r[:len(r)-1]...)
		}
		got := math.Abs(polygonArea(loop))
		// A vertex may be missed where three of them are nearly in line.
		if math.Abs(got-want) > 0.01*want {
			t.Fatalf("outline of area %g, hull of area %g", got, want)
		}
	})
}

func polygonArea(p []Pixel) float64 {
	sum := 0.0
	for i := range p {
		q := p[(i+1)%len(p)]
		sum += p[i].X*q.Y - q.X*p[i].Y
	}
	return sum / 2
}

// hull is Andrew's monotone chain (1979).
func hull(p []Pixel) []Pixel {
	sort.Slice(p, func(i, j int) bool { return p[i].X < p[j].X || p[i].X == p[j].X && p[i].Y < p[j].Y })
	half := func(order func(i int) Pixel) []Pixel {
		var h []Pixel
		for i := range p {
			q := order(i)
			for len(h) > 1 {
				a, b := h[len(h)-2], h[len(h)-1]
				if (b.X-a.X)*(q.Y-a.Y)-(b.Y-a.Y)*(q.X-a.X) > 0 {
					break
				}
				h = h[:len(h)-1]
			}
			h = append(h, q)
		}
		return h[:len(h)-1]
	}
	lower := half(func(i int) Pixel { return p[i] })
	return append(lower, half(func(i int) Pixel { return p[len(p)-1-i] })...)
}

// Straightening keeps within its tolerance and keeps corners.
func TestStraighten(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(8, 200).Draw(t, "n")
		rough := rapid.Float64Range(0, 0.5).Draw(t, "rough")
		loop := make([]Pixel, n)
		for i := range loop {
			s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
			r := 100 + rough*rapid.Float64Range(-1, 1).Draw(t, "noise")
			loop[i] = Pixel{X: r * c, Y: r * s}
		}
		out := straighten(loop, 0.75)
		for _, p := range loop {
			d := math.Inf(1)
			for i := range out {
				d = math.Min(d, toSegment(p, out[i], out[(i+1)%len(out)]))
			}
			if d > 0.75+1e-9 {
				t.Fatalf("%v is %g off the straightened loop", p, d)
			}
		}
	})
}

func toSegment(p, a, b Pixel) float64 {
	dx, dy := b.X-a.X, b.Y-a.Y
	t := 0.0
	if l := dx*dx + dy*dy; l > 0 {
		t = clamp(((p.X-a.X)*dx+(p.Y-a.Y)*dy)/l, 0, 1)
	}
	return math.Hypot(p.X-a.X-t*dx, p.Y-a.Y-t*dy)
}

func TestOutlineBadInput(t *testing.T) {
	m := meshtest.Box(r3.Vec{X: -2, Y: -1, Z: -1}, r3.Vec{X: 2, Y: 1, Z: 1})
	far := kinematics.Identity()
	far.T = r3.Vec{X: 1e9}
	if runs := newOutliner(m, far, front(100, 100)).runs(); len(runs) != 0 {
		t.Errorf("%d runs of a part far outside the picture", len(runs))
	}
	nan := kinematics.Identity()
	nan.T.X = math.NaN()
	if runs := newOutliner(m, nan, front(100, 100)).runs(); len(runs) != 0 {
		t.Errorf("%d runs of a part that is nowhere", len(runs))
	}
	// Much larger than the picture: nothing of the outline is to be seen, and
	// the mask must stay small.
	near := front(100, 100)
	near.Camera.Height = 1e-6
	v := near.Camera.View(100, 100, 1, r3.Box{})
	if o := newOutliner(m, kinematics.Identity(), v); o.w*o.h > 1<<20 {
		t.Errorf("a mask of %d x %d for a picture of 100 x 100", o.w, o.h)
	}
}

func BenchmarkOutline(b *testing.B) {
	m := meshtest.Torus(3, 1, 400, 125)
	v := Camera{Height: 10}.Straight(Axonometric).View(1440, 900, 1, m.Bounds())
	m.Topology()
	b.ReportAllocs()
	for b.Loop() {
		outlineOf(m, v)
	}
}
