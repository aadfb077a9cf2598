package find

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
)

// grownOf returns the cylinders and the balls of a mesh.
func grownOf(t interface{ Fatal(...any) }, m *mesh.Mesh) ([]ring, []sphere) {
	k := newLooker(ctxOf(), m)
	k.order, k.plain = k.byArea(), make([]bool, len(m.Triangles()))
	if err := k.grown(); err != nil {
		t.Fatal(err)
	}
	return k.rings, k.balls
}

func drawMove(t *rapid.T) (move func(r3.Vec) r3.Vec, axis, at r3.Vec, scale float64) {
	turn := r3.NewRotation(rapid.Float64Range(-3, 3).Draw(t, "turn"), r3.Vec{X: 0.3, Y: rapid.Float64Range(-2, 2).Draw(t, "y"), Z: 0.7})
	scale = rapid.SampledFrom([]float64{1e-3, 1, 1e3}).Draw(t, "scale")
	at = r3.Scale(scale, r3.Vec{X: rapid.Float64Range(-50, 50).Draw(t, "x"), Y: 3, Z: -8})
	return func(p r3.Vec) r3.Vec { return r3.Add(r3.Scale(scale, turn.Rotate(p)), at) }, turn.Rotate(r3.Vec{Z: 1}), at, scale
}

// Cylinders of six sides and more are one barrel each, inside and out.
func TestBarrelOfAnyFacets(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		move, axis, at, scale := drawMove(t)
		m := meshtest.Cylinder(4, 0, rapid.Float64Range(1, 20).Draw(t, "length"), rapid.SampledFrom([]int{6, 8, 13, 64, 400}).Draw(t, "facets"), rapid.IntRange(1, 4).Draw(t, "bands"), true, move)
		rings, balls := grownOf(t, m)
		if len(rings) != 1 || len(balls) != 0 {
			t.Fatalf("%d cylinders, %d balls", len(rings), len(balls))
		}
		r := rings[0]
		if a, d := lineAngle(r.axis, axis), fromLine(at, r.centre, r.axis)/scale; a > 1e-6 || d > 1e-5 || math.Abs(r.radius/scale-4) > 1e-5 || r.arc < 2*math.Pi-1e-9 {
			t.Errorf("%g rad, %g off, radius %g, arc %g", a, d, r.radius/scale, r.arc)
		}
	})
}

// A housing that is open for most of its other half shows its arc.
func TestBarrelOfAPart(t *testing.T) {
	whole := meshtest.Cylinder(4, 0, 12, 72, 3, false)
	var part []int32
	for i := range whole.Triangles() {
		if c := centre(whole, i); math.Mod(math.Atan2(c.Y, c.X)+2*math.Pi, 2*math.Pi) < 187*math.Pi/180 {
			part = append(part, int32(i))
		}
	}
	rings, _ := grownOf(t, mesh.Sub(whole, part))
	if len(rings) != 1 || math.Abs(rings[0].arc-187*math.Pi/180) > 0.1 || lineAngle(rings[0].axis, r3.Vec{Z: 1}) > 1e-6 {
		t.Errorf("%+v", rings)
	}
}

// With noise the axis lies within three standard deviations nearly always.
func TestBarrelSigmasCover(t *testing.T) {
	m := meshtest.Cylinder(4, 0, 10, 32, 6, true)
	in, n := 0, 0
	for seed := range uint64(60) {
		rings, _ := grownOf(t, shaken(m, 0.02, seed))
		if len(rings) == 0 {
			continue
		}
		n++
		if r := rings[0]; lineAngle(r.axis, r3.Vec{Z: 1}) < 3*r.tilt && fromLine(r3.Vec{Z: 5}, r.centre, r.axis) < 3*r.shift+5*r.tilt {
			in++
		}
	}
	if n < 55 || in < n*95/100 {
		t.Errorf("of 60 cylinders %d found, %d within 3 sigma", n, in)
	}
}

func TestBallAndSocket(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		move, _, at, scale := drawMove(t)
		ball := meshtest.Sphere(5, rapid.IntRange(12, 60).Draw(t, "n"), rapid.IntRange(8, 40).Draw(t, "bands"), move)
		inward := rapid.Bool().Draw(t, "socket")
		if inward {
			b := mesh.NewBuilder()
			for _, p := range ball.Vertices() {
				b.Vertex(p)
			}
			for _, v := range ball.Triangles() {
				b.Face(v[0], v[2], v[1])
			}
			ball, _, _ = b.Build(mesh.Options{})
		}
		_, balls := grownOf(t, ball)
		if len(balls) != 1 {
			t.Fatalf("%d balls", len(balls))
		}
		s := balls[0]
		if r3.Norm(r3.Sub(s.centre, at)) > 1e-5*scale || math.Abs(s.radius-5*scale) > 1e-5*scale || s.socket != inward || s.area > 4*math.Pi*25*scale*scale {
			t.Errorf("%+v, want centre %v", s, at)
		}
	})
}

// Other surfaces are neither.
func TestGrownRefuses(t *testing.T) {
	for name, m := range map[string]*mesh.Mesh{
		"box": meshtest.Box(r3.Vec{}, r3.Vec{X: 1, Y: 2, Z: 3}), "plate": meshtest.Grid(3, 4, 8, 8),
		"cone": meshtest.Frustum(4, 1, 0, 5, 40, 6, false), "ring": meshtest.Torus(6, 2, 48, 32), "bumpy": shaken(bumpy(10), 0.01, 1),
	} {
		rings, balls := grownOf(t, m)
		if len(rings) != 0 || len(balls) != 0 {
			t.Errorf("%s: cylinders %+v, balls %+v", name, rings, balls)
		}
	}
}

func TestSphereThrough(t *testing.T) {
	p := []r3.Vec{{X: 3, Y: 1, Z: 1}, {X: -1, Y: 1, Z: 1}, {X: 1, Y: 3, Z: 1}, {X: 1, Y: 1, Z: -1}, {X: 1, Y: 1, Z: 3}}
	c, r, ok := sphereThrough(p)
	if !ok || math.Abs(r-2) > 1e-12 || r3.Norm(r3.Sub(c, r3.Vec{X: 1, Y: 1, Z: 1})) > 1e-12 {
		t.Errorf("centre %v, radius %g", c, r)
	}
	if _, _, ok := sphereThrough(roundPoints(r3.Vec{}, r3.Vec{Z: 1}, 1, 6, 0, 9, nil)); ok {
		t.Error("a sphere through a flat circle")
	}
}
