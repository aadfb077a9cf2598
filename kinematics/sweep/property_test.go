package sweep

import (
	"context"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
	"pintle/kinematics"
)

func drawVec(t *rapid.T, name string, size float64) r3.Vec {
	u := rapid.Float64Range(-size, size)
	return r3.Vec{X: u.Draw(t, name+".x"), Y: u.Draw(t, name+".y"), Z: u.Draw(t, name+".z")}
}

func drawAxis(t *rapid.T) kinematics.Axis {
	for {
		if a, err := kinematics.NewAxis(drawVec(t, "point", 1), drawVec(t, "direction", 1)); err == nil {
			return a
		}
	}
}

// scene is a moving part of two solids, one of them perhaps through the hinge.
type scene struct {
	bodies []*mesh.Mesh
	axis   kinematics.Axis
	over   kinematics.Range
}

func drawScene(t *rapid.T) scene {
	size := rapid.Float64Range(0.3, 2)
	lo := drawVec(t, "box", 2)
	hi := r3.Add(lo, r3.Vec{X: size.Draw(t, "dx"), Y: size.Draw(t, "dy"), Z: size.Draw(t, "dz")})
	turn := kinematics.Rotation(drawAxis(t), rapid.Float64Range(-3, 3).Draw(t, "turn"))
	from := rapid.Float64Range(-3, 3).Draw(t, "lower")
	return scene{
		bodies: []*mesh.Mesh{
			meshtest.Box(lo, hi),
			meshtest.Cylinder(size.Draw(t, "radius")/2, 0, size.Draw(t, "length"), rapid.IntRange(3, 30).Draw(t, "sides"), 1, true, turn.Apply),
		},
		axis: drawAxis(t),
		over: kinematics.Range{Lower: from, Upper: from + rapid.Float64Range(0, 4).Draw(t, "width")},
	}
}

func (s scene) sweep(t *rapid.T, cells int) Envelope {
	e, err := Hinge(context.Background(), s.bodies, s.axis, s.over, Options{Resolution: cells})
	if err != nil {
		t.Fatalf("Hinge: %v", err)
	}
	if err := mesh.Validate(e.Mesh); err != nil {
		t.Fatalf("mesh of the envelope: %v", err)
	}
	return e
}

// mapped returns the scene with every point and direction of its frame mapped.
func (s scene) mapped(point, dir func(r3.Vec) r3.Vec) scene {
	out := scene{over: s.over}
	for _, b := range s.bodies {
		n := mesh.NewBuilder()
		for _, p := range b.Vertices() {
			n.Vertex(point(p))
		}
		for _, v := range b.Triangles() {
			n.Face(v[0], v[1], v[2])
		}
		m, _, err := n.Build(mesh.Options{Weld: -1})
		if err != nil {
			panic(err)
		}
		out.bodies = append(out.bodies, m)
	}
	out.axis = kinematics.Axis{Point: point(s.axis.Point), Dir: dir(s.axis.Dir)}
	return out
}

func TestVolumeIsTheSameInEveryFrame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawScene(t)
		x := kinematics.Rotation(drawAxis(t), rapid.Float64Range(-3, 3).Draw(t, "angle"))
		x.T = r3.Add(x.T, drawVec(t, "shift", 100))
		a, b := s.sweep(t, 24), s.mapped(x.Apply, x.Turn).sweep(t, 24)
		// Rounding may put a face that lies along the grid in the next cell.
		if math.Abs(a.Volume-b.Volume) > a.Error+b.Error {
			t.Fatalf("volume is %.12g, and %.12g after a rigid motion (error %.3g)", a.Volume, b.Volume, a.Error)
		}
	})
}

// Away from such coincidences the volume is the same to rounding at every
// size, and in every frame but for where along the walls vertices stand.
func TestGenericPosesGiveTheSameVolume(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 9))
	for k := range 12 {
		s := scene{[]*mesh.Mesh{turnedBox(rng)}, turnedAxis(rng), kinematics.Range{Lower: -0.4, Upper: 0.2 * float64(k)}}
		x := kinematics.Rotation(turnedAxis(rng), 1+float64(k))
		x.T = r3.Add(x.T, r3.Vec{X: 10, Y: -20, Z: 30})
		a := mustSweep(t, s.bodies, s.axis, s.over, 40)
		for name, other := range map[string]scene{
			"moved":   s.mapped(x.Apply, x.Turn),
			"shrunk":  s.mapped(func(p r3.Vec) r3.Vec { return r3.Scale(1e-3, p) }, func(d r3.Vec) r3.Vec { return d }),
			"widened": s.mapped(func(p r3.Vec) r3.Vec { return r3.Scale(1e3, p) }, func(d r3.Vec) r3.Vec { return d }),
		} {
			b := mustSweep(t, other.bodies, other.axis, other.over, 40)
			scale := other.bodies[0].Volume() / s.bodies[0].Volume()
			slack := 1e-9 * a.Volume
			if name == "moved" {
				slack = 0.02 * a.Error
			}
			if math.Abs(b.Volume/scale-a.Volume) > slack {
				t.Errorf("case %d, %s: volume %.12g becomes %.12g (error %.3g)", k, name, a.Volume, b.Volume/scale, a.Error)
			}
		}
	}
}

func TestVolumeGrowsWithTheCubeOfScale(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawScene(t)
		k := math.Pow(10, rapid.Float64Range(-4, 4).Draw(t, "scale"))
		grow := func(p r3.Vec) r3.Vec { return r3.Scale(k, p) }
		a, b := s.sweep(t, 24), s.mapped(grow, func(d r3.Vec) r3.Vec { return d }).sweep(t, 24)
		if math.Abs(a.Volume*k*k*k-b.Volume) > 2*a.Error*k*k*k {
			t.Fatalf("volume is %.12g, and %.12g at %g times the size (error %.3g)", a.Volume, b.Volume, k, a.Error)
		}
	})
}

// Turning the axis round and the range with it changes nothing; turning the
// part beforehand and taking that off the range does not either.
func TestVolumeDoesNotDependOnWhereAnglesCountFrom(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawScene(t)
		a := s.sweep(t, 24)
		back := s
		back.axis, back.over = s.axis.Reversed(), s.over.Reversed()
		if b := back.sweep(t, 24); math.Abs(a.Volume-b.Volume) > a.Error+b.Error {
			t.Fatalf("volume is %.12g, and %.12g the other way round (errors %.3g, %.3g)", a.Volume, b.Volume, a.Error, b.Error)
		}
		angle := rapid.Float64Range(-3, 3).Draw(t, "before")
		x := kinematics.Rotation(s.axis, angle)
		before := s.mapped(x.Apply, func(d r3.Vec) r3.Vec { return d })
		before.axis, before.over = s.axis, kinematics.Range{Lower: s.over.Lower - angle, Upper: s.over.Upper - angle}
		if b := before.sweep(t, 24); math.Abs(a.Volume-b.Volume) > a.Error+b.Error {
			t.Fatalf("volume is %.12g, and %.12g turned beforehand (error %.3g)", a.Volume, b.Volume, a.Error)
		}
	})
}

func TestWiderRangeHoldsMore(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawScene(t)
		a := s.sweep(t, 24)
		s.over.Upper += rapid.Float64Range(0, 2).Draw(t, "more")
		if b := s.sweep(t, 24); b.Volume < a.Volume-a.Error-b.Error {
			t.Fatalf("volume shrinks from %.12g to %.12g (error %.3g)", a.Volume, b.Volume, a.Error)
		}
	})
}

// soup is a heap of triangles without any order.
func soup(t *rapid.T) *mesh.Mesh {
	b := mesh.NewBuilder()
	n := rapid.IntRange(3, 12).Draw(t, "vertices")
	for range n {
		b.Vertex(drawVec(t, "v", 1))
	}
	index := rapid.IntRange(0, n-1)
	for range rapid.IntRange(1, 20).Draw(t, "faces") {
		b.Face(int32(index.Draw(t, "a")), int32(index.Draw(t, "b")), int32(index.Draw(t, "c")))
	}
	m, _, err := b.Build(mesh.Options{})
	if err != nil {
		panic(err)
	}
	return m
}

// tangled is a closed shell that passes through itself.
func tangled(t *rapid.T) *mesh.Mesh {
	return meshtest.Sphere(1, 7, 5, func(p r3.Vec) r3.Vec { return r3.Add(p, drawVec(t, "off", 1)) })
}

func TestAnyFacesGiveAClosedMesh(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		bodies := []*mesh.Mesh{tangled(t)}
		if s := soup(t); len(s.Triangles()) > 0 {
			bodies = append(bodies, s)
		}
		from := rapid.Float64Range(-3, 3).Draw(t, "lower")
		over := kinematics.Range{Lower: from, Upper: from + rapid.SampledFrom([]float64{0, 1e-6, 0.01, 0.3, 2, 6.28, 7}).Draw(t, "width")}
		e, err := Hinge(context.Background(), bodies, drawAxis(t), over, Options{Resolution: rapid.IntRange(16, 60).Draw(t, "cells")})
		if err != nil {
			t.Fatalf("Hinge: %v", err)
		}
		if err := mesh.Validate(e.Mesh); err != nil {
			t.Fatalf("mesh of the envelope: %v", err)
		}
	})
}

func TestSameBitsOnAnyNumberOfCores(t *testing.T) {
	body := meshtest.Sphere(1, 24, 12, moved(r3.Vec{X: 1.5, Y: 0.2}))
	axis := kinematics.Axis{Dir: r3.Unit(r3.Vec{X: 0.1, Y: 0.2, Z: 1})}
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	one := mustSweep(t, []*mesh.Mesh{body}, axis, degrees(-20, 70), 80)
	for _, n := range []int{2, 3, 8} {
		runtime.GOMAXPROCS(n)
		e := mustSweep(t, []*mesh.Mesh{body}, axis, degrees(-20, 70), 80)
		if !slices.Equal(e.Mesh.Vertices(), one.Mesh.Vertices()) || !slices.Equal(e.Mesh.Triangles(), one.Mesh.Triangles()) {
			t.Errorf("mesh differs between 1 and %d cores", n)
		}
		if e.Volume != one.Volume || e.Error != one.Error || e.Area != one.Area {
			t.Errorf("numbers differ between 1 and %d cores: %v and %v", n, one, e)
		}
	}
}
