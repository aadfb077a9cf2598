package sweep

import (
	"context"
	"math"
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

func mustSlide(t interface {
	Fatalf(string, ...any)
	Helper()
}, bodies []*mesh.Mesh, dir r3.Vec, over kinematics.Range, cells int,
) Envelope {
	t.Helper()
	e, err := Slide(context.Background(), bodies, dir, over, Options{Resolution: cells})
	if err != nil {
		t.Fatalf("Slide: %v", err)
	}
	if err := mesh.Validate(e.Mesh); err != nil {
		t.Fatalf("mesh of the envelope: %v", err)
	}
	return e
}

// A convex body moved by L along the unit vector u passes through V + L times
// the area of its shadow along u (closed form; a box's shadow is bc |ux| + ca
// |uy| + ab |uz|, a ball's pi r^2).
func TestSlidesAgreeWithClosedForms(t *testing.T) {
	cube := meshtest.Box(r3.Vec{}, r3.Vec{X: 1, Y: 1, Z: 1})
	box := meshtest.Box(r3.Vec{X: -1}, r3.Vec{X: 1, Y: 3, Z: 4})
	hollow := mesh.Join(
		meshtest.Box(r3.Vec{}, r3.Vec{X: 4, Y: 4, Z: 4}),
		meshtest.Box(r3.Vec{X: 1, Y: 1, Z: 1}, r3.Vec{X: 3, Y: 3, Z: 3}, func(p r3.Vec) r3.Vec { return r3.Vec{X: 4 - p.X, Y: p.Y, Z: p.Z} }))
	capsule := func(r, l float64) float64 { return 4*math.Pi*r*r*r/3 + math.Pi*r*r*l }
	facets := math.Pow(math.Cos(math.Pi/120), 2) // a ball of 120 by 60 facets holds one this much smaller
	for _, c := range []struct {
		name     string
		body     *mesh.Mesh
		dir      r3.Vec
		over     kinematics.Range
		low, top float64
	}{
		{"cube along its diagonal", cube, r3.Vec{X: 1, Y: 1, Z: 1}, kinematics.Range{Upper: 1}, 2.73205080756888, 2.73205080756888},
		{"box askew", box, r3.Vec{X: 0.6, Z: 0.8}, kinematics.Range{Lower: -2, Upper: 3}, 84, 84},
		{"box askew, range off zero", box, r3.Vec{X: 6, Z: 8}, kinematics.Range{Lower: 100, Upper: 105}, 84, 84},
		{"box along an edge", box, r3.Vec{Y: -2}, kinematics.Range{Upper: 5}, 64, 64},
		{"box at rest", box, r3.Vec{X: 1, Y: 2}, kinematics.Range{Lower: 7, Upper: 7}, 24, 24},
		{"capsule", meshtest.Sphere(1, 120, 60), r3.Vec{X: 0.1, Y: 0.2, Z: 1}, kinematics.Range{Upper: 3}, capsule(facets, 3), 13.6135681655558},
		{"hollow box, a short way", hollow, r3.Vec{X: 1}, kinematics.Range{Upper: 0.5}, 64 + 8 - 6, 64 + 8 - 6},
		{"hollow box, a long way", hollow, r3.Vec{X: 1}, kinematics.Range{Upper: 5}, 64 + 80, 64 + 80},
		{"sheet", sheet(r3.Vec{}, r3.Vec{X: 2}, r3.Vec{X: 2, Y: 3}, r3.Vec{Y: 3}), r3.Vec{X: 3, Z: 4}, kinematics.Range{Upper: 5}, 24, 24},
	} {
		for _, cells := range []int{32, 90, 240} {
			e := mustSlide(t, []*mesh.Mesh{c.body}, c.dir, c.over, cells)
			if e.Volume < c.low-e.Error || e.Volume > c.top+e.Error {
				t.Errorf("%s, %d cells: volume %.9g, want %.9g to %.9g within %.3g", c.name, cells, e.Volume, c.low, c.top, e.Error)
			}
			if limit := 300 * c.top / float64(cells*cells); e.Error > limit {
				t.Errorf("%s, %d cells: error %.3g says nothing, want at most %.3g", c.name, cells, e.Error, limit)
			}
			if v := e.Mesh.Volume(); math.Abs(v-e.Volume) > 1e-9*e.Volume {
				t.Errorf("%s, %d cells: mesh holds %.12g, volume is %.12g", c.name, cells, v, e.Volume)
			}
			if limit := 12 * e.Mesh.Diagonal() / float64(cells); e.Deviation > limit {
				t.Errorf("%s, %d cells: deviation %.3g says nothing", c.name, cells, e.Deviation)
			}
		}
	}
}

// Along the way the envelope ends just where the part does.
func TestExtentAlongTheSlideIsExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawScene(t)
		over := kinematics.Range{Lower: rapid.Float64Range(-5, 0).Draw(t, "lower"), Upper: rapid.Float64Range(0.1, 5).Draw(t, "upper")}
		s.bodies = s.bodies[:1] // flat faces: a circle's or line's highest place is seldom on the grid
		e := mustSlide(t, s.bodies, r3.Vec{Z: 1}, over, 24)
		b, box := e.Mesh.Bounds(), s.bodies[0].Bounds()
		if math.Abs(b.Min.Z-box.Min.Z-over.Lower) > 1e-9 || math.Abs(b.Max.Z-box.Max.Z-over.Upper) > 1e-9 {
			t.Fatalf("envelope from %v to %v, part from %v to %v, moved by %v", b.Min.Z, b.Max.Z, box.Min.Z, box.Max.Z, over)
		}
	})
}

func TestSlidesOfAnyFacesGiveAClosedMesh(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		bodies := []*mesh.Mesh{tangled(t)}
		if s := soup(t); len(s.Triangles()) > 0 {
			bodies = append(bodies, s)
		}
		from := rapid.Float64Range(-3, 3).Draw(t, "lower")
		over := kinematics.Range{Lower: from, Upper: from + rapid.SampledFrom([]float64{0, 1e-6, 0.01, 0.3, 2, 100}).Draw(t, "width")}
		mustSlide(t, bodies, drawAxis(t).Dir, over, rapid.IntRange(16, 60).Draw(t, "cells"))
	})
}

func TestSlidesAreTheSameInEveryFrameAndSize(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawScene(t)
		a := mustSlide(t, s.bodies, s.axis.Dir, s.over, 24)
		x := kinematics.Rotation(drawAxis(t), rapid.Float64Range(-3, 3).Draw(t, "angle"))
		x.T = r3.Add(x.T, drawVec(t, "shift", 100))
		m := s.mapped(x.Apply, x.Turn)
		if b := mustSlide(t, m.bodies, m.axis.Dir, s.over, 24); math.Abs(a.Volume-b.Volume) > a.Error+b.Error {
			t.Fatalf("volume is %.12g, and %.12g after a rigid motion (error %.3g)", a.Volume, b.Volume, a.Error)
		}
		k := math.Pow(10, rapid.Float64Range(-4, 4).Draw(t, "scale"))
		m = s.mapped(func(p r3.Vec) r3.Vec { return r3.Scale(k, p) }, func(d r3.Vec) r3.Vec { return d })
		over := kinematics.Range{Lower: k * s.over.Lower, Upper: k * s.over.Upper}
		if b := mustSlide(t, m.bodies, m.axis.Dir, over, 24); math.Abs(a.Volume*k*k*k-b.Volume) > 2*a.Error*k*k*k {
			t.Fatalf("volume is %.12g, and %.12g at %g times the size (error %.3g)", a.Volume, b.Volume, k, a.Error)
		}
		wide := s.over
		wide.Upper += rapid.Float64Range(0, 2).Draw(t, "more")
		if b := mustSlide(t, s.bodies, s.axis.Dir, wide, 24); b.Volume < a.Volume-a.Error-b.Error {
			t.Fatalf("volume shrinks from %.12g to %.12g over a wider range", a.Volume, b.Volume)
		}
	})
}

func TestSlidesHaveTheSameBitsOnAnyNumberOfCores(t *testing.T) {
	bodies := []*mesh.Mesh{meshtest.Sphere(1, 24, 12, moved(r3.Vec{X: 1.5, Y: 0.2}))}
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	one := mustSlide(t, bodies, r3.Vec{X: 1, Y: 2, Z: 0.3}, kinematics.Range{Upper: 4}, 80)
	for _, n := range []int{2, 8} {
		runtime.GOMAXPROCS(n)
		e := mustSlide(t, bodies, r3.Vec{X: 1, Y: 2, Z: 0.3}, kinematics.Range{Upper: 4}, 80)
		if !slices.Equal(e.Mesh.Vertices(), one.Mesh.Vertices()) || !slices.Equal(e.Mesh.Triangles(), one.Mesh.Triangles()) ||
			e.Volume != one.Volume || e.Error != one.Error || e.Deviation != one.Deviation {
			t.Errorf("envelopes differ between 1 and %d cores", n)
		}
	}
}

func TestBadSlidesAreRefusedInOneSentence(t *testing.T) {
	box := []*mesh.Mesh{meshtest.Box(r3.Vec{X: 1}, r3.Vec{X: 2, Y: 1, Z: 1})}
	flat := []*mesh.Mesh{sheet(r3.Vec{X: 1}, r3.Vec{X: 3}, r3.Vec{X: 3, Y: 2})}
	for _, c := range []struct {
		name   string
		bodies []*mesh.Mesh
		dir    r3.Vec
		over   kinematics.Range
		want   string
	}{
		{"no body", nil, r3.Vec{Z: 1}, kinematics.Range{Upper: 1}, "has no faces"},
		{"nil body", []*mesh.Mesh{nil}, r3.Vec{Z: 1}, kinematics.Range{Upper: 1}, "body 0 is missing"},
		{"no direction", box, r3.Vec{}, kinematics.Range{Upper: 1}, "slider direction"},
		{"endless", box, r3.Vec{Z: 1}, kinematics.Unlimited(), "has no end"},
		{"backward", box, r3.Vec{Z: 1}, kinematics.Range{Lower: 1}, "range"},
		{"flat at rest", flat, r3.Vec{Z: 1}, kinematics.Range{}, "does not move"},
		{"flat in itself", flat, r3.Vec{X: 1}, kinematics.Range{Upper: 1}, "passes through no volume"},
	} {
		_, err := Slide(context.Background(), c.bodies, c.dir, c.over, Options{})
		if err == nil || !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: error is %v, want one that says %q", c.name, err, c.want)
		}
	}
}

// Ten kilometres off in millimetres the volume is that at home.
func TestSlideFarAway(t *testing.T) {
	box := meshtest.Box(r3.Vec{X: -1}, r3.Vec{X: 1, Y: 3, Z: 4}, moved(r3.Vec{X: 1e7, Y: -1e7, Z: 1e7}))
	e := mustSlide(t, []*mesh.Mesh{box}, r3.Vec{X: 0.6, Z: 0.8}, kinematics.Range{Upper: 5}, 200)
	if math.Abs(e.Volume-84) > e.Error+1e-6 {
		t.Errorf("volume is %.9g, want 84 within %.3g", e.Volume, e.Error)
	}
}
