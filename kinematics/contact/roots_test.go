package contact

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/kinematics"
)

// Closed form, checked to 30 digits: a point p turned about an axis meets the
// plane n.x = d where A cos t + B sin t + C = 0 with A = n.p_perp,
// B = n.(a x p_perp), C = n.(c + p_par) - d; t = atan2(B, A) +- acos(-C/M).
var planeCases = []struct {
	name    string
	p       r3.Vec
	axis    kinematics.Axis
	n       r3.Vec
	d       float64
	a, b, c float64
	roots   []float64 // degrees
}{
	{"V1", r3.Vec{X: 2}, zAxis, r3.Vec{Y: 1}, 1, 0, 2, -1, []float64{30, 150}},
	{"V2", r3.Vec{X: 5}, zAxis, r3.Vec{X: 0.6, Y: 0.8}, 4, 3, 4, -4, []float64{16.26020470831196, 90}},
	{
		"V3",
		r3.Vec{X: 4, Y: 1, Z: 1},
		kinematics.Axis{Point: r3.Vec{X: 1, Y: -2, Z: 0.5}, Dir: r3.Vec{X: 2. / 3, Y: -1. / 3, Z: 2. / 3}},
		r3.Vec{Y: 0.6, Z: 0.8},
		2.5, 1.75555555555556, 3.4, -2.85555555555556,
		[]float64{20.95841841869022, 104.4233608213764},
	},
	{"V4 never", r3.Vec{X: 5}, zAxis, r3.Vec{X: 0.6, Y: 0.8}, 6, 3, 4, -6, nil},
	{"V5 graze", r3.Vec{X: 5}, zAxis, r3.Vec{X: 0.6, Y: 0.8}, 5, 3, 4, -5, []float64{53.13010235415598}},
	{"V6", r3.Vec{X: 5}, zAxis, r3.Vec{X: 0.6, Y: 0.8}, 3.5, 3, 4, -3.5, []float64{7.557106354961682, 98.70309835335027}},
}

// frameFor is the axis frame of points that lie within reach of the origin.
func frameFor(axis kinematics.Axis, reach float64) axisFrame {
	v := r3.Vec{X: reach, Y: reach, Z: reach}
	return newAxisFrame(Hinge(axis), r3.Box{Min: r3.Scale(-1, v), Max: v})
}

func wantRoots(t *testing.T, what string, h harmonic, want []float64) {
	t.Helper()
	got, n := h.roots(valueEps, turn)
	if n != len(want) {
		t.Fatalf("%s: %d roots %v, want %v", what, n, got[:n], want)
	}
	for i, w := range want {
		if d := got[i] - w*degree; math.Abs(d) > 1e-13 {
			t.Errorf("%s: root %d at %.15g deg, want %.15g, off by %.2g rad", what, i, got[i]/degree, w, d)
		}
	}
}

func TestRootsOfPlanes(t *testing.T) {
	for _, c := range planeCases {
		f := frameFor(c.axis, 6)
		n := f.turn(c.n)
		q := f.local(r3.Scale(c.d, c.n))
		h := cornerHarmonic(n, q, f.local(c.p), 1)
		for i, x := range [3][2]float64{{h.A / f.scale, c.a}, {h.B / f.scale, c.b}, {(h.G - h.A) / f.scale, c.c}} {
			if math.Abs(x[0]-x[1]) > 2e-14 {
				t.Errorf("%s: coefficient %d is %.15g, want %.15g", c.name, i, x[0], x[1])
			}
		}
		wantRoots(t, c.name, h, c.roots)
	}
}

// Closed form, checked to 30 digits and at three further angles: the line
// (p, u) turned meets the line (q, w) where (q - p(t)).(u(t) x w) = 0.
var edgeCases = []struct {
	name           string
	p, p1, q, q1   r3.Vec
	axis           kinematics.Axis
	a, b, c        float64
	root           [2]float64 // degrees
	onMove, onStil [2]float64 // parameters on the edges at the roots
	meets          [2]bool
	point          [2]r3.Vec
}{
	{
		"E1",
		r3.Vec{X: 2},
		r3.Vec{X: 2, Z: 2},
		r3.Vec{X: -5, Y: 1, Z: 1},
		r3.Vec{X: 5, Y: 1, Z: 1},
		zAxis, 0, -40, 20,
		[2]float64{30, 150},
		[2]float64{0.5, 0.5},
		[2]float64{0.673205080756888, 0.326794919243112},
		[2]bool{true, true},
		[2]r3.Vec{{X: 1.73205080756888, Y: 1, Z: 1}, {X: -1.73205080756888, Y: 1, Z: 1}},
	},
	{
		"E2",
		r3.Vec{X: 3, Y: -1},
		r3.Vec{X: 2, Y: 1, Z: 2},
		r3.Vec{X: -1, Y: 2, Z: 1},
		r3.Vec{X: 1.5, Y: 2.5, Z: 1.5},
		zAxis, 2.5, -10, 8.5,
		[2]float64{69.58634147997299, 138.48614545588},
		[2]float64{0.653150543330208, 0.417556527376863},
		[2]float64{0.612602173320832, -0.32977389049255},
		[2]bool{true, false},
		[2]r3.Vec{{X: 0.531505433302081, Y: 2.30630108666042, Z: 1.30630108666042}, {X: -1.82443472623137, Y: 1.83511305475373, Z: 0.835113054753725}},
	},
	{
		"E3",
		r3.Vec{X: 4, Z: 1},
		r3.Vec{X: 5, Y: 1, Z: -1},
		r3.Vec{X: 1, Y: 3, Z: -1},
		r3.Vec{Y: 4, Z: 3},
		kinematics.Axis{Point: r3.Vec{X: 1}, Dir: r3.Unit(r3.Vec{X: 1, Y: 1, Z: 1})},
		-16, 2.3094010767585, -12,
		[2]float64{129.715140253221, 213.8584383433027},
		[2]float64{0.615069293303905, -0.948402626637238},
		[2]float64{0.5, 0.5},
		[2]bool{true, false},
		[2]r3.Vec{{X: 0.5, Y: 3.5, Z: 1}, {X: 0.5, Y: 3.5, Z: 1}},
	},
}

func TestRootsOfEdges(t *testing.T) {
	for _, c := range edgeCases {
		f := frameFor(c.axis, 6)
		p, q := f.local(c.p), f.local(c.q)
		u, w := r3.Sub(f.local(c.p1), p), r3.Sub(f.local(c.q1), q)
		h := edgeHarmonic(p, u, r3.Cross(p, u), q, w, r3.Cross(q, w), 1)
		cube := -f.scale * f.scale * f.scale // the table has the opposite sign
		for i, x := range [3][2]float64{{h.A / cube, c.a}, {h.B / cube, c.b}, {(h.G - h.A) / cube, c.c}} {
			if math.Abs(x[0]-x[1]) > 2e-13 {
				t.Errorf("%s: coefficient %d is %.15g, want %.15g", c.name, i, x[0], x[1])
			}
		}
		wantRoots(t, c.name, h, c.root[:])
		x := solver{motion: motion{turns: true}, dir: 1}
		x.p[0], x.u[0], x.q[0], x.w[0] = p, u, q, w
		for k, root := range c.root {
			hit := hit{angle: root * degree}
			if got := x.edgesMeet(encounter{edgeOnEdge, 0, 0}, &hit, 1e-9); got != c.meets[k] {
				t.Errorf("%s: edges meet at %g deg: %v, want %v", c.name, root, got, c.meets[k])
			}
			if d := r3.Norm(r3.Sub(f.model(hit.point), c.point[k])); c.meets[k] && d > 1e-12 {
				t.Errorf("%s: point %v, want %v", c.name, f.model(hit.point), c.point[k])
			}
		}
	}
}

// A root close to zero keeps its digits: with G known exactly, the angle of a
// gap of 1e-13 is right to 12 digits.
func TestRootsNearZero(t *testing.T) {
	for _, gap := range []float64{1e-3, 1e-6, 1e-9, 1e-13} {
		h := harmonic{G: -gap, A: 0.3, B: 0.8}
		got, n := h.roots(valueEps, turn)
		// g(t) = -gap + 0.8 t - 0.15 t^2 + ...: t = gap/0.8 (1 + 0.15 gap/0.64 + ...)
		want := gap / 0.8 * (1 + 0.15*gap/0.64)
		if n != 2 || math.Abs(got[0]/want-1) > 1e-12+gap*gap {
			t.Errorf("gap %g: roots %v, want the first at %.17g", gap, got[:n], want)
		}
	}
}

func TestRootsSolveTheEquation(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		u := rapid.Float64Range(-1, 1)
		h := harmonic{G: u.Draw(t, "G"), A: u.Draw(t, "A"), B: u.Draw(t, "B")}
		roots, n := h.roots(valueEps, turn)
		m := math.Hypot(h.A, h.B)
		if m < 1e-6 {
			t.Skip("no motion to speak of")
		}
		c := h.G - h.A
		switch {
		case math.Abs(c) < m*(1-1e-9) && n != 2, math.Abs(c) > m*(1+1e-9) && n != 0:
			t.Fatalf("|C| = %g, M = %g: %d roots", math.Abs(c), m, n)
		case n == 2 && roots[0] > roots[1]:
			t.Fatalf("roots %v not in order", roots)
		}
		for _, r := range roots[:n] {
			if r < 0 || r > turn {
				t.Fatalf("root %v outside 0..2 pi", r)
			}
			if v := h.A*math.Cos(r) + h.B*math.Sin(r) + c; math.Abs(v) > 1e-14 {
				t.Fatalf("g(%v) = %g", r, v)
			}
		}
	})
}

// The filter may only ever turn away intervals without a root.
func TestMissesNoRoot(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		u := rapid.Float64Range(-1, 1)
		h := harmonic{G: u.Draw(t, "G"), A: u.Draw(t, "A"), B: u.Draw(t, "B")}
		half := math.Pow(10, rapid.Float64Range(-6, 0.6).Draw(t, "log half"))
		roots, n := h.roots(valueEps, turn)
		for _, r := range roots[:n] {
			s, c := math.Sincos(r + half*u.Draw(t, "offset"))
			if h.misses(c, s, half) {
				t.Fatalf("%+v: root %v within %g turned away", h, r, half)
			}
		}
	})
}
