package contact

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

// The bow of a facet of a regular n-gon is its sagitta r (1 - cos(pi/n)),
// wherever the axis of the round is and however the facet was cut: closed form,
// since sin x tan(x/2) = 1 - cos x.
func TestBowOfARound(t *testing.T) {
	const n, r = 24, 4
	want := r * (1 - math.Cos(math.Pi/n))
	for _, cut := range []int{1, 4} {
		x, f, _ := sideOf(t, pin(r, -5, 5, n, 0.1).shifted(20, 3, 0).subdivided(cut), zAxis)
		for i := range x.tris {
			wall := math.Abs(x.normal[i].Z) < 0.5
			if got := float64(x.bowOf(int32(i))) / f.scale; wall && math.Abs(got-want) > 1e-6 || !wall && got != 0 {
				t.Fatalf("cut %d: bow of triangle %d is %.9g, want %.9g of the wall only", cut, i, got, want)
			}
		}
	}
	x, _, _ := sideOf(t, box(5, 9, -2, 2, -1, 1), zAxis)
	for i := range x.tris {
		if x.bowOf(int32(i)) != 0 {
			t.Errorf("triangle %d of a box bows", i)
		}
	}
}

func TestProfileOverlap(t *testing.T) {
	line := func(r0, z0, r1, z1 float64) [3]point2 { return [3]point2{{r0, z0}, {r1, z1}, {r1, z1}} }
	for _, c := range []struct {
		name         string
		a, b         [3]point2
		depth, along float64
	}{
		{"wall on wall", line(0.4, -1, 0.4, 1), line(0.4, -0.5, 0.4, 0.5), 0, 1},
		{"wall inside wall", line(0.4, -1, 0.4, 1), line(0.5, -0.5, 0.5, 0.5), -0.1, 1},
		{"wall on the end of a wall", line(0.4, -1, 0.4, 0), line(0.4, 0, 0.4, 1), 0, 0},
		{"wall through a disc", line(0.4, -1, 0.4, 1), line(0.3, 0.2, 0.9, 0.2), 0.1, 0.1},
		{"wall through the middle of a disc", line(0.6, -1, 0.6, 1), line(0, 0.9, 1, 0.9), 0.1, 0.1},
		{"cone on cone", line(0.2, 0, 0.5, 0.4), line(0.35, 0.2, 0.65, 0.6), 0, 0.25},
	} {
		if got := profileOverlap(c.a, c.b); math.Abs(got-c.depth) > 1e-12 {
			t.Errorf("%s: depth %.15g, want %.15g", c.name, got, c.depth)
		}
		if got := alongside(c.a, c.b); c.depth == 0 && math.Abs(got-c.along) > 1e-12 {
			t.Errorf("%s: alongside over %.15g, want %.15g", c.name, got, c.along)
		}
	}
}

// The zone of triangles that overlap holds every point where they cross.
func TestZoneHoldsTheCrossing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, q := drawTriangle(t, "p"), drawTriangle(t, "q")
		np, nq := unitNormal(p), unitNormal(q)
		if np == (r3.Vec{}) || nq == (r3.Vec{}) || separatorsOf(p, q, 0).widest.gap > -1e-3 {
			t.Skip("they do not cross by any depth")
		}
		z := emptyZone()
		z.cross(motion{turns: true}, &p, &q, np, nq)
		z.rim = 1e-9
		u := rapid.Float64Range(0, 1)
		for k := range 3 {
			a, b := on(p, u.Draw(t, "u"), u.Draw(t, "v")), p[k]
			if x, ok := pierced(a, b, &q, nq); ok && wellInside(x, &q, nq) && !z.holds(motion{turns: true}, x) {
				t.Fatalf("zone %+v does not hold %v", z, x)
			}
		}
	})
}

// wellInside reports whether a point of the triangle's plane keeps clear of its
// edges.
func wellInside(x r3.Vec, q *[3]r3.Vec, n r3.Vec) bool {
	for k := range 3 {
		e := r3.Sub(q[(k+1)%3], q[k])
		if r3.Dot(r3.Cross(n, e), r3.Sub(x, q[k])) < 1e-6*r3.Norm(e) {
			return false
		}
	}
	return true
}

func TestZone(t *testing.T) {
	p := triangle(3, -1, 0, 3, 1, 0, 3, 0, 4) // the plane x = 3
	q := triangle(1, 0, 1, 5, 0, 1, 3, 9, 1)  // the plane z = 1
	z := emptyZone()
	z.cross(motion{turns: true}, &p, &q, unitNormal(p), unitNormal(q))
	// They share the segment from (3, 0, 1) to (3, 0.75, 1).
	for i, x := range [4][2]float64{{z.rLo, 3}, {z.rHi, math.Hypot(3, 0.75)}, {z.zLo, 1}, {z.zHi, 1}} {
		if math.Abs(x[0]-x[1]) > 1e-12 {
			t.Errorf("entry %d of the zone is %.15g, want %.15g", i, x[0], x[1])
		}
	}
	// A segment that passes the axis comes nearer than its ends.
	p = triangle(-5, 1, -1, 5, 1, -1, 0, 1, 5)
	q = triangle(-2, -9, 0, 2, -9, 0, 0, 30, 0)
	z = emptyZone()
	z.cross(motion{turns: true}, &p, &q, unitNormal(p), unitNormal(q))
	if math.Abs(z.rLo-1) > 1e-12 {
		t.Errorf("zone begins at %.15g, want 1", z.rLo)
	}
	z.rim = 0.5
	for _, c := range []struct {
		p    r3.Vec
		want bool
	}{{r3.Vec{X: 0.6}, true}, {r3.Vec{X: 0.4}, false}, {r3.Vec{Y: 1, Z: 0.4}, true}, {r3.Vec{Y: 1, Z: 0.6}, false}} {
		if got := z.holds(motion{turns: true}, c.p); got != c.want {
			t.Errorf("zone holds %v: %v, want %v", c.p, got, c.want)
		}
	}
}

func TestHoldsPoints(t *testing.T) {
	hollow := joined(box(-5, 5, -5, 5, -5, 5), box(-4, 4, -4, 4, -4, 4).reversed())
	for _, s := range []solid{hollow, hollow.reversed()} {
		x, _, _ := sideOf(t, s, zAxis)
		if !x.closed {
			t.Fatal("not closed")
		}
		for p, want := range map[r3.Vec]bool{{}: false, {X: 4.5}: true, {X: 3.9}: false, {X: 4.9, Y: 4.9, Z: 4.9}: true, {X: 5.1}: false, {X: 100}: false} {
			if got := x.holds(p); got != want {
				t.Errorf("holds %v: %v, want %v", p, got, want)
			}
		}
	}
	open, _, _ := sideOf(t, box(-5, 5, -5, 5, -5, 5)[1:], zAxis)
	if open.closed {
		t.Error("a box without a triangle counts as closed")
	}
}

// The depth of an overlap is that of the deepest vertex, however fine the
// triangles that cross.
func TestOverlapDepth(t *testing.T) {
	for _, cut := range []int{1, 3, 10} {
		peg, block := box(2, 4, -1, 1, -3, 2), box(-9, 9, -9, 9, -1, 7)
		r := freeRange(t, scene(t, peg.subdivided(cut), block.subdivided(cut), zAxis, Options{}))
		if d := deepest(r.Rest, Overlap); math.Abs(d-3) > 1e-9 {
			t.Errorf("cut %d: depth %.12g, want 3", cut, d)
		}
	}
}
