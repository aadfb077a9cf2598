package sweep

import (
	"context"
	"errors"
	"math"
	"slices"
	"sync/atomic"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
	"pintle/kinematics"
)

func mustSurface(t interface{ Fatalf(string, ...any) }, axis kinematics.Axis, bodies ...*mesh.Mesh) *surface {
	s, err := newSurface(bodies, newFrame(axis))
	if err != nil {
		t.Fatalf("newSurface: %v", err)
	}
	return s
}

func TestProfileOfKnownSolids(t *testing.T) {
	for _, c := range []struct {
		name               string
		body               *mesh.Mesh
		rLo, rHi, zLo, zHi float64
	}{
		{"box beside the hinge", meshtest.Box(r3.Vec{X: 3, Y: -1, Z: 5}, r3.Vec{X: 4, Y: 3, Z: 9}), 3, 5, -2, 2},
		{"box round the hinge", meshtest.Box(r3.Vec{X: -3, Y: -4, Z: 0}, r3.Vec{X: 1, Y: 1, Z: 1}), 0, 5, -0.5, 0.5},
		{"sheet over the hinge", sheet(r3.Vec{X: -1, Y: -1, Z: 2}, r3.Vec{X: 2, Y: -1, Z: 2}, r3.Vec{Y: 2, Z: 2}), 0, math.Sqrt(5), 0, 0},
	} {
		s := mustSurface(t, upAxis(), c.body)
		for _, x := range []struct {
			what      string
			got, want float64
		}{{"least radius", s.rLo, c.rLo}, {"largest radius", s.rHi, c.rHi}, {"least height", s.zLo, c.zLo}, {"largest height", s.zHi, c.zHi}} {
			if math.Abs(x.got-x.want) > 1e-14*10 {
				t.Errorf("%s: %s is %v, want %v", c.name, x.what, x.got, x.want)
			}
		}
	}
}

// The radii of a triangle bound those of its points and are reached by some.
func TestRadiiOfTrianglesAgainstTheirPoints(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := sheet(drawVec(t, "a", 2), drawVec(t, "b", 2), drawVec(t, "c", 2))
		if len(m.Triangles()) == 0 {
			return
		}
		s := mustSurface(t, drawAxis(t), m)
		v := s.tris[0]
		least, most := math.Inf(1), 0.0
		const n = 60
		for i := range n + 1 {
			for j := range n + 1 - i {
				u, w := float64(i)/n, float64(j)/n
				p := r3.Add(r3.Scale(1-u-w, s.p[v[0]]), r3.Add(r3.Scale(u, s.p[v[1]]), r3.Scale(w, s.p[v[2]])))
				r := math.Hypot(p.X, p.Y)
				least, most = min(least, r), max(most, r)
			}
		}
		if least < s.rLo-1e-12 || most > s.rHi+1e-12 {
			t.Fatalf("points lie %v to %v from the hinge, the radii are %v to %v", least, most, s.rLo, s.rHi)
		}
		if least > s.rLo+0.2 || most < s.rHi-1e-12 {
			t.Fatalf("points lie %v to %v from the hinge, the radii are only %v to %v", least, most, s.rLo, s.rHi)
		}
	})
}

func TestOpenShells(t *testing.T) {
	box := meshtest.Box(r3.Vec{}, r3.Vec{X: 1, Y: 1, Z: 1})
	tube := meshtest.Cylinder(1, 0, 1, 8, 1, false, moved(r3.Vec{X: 5}))
	// Two boxes that share an edge, four faces at it: still closed.
	b := mesh.NewBuilder()
	for _, lo := range []r3.Vec{{}, {X: 1, Y: 1}} {
		x := meshtest.Box(lo, r3.Add(lo, r3.Vec{X: 1, Y: 1, Z: 1}))
		base := int32(b.NumVertices())
		for _, p := range x.Vertices() {
			b.Vertex(p)
		}
		for _, v := range x.Triangles() {
			b.Face(base+v[0], base+v[1], base+v[2])
		}
	}
	joined, _, err := b.Build(mesh.Options{})
	if err != nil {
		t.Fatal(err)
	}
	// A box with one face turned round encloses nothing that could be told.
	b = mesh.NewBuilder()
	for _, p := range box.Vertices() {
		b.Vertex(p)
	}
	for i, v := range box.Triangles() {
		if i == 3 {
			v[0], v[1] = v[1], v[0]
		}
		b.Face(v[0], v[1], v[2])
	}
	turned, _, err := b.Build(mesh.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name   string
		bodies []*mesh.Mesh
		want   []bool
	}{
		{"box", []*mesh.Mesh{box}, []bool{false}},
		{"tube", []*mesh.Mesh{tube}, []bool{true}},
		{"box and tube", []*mesh.Mesh{mesh.Join(box, tube), box}, []bool{false, true, false}},
		{"edge shared by two boxes", []*mesh.Mesh{joined}, []bool{false}},
		{"one face turned round", []*mesh.Mesh{turned}, []bool{true}},
	} {
		s := mustSurface(t, upAxis(), c.bodies...)
		if !slices.Equal(s.open, c.want) {
			t.Errorf("%s: open shells are %v, want %v", c.name, s.open, c.want)
		}
	}
}

// A plane cuts a closed surface in closed curves, to the bit: every point
// where a segment ends is where another begins, and every circle is crossed
// inward as often as outward.
func TestPlanesCutClosedCurves(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := mustSurface(t, drawAxis(t), tangled(t))
		z := rapid.Float64Range(s.zLo, s.zHi).Draw(t, "z")
		if rapid.Bool().Draw(t, "through a vertex") {
			z = s.p[rapid.IntRange(0, len(s.p)-1).Draw(t, "vertex")].Z
		}
		ends := map[[2]float64]int{}
		var segs []segment
		for k := range s.tris {
			if g, ok := s.cut(int32(k), z); ok {
				ends[[2]float64{g.px, g.py}]++
				ends[[2]float64{g.qx, g.qy}]--
				segs = append(segs, g)
			}
		}
		for p, n := range ends {
			if n != 0 {
				t.Fatalf("at height %v, %d more segments begin than end at %v", z, n, p)
			}
		}
		r := rapid.Float64Range(0, s.rHi).Draw(t, "r")
		sum := 0
		for _, g := range segs {
			for _, c := range g.crossings(r, nil) {
				sum += int(c.turn)
			}
		}
		if sum != 0 {
			t.Fatalf("circle of radius %v at height %v gains a winding of %d", r, z, sum)
		}
	})
}

// The winding number of a point from segments agrees with the angle they turn
// through seen from it.
func TestWindingAgainstAngles(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(3, 9).Draw(t, "corners")
		var p []r3.Vec
		for range n {
			p = append(p, drawVec(t, "corner", 1))
		}
		x, y := rapid.Float64Range(-1, 1).Draw(t, "x"), rapid.Float64Range(-1, 1).Draw(t, "y")
		var winding int32
		angle, near := 0.0, math.Inf(1)
		for i := range p {
			a, b := p[i], p[(i+1)%n]
			g := segmentOf(a.X, a.Y, b.X, b.Y)
			winding += g.windingAbout(x, y)
			ax, ay, bx, by := a.X-x, a.Y-y, b.X-x, b.Y-y
			angle += math.Atan2(ax*by-ay*bx, ax*bx+ay*by)
			at := segmentOf(ax, ay, bx, by)
			lo, _ := at.radii()
			near = min(near, lo)
		}
		if near > 1e-9 && winding != int32(math.Round(angle/(2*math.Pi))) {
			t.Fatalf("winding is %d, the curve turns by %v", winding, angle/(2*math.Pi))
		}
	})
}

// The columns of the grid agree with ray casting through the bodies.
func TestColumnsAgainstRays(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sc := drawScene(t)
		s := mustSurface(t, sc.axis, sc.bodies...)
		w := newSwath(s, motion{}, 16, leastCells, lastSag)
		if err := w.run(context.Background()); err != nil {
			t.Fatal(err)
		}
		for k := range 40 {
			i, j := (k*7)%w.nr, (k*5)%w.nz
			angle := wrap(0.37 * float64(k))
			p := w.frame.model(w.r(i), angle, w.z(j))
			inside, near := false, math.Inf(1)
			for _, b := range sc.bodies {
				inside = inside || holds(b, p)
				_, _, d := b.BVH().Closest(p)
				near = min(near, d)
			}
			if near > 1e-6 && w.rows[j].column(i).holds(angle) != inside {
				t.Fatalf("node %d, %d at angle %v: column says %v, the solid angle %v", i, j, angle, !inside, inside)
			}
		}
	})
}

func TestBucketsAgainstTryingAll(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		keys := rapid.IntRange(1, 12).Draw(t, "keys")
		n := rapid.IntRange(0, 20).Draw(t, "items")
		from, to := make([]int, n), make([]int, n)
		for i := range n {
			from[i] = rapid.IntRange(0, keys).Draw(t, "from")
			to[i] = rapid.IntRange(-1, keys-1).Draw(t, "to")
		}
		b := newBuckets(keys, n, func(i int) (int, int) { return from[i], to[i] })
		for k := range keys {
			var want []int32
			for i := range n {
				if from[i] <= k && k <= to[i] {
					want = append(want, int32(i))
				}
			}
			if !slices.Equal(b.of(k), want) {
				t.Fatalf("key %d holds %v, want %v", k, b.of(k), want)
			}
		}
	})
}

// The outermost circles lie outside the body, and no range of the grid loses a
// node.
func TestGridHoldsTheProfile(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sc := drawScene(t)
		s := mustSurface(t, sc.axis, sc.bodies...)
		g := newGrid(s, rapid.IntRange(MinResolution, 300).Draw(t, "cells"), leastCells)
		if !(g.z(0) < s.zLo && g.z(g.nz-1) > s.zHi && g.r(g.nr-1) > s.rHi) || !(g.r(0) == 0 || g.r(0) < s.rLo) {
			t.Fatalf("grid %+v leaves out part of %v..%v by %v..%v", g, s.rLo, s.rHi, s.zLo, s.zHi)
		}
		lo := rapid.Float64Range(0, s.rHi).Draw(t, "lo")
		hi := lo + rapid.Float64Range(0, s.rHi).Draw(t, "more")
		from, to := g.columnsWithin(lo, hi)
		for i := range g.nr {
			if r := g.r(i); r >= lo && r <= hi && (i < from || i > to) {
				t.Fatalf("node %d at %v is not among %d to %d for %v to %v", i, r, from, to, lo, hi)
			}
		}
	})
}

func TestEachRunsAllOnceAndStops(t *testing.T) {
	var count [100]atomic.Int32
	told := 0
	if err := each(context.Background(), 100, func(int) { told++ }, func(i int) { count[i].Add(1) }); err != nil {
		t.Fatal(err)
	}
	for i := range count {
		if n := count[i].Load(); n != 1 {
			t.Errorf("item %d was done %d times", i, n)
		}
	}
	if told == 0 {
		t.Error("nobody was told")
	}
	ctx, cancel := context.WithCancel(context.Background())
	var done atomic.Int32
	err := each(ctx, 1000, nil, func(int) {
		if done.Add(1) == 5 {
			cancel()
		}
	})
	if !errors.Is(err, context.Canceled) || done.Load() > 20 {
		t.Errorf("error %v after %d items", err, done.Load())
	}
	if err := each(context.Background(), 0, nil, func(int) { t.Error("called for nothing") }); err != nil {
		t.Error(err)
	}
}
