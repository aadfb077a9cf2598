package find

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/fit/find/findtest"
	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
)

// strewn lists n points of the surface of revolution about z with the section
// rho(h), 0 <= h <= 2, anywhere on it.
func strewn(section func(h float64) float64, n int, rng *rand.Rand) []r3.Vec {
	p := make([]r3.Vec, n)
	for i := range p {
		h := 2 * rng.Float64()
		s, c := math.Sincos(2 * math.Pi * rng.Float64())
		p[i] = r3.Vec{X: section(h) * c, Y: section(h) * s, Z: h}
	}
	return p
}

func sections() map[string]func(float64) float64 {
	return map[string]func(float64) float64{
		"cone":     func(h float64) float64 { return 1 - 0.3*h },
		"barrel":   func(h float64) float64 { return 1 - 0.1*(h-1)*(h-1) },
		"spheroid": func(h float64) float64 { return 0.6 * math.Sqrt(max(0, 1-(h-1)*(h-1))) },
		"vase":     func(h float64) float64 { return 1 + 0.2*math.Sin(2*h) },
	}
}

// Points of a surface of revolution give its axis, from one a few degrees off.
func TestProfileExact(t *testing.T) {
	for name, section := range sections() {
		rapid.Check(t, func(t *rapid.T) {
			move, axis, at, scale := drawMove(t)
			rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
			p := strewn(section, rapid.IntRange(200, 600).Draw(t, "points"), rng)
			for i := range p {
				p[i] = move(p[i])
			}
			start := r3.Unit(r3.Add(axis, r3.Scale(0.08, across(axis))))
			f, ok := fitProfile(p, r3.Add(at, r3.Scale(0.05*scale, across(axis))), start, 0)
			if !ok {
				t.Fatalf("%s: no surface", name)
			}
			if a, d := lineAngle(f.axis, axis), fromLine(at, f.origin, f.axis)/scale; a > 3e-4 || d > 3e-4 {
				t.Errorf("%s: %g rad, %g off, known to %g, %g", name, a, d, f.tilt, f.shift/scale)
			}
		})
	}
}

// With noise the axis lies within three standard deviations nearly always.
func TestProfileSigmasCover(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 9))
	const runs, sigma = 120, 3e-3
	in := 0
	for range runs {
		p := strewn(sections()["barrel"], 300, rng)
		for i := range p {
			p[i] = r3.Add(p[i], r3.Scale(sigma, r3.Vec{X: rng.NormFloat64(), Y: rng.NormFloat64(), Z: rng.NormFloat64()}))
		}
		f, ok := fitProfile(p, r3.Vec{X: 0.01}, r3.Unit(r3.Vec{X: 0.05, Z: 1}), sigma)
		if !ok {
			t.Fatal("no surface")
		}
		if lineAngle(f.axis, r3.Vec{Z: 1}) < 3*f.tilt {
			in++
		}
	}
	if in < runs*95/100 {
		t.Errorf("%d of %d axes within 3 sigma", in, runs)
	}
}

// An eighth of the vertices may be of something else.
func TestProfileWithOthers(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 3))
	p := strewn(sections()["vase"], 400, rng)
	for range 60 {
		p = append(p, r3.Vec{X: 1.5 + 2*rng.Float64(), Y: rng.Float64(), Z: 2 * rng.Float64()})
	}
	f, ok := fitProfile(p, r3.Vec{X: 0.05}, r3.Unit(r3.Vec{Y: 0.05, Z: 1}), 0)
	if !ok || lineAngle(f.axis, r3.Vec{Z: 1}) > 1e-3 || fromLine(r3.Vec{}, f.origin, f.axis) > 1e-3 {
		t.Errorf("%v: axis %v through %v, %d points", ok, f.axis, f.origin, len(f.on))
	}
}

func TestProfileRefuses(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 5))
	var box, cloud []r3.Vec
	for range 500 {
		q := r3.Vec{X: 2*rng.Float64() - 1, Y: 3 * (2*rng.Float64() - 1), Z: 2*rng.Float64() - 1}
		cloud = append(cloud, q)
		switch rng.IntN(3) {
		case 0:
			q.X = math.Copysign(1, q.X)
		case 1:
			q.Y = math.Copysign(3, q.Y)
		default:
			q.Z = math.Copysign(1, q.Z)
		}
		box = append(box, q)
	}
	ball := strewn(func(h float64) float64 { return math.Sqrt(max(0, 1-(h-1)*(h-1))) }, 500, rng)
	for name, p := range map[string][]r3.Vec{"box": box, "cloud": cloud, "ball": ball, "few": ball[:12], "none": nil, "one place": make([]r3.Vec, 50)} {
		if f, ok := fitProfile(p, r3.Vec{}, r3.Vec{Z: 1}, 0); ok {
			t.Errorf("%s: axis %v, known to %g", name, f.axis, f.tilt)
		}
	}
}

// The B-splines add up to one, their slopes to nothing, and the penalty leaves
// straight lines alone.
func TestSpline(t *testing.T) {
	f := profileFit{spans: 5, lo: -1, width: 0.4}
	for h := -1.0; h <= 1; h += 0.13 {
		_, b, s := f.spline(h)
		if math.Abs(b[0]+b[1]+b[2]-1) > 1e-15 || math.Abs(s[0]+s[1]+s[2]) > 1e-12 {
			t.Errorf("at %g: values %v, slopes %v", h, b, s)
		}
	}
	sum := mat.NewSymDense(6, nil)
	for i := range 6 {
		sum.SetSym(i, i, 1)
	}
	before := mat.NewSymDense(6, nil)
	before.CopySym(sum)
	bend(sum, 2, 0.5)
	line := mat.NewVecDense(6, []float64{9, 9, 1, 3, 5, 7})
	var a, b mat.VecDense
	a.MulVec(sum, line)
	b.MulVec(before, line)
	a.SubVec(&a, &b)
	if mat.Norm(&a, 2) > 1e-12 {
		t.Errorf("the penalty bends a straight line by %v", a)
	}
}

// A dome that goes over into a lug, of any tessellation, shows its axis; a
// random hull shows none.
func TestPieceOfAPatch(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	var p, q []r3.Vec
	for range 1500 {
		z := 2*rng.Float64() - 1
		s, c := math.Sincos(2 * math.Pi * rng.Float64())
		d := r3.Vec{X: math.Sqrt(1-z*z) * c, Y: math.Sqrt(1-z*z) * s, Z: 0.6 * z}
		if d.X > 0.7 {
			d.X = 0.7 + 4*(d.X-0.7)
		}
		p = append(p, d)
		e := r3.Vec{X: rng.NormFloat64(), Y: rng.NormFloat64(), Z: rng.NormFloat64()}
		e = r3.Scale(1/math.Pow(math.Pow(math.Abs(e.X), 3)+math.Pow(math.Abs(e.Y/2), 3)+math.Pow(math.Abs(e.Z/1.5), 3), 1./3), e)
		q = append(q, e)
	}
	for name, m := range map[string]*mesh.Mesh{"dome": findtest.Hull(p), "cushion": findtest.Hull(q)} {
		k := newLooker(ctxOf(), m)
		if err := k.turned(); err != nil {
			t.Fatal(err)
		}
		if name == "cushion" {
			if len(k.rings) != 0 {
				t.Errorf("%s: %d rings", name, len(k.rings))
			}
			continue
		}
		if len(k.rings) == 0 || lineAngle(k.rings[0].axis, r3.Vec{Z: 1}) > 1e-6 || fromLine(r3.Vec{}, k.rings[0].centre, k.rings[0].axis) > 1e-6 {
			t.Errorf("%s: %d rings", name, len(k.rings))
		}
	}
}

func BenchmarkProfile(b *testing.B) {
	b.ReportAllocs()
	p := strewn(sections()["vase"], 1000, rand.New(rand.NewPCG(1, 1)))
	for b.Loop() {
		fitProfile(p, r3.Vec{X: 0.01}, r3.Unit(r3.Vec{X: 0.02, Z: 1}), 0)
	}
}

// The ball's own test of being one.
func TestIsBall(t *testing.T) {
	ball := meshtest.Sphere(2, 20, 10).Vertices()
	if !isBall(ball, 0) || isBall(meshtest.Torus(3, 1, 20, 10).Vertices(), 0) || isBall(nil, 0) {
		t.Error("a ball is none or a ring is one")
	}
	if isBall(shaken(meshtest.Sphere(2, 20, 10), 0.1, 1).Vertices(), 0) || !isBall(shaken(meshtest.Sphere(2, 20, 10), 0.1, 1).Vertices(), 0.1) {
		t.Error("noise does not count")
	}
}
