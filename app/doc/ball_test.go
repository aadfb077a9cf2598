package doc_test

import (
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/app/doc"
	"pintle/fit"
	"pintle/fit/mesh"
	"pintle/kinematics"
)

// bowl adds rings of a surface turned about z, from the first to the last; out
// says whether it faces away from the axis where the rings go up.
func bowl(b *mesh.Builder, at r3.Vec, profile [][2]float64, out bool) {
	const n = 32
	var last []int32
	for _, p := range profile {
		ring := make([]int32, n)
		for i := range ring {
			s, c := math.Sincos(2 * math.Pi * float64(i) / n)
			ring[i] = b.Vertex(r3.Vec{X: at.X + p[0]*c, Y: at.Y + p[0]*s, Z: at.Z + p[1]})
		}
		for i := range ring {
			if k := (i + 1) % n; last != nil {
				f := []int32{last[i], last[k], ring[k], ring[i]}
				if !out {
					slices.Reverse(f)
				}
				b.Face(f...)
			}
		}
		last = ring
	}
}

// zone returns a sphere's profile between two angles from its south pole.
func zone(radius, from, to float64) [][2]float64 {
	var out [][2]float64
	for i := range 17 {
		s, c := math.Sincos(from + (to-from)*float64(i)/16)
		out = append(out, [2]float64{radius * s, -radius * c})
	}
	return out
}

// ballModel is a stem with a ball of radius 10 in a socket of the same radius.
func ballModel(t *testing.T, at r3.Vec) *doc.Session {
	t.Helper()
	build := func(f func(b *mesh.Builder)) *mesh.Mesh {
		b := mesh.NewBuilder()
		f(b)
		m, _, err := b.Build(mesh.Options{})
		if err != nil {
			t.Fatal(err)
		}
		return m
	}
	socket := build(func(b *mesh.Builder) {
		// Its inside, the rim, its outside.
		bowl(b, at, append(zone(10, 0.02, 2), [][2]float64{{14, 4}, {14, -16}, {0.5, -16}}...), false)
	})
	stem := build(func(b *mesh.Builder) {
		bowl(b, at, append(zone(10, 0.02, 2.8), [][2]float64{{3.3, 60}, {0.2, 60}}...), true)
	})
	m := &mesh.Model{Unit: mesh.Millimetre, Up: mesh.UpZ, Parts: []mesh.Part{{Name: "base", Mesh: socket}, {Name: "stem", Mesh: stem}}}
	s, err := doc.NewSession(doc.New(doc.ModelRef{Path: "/ball.obj"}, m), m)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestABallInASocketIsHeldByItsBall(t *testing.T) {
	at := r3.Vec{X: 40, Y: -30, Z: 7}
	s := ballModel(t, at)
	p := found(t, s, nil)
	if len(p.List) != 1 || p.List[0].Choices[0].Kind != kinematics.Spherical {
		t.Fatalf("found %+v", p.List)
	}
	d, err := s.Accept(p, p.List[0], 0)
	if err != nil {
		t.Fatal(err)
	}
	j := d.Joints[0]
	if j.Recipe.Shape != fit.Sphere || math.Abs(j.Datum.Radius-10) > 1e-6 || r3.Norm(r3.Sub(j.Frame.Origin, at)) > 1e-3 {
		t.Errorf("datum %s of radius %v, origin %v", j.Datum.Kind, j.Datum.Radius, j.Frame.Origin)
	}
	// Reach runs along the stem, so that the twist is about it.
	if a := kinematics.Angle(j.Frame.Reach, r3.Vec{Z: 1}); a > 0.05 {
		t.Errorf("reach is %v rad off the stem", a)
	}
	after, err := s.With(d)
	if err != nil {
		t.Fatal(err)
	}
	again, err := after.Refit(j)
	if err != nil || r3.Norm(r3.Sub(again.Frame.Origin, j.Frame.Origin)) > 1e-3 {
		t.Errorf("refitted, it is at %v, error %v", again.Frame.Origin, err)
	}
}
