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

// motionOf draws a hinge, a slider or a screw along an axis.
func motionOf(r *rand.Rand, axis kinematics.Axis) Motion {
	switch r.IntN(3) {
	case 0:
		return Hinge(axis)
	case 1:
		return Slider(axis)
	}
	return Screw(axis, []float64{0.3, 1, 4, -2, 20}[r.IntN(5)])
}

// aimedScene is rubble of which the still part stands, nearly always, where the
// moving one comes along.
func aimedScene(r *rand.Rand, most int) (moving, still solid, by Motion) {
	moving, still, axis := rubbleScene(r, most, 4)
	by = motionOf(r, axis)
	far := 12.0
	if by.Turns() {
		far = 3
	}
	to := shift(by, far*(2*r.Float64()-1))(moving[0][0])
	d := r3.Add(r3.Sub(to, still[0][0]), randomUnit(r))
	return moving, still.shifted(d.X, d.Y, d.Z), by
}

// drawAimed draws an aimed scene in which parts are apart at rest.
func drawAimed(t *rapid.T, tb *testing.T) (moving, still solid, by Motion) {
	r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 2))
	for {
		moving, still, by = aimedScene(r, 3)
		if apart(tb, moving, still) {
			return moving, still, by
		}
	}
}

func shift(m Motion, v float64) func(r3.Vec) r3.Vec {
	return func(p r3.Vec) r3.Vec {
		if m.Turns() {
			p = rotation(m.Axis, v)(p)
		}
		rate := map[kinematics.Kind]float64{kinematics.Prismatic: 1, kinematics.Helical: m.Pitch}[m.Kind]
		return r3.Add(p, r3.Scale(v*rate, m.Axis.Dir))
	}
}

// rootsByHand returns roots of g from 0 to far by its signs at very many values.
func rootsByHand(g func(t float64) float64, far float64) []float64 {
	const steps = 800
	var out []float64
	a, fa := 0.0, g(0)
	for i := 1; i <= steps; i++ {
		b := far * float64(i) / steps
		fb := g(b)
		if (fa < 0) != (fb < 0) {
			lo, hi, rising := a, b, fb > fa
			for range 60 {
				if m := (lo + hi) / 2; (g(m) > 0) == rising {
					hi = m
				} else {
					lo = m
				}
			}
			out = append(out, (lo+hi)/2)
		}
		a, fa = b, fb
	}
	return out
}

// firstBy is firstByHand for any motion: every corner, face and edge, without
// bounds, roots by stepping finely. It looks from 0 to far.
func firstBy(moving, still solid, m Motion, far float64) float64 {
	first := math.NaN()
	keep := func(t float64) {
		if !(t >= first) {
			first = t
		}
	}
	corner := func(p r3.Vec, f [3]r3.Vec, sense float64) {
		n := r3.Unit(r3.Cross(r3.Sub(f[1], f[0]), r3.Sub(f[2], f[0])))
		for _, t := range rootsByHand(func(t float64) float64 { return r3.Dot(n, r3.Sub(shift(m, sense*t)(p), f[0])) }, far) {
			if inTriangle(shift(m, sense*t)(p), f[0], f[1], f[2]) {
				keep(t)
			}
		}
	}
	for _, a := range moving {
		for _, b := range still {
			for i := range 3 {
				corner(a[i], b, 1)
				corner(b[i], a, -1)
				for j := range 3 {
					q, w := b[j], r3.Sub(b[(j+1)%3], b[j])
					at := func(t float64) (p, u r3.Vec) {
						f := shift(m, t)
						return f(a[i]), r3.Sub(f(a[(i+1)%3]), f(a[i]))
					}
					for _, t := range rootsByHand(func(t float64) float64 {
						p, u := at(t)
						return r3.Dot(r3.Sub(q, p), r3.Cross(u, w))
					}, far) {
						p, u := at(t)
						n := r3.Cross(u, w)
						x := r3.Dot(r3.Cross(r3.Sub(q, p), w), n) / r3.Norm2(n)
						y := r3.Dot(r3.Cross(r3.Sub(q, p), u), n) / r3.Norm2(n)
						if x > -1e-9 && x < 1+1e-9 && y > -1e-9 && y < 1+1e-9 {
							keep(t)
						}
					}
				}
			}
		}
	}
	return first
}

// All pairs of features by stepping find no other first contact, either way.
func TestSlidersAndScrewsAgainstAllPairs(t *testing.T) {
	r := rand.New(rand.NewPCG(21, 4))
	contacts, free := 0, 0
	for contacts+free < 16 {
		moving, still, by := aimedScene(r, 1)
		if by.Kind == kinematics.Revolute || !apart(t, moving, still) {
			continue
		}
		far := 40.0
		if by.Turns() {
			far = min(far/math.Abs(by.Pitch), 15)
		}
		s := sceneBy(t, moving, still, by, Options{Tolerance: -1})
		got, err := s.FreeRange(t.Context(), kinematics.Range{Lower: -far, Upper: far})
		if err != nil {
			t.Fatal(err)
		}
		reversed := by
		reversed.Axis = by.Axis.Reversed()
		wantAngle(t, "upper", got.Upper, firstBy(moving, still, by, far), 1e-8)
		wantAngle(t, "lower", got.Lower, -firstBy(moving, still, reversed, far), 1e-8)
		if got.Upper != nil {
			contacts++
		} else {
			free++
		}
	}
	if contacts < 5 || free < 2 {
		t.Errorf("%d scenes with contact, %d free: the scenes test too little", contacts, free)
	}
}

// Parts touch at the ends of the range and nowhere inside, by the distance of
// meshes that are moved by a transform.
func TestSlidersAndScrewsAgainstStepping(t *testing.T) {
	r := rand.New(rand.NewPCG(22, 4))
	for n := 0; n < 60; {
		moving, still, by := aimedScene(r, 4)
		if !apart(t, moving, still) {
			continue
		}
		n++
		got := freeRange(t, sceneBy(t, moving, still, by, Options{Tolerance: -1}))
		gap := func(v float64) float64 {
			g, _ := mesh.Distance(still.mesh(t).BVH(), moving.moved(shift(by, v)).mesh(t).BVH(), mesh.Identity(), math.Inf(1))
			return g.Distance
		}
		for dir, e := range map[float64]*Event{1: got.Upper, -1: got.Lower} {
			end := 30.0
			if by.Turns() {
				end = 6
			}
			if e != nil {
				end = math.Abs(e.Value)
				if d := gap(e.Value); d > 1e-9 {
					t.Errorf("%s: parts are %g apart at the contact at %g", by.Kind, d, e.Value)
				}
			}
			for k := range 40 {
				if v := dir * end * float64(k) / 40; gap(v) <= 0 {
					t.Errorf("%s: parts meet at %g, before %v", by.Kind, v, orNaN(e))
				}
			}
		}
	}
}

// The ends do not depend on the frame, the sense of the axis or which side
// moves; a reversed screw keeps its pitch.
func TestInvariancesOfMotions(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		moving, still, by := drawAimed(rt, t)
		make := func(moving, still solid, by Motion) Result {
			return freeRange(t, sceneBy(t, moving, still, by, Options{}))
		}
		a := make(moving, still, by)
		f, scale := drawMove(rt)
		moved, unit := by, 1.0
		moved.Axis, moved.Pitch = movedAxis(by.Axis, f), by.Pitch*scale
		if !by.Turns() {
			unit = scale
		}
		b := make(moving.moved(f), still.moved(f), moved)
		for _, e := range []*Event{b.Lower, b.Upper} {
			if e != nil {
				e.Value /= unit
			}
		}
		sameEnd(rt, "moved lower", b.Lower, a.Lower, 1)
		sameEnd(rt, "moved upper", b.Upper, a.Upper, 1)
		back := by
		back.Axis = by.Axis.Reversed()
		b = make(moving, still, back)
		sameEnd(rt, "reversed lower", b.Lower, a.Upper, -1)
		sameEnd(rt, "reversed upper", b.Upper, a.Lower, -1)
		b = make(still, moving, by)
		sameEnd(rt, "swapped lower", b.Lower, a.Upper, -1)
		sameEnd(rt, "swapped upper", b.Upper, a.Lower, -1)
	})
}

// Curves of all motions hold their certified error.
func TestCurvesOfMotionsAreCertified(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		moving, still, by := drawAimed(rt, t)
		s := sceneBy(t, moving, still, by, Options{})
		c := curve(t, s, -1.5, 1.5, CurveOptions{Error: 1e-3 * s.size})
		for range 10 {
			v := rapid.Float64Range(-1.5, 1.5).Draw(rt, "at")
			g, _ := mesh.Distance(still.mesh(t).BVH(), moving.moved(shift(by, v)).mesh(t).BVH(), mesh.Identity(), math.Inf(1))
			if math.Abs(g.Distance-c.At(v)) > c.Error+1e-10*s.size || c.Error > 1e-3*s.size {
				rt.Fatalf("%s at %g: distance %g, curve %g, error %g", by.Kind, v, g.Distance, c.At(v), c.Error)
			}
		}
	})
}

// A body that stands in a pose is as good as one that was modelled there.
func TestPosedBodies(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(rt, "seed"), 5))
		moving, still, by := aimedScene(r, 4)
		pose := func() kinematics.Transform {
			x := kinematics.Rotation(kinematics.Axis{Point: r3.Scale(20, randomUnit(r)), Dir: randomUnit(r)}, 6*r.Float64()-3)
			x.T = r3.Add(x.T, r3.Scale(9, randomUnit(r)))
			return x
		}
		a, b := pose(), pose()
		if rapid.Bool().Draw(rt, "one alone") {
			b = kinematics.Identity()
		}
		s, err := NewScene(t.Context(),
			[]Body{{Mesh: moving.moved(a.Inverse().Apply).mesh(t), Pose: a}}, []Body{{Mesh: still.moved(b.Inverse().Apply).mesh(t), Pose: b}}, by, Options{})
		if err != nil {
			rt.Fatal(err)
		}
		plain := sceneBy(t, moving, still, by, Options{})
		got, want := freeRange(t, s), freeRange(t, plain)
		sameEnd(rt, "lower", got.Lower, want.Lower, 1)
		sameEnd(rt, "upper", got.Upper, want.Upper, 1)
		if len(got.Rest) != len(want.Rest) {
			rt.Fatalf("at rest %v, want %v", kinds(got.Rest), kinds(want.Rest))
		}
		for i, x := range got.Rest {
			if w := want.Rest[i]; x.Kind != w.Kind || math.Abs(x.Depth-w.Depth) > 1e-9*s.size {
				rt.Fatalf("at rest %+v, want %+v", x, w)
			}
		}
		if d := clearance(t, s, 0.3)[0] - clearance(t, plain, 0.3)[0]; math.Abs(d) > 1e-9*s.size {
			rt.Fatalf("clearance is off by %g", d)
		}
	})
	flap, stops := flapAndStops()
	skew := kinematics.Identity()
	skew.X = r3.Vec{X: 2}
	if _, err := NewScene(t.Context(), []Body{{Mesh: flap.mesh(t), Pose: skew, Name: "flap"}}, []Body{stops.body(t, "s")}, Hinge(zAxis), Options{}); err == nil {
		t.Error("no error for a pose that is not rigid")
	}
}
