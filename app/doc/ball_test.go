package doc_test

import (
	"context"
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/app/doc"
	"pintle/app/doc/doctest"
	"pintle/fit"
	"pintle/fit/mesh"
	"pintle/kinematics"
)

// sphere adds a ball of so many stacks and slices about a centre.
func sphere(b *mesh.Builder, centre r3.Vec, radius float64) {
	const stacks, slices = 12, 24
	var rings [stacks + 1][slices]int32
	for i := range rings {
		s, c := math.Sincos(math.Pi * float64(i) / stacks)
		for k := range slices {
			sa, ca := math.Sincos(2 * math.Pi * float64(k) / slices)
			if (i == 0 || i == stacks) && k > 0 {
				rings[i][k] = rings[i][0]
				continue
			}
			rings[i][k] = b.Vertex(r3.Add(centre, r3.Scale(radius, r3.Vec{X: s * ca, Y: s * sa, Z: c})))
		}
	}
	for i := range stacks {
		for k := range slices {
			p, q := rings[i], rings[i+1]
			n := (k + 1) % slices
			switch i {
			case 0:
				b.Face(p[0], q[k], q[n])
			case stacks - 1:
				b.Face(p[k], q[k], p[n])
			default:
				b.Face(p[k], q[k], q[n], p[n])
			}
		}
	}
}

// ballModel is a stud with a ball at its end, and a smaller part beside it that
// the ball touches.
func ballModel(t *testing.T, centre, along r3.Vec) *doc.Session {
	t.Helper()
	build := func(f func(*mesh.Builder)) *mesh.Mesh {
		b := mesh.NewBuilder()
		f(b)
		m, _, err := b.Build(mesh.Options{Weld: mesh.DefaultWeld})
		if err != nil {
			t.Fatal(err)
		}
		return m
	}
	stud := build(func(b *mesh.Builder) {
		sphere(b, centre, 5)
		sphere(b, r3.Add(centre, r3.Scale(40, along)), 8) // the stud's other end
	})
	cup := build(func(b *mesh.Builder) { sphere(b, r3.Sub(centre, r3.Scale(9, along)), 4) })
	path := must[string](t)(doctest.WriteOBJ(t.TempDir(), &mesh.Model{Parts: []mesh.Part{{Name: "cup", Mesh: cup}, {Name: "stud", Mesh: stud}}}))
	return must[*doc.Session](t)(doc.OpenModel(context.Background(), path, doc.OpenOptions{}))
}

// A picked ball makes a ball joint about its centre, with reach along its stud;
// fitted again the frame stays.
func TestAPickedBallMakesABallJoint(t *testing.T) {
	centre, along := r3.Vec{X: 3, Y: -20, Z: 11}, r3.Unit(r3.Vec{X: 1, Y: 2, Z: -2})
	s := ballModel(t, centre, along)
	i := s.Doc.PartIndex("stud")
	m := s.Parts[i].Mesh
	patch := m.Topology().EvenPatchFrom(doctest.TriangleAt(m, r3.Add(centre, r3.Vec{X: 5})), doc.FeatureAngle)
	j := must[doc.Joint](t)(s.ProposeJoint(must[[]doc.Pick](t)(s.Pick(i, doc.Elements{Triangles: patch})), doc.JointOptions{}))
	if j.Kind != kinematics.Spherical || j.Child != "stud" || j.Parent != "cup" || j.Datum.Kind != fit.Sphere {
		t.Fatalf("%s of %s on %s by a %s", j.Kind, j.Child, j.Parent, j.Datum.Kind)
	}
	if r3.Norm(r3.Sub(j.Frame.Origin, centre)) > 1e-9 || r3.Norm(r3.Sub(j.Frame.Reach, along)) > 1e-6 {
		t.Errorf("frame %+v, want it at %v with reach along %v", j.Frame, centre, along)
	}
	j.Spec.Roll.Angle = 0.3
	again := must[doc.Joint](t)(s.Refit(j))
	if again.Spec != j.Spec {
		t.Errorf("fitted again %+v, before %+v", again.Spec, j.Spec)
	}
	d := must[doc.Document](t)(s.TakeJoint(j))
	if d.Joints[0].Kind != kinematics.Spherical || d.Validate() != nil {
		t.Errorf("joint %+v, %v", d.Joints[0], d.Validate())
	}
	// A hinge cannot be made of it: a ball has no direction.
	if _, err := s.ProposeJoint(j.Picks, doc.JointOptions{Kind: kinematics.Revolute}); err == nil {
		t.Error("a hinge was made of a ball")
	}
}
