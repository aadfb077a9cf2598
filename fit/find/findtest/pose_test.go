package findtest

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
)

// twoLink is a planar arm of two unit bars that turn about z at 0 and at 1, and
// a slide along its tip.
func twoLink() Mechanism {
	bar := func(x float64) *mesh.Mesh {
		return meshtest.Box(r3.Vec{X: x, Y: -0.1, Z: -0.1}, r3.Vec{X: x + 1, Y: 0.1, Z: 0.1})
	}
	return Mechanism{
		Name:  "two links",
		Parts: []mesh.Part{{Name: "tip", Mesh: bar(2)}, {Name: "ground", Mesh: bar(-1)}, {Name: "one", Mesh: bar(0)}, {Name: "two", Mesh: bar(1)}, {Name: "badge", Mesh: bar(2)}},
		Joints: []Joint{
			{Name: "slide", Parent: 3, Child: 0, Kind: "prismatic", Origin: r3.Vec{X: 2}, Axis: r3.Vec{X: 1}, Scorable: true},
			{Name: "elbow", Parent: 2, Child: 3, Kind: "revolute", Origin: r3.Vec{X: 1}, Axis: r3.Vec{Z: 1}, Scorable: true},
			{Name: "shoulder", Parent: 1, Child: 2, Kind: "revolute", Axis: r3.Vec{Z: 1}, Scorable: true},
		},
		Fixed: [][2]int{{0, 4}},
	}
}

// The planar two-link arm's forward kinematics in closed form: the tip is at
// (cos a + cos(a+b), sin a + sin(a+b)).
func TestPoseOfTwoLinks(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b, s := rapid.Float64Range(-3, 3).Draw(t, "a"), rapid.Float64Range(-3, 3).Draw(t, "b"), rapid.Float64Range(-1, 1).Draw(t, "s")
		m := At(twoLink(), []float64{s, b, a}, nil)
		along := r3.Vec{X: math.Cos(a + b), Y: math.Sin(a + b)}
		tip := r3.Add(r3.Vec{X: math.Cos(a), Y: math.Sin(a)}, along)
		if j := m.Joints[0]; r3.Norm(r3.Sub(j.Origin, tip)) > 1e-12 || r3.Norm(r3.Sub(j.Axis, along)) > 1e-12 {
			t.Errorf("slide at %v along %v, want %v, %v", j.Origin, j.Axis, tip, along)
		}
		for _, part := range []int{0, 4} { // what is held moves along
			lo := m.Parts[part].Mesh.Vertices()[0]
			want := r3.Add(r3.Add(tip, r3.Scale(s, along)), r3.Add(r3.Scale(-0.1, r3.Vec{X: -along.Y, Y: along.X}), r3.Vec{Z: -0.1}))
			if r3.Norm(r3.Sub(lo, want)) > 1e-12 {
				t.Errorf("corner of %s at %v, want %v", m.Parts[part].Name, lo, want)
			}
		}
	})
}

// Posing moves parts rigidly, keeps every joint's two parts together on the
// axis, and is the same for the same seed.
func TestPosedKeepsJoints(t *testing.T) {
	rest := Demo(t, DemoNames()[2])
	for seed := range uint64(4) {
		m := Posed(rest, seed)
		again := Posed(rest, seed)
		for i := range m.Parts {
			p, q := m.Parts[i].Mesh.Vertices(), again.Parts[i].Mesh.Vertices()
			old := rest.Parts[i].Mesh.Vertices()
			for k := range p {
				if p[k] != q[k] {
					t.Fatalf("seed %d: part %d differs from itself", seed, i)
				}
				if a, b := r3.Norm(r3.Sub(p[k], p[0])), r3.Norm(r3.Sub(old[k], old[0])); math.Abs(a-b) > 1e-9 {
					t.Fatalf("seed %d: part %d is bent: %g for %g", seed, i, a, b)
				}
			}
		}
		for i, j := range m.Joints {
			if j.Kind == "prismatic" {
				continue
			}
			// Distances from the axis are the same as at rest, on either side.
			for _, part := range []int{j.Parent, j.Child} {
				p, old := m.Parts[part].Mesh.Vertices()[0], rest.Parts[part].Mesh.Vertices()[0]
				a := r3.Norm(r3.Cross(r3.Sub(p, j.Origin), j.Axis))
				b := r3.Norm(r3.Cross(r3.Sub(old, rest.Joints[i].Origin), rest.Joints[i].Axis))
				if math.Abs(a-b) > 1e-9*(1+b) {
					t.Errorf("seed %d: %s moves against part %d: %g from its axis, at rest %g", seed, j.Name, part, a, b)
				}
			}
		}
	}
}

// A turn by a third, done thrice, is none, and leaves its axis; frames are right
// handed.
func TestMotions(t *testing.T) {
	o, a := r3.Vec{X: 1, Y: 2, Z: 3}, r3.Unit(r3.Vec{X: 1, Y: -1, Z: 2})
	x := About(o, a, 2*math.Pi/3)
	thrice := Then(x, Then(x, x))
	p := r3.Vec{X: -4, Y: 0.5, Z: 7}
	if d := r3.Norm(r3.Sub(thrice.Apply(p), p)); d > 1e-12 {
		t.Errorf("three thirds of a turn move a point by %g", d)
	}
	if d := r3.Norm(r3.Sub(x.Apply(r3.Add(o, a)), r3.Add(o, a))); d > 1e-12 {
		t.Errorf("the axis moves by %g", d)
	}
	f := Frame(o, a, r3.Vec{X: 1})
	if q := f.Turn(r3.Vec{Z: 1}); r3.Norm(r3.Sub(q, a)) > 1e-12 || math.Abs(r3.Dot(f.X, f.Y)) > 1e-12 || r3.Dot(r3.Cross(f.X, f.Y), f.Z) < 0.999 {
		t.Errorf("frame %+v", f)
	}
}
