package mesh_test

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
)

// drawTriangle draws a triangle, often a degenerate one.
func drawTriangle(t *rapid.T, label string) [3]r3.Vec {
	var c [3]r3.Vec
	for i := range c {
		c[i] = drawVec(t, 2, label)
		if rapid.Bool().Draw(t, label+".lattice") {
			c[i] = r3.Vec{X: math.Round(c[i].X), Y: math.Round(c[i].Y), Z: math.Round(c[i].Z)}
		}
	}
	switch rapid.IntRange(0, 9).Draw(t, label+".kind") {
	case 0:
		c[1] = c[0]
	case 1:
		c[1], c[2] = c[0], c[0]
	case 2:
		c[2] = r3.Scale(0.5, r3.Add(c[0], c[1]))
	case 3:
		c[2] = r3.Add(c[1], r3.Vec{X: 1e-9})
	}
	return c
}

// excess returns how far the point furthest along d reaches beyond p. A point p
// of a convex hull is the one nearest to q exactly if nothing reaches beyond p
// towards q (the optimality condition of convex minimisation).
func excess(p, d r3.Vec, hull ...r3.Vec) float64 {
	n := r3.Norm(d)
	if n == 0 {
		return 0
	}
	most := math.Inf(-1)
	for _, h := range hull {
		most = max(most, r3.Dot(r3.Sub(h, p), d)/n)
	}
	return most
}

// offHull returns how far p is from the triangle, which may be a segment or a
// point. At a fixed share u of the second corner what is left is a segment; the
// distance from it is convex in u, so a ternary search finds the least.
func offHull(p r3.Vec, c [3]r3.Vec) float64 {
	at := func(u float64) float64 {
		a := r3.Add(c[0], r3.Scale(u, r3.Sub(c[1], c[0])))
		d := r3.Scale(1-u, r3.Sub(c[2], c[0]))
		v := 0.0
		if n := r3.Norm2(d); n > 0 {
			v = min(max(r3.Dot(r3.Sub(p, a), d)/n, 0), 1)
		}
		return r3.Norm(r3.Sub(p, r3.Add(a, r3.Scale(v, d))))
	}
	lo, hi := 0.0, 1.0
	for range 100 {
		u, v := lo+(hi-lo)/3, hi-(hi-lo)/3
		if at(u) < at(v) {
			hi = v
		} else {
			lo = u
		}
	}
	return min(at(0), at(lo), at(hi), at(1))
}

func TestClosestOnTriangleClosedForm(t *testing.T) {
	a, b, c := r3.Vec{}, r3.Vec{X: 4}, r3.Vec{Y: 3}
	for _, test := range []struct{ p, want r3.Vec }{
		{r3.Vec{X: 1, Y: 1, Z: 7}, r3.Vec{X: 1, Y: 1}},
		{r3.Vec{X: 1, Y: 1, Z: -7}, r3.Vec{X: 1, Y: 1}},
		{r3.Vec{X: -1, Y: -2, Z: 3}, r3.Vec{}},
		{r3.Vec{X: 9, Y: -2}, b},
		{r3.Vec{X: -5, Y: 9}, c},
		{r3.Vec{X: 2, Y: -5, Z: 1}, r3.Vec{X: 2}},
		{r3.Vec{X: -3, Y: 2, Z: 1}, r3.Vec{Y: 2}},
		{r3.Vec{X: 2 + 3, Y: 1.5 + 4, Z: 2}, r3.Vec{X: 2, Y: 1.5}}, // off the hypotenuse's middle
	} {
		got := mesh.ClosestOnTriangle(test.p, a, b, c)
		if d := r3.Norm(r3.Sub(got, test.want)); d > 1e-15 {
			t.Errorf("nearest to %v is %v, want %v", test.p, got, test.want)
		}
	}
}

func TestClosestOnTriangleIsOptimal(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, p := drawTriangle(t, "c"), drawVec(t, 5, "p")
		q := mesh.ClosestOnTriangle(p, c[0], c[1], c[2])
		wantNear(t, "off the triangle", offHull(q, c), 0, 1e-7)
		if r3.Norm(r3.Sub(p, q)) > 1e-9 {
			wantNear(t, "excess", max(0, excess(q, r3.Sub(p, q), c[:]...)), 0, 1e-7)
		}
	})
}

func TestClosestOnSegmentsClosedForm(t *testing.T) {
	v := func(x, y, z float64) r3.Vec { return r3.Vec{X: x, Y: y, Z: z} }
	for _, test := range []struct {
		name           string
		p0, p1, q0, q1 r3.Vec
		dist, s, t     float64 // NaN where any will do
	}{
		{"crossing lines", v(-1, 0, 0), v(1, 0, 0), v(0, -1, 2), v(0, 3, 2), 2, 0.5, 0.25},
		{"meeting", v(-1, 0, 0), v(1, 0, 0), v(0, -1, 0), v(0, 1, 0), 0, 0.5, 0.5},
		{"end to end", v(0, 0, 0), v(1, 0, 0), v(3, 1, 0), v(5, 1, 0), math.Sqrt(5), 1, 0},
		{"end to middle", v(0, 0, 0), v(4, 0, 0), v(1, 3, 0), v(1, 9, 0), 3, 0.25, 0},
		{"parallel", v(0, 0, 0), v(4, 0, 0), v(1, 1, 0), v(2, 1, 0), 1, math.NaN(), math.NaN()},
		{"one line", v(0, 0, 0), v(1, 0, 0), v(3, 0, 0), v(9, 0, 0), 2, 1, 0},
		{"overlapping", v(0, 0, 0), v(4, 0, 0), v(3, 0, 0), v(9, 0, 0), 0, math.NaN(), math.NaN()},
		{"point and segment", v(2, 2, 0), v(2, 2, 0), v(0, 0, 0), v(8, 0, 0), 2, math.NaN(), 0.25},
		{"points", v(1, 2, 2), v(1, 2, 2), v(0, 0, 0), v(0, 0, 0), 3, math.NaN(), math.NaN()},
	} {
		p, q, s, u := mesh.ClosestOnSegments(test.p0, test.p1, test.q0, test.q1)
		wantNear(t, test.name, r3.Norm(r3.Sub(p, q)), test.dist, 1e-15)
		if !math.IsNaN(test.s) {
			wantNear(t, test.name+" s", s, test.s, 1e-15)
		}
		if !math.IsNaN(test.t) {
			wantNear(t, test.name+" t", u, test.t, 1e-15)
		}
	}
}

func TestClosestOnSegmentsIsOptimal(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := drawTriangle(t, "a"), drawTriangle(t, "b")
		if rapid.Bool().Draw(t, "nearly parallel") {
			b[1] = r3.Add(r3.Add(b[0], r3.Sub(a[1], a[0])), drawVec(t, 1e-7, "off"))
		}
		p, q, s, u := mesh.ClosestOnSegments(a[0], a[1], b[0], b[1])
		if s < 0 || s > 1 || u < 0 || u > 1 {
			t.Fatalf("parameters %v, %v", s, u)
		}
		wantNear(t, "p", r3.Norm(r3.Sub(p, r3.Add(a[0], r3.Scale(s, r3.Sub(a[1], a[0]))))), 0, 1e-12)
		wantNear(t, "q", r3.Norm(r3.Sub(q, r3.Add(b[0], r3.Scale(u, r3.Sub(b[1], b[0]))))), 0, 1e-12)
		if d := r3.Sub(q, p); r3.Norm(d) > 1e-6 {
			wantNear(t, "excess", max(0, excess(p, d, a[0], a[1]), excess(q, r3.Scale(-1, d), b[0], b[1])), 0, 1e-6)
		}
	})
}

func TestTriangleDistanceClosedForm(t *testing.T) {
	base := [3]r3.Vec{{}, {X: 4}, {Y: 4}}
	at := func(move func(r3.Vec) r3.Vec) (c [3]r3.Vec) {
		for i := range c {
			c[i] = move(base[i])
		}
		return c
	}
	for _, test := range []struct {
		name string
		b    [3]r3.Vec
		want float64
	}{
		{"itself", base, 0},
		{"above", at(func(p r3.Vec) r3.Vec { return r3.Add(p, r3.Vec{Z: 2}) }), 2},
		{"beside", at(func(p r3.Vec) r3.Vec { return r3.Add(p, r3.Vec{X: 7}) }), 3},
		{"over the hypotenuse", at(func(p r3.Vec) r3.Vec { return r3.Add(r3.Scale(-1, p), r3.Vec{X: 5, Y: 5}) }), math.Sqrt2},
		{"piercing", [3]r3.Vec{{X: 1, Y: 1, Z: -1}, {X: 1, Y: 1, Z: 1}, {X: 9, Y: 9, Z: 1}}, 0},
		{"touching in a corner", [3]r3.Vec{{X: 1, Y: 1}, {X: 1, Y: 1, Z: 1}, {X: 2, Y: 1, Z: 1}}, 0},
		{"inside, same plane", [3]r3.Vec{{X: 0.5, Y: 0.5}, {X: 1, Y: 0.5}, {X: 0.5, Y: 1}}, 0},
		{"edges crossing, same plane", [3]r3.Vec{{X: 1, Y: -1}, {X: 2, Y: -1}, {X: 1.5, Y: 9}}, 0},
		{"edge over edge", [3]r3.Vec{{X: 2, Y: -3, Z: 1}, {X: 2, Y: -3, Z: -1}, {X: 2, Y: -9}}, 3},
		{"point", [3]r3.Vec{{X: 1, Y: 1, Z: 3}, {X: 1, Y: 1, Z: 3}, {X: 1, Y: 1, Z: 3}}, 3},
		{"segment through", [3]r3.Vec{{X: 1, Y: 1, Z: 3}, {X: 1, Y: 1, Z: -3}, {X: 1, Y: 1, Z: -3}}, 0},
	} {
		d, pa, pb := mesh.TriangleDistance(base, test.b)
		wantNear(t, test.name, d, test.want, 1e-15)
		wantNear(t, test.name+" points", r3.Norm(r3.Sub(pa, pb)), test.want, 1e-15)
	}
}

func TestTriangleDistanceIsOptimal(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := drawTriangle(t, "a"), drawTriangle(t, "b")
		d, pa, pb := mesh.TriangleDistance(a, b)
		wantNear(t, "pa off a", offHull(pa, a), 0, 1e-7)
		wantNear(t, "pb off b", offHull(pb, b), 0, 1e-7)
		wantNear(t, "points", r3.Norm(r3.Sub(pa, pb)), d, 1e-12)
		if n := r3.Sub(pb, pa); d > 1e-6 {
			wantNear(t, "excess", max(0, excess(pa, n, a[:]...), excess(pb, r3.Scale(-1, n), b[:]...)), 0, 1e-6)
		}
		back, _, _ := mesh.TriangleDistance(b, a)
		wantNear(t, "the other way", back, d, 1e-12)
	})
}

func TestTriangleDistanceInvariance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := drawTriangle(t, "a"), drawTriangle(t, "b")
		move, scale := drawMap(t)
		want, _, _ := mesh.TriangleDistance(a, b)
		for i := range a {
			a[i], b[i] = move(a[i]), move(b[i])
		}
		got, _, _ := mesh.TriangleDistance(a, b)
		wantNear(t, "moved", got/scale, want, 1e-8)
	})
}

// TestClosestOracle compares with a search through all triangles.
func TestClosestOracle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawSoup(t, 40)
		p := drawVec(t, 6, "p")
		tri, q, d := m.BVH().Closest(p)
		want, wantTri := math.Inf(1), -1
		for i := range m.Triangles() {
			a, b, c := m.Corners(i)
			if d2 := r3.Norm2(r3.Sub(p, mesh.ClosestOnTriangle(p, a, b, c))); d2 < want {
				want, wantTri = d2, i
			}
		}
		wantEqual(t, "triangle", tri, wantTri)
		wantEqual(t, "distance", d, math.Sqrt(want))
		if tri >= 0 {
			wantNear(t, "point", r3.Norm(r3.Sub(p, q)), d, 1e-12)
		}
	})
}

func TestClosestBadPoint(t *testing.T) {
	h := tetrahedron(t).BVH()
	for _, p := range []r3.Vec{{X: math.NaN()}, {Y: math.Inf(-1)}} {
		if tri, _, d := h.Closest(p); tri != -1 || !math.IsInf(d, 1) {
			t.Errorf("triangle %d at %v from %v", tri, d, p)
		}
		if d, _, tri := h.SignedDistance(p); tri != -1 || !math.IsInf(d, 1) {
			t.Errorf("triangle %d at %v from %v", tri, d, p)
		}
	}
}

func TestSignedDistanceBox(t *testing.T) {
	box := meshtest.Box(r3.Vec{X: -1, Y: -2, Z: -3}, r3.Vec{X: 1, Y: 2, Z: 3})
	rapid.Check(t, func(t *rapid.T) {
		p := drawVec(t, 5, "p")
		// Closed form of a box: outside the norm of the positive part, inside the largest part.
		x, y, z := math.Abs(p.X)-1, math.Abs(p.Y)-2, math.Abs(p.Z)-3
		want := r3.Norm(r3.Vec{X: max(x, 0), Y: max(y, 0), Z: max(z, 0)}) + min(max(x, y, z), 0)
		d, q, _ := box.BVH().SignedDistance(p)
		wantNear(t, "distance", d, want, 1e-14)
		wantNear(t, "point", r3.Norm(r3.Sub(p, q)), math.Abs(d), 1e-14)
	})
}

// TestSignedDistanceWinding checks the sign by the solid angle that all
// triangles cover (A. Van Oosterom and J. Strackee, The Solid Angle of a Plane
// Triangle, 1983): 4 pi inside, 0 outside. A star has sharp edges of both
// senses.
func TestSignedDistanceWinding(t *testing.T) {
	spike := func(p r3.Vec) r3.Vec {
		return r3.Scale(1+0.6*math.Sin(5*p.X)*math.Cos(4*p.Y+p.Z), p)
	}
	m := meshtest.Sphere(2, 9, 7, spike)
	rapid.Check(t, func(t *rapid.T) {
		p := drawVec(t, 3, "p")
		total := 0.0
		for i := range m.Triangles() {
			a, b, c := m.Corners(i)
			a, b, c = r3.Sub(a, p), r3.Sub(b, p), r3.Sub(c, p)
			x, y, z := r3.Norm(a), r3.Norm(b), r3.Norm(c)
			total += 2 * math.Atan2(r3.Dot(a, r3.Cross(b, c)), x*y*z+r3.Dot(a, b)*z+r3.Dot(b, c)*x+r3.Dot(c, a)*y)
		}
		d, _, _ := m.BVH().SignedDistance(p)
		if math.Abs(d) > 1e-9 && (d < 0) != (total > 2*math.Pi) {
			t.Fatalf("distance %v where the solid angle is %v", d, total)
		}
	})
}
