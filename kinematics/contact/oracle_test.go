package contact

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/fit/mesh"
	"pintle/kinematics"
)

// rotation turns points about an axis in model coordinates (Rodrigues).
func rotation(a kinematics.Axis, t float64) func(r3.Vec) r3.Vec {
	s, c := math.Sincos(t)
	return func(p r3.Vec) r3.Vec {
		v := r3.Sub(p, a.Point)
		along := r3.Scale(r3.Dot(v, a.Dir), a.Dir)
		across := r3.Sub(v, along)
		return r3.Add(a.Point, r3.Add(along, r3.Add(r3.Scale(c, across), r3.Scale(s, r3.Cross(a.Dir, across)))))
	}
}

// harmonicAngles returns the roots in 0..2 pi of g = A cos t + B sin t + C,
// whose coefficients it reads off three values.
func harmonicAngles(g func(t float64) float64) []float64 {
	g0, g90, g180 := g(0), g(math.Pi/2), g(math.Pi)
	a, c := (g0-g180)/2, (g0+g180)/2
	var out []float64
	for _, t := range angles(a, g90-c, c) {
		if t > 0 {
			out = append(out, t)
		}
	}
	return out
}

func inTriangle(p, a, b, c r3.Vec) bool {
	n := r3.Cross(r3.Sub(b, a), r3.Sub(c, a))
	n2 := r3.Norm2(n)
	u := r3.Dot(n, r3.Cross(r3.Sub(b, a), r3.Sub(p, a))) / n2
	v := r3.Dot(n, r3.Cross(r3.Sub(p, a), r3.Sub(c, a))) / n2
	return u > -1e-10 && v > -1e-10 && u+v < 1+1e-10
}

// firstByHand tries every corner against every face and every edge against
// every edge, without bounds of any kind, and returns the first contact in the
// positive sense, or NaN.
func firstByHand(moving, still solid, axis kinematics.Axis) float64 {
	first := math.NaN()
	keep := func(t float64) {
		if !(t >= first) {
			first = t
		}
	}
	corner := func(p r3.Vec, f [3]r3.Vec, sense float64) {
		n := r3.Unit(r3.Cross(r3.Sub(f[1], f[0]), r3.Sub(f[2], f[0])))
		for _, t := range harmonicAngles(func(t float64) float64 { return r3.Dot(n, r3.Sub(rotation(axis, sense*t)(p), f[0])) }) {
			if inTriangle(rotation(axis, sense*t)(p), f[0], f[1], f[2]) {
				keep(t)
			}
		}
	}
	for _, m := range moving {
		for _, s := range still {
			for i := range 3 {
				corner(m[i], s, 1)
				corner(s[i], m, -1)
				for j := range 3 {
					q, w := s[j], r3.Sub(s[(j+1)%3], s[j])
					at := func(t float64) (p, u r3.Vec) {
						r := rotation(axis, t)
						return r(m[i]), r3.Sub(r(m[(i+1)%3]), r(m[i]))
					}
					for _, t := range harmonicAngles(func(t float64) float64 {
						p, u := at(t)
						return r3.Dot(r3.Sub(q, p), r3.Cross(u, w))
					}) {
						p, u := at(t)
						n := r3.Cross(u, w)
						a := r3.Dot(r3.Cross(r3.Sub(q, p), w), n) / r3.Norm2(n)
						b := r3.Dot(r3.Cross(r3.Sub(q, p), u), n) / r3.Norm2(n)
						if a > -1e-10 && a < 1+1e-10 && b > -1e-10 && b < 1+1e-10 {
							keep(t)
						}
					}
				}
			}
		}
	}
	return first
}

func randomUnit(r *rand.Rand) r3.Vec {
	for {
		v := r3.Vec{X: 2*r.Float64() - 1, Y: 2*r.Float64() - 1, Z: 2*r.Float64() - 1}
		if n := r3.Norm(v); n > 0.1 && n <= 1 {
			return r3.Scale(1/n, v)
		}
	}
}

// rubble is n random tetrahedra of about the given size in a ball.
func rubble(r *rand.Rand, n int, size float64) solid {
	var s solid
	for range n {
		c := r3.Scale(10*math.Cbrt(r.Float64()), randomUnit(r))
		var p [4]r3.Vec
		for {
			for i := range p {
				p[i] = r3.Add(c, r3.Scale(size*(0.3+r.Float64()), randomUnit(r)))
			}
			v := r3.Dot(r3.Sub(p[1], p[0]), r3.Cross(r3.Sub(p[2], p[0]), r3.Sub(p[3], p[0])))
			if v < 0 {
				p[1], p[2] = p[2], p[1]
			}
			if math.Abs(v) > 0.05*size*size*size {
				break
			}
		}
		s = append(s, tetra(p[0], p[2], p[1], p[3])...)
	}
	return s
}

func apart(t *testing.T, a, b solid) bool {
	t.Helper()
	g, ok := mesh.Distance(a.mesh(t).BVH(), b.mesh(t).BVH(), mesh.Identity(), math.Inf(1))
	return ok && g.Distance > 1e-3
}

// randomScenes calls f with scenes of rubble that do not meet at rest, some of
// which are free all round.
func randomScenes(t *testing.T, count int, f func(moving, still solid, axis kinematics.Axis)) {
	r := rand.New(rand.NewPCG(7, 11))
	for i := 0; i < count; {
		moving, still, axis := rubbleScene(r, 3, 3)
		if apart(t, moving, still) {
			f(moving, still, axis)
			i++
		}
	}
}

func orNaN(e *Event) float64 {
	if e == nil {
		return math.NaN()
	}
	return e.Value
}

func TestAgainstAllPairs(t *testing.T) {
	contacts, free := 0, 0
	randomScenes(t, 150, func(moving, still solid, axis kinematics.Axis) {
		r := freeRange(t, scene(t, moving, still, axis, Options{Tolerance: -1}))
		wantAngle(t, "upper", r.Upper, firstByHand(moving, still, axis), 1e-9)
		wantAngle(t, "lower", r.Lower, -firstByHand(moving, still, axis.Reversed()), 1e-9)
		if r.Upper != nil {
			contacts++
		} else {
			free++
		}
	})
	if contacts < 20 || free < 20 {
		t.Errorf("%d scenes with contact, %d free: the scenes test too little", contacts, free)
	}
}

// distanceAt measures the parts with the moving one turned, by another route
// than the scene's.
func distanceAt(t *testing.T, moving, still solid, axis kinematics.Axis, angle float64) float64 {
	t.Helper()
	g, ok := mesh.Distance(still.mesh(t).BVH(), moving.moved(rotation(axis, angle)).mesh(t).BVH(), mesh.Identity(), math.Inf(1))
	if !ok {
		t.Fatal("no distance")
	}
	return g.Distance
}

// The parts touch at the ends of the range, and are apart at every step of it.
func TestAgainstStepping(t *testing.T) {
	randomScenes(t, 40, func(moving, still solid, axis kinematics.Axis) {
		r := freeRange(t, scene(t, moving, still, axis, Options{Tolerance: -1}))
		for dir, e := range map[float64]*Event{1: r.Upper, -1: r.Lower} {
			end := turn
			if e != nil {
				end = math.Abs(e.Value)
				if d := distanceAt(t, moving, still, axis, e.Value); d > 1e-9 {
					t.Errorf("parts are %g apart at the contact at %g", d, e.Value)
				}
			}
			for k := range 100 {
				if a := dir * end * float64(k) / 100; distanceAt(t, moving, still, axis, a) <= 0 {
					t.Errorf("parts meet at %g, before the contact at %v", a, orNaN(e))
				}
			}
		}
	})
}

// move is a random rigid motion, scale included.
func drawMove(t *rapid.T) (f func(r3.Vec) r3.Vec, scale float64) {
	u := rapid.Float64Range(-1, 1)
	dir := r3.Vec{X: u.Draw(t, "dx"), Y: u.Draw(t, "dy"), Z: u.Draw(t, "dz")}
	if r3.Norm(dir) < 0.1 {
		dir = r3.Vec{Z: 1}
	}
	axis := kinematics.Axis{Dir: r3.Unit(dir)}
	turnBy := rotation(axis, 4*u.Draw(t, "turn"))
	shift := r3.Vec{X: 50 * u.Draw(t, "x"), Y: 50 * u.Draw(t, "y"), Z: 50 * u.Draw(t, "z")}
	scale = math.Pow(10, 3*u.Draw(t, "scale"))
	return func(p r3.Vec) r3.Vec { return r3.Scale(scale, r3.Add(shift, turnBy(p))) }, scale
}

func movedAxis(a kinematics.Axis, f func(r3.Vec) r3.Vec) kinematics.Axis {
	p := f(a.Point)
	return kinematics.Axis{Point: p, Dir: r3.Unit(r3.Sub(f(r3.Add(a.Point, a.Dir)), p))}
}

// drawScene draws rubble that is apart at rest.
func drawScene(t *rapid.T, tb *testing.T) (moving, still solid, axis kinematics.Axis) {
	r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
	for {
		moving, still, axis = rubbleScene(r, 4, 3)
		if apart(tb, moving, still) {
			return moving, still, axis
		}
	}
}

func rubbleScene(r *rand.Rand, most int, coarse float64) (moving, still solid, axis kinematics.Axis) {
	axis = kinematics.Axis{Point: r3.Scale(4, randomUnit(r)), Dir: randomUnit(r)}
	size := 0.5 + coarse*r.Float64()
	return rubble(r, 1+r.IntN(most), size), rubble(r, 1+r.IntN(most), size), axis
}

// build is scene for a rapid test.
func build(t *rapid.T, tb testing.TB, moving, still solid, axis kinematics.Axis) *Scene {
	s, err := NewScene(tb.Context(), []Body{moving.body(tb, "m")}, []Body{still.body(tb, "s")}, Hinge(axis), Options{})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func sameEnd(t *rapid.T, what string, got, want *Event, sign float64) {
	t.Helper()
	if (got == nil) != (want == nil) || got != nil && !(math.Abs(got.Value-sign*want.Value) < 1e-8) {
		t.Fatalf("%s: %g, want %g", what, orNaN(got), sign*orNaN(want))
	}
}

func TestRigidMotionAndScale(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		moving, still, axis := drawScene(rt, t)
		f, _ := drawMove(rt)
		a := freeRange(t, build(rt, t, moving, still, axis))
		b := freeRange(t, build(rt, t, moving.moved(f), still.moved(f), movedAxis(axis, f)))
		sameEnd(rt, "lower", b.Lower, a.Lower, 1)
		sameEnd(rt, "upper", b.Upper, a.Upper, 1)
	})
}

func TestReversedAxisSwapsTheEnds(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		moving, still, axis := drawScene(rt, t)
		a := freeRange(t, build(rt, t, moving, still, axis))
		b := freeRange(t, build(rt, t, moving, still, axis.Reversed()))
		sameEnd(rt, "lower", b.Lower, a.Upper, -1)
		sameEnd(rt, "upper", b.Upper, a.Lower, -1)
	})
}

func TestMirroredSceneSwapsTheEnds(t *testing.T) {
	mirror := func(p r3.Vec) r3.Vec { p.X = -p.X; return p }
	rapid.Check(t, func(rt *rapid.T) {
		moving, still, axis := drawScene(rt, t)
		a := freeRange(t, build(rt, t, moving, still, axis))
		// An axis is a pseudovector: its mirror image turns the other way.
		image := kinematics.Axis{Point: mirror(axis.Point), Dir: mirror(axis.Dir)}
		b := freeRange(t, build(rt, t, moving.moved(mirror).reversed(), still.moved(mirror).reversed(), image))
		sameEnd(rt, "lower", b.Lower, a.Upper, -1)
		sameEnd(rt, "upper", b.Upper, a.Lower, -1)
	})
}

func TestSwappedSidesSwapTheEnds(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		moving, still, axis := drawScene(rt, t)
		a := freeRange(t, build(rt, t, moving, still, axis))
		b := freeRange(t, build(rt, t, still, moving, axis))
		sameEnd(rt, "lower", b.Lower, a.Upper, -1)
		sameEnd(rt, "upper", b.Upper, a.Lower, -1)
	})
}

// Parts overlap at rest in most of these scenes: what is left out of account
// must not depend on the frame, the sense of the axis or which part moves.
func TestOverlapsSwapToo(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 5))
	overlaps := 0
	for range 300 {
		moving, still, axis := rubbleScene(r, 6, 9)
		f := rotation(kinematics.Axis{Point: r3.Scale(9, randomUnit(r)), Dir: randomUnit(r)}, 3)
		a := freeRange(t, scene(t, moving, still, axis, Options{}))
		for _, x := range a.Rest {
			if x.Kind == Overlap {
				overlaps++
				break
			}
		}
		b := freeRange(t, scene(t, moving.moved(f), still.moved(f), movedAxis(axis, f), Options{}))
		wantAngle(t, "moved, lower", b.Lower, orNaN(a.Lower), 1e-9)
		wantAngle(t, "moved, upper", b.Upper, orNaN(a.Upper), 1e-9)
		b = freeRange(t, scene(t, moving, still, axis.Reversed(), Options{}))
		wantAngle(t, "reversed, lower", b.Lower, -orNaN(a.Upper), 1e-9)
		wantAngle(t, "reversed, upper", b.Upper, -orNaN(a.Lower), 1e-9)
		b = freeRange(t, scene(t, still, moving, axis, Options{}))
		wantAngle(t, "swapped, lower", b.Lower, -orNaN(a.Upper), 1e-9)
		wantAngle(t, "swapped, upper", b.Upper, -orNaN(a.Lower), 1e-9)
	}
	if overlaps < 80 {
		t.Errorf("only %d scenes overlap at rest", overlaps)
	}
}

// The same surface cut finer, or the same parts as several bodies, meet at the
// same angles.
func TestCutAndSplitAlike(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		moving, still, axis := drawScene(rt, t)
		a := freeRange(t, build(rt, t, moving, still, axis))
		b := freeRange(t, build(rt, t, moving.subdivided(3), still.subdivided(2), axis))
		sameEnd(rt, "cut, lower", b.Lower, a.Lower, 1)
		sameEnd(rt, "cut, upper", b.Upper, a.Upper, 1)
		bodies := func(s solid) (list []Body) {
			for i := 0; i < len(s); i += 4 { // a tetrahedron has four faces
				list = append(list, s[i:i+4].body(t, "piece"))
			}
			return list
		}
		pieces, err := NewScene(t.Context(), bodies(moving), bodies(still), Hinge(axis), Options{})
		if err != nil {
			rt.Fatal(err)
		}
		b = freeRange(t, pieces)
		sameEnd(rt, "split, lower", b.Lower, a.Lower, 1)
		sameEnd(rt, "split, upper", b.Upper, a.Upper, 1)
	})
}

// Whatever the tessellation of pin, bore, shoulder and taper, and wherever they
// are cut by a key way, parts that mate about the axis change nothing about
// where the rest meets.
func TestMatesChangeNothing(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(rt, "seed"), 2))
		bits := func(side float64) solid {
			var s solid
			for range 1 + r.IntN(3) {
				a := turn * r.Float64()
				s = append(s, rubble(r, 1, 2).moved(func(p r3.Vec) r3.Vec { return r3.Scale(0.3, p) }).shifted(16, 0, 3*side).turnedBy(a)...)
			}
			return s
		}
		moving, still := bits(r.Float64()-0.5), bits(r.Float64()-0.5)
		if !apart(t, moving, still) {
			rt.Skip("the bits meet at rest")
		}
		n := func(name string) int { return rapid.IntRange(12, 40).Draw(rt, name) }
		phase := rapid.Float64Range(0, 6)
		// A pin with a shoulder and a tapered end, and a barrel that fits them.
		shaft := lathe([][2]float64{{0, -9}, {3, -9}, {3, -4}, {4, -4}, {4, 4}, {2, 8}, {0, 8}}, n("pin"), phase.Draw(rt, "pin phase"), turn)
		barrel := lathe([][2]float64{{3, -7}, {6, -7}, {6, 7}, {2.5, 7}, {4, 4}, {4, -4}, {3, -4}}, n("barrel"), phase.Draw(rt, "barrel phase"), turn)
		if rapid.Bool().Draw(rt, "the pin moves") {
			shaft, barrel = barrel, shaft
		}
		got := freeRange(t, build(rt, t, joined(moving, barrel), joined(still, shaft), zAxis))
		bare := freeRange(t, build(rt, t, moving, still, zAxis))
		sameEnd(rt, "lower", got.Lower, bare.Lower, 1)
		sameEnd(rt, "upper", got.Upper, bare.Upper, 1)
		if !has(got.Rest, Mating) || has(got.Rest, Overlap) {
			rt.Fatalf("want mating and no overlap: %+v", got.Rest)
		}
	})
}
