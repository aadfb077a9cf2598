package contact

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

func sectorOf(p [3]r3.Vec) sector {
	var r, a [3]float64
	for k := range p {
		r[k], a[k] = radius(p[k]), math.Atan2(p[k].Y, p[k].X)
	}
	return triangleSector(&p, &r, &a)
}

// on returns the point of a triangle with the given barycentric parameters.
func on(p [3]r3.Vec, u, v float64) r3.Vec {
	if u+v > 1 {
		u, v = 1-u, 1-v
	}
	return r3.Add(p[0], r3.Add(r3.Scale(u, r3.Sub(p[1], p[0])), r3.Scale(v, r3.Sub(p[2], p[0]))))
}

func (a *sector) contains(p r3.Vec) bool {
	const slack = 1e-14
	r := radius(p)
	if r < a.rLo-slack || r > a.rHi+slack || p.Z < a.zLo-slack || p.Z > a.zHi+slack {
		return false
	}
	d := wrap(math.Atan2(p.Y, p.X) - a.at)
	return r < slack || d <= a.width+slack/r || d >= turn-slack/r
}

func TestTriangleSector(t *testing.T) {
	v := func(x, y, z float64) r3.Vec { return r3.Vec{X: x, Y: y, Z: z} }
	for _, c := range []struct {
		name string
		p    [3]r3.Vec
		want sector
	}{
		{"beside the axis", [3]r3.Vec{v(0.5, -0.1, 0), v(0.5, 0.1, 0.2), v(0.6, 0, 0.1)}, sector{0.5, 0.6, 0, 0.2, -math.Atan(0.2), 2 * math.Atan(0.2)}},
		{"round the axis", [3]r3.Vec{v(0.5, 0, 0), v(-0.3, 0.4, 0), v(-0.3, -0.4, 0)}, sector{0, 0.5, 0, 0, -math.Pi, turn}},
		{"corner on the axis", [3]r3.Vec{v(0, 0, 0), v(0.5, 0, 0), v(0, 0.5, 0)}, sector{0, 0.5, 0, 0, 0, math.Pi / 2}},
		{"over the cut", [3]r3.Vec{v(-0.5, 0.5, 0), v(-0.5, -0.5, 0), v(-0.5, -0.5, 1)}, sector{0.5, math.Sqrt2 / 2, 0, 1, 0.75 * math.Pi, math.Pi / 2}},
		{"two corners on the axis", [3]r3.Vec{v(0, 0, 0), v(0, 0, 1), v(0, 0.5, 0)}, sector{0, 0.5, 0, 1, math.Pi / 2, 0}},
		{"edge through the axis", [3]r3.Vec{v(-0.5, 0, 0), v(0.5, 0, 0), v(0, 0.5, 0)}, sector{0, 0.5, 0, 0, -math.Pi, turn}},
		{"along the axis", [3]r3.Vec{v(0.5, 0, 0), v(0.5, 0, 1), v(0.7, 0, 0)}, sector{0.5, 0.7, 0, 1, 0, 0}},
	} {
		got := sectorOf(c.p)
		for i, x := range [6][2]float64{
			{got.rLo, c.want.rLo},
			{got.rHi, c.want.rHi},
			{got.zLo, c.want.zLo},
			{got.zHi, c.want.zHi},
			{got.at, c.want.at},
			{got.width, c.want.width},
		} {
			if math.Abs(x[0]-x[1]) > 1e-13 {
				t.Errorf("%s: entry %d is %.15g, want %.15g", c.name, i, x[0], x[1])
			}
		}
	}
}

func drawPoint(t *rapid.T, name string) r3.Vec {
	// Whole tenths as well, so that points fall on the axis and on one another.
	g := rapid.OneOf(rapid.Float64Range(-0.5, 0.5), rapid.Map(rapid.IntRange(-5, 5), func(i int) float64 { return float64(i) / 10 }))
	return r3.Vec{X: g.Draw(t, name+".x"), Y: g.Draw(t, name+".y"), Z: g.Draw(t, name+".z")}
}

func drawTriangle(t *rapid.T, name string) [3]r3.Vec {
	return [3]r3.Vec{drawPoint(t, name+"0"), drawPoint(t, name+"1"), drawPoint(t, name+"2")}
}

func TestSectorHoldsTriangle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawTriangle(t, "p")
		s := sectorOf(p)
		u := rapid.Float64Range(0, 1)
		for range 20 {
			if q := on(p, u.Draw(t, "u"), u.Draw(t, "v")); !s.contains(q) {
				t.Fatalf("sector %+v of %v does not hold %v (r %g, azimuth %g)", s, p, q, radius(q), math.Atan2(q.Y, q.X))
			}
		}
	})
}

func TestUnionHoldsBoth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, q := drawTriangle(t, "p"), drawTriangle(t, "q")
		a, b := sectorOf(p), sectorOf(q)
		s := motion{turns: true}.union(&a, &b)
		u := rapid.Float64Range(0, 1)
		for range 10 {
			for _, x := range [2][3]r3.Vec{p, q} {
				if y := on(x, u.Draw(t, "u"), u.Draw(t, "v")); !s.contains(y) {
					t.Fatalf("union %+v does not hold %v", s, y)
				}
			}
		}
		if s.width > a.width+b.width+math.Pi+1e-12 {
			t.Fatalf("union of arcs %g and %g is %g wide", a.width, b.width, s.width)
		}
	})
}

// Points that come to lie at the same azimuth must have turned by at least the
// bound, and must do so within the window.
func TestApproachIsALowerBound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, q := drawTriangle(t, "p"), drawTriangle(t, "q")
		a, b := sectorOf(p), sectorOf(q)
		u := rapid.Float64Range(0, 1)
		for range 10 {
			x, y := on(p, u.Draw(t, "u"), u.Draw(t, "v")), on(q, u.Draw(t, "u"), u.Draw(t, "v"))
			if radius(x) < 1e-6 || radius(y) < 1e-6 {
				continue
			}
			for _, dir := range [2]float64{1, -1} {
				d := wrap(dir * (math.Atan2(y.Y, y.X) - math.Atan2(x.Y, x.X)))
				// A corner within rounding of the axis has no azimuth, which the points
				// beside it see.
				slack := 1e-13 + 8*lengthEps/min(radius(x), radius(y))
				if bound := approach(&a, &b, dir); d < bound-slack && turn-d > slack {
					t.Fatalf("dir %g: turns by %g, bound %g", dir, d, bound)
				}
				limit := turn * u.Draw(t, "limit")
				if from, to := window(&a, &b, dir, limit); d <= limit && d < turn-1e-9 && (d < from-1e-9 || d > to+1e-9) {
					t.Fatalf("dir %g: turns by %g, outside the window %g..%g up to %g", dir, d, from, to, limit)
				}
			}
		}
	})
}

func TestWindow(t *testing.T) {
	wedge := func(from, width float64) *sector { return &sector{1, 2, 0, 1, from * degree, width * degree} }
	for _, c := range []struct {
		name              string
		m, s              *sector
		dir, limit        float64
		wantFrom, wantEnd float64
	}{
		{"ahead", wedge(0, 10), wedge(50, 20), 1, 300, 40, 70},
		{"behind", wedge(0, 10), wedge(50, 20), -1, 359, 290, 320},
		{"limit inside", wedge(0, 10), wedge(50, 20), 1, 55, 40, 55},
		{"overlapping now", wedge(0, 10), wedge(5, 20), 1, 300, 0, 25},
		{"overlapping now, and again before the turn is full", wedge(0, 10), wedge(5, 20), 1, 356, 0, 356},
		{"overlapping now, other way", wedge(0, 10), wedge(5, 20), -1, 300, 0, 5},
		{"overlapping now, other way, and again", wedge(0, 10), wedge(5, 20), -1, 340, 0, 340},
		{"all round", wedge(0, 300), wedge(50, 100), 1, 100, 0, 100},
	} {
		from, to := window(c.m, c.s, c.dir, c.limit*degree)
		if math.Abs(from-c.wantFrom*degree) > 1e-9 || math.Abs(to-c.wantEnd*degree) > 1e-9 {
			t.Errorf("%s: %g..%g, want %g..%g", c.name, from/degree, to/degree, c.wantFrom, c.wantEnd)
		}
	}
}
