package sweep

import (
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

// segmentOf returns the cut of a triangle at height 0 that runs from p to q.
func segmentOf(px, py, qx, qy float64) segment {
	return segment{px: px, py: py, qx: qx, qy: qy, p2: squared(px, py), q2: squared(qx, qy), closed: true}
}

// A line at distance d from the hinge meets the circle of radius r at angles
// acos(d/r) either side of its foot.
func TestCrossingsOfALine(t *testing.T) {
	for _, c := range []struct {
		name string
		g    segment
		r    float64
		want []crossing
	}{
		{"chord", segmentOf(1, -5, 1, 5), 2, []crossing{{2*math.Pi - math.Pi/3, -1}, {math.Pi / 3, 1}}},
		{"outward", segmentOf(1, 0, 1, 5), 2, []crossing{{math.Pi / 3, 1}}},
		{"inward", segmentOf(1, 5, 1, 0), 2, []crossing{{math.Pi / 3, -1}}},
		{"radial", segmentOf(0, 1, 0, 3), 2, []crossing{{math.Pi / 2, 1}}},
		{"inside", segmentOf(1, -1, 1, 1), 2, nil},
		{"beyond", segmentOf(3, -5, 3, 5), 2, nil},
		{"beside", segmentOf(1, 3, 1, 5), 2, nil},
		{"no length", segmentOf(1, 3, 1, 3), 2, nil},
	} {
		got := c.g.crossings(c.r, nil)
		if len(got) != len(c.want) {
			t.Errorf("%s: crossings %v, want %v", c.name, got, c.want)
			continue
		}
		for k := range got {
			if math.Abs(got[k].angle-c.want[k].angle) > 1e-15*8 || got[k].turn != c.want[k].turn {
				t.Errorf("%s: crossings %v, want %v", c.name, got, c.want)
			}
		}
	}
}

func TestColumnOfKnownArcs(t *testing.T) {
	m := motion{lo: -0.5, width: 1}
	one := []crossing{{1, 1}, {2, -1}}
	for _, c := range []struct {
		name string
		m    motion
		cs   []crossing
		base int32
		want column
	}{
		{"one arc", m, one, 0, column{false, []float64{0.5, 2.5}}},
		{"arc past angle 0", m, []crossing{{1, -1}, {6, 1}}, 1, column{true, []float64{1.5, 5.5}}},
		{"two that stay apart", m, []crossing{{1, 1}, {2, -1}, {3.5, 1}, {4, -1}}, 0, column{false, []float64{0.5, 2.5, 3, 4.5}}},
		{"two that meet", m, []crossing{{1, 1}, {2, -1}, {2.9, 1}, {4, -1}}, 0, column{false, []float64{0.5, 4.5}}},
		{"overlapping shells", m, []crossing{{1, 1}, {1.5, 1}, {2, -1}, {3, -1}}, 0, column{false, []float64{0.5, 3.5}}},
		{"a sheet", m, []crossing{{1, 0}}, 0, column{false, []float64{0.5, 1.5}}},
		{"a sheet inside", m, []crossing{{1, 1}, {1.5, 0}, {2, -1}}, 0, column{false, []float64{0.5, 2.5}}},
		{"inside out", m, []crossing{{1, -1}, {2, 1}}, 0, column{false, []float64{0.5, 2.5}}},
		{"all round", m, []crossing{{1, -1}, {1.9, 1}}, 1, column{inside: true}},
		{"full turn", motion{0, 2 * math.Pi}, one, 0, column{inside: true}},
		{"nothing", m, nil, 0, column{}},
		{"all material", m, nil, 2, column{inside: true}},
		{"no width", motion{}, one, 0, column{false, []float64{1, 2}}},
	} {
		got := c.m.column(slices.Clone(c.cs), c.base, nil)
		ok := got.inside == c.want.inside && len(got.ends) == len(c.want.ends)
		for k := 0; ok && k < len(got.ends); k++ {
			ok = math.Abs(got.ends[k]-c.want.ends[k]) < 1e-14
		}
		if !ok {
			t.Errorf("%s: column %v, want %v", c.name, got, c.want)
		}
	}
}

// crossingsOf draws closed shells on a circle: arcs that may overlap.
func drawCrossings(t *rapid.T) (cs []crossing, base int32) {
	n := rapid.IntRange(0, 6).Draw(t, "arcs")
	for range n {
		from := rapid.Float64Range(0, 6.28).Draw(t, "from")
		to := wrap(from + rapid.Float64Range(0, 6).Draw(t, "length"))
		cs = append(cs, crossing{from, 1}, crossing{to, -1})
		if to < from {
			base++
		}
	}
	return cs, base
}

func drawColumn(t *rapid.T) column {
	cs, base := drawCrossings(t)
	m := motion{rapid.Float64Range(-4, 4).Draw(t, "lower"), rapid.Float64Range(0, 3).Draw(t, "width")}
	return m.column(cs, base, nil)
}

// A column holds an angle just when some position of the range brings material
// there: tried by stepping through the range.
func TestColumnAgainstStepping(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		cs, base := drawCrossings(t)
		m := motion{rapid.Float64Range(-4, 4).Draw(t, "lower"), rapid.Float64Range(0, 3).Draw(t, "width")}
		c := m.column(slices.Clone(cs), base, nil)
		material := func(a float64) bool {
			n := base
			for _, x := range cs {
				if x.angle <= a {
					n += int32(x.turn)
				}
			}
			return n != 0
		}
		const steps = 2000
		for k := range 50 {
			a := 2 * math.Pi * (float64(k) + 0.5) / 50
			near := false
			for _, e := range c.ends {
				near = near || turnTo(a, e) < 2*m.width/steps+1e-9
			}
			if near {
				continue
			}
			passed := false
			for s := range steps + 1 {
				passed = passed || material(wrap(a-m.lo-m.width*float64(s)/steps))
			}
			// Material thinner than a step is for the column alone to see.
			if passed && !c.holds(a) {
				t.Fatalf("angle %v is passed over, the column %v leaves it out", a, c)
			}
			if !passed && c.holds(a) && !thin(cs, m.width/steps) {
				t.Fatalf("angle %v is never passed over, the column %v holds it", a, c)
			}
		}
	})
}

func thin(cs []crossing, least float64) bool {
	for i := range cs {
		for j := range i {
			if turnTo(cs[i].angle, cs[j].angle) < 2*least {
				return true
			}
		}
	}
	return false
}

// Strands pair every end with just one other, and the columns differ all along
// a strand.
func TestStrandsPairEveryEnd(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := drawColumn(t), drawColumn(t)
		list, round := strands(a, b, nil)
		if round != (a.plain() && b.plain() && a.inside != b.inside) {
			t.Fatalf("columns %v and %v: round is %v", a, b, round)
		}
		seen := make([]int, len(a.ends)+len(b.ends))
		for _, s := range list {
			seen[s.lowEnd]++
			seen[s.highEnd]++
			if !(s.low <= s.high && s.high <= s.low+2*math.Pi) {
				t.Fatalf("strand %+v does not rise", s)
			}
			if m := s.middle(); s.high > s.low && a.holds(m) == b.holds(m) {
				t.Fatalf("the columns %v and %v agree at %v within strand %+v", a, b, m, s)
			}
		}
		for k, n := range seen {
			if n != 1 {
				t.Fatalf("columns %v and %v: end %d is in %d strands", a, b, k, n)
			}
		}
	})
}

func TestFrameKeepsPoints(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		axis := drawAxis(t)
		f := newFrame(axis)
		p := drawVec(t, "p", 5)
		q := f.local(p)
		back := f.model(math.Hypot(q.X, q.Y), math.Atan2(q.Y, q.X), q.Z)
		if d := r3.Norm(r3.Sub(back, p)); d > 1e-13*20 {
			t.Fatalf("point %v comes back as %v", p, back)
		}
		if d := math.Abs(math.Hypot(q.X, q.Y) - axis.Distance(p)); d > 1e-13*20 {
			t.Fatalf("point %v is %v from the hinge, want %v", p, math.Hypot(q.X, q.Y), axis.Distance(p))
		}
	})
}

func TestWrap(t *testing.T) {
	for _, a := range []float64{0, 1, -1, 7, -7, 100, -100, 2 * math.Pi, -2 * math.Pi, -1e-300, 4 * math.Pi} {
		w := wrap(a)
		if !(w >= 0 && w < 2*math.Pi) || turnTo(w, a) > 1e-13 {
			t.Errorf("wrap(%v) = %v", a, w)
		}
	}
}
