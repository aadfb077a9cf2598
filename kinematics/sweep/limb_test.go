package sweep

import (
	"context"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
	"pintle/kinematics"
)

func mustLimb(t interface {
	Fatalf(string, ...any)
	Helper()
}, root Link, cells int,
) Envelope {
	t.Helper()
	e, err := Limb(context.Background(), root, Options{Resolution: cells})
	if err != nil {
		t.Fatalf("Limb: %v", err)
	}
	if err := mesh.Validate(e.Mesh); err != nil {
		t.Fatalf("mesh of the envelope: %v", err)
	}
	return e
}

// planarArm is two hinges with upright axes, the second l1 along x.
func planarArm(l1 float64, first, second kinematics.Range, inner, outer []*mesh.Mesh) Link {
	at := func(x float64) kinematics.Joint {
		f := upFrame()
		f.Origin.X = x
		return kinematics.Joint{Kind: kinematics.Revolute, Frame: f}
	}
	return Link{
		Bodies: inner, Joint: at(0), Over: []kinematics.Range{first},
		Next: []Link{{Bodies: outer, Joint: at(l1), Over: []kinematics.Range{second}}},
	}
}

// Two links 3 and 2 long. The tip covers D l1 l2 (cos a - cos b) where the elbow
// turns from a to b (closed form, see the reach of two links); a disc at the tip
// covers the parallel body of that at its radius e: area + perimeter e + pi e^2.
func TestTwoLinkArmAgainstClosedForms(t *testing.T) {
	const l1, l2, e, h = 3.0, 2.0, 0.2, 0.5
	deg := math.Pi / 180
	area := 17.1659814925849 // D 120 deg, elbow 30 to 120 deg
	if want := 120 * deg * l1 * l2 * (math.Cos(30*deg) - math.Cos(120*deg)); math.Abs(area-want) > 1e-13*want {
		t.Fatalf("reach is %.15g by its formula, %.15g by its number", want, area)
	}
	radius := func(elbow float64) float64 { return math.Sqrt(l1*l1 + l2*l2 + 2*l1*l2*math.Cos(elbow)) }
	round := 120*deg*(radius(30*deg)+radius(120*deg)) + 2*l2*90*deg
	disc := []*mesh.Mesh{meshtest.Cylinder(e, 0, h, 180, 1, true, moved(r3.Vec{X: l1 + l2}))}
	rho := math.Hypot(l2, 0.25)
	outer := []*mesh.Mesh{meshtest.Box(r3.Vec{X: l1, Y: -0.25}, r3.Vec{X: l1 + l2, Y: 0.25, Z: h})}
	inner := []*mesh.Mesh{meshtest.Box(r3.Vec{Y: -0.25}, r3.Vec{X: l1, Y: 0.25, Z: h})}
	full := kinematics.Unlimited()
	for _, c := range []struct {
		name string
		arm  Link
		want float64
	}{
		{"disc at the tip", planarArm(l1, degrees(-20, 100), degrees(30, 120), nil, disc), h * (area + round*e + math.Pi*e*e)},
		// A link that turns all round its end is a disc, which the first hinge
		// moves along an arc (Pappus).
		{"outer link, elbow all round", planarArm(l1, degrees(0, 100), full, nil, outer), h * (math.Pi*rho*rho + 2*rho*l1*100*deg)},
		{"outer link, all round", planarArm(l1, full, full, nil, outer), h * 4 * math.Pi * l1 * rho},
		{"both links, all round", planarArm(l1, full, full, inner, outer), h * math.Pi * (l1 + rho) * (l1 + rho)},
		{"both links, elbow still", planarArm(l1, full, kinematics.Range{}, inner, outer), h * math.Pi * ((l1+l2)*(l1+l2) + 0.25*0.25)},
		{"both links, elbow held folded", planarArm(l1, full, degrees(180, 180), inner, outer), h * math.Pi * (l1*l1 + 0.25*0.25)},
		{"base still", planarArm(l1, kinematics.Range{}, full, nil, outer), h * math.Pi * rho * rho},
		{"base held", planarArm(l1, degrees(77, 77), full, nil, outer), h * math.Pi * rho * rho},
		{"all still", planarArm(l1, kinematics.Range{}, kinematics.Range{}, inner, outer), h * 0.5 * (l1 + l2)},
	} {
		for _, cells := range []int{60, 160} {
			e := mustLimb(t, c.arm, cells)
			if math.Abs(e.Volume-c.want) > e.Error {
				t.Errorf("%s, %d cells: volume %.9g, want %.9g within %.3g", c.name, cells, e.Volume, c.want, e.Error)
			}
			if limit := 30 * c.want / float64(cells); e.Error > limit/4 {
				t.Errorf("%s, %d cells: error %.3g says nothing", c.name, cells, e.Error)
			}
		}
	}
}

// Two fingers on one hand: what they pass through is united before the hand
// turns.
func TestBranchesAreSweptTogether(t *testing.T) {
	finger := func(x float64) Link {
		f := upFrame()
		f.Origin.X = x
		return Link{
			Bodies: []*mesh.Mesh{meshtest.Box(r3.Vec{X: x, Y: -0.1}, r3.Vec{X: x + 1, Y: 0.1, Z: 1})},
			Joint:  kinematics.Joint{Kind: kinematics.Revolute, Frame: f}, Over: []kinematics.Range{kinematics.Unlimited()},
		}
	}
	hand := Link{Joint: kinematics.Joint{Kind: kinematics.Prismatic, Frame: upFrame()}, Over: []kinematics.Range{{Lower: 1, Upper: 4}}}
	hand.Next = []Link{finger(0), finger(5), {Bodies: []*mesh.Mesh{meshtest.Box(r3.Vec{X: 8}, r3.Vec{X: 9, Y: 1, Z: 1})}, Joint: kinematics.Joint{Kind: kinematics.Fixed, Frame: upFrame()}}}
	e := mustLimb(t, hand, 200)
	if want := 4 * (2*math.Pi*1.01 + 1); math.Abs(e.Volume-want) > e.Error || e.Error > 0.05*want {
		t.Errorf("volume is %.9g, want %.9g within %.3g", e.Volume, want, e.Error)
	}
}

// sweptArm is an arm of two joints of random kinds.
func sweptArm(rng *rand.Rand, kinds []kinematics.Kind) Link {
	link := func(k kinematics.Kind) Link {
		a := turnedAxis(rng)
		j := kinematics.Joint{Kind: k, Pitch: 0.1, Frame: kinematics.Frame{Origin: a.Point, Hinge: a.Dir, Reach: kinematics.Perpendicular(a.Dir)}}
		if k.Leans() {
			j.Cone = &kinematics.Cone{Max: []float64{0.5, 0.3, 0.6}}
		}
		l := Link{Bodies: []*mesh.Mesh{turnedBox(rng)}, Joint: j}
		for range k.Freedoms() {
			lo := -0.5 * rng.Float64()
			l.Over = append(l.Over, kinematics.Range{Lower: lo, Upper: lo + 0.5 + 0.6*rng.Float64()})
		}
		return l
	}
	root := link(kinds[0])
	if len(kinds) > 1 {
		root.Next = []Link{link(kinds[1])}
	}
	return root
}

// drawn returns values within the link's limits, often at their ends.
func (l *Link) drawn(rng *rand.Rand) []float64 {
	v := make([]float64, len(l.Over))
	for i, r := range l.Over {
		v[i] = r.Lower + max(0, min(1, 1.4*rng.Float64()-0.2))*r.Span()
	}
	j := l.Joint
	j.Limits = l.Over
	j.Clamp(v)
	return v
}

// posed appends the vertices of the link and all on it, moved.
func (l *Link) posed(rng *rand.Rand, carried kinematics.Transform, to []r3.Vec) []r3.Vec {
	x := carried.Mul(l.Joint.Motion(l.drawn(rng)...))
	for _, b := range l.Bodies {
		for _, p := range b.Vertices() {
			to = append(to, x.Apply(p))
		}
	}
	for i := range l.Next {
		to = l.Next[i].posed(rng, x, to)
	}
	return to
}

func armKinds() [][]kinematics.Kind {
	return [][]kinematics.Kind{
		{kinematics.Revolute},
		{kinematics.Prismatic},
		{kinematics.Helical},
		{kinematics.Cylindric},
		{kinematics.Universal},
		{kinematics.Spherical},
		{kinematics.Planar},
		{kinematics.Revolute, kinematics.Revolute},
		{kinematics.Prismatic, kinematics.Spherical},
		{kinematics.Helical, kinematics.Universal},
		{kinematics.Planar, kinematics.Cylindric},
	}
}

// Whatever values the joints take, no vertex sticks out of the envelope by more
// than it says.
func TestEnvelopeHoldsThePartAtRandomValues(t *testing.T) {
	for k, kinds := range armKinds() {
		rng := rand.New(rand.NewPCG(uint64(k), 21))
		arm := sweptArm(rng, kinds)
		e := mustLimb(t, arm, 32)
		out := 0.0
		for range 300 {
			for _, p := range arm.posed(rng, kinematics.Identity(), nil) {
				if holds(e.Mesh, p) {
					continue
				}
				_, _, d := e.Mesh.BVH().Closest(p)
				out = max(out, d)
			}
		}
		if out > e.Deviation {
			t.Errorf("%v: a vertex is %.3g outside, stated are %.3g", kinds, out, e.Deviation)
		}
		if limit := 12 * e.Mesh.Diagonal() / 32 * float64(len(kinds)); e.Deviation > limit {
			t.Errorf("%v: deviation %.3g says nothing", kinds, e.Deviation)
		}
	}
}

// The surface lies no farther from the true one than stated: that of a ball
// whose centre runs over a cone's cap, an arc, a piece of helix, a rectangle.
func TestSurfaceLiesWithinItsDeviation(t *testing.T) {
	arm := meshtest.Sphere(1, 120, 60, moved(r3.Vec{X: 4}))
	cap50 := kinematics.Joint{Kind: kinematics.Spherical, Frame: upFrame(), Cone: &kinematics.Cone{Max: []float64{50 * math.Pi / 180}}}
	helix := kinematics.Joint{Kind: kinematics.Helical, Frame: upFrame(), Pitch: 0.8}
	turn := func(lo, hi float64) []kinematics.Range { return []kinematics.Range{degrees(lo, hi)} }
	for _, c := range []struct {
		name  string
		joint kinematics.Joint
		over  []kinematics.Range
		from  func(p r3.Vec) float64 // distance from where the centre runs
	}{
		{"arc", kinematics.Joint{Kind: kinematics.Revolute, Frame: upFrame()}, turn(0, 90), func(p r3.Vec) float64 {
			a := max(0, min(math.Pi/2, math.Atan2(p.Y, p.X)))
			if math.Atan2(p.Y, p.X) < -3*math.Pi/4 {
				a = math.Pi / 2
			}
			s, co := math.Sincos(a)
			return r3.Norm(r3.Sub(p, r3.Vec{X: 4 * co, Y: 4 * s}))
		}},
		{"cap", cap50, []kinematics.Range{kinematics.Unlimited(), kinematics.Unlimited(), {}}, func(p r3.Vec) float64 {
			a := min(50*math.Pi/180, math.Atan2(math.Hypot(p.Y, p.Z), p.X))
			s, co := math.Sincos(a)
			return math.Hypot(p.X-4*co, math.Hypot(p.Y, p.Z)-4*s)
		}},
		{"helix", helix, turn(-60, 200), func(p r3.Vec) float64 {
			least := math.Inf(1)
			for k := range 20001 {
				a := (-60 + 260*float64(k)/20000) * math.Pi / 180
				s, co := math.Sincos(a)
				least = min(least, r3.Norm2(r3.Sub(p, r3.Vec{X: 4 * co, Y: 4 * s, Z: 0.8 * a})))
			}
			return math.Sqrt(least)
		}},
		{"rectangle", kinematics.Joint{Kind: kinematics.Planar, Frame: upFrame()}, []kinematics.Range{{Upper: 3}, {Lower: -1, Upper: 1}, {}}, func(p r3.Vec) float64 {
			return r3.Norm(r3.Sub(p, r3.Vec{X: max(4, min(7, p.X)), Y: max(-1, min(1, p.Y))}))
		}},
	} {
		e := mustJoint(t, []*mesh.Mesh{arm}, c.joint, c.over, 40)
		worst := 0.0
		verts := e.Mesh.Vertices()
		for k := 0; k < len(verts); k += 1 + len(verts)/300 {
			worst = max(worst, math.Abs(c.from(verts[k])-1))
		}
		if worst > e.Deviation {
			t.Errorf("%s: a vertex is %.3g off the true surface, stated are %.3g", c.name, worst, e.Deviation)
		}
	}
}

// A narrower range passes through less: no vertex of its envelope sticks out of
// that of the wider one by more than both state.
func TestSubRangeIsContained(t *testing.T) {
	for k, kinds := range armKinds() {
		rng := rand.New(rand.NewPCG(uint64(k), 22))
		arm := sweptArm(rng, kinds)
		wide := mustLimb(t, arm, 24)
		for i := range arm.Over {
			r := &arm.Over[i]
			r.Lower, r.Upper = 0.6*r.Lower, 0.6*r.Upper
		}
		narrow := mustLimb(t, arm, 24)
		if narrow.Volume > wide.Volume+wide.Error+narrow.Error {
			t.Errorf("%v: volume %.6g of a part of the range exceeds %.6g", kinds, narrow.Volume, wide.Volume)
		}
		for n, p := range narrow.Mesh.Vertices() {
			if n%7 != 0 || holds(wide.Mesh, p) {
				continue
			}
			if _, _, d := wide.Mesh.BVH().Closest(p); d > narrow.Deviation+wide.Deviation {
				t.Errorf("%v: a vertex is %.3g outside, stated are %.3g and %.3g", kinds, d, narrow.Deviation, wide.Deviation)
				break
			}
		}
	}
}

// moved returns the link after a rigid motion of everything, scaled first.
func (l Link) moved(x kinematics.Transform, scale float64) Link {
	at := func(p r3.Vec) r3.Vec { return x.Apply(r3.Scale(scale, p)) }
	s := scene{bodies: l.Bodies}.mapped(at, x.Turn)
	l.Bodies = s.bodies
	l.Joint.Frame = kinematics.Frame{Origin: at(l.Joint.Frame.Origin), Hinge: x.Turn(l.Joint.Frame.Hinge), Reach: x.Turn(l.Joint.Frame.Reach)}
	l.Joint.Pitch *= scale
	l.Over = slices.Clone(l.Over)
	for i := range l.Over {
		if !l.Joint.Kind.Freedom(i).Turns {
			l.Over[i].Lower *= scale
			l.Over[i].Upper *= scale
		}
	}
	next := l.Next
	l.Next = nil
	for _, n := range next {
		l.Next = append(l.Next, n.moved(x, scale))
	}
	return l
}

func TestLimbsAreTheSameInEveryFrameAndSize(t *testing.T) {
	for k, kinds := range armKinds() {
		rng := rand.New(rand.NewPCG(uint64(k), 23))
		arm := sweptArm(rng, kinds)
		a := mustLimb(t, arm, 24)
		x := kinematics.Rotation(turnedAxis(rng), 2)
		x.T = r3.Add(x.T, r3.Vec{X: 50, Y: -20, Z: 70})
		for _, scale := range []float64{1, 1e-3, 1e3} {
			b := mustLimb(t, arm.moved(x, scale), 24)
			s3 := scale * scale * scale
			if math.Abs(b.Volume/s3-a.Volume) > a.Error+b.Error/s3 {
				t.Errorf("%v: volume %.9g becomes %.9g at %g times the size (errors %.3g, %.3g)", kinds, a.Volume, b.Volume/s3, scale, a.Error, b.Error/s3)
			}
		}
	}
}

func TestScrewsAndSwingsHaveTheSameBitsOnAnyNumberOfCores(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	for _, kinds := range [][]kinematics.Kind{{kinematics.Helical}, {kinematics.Spherical, kinematics.Revolute}} {
		rng := rand.New(rand.NewPCG(1, 24))
		arm := sweptArm(rng, kinds)
		runtime.GOMAXPROCS(1)
		one := mustLimb(t, arm, 30)
		for _, n := range []int{2, 5} {
			runtime.GOMAXPROCS(n)
			e := mustLimb(t, arm, 30)
			if !slices.Equal(e.Mesh.Vertices(), one.Mesh.Vertices()) || !slices.Equal(e.Mesh.Triangles(), one.Mesh.Triangles()) ||
				e.Volume != one.Volume || e.Error != one.Error || e.Deviation != one.Deviation {
				t.Errorf("%v: envelopes differ between 1 and %d cores", kinds, n)
			}
		}
	}
}

func TestScrewsOfAnyFacesGiveAClosedMesh(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		bodies := []*mesh.Mesh{tangled(t)}
		if s := soup(t); len(s.Triangles()) > 0 {
			bodies = append(bodies, s)
		}
		e, err := Screw(context.Background(), bodies, drawAxis(t), rapid.Float64Range(-1, 1).Draw(t, "pitch"),
			kinematics.Range{Upper: rapid.SampledFrom([]float64{0.01, 1, 9}).Draw(t, "width")}, Options{Resolution: rapid.IntRange(16, 24).Draw(t, "cells")})
		if err != nil && strings.Contains(err.Error(), "no volume") {
			return
		}
		if err != nil {
			t.Fatalf("Screw: %v", err)
		}
		if err := mesh.Validate(e.Mesh); err != nil {
			t.Fatalf("mesh of the envelope: %v", err)
		}
	})
}
