package desk

import (
	"testing"
	"time"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/app/doc"
	"pintle/app/doc/doctest"
	"pintle/app/job"
	"pintle/kinematics"
)

// BenchmarkDrag is what a frame of a drag costs the desk on 200 000 triangles:
// the value set, the clearance there, the scene to draw; not the drawing.
func BenchmarkDrag(b *testing.B) {
	m := doctest.Fine(doctest.Model(doctest.Options{}), 16)
	s, err := doc.NewSession(doc.New(doc.ModelRef{Path: "swing.obj", Unit: m.Unit, Up: m.Up}, m), m)
	if err != nil {
		b.Fatal(err)
	}
	f := kinematics.Frame{Hinge: r3.Vec{Z: 1}, Reach: r3.Vec{X: 1}}
	next, err := s.Doc.AddJoint(doc.Joint{
		Name: "swing", Kind: kinematics.Revolute, Parent: "base", Child: "arm", Frame: f,
		Letters: kinematics.DenavitHartenberg(), Spec: kinematics.FrameSpec{Datum: f.Axis()},
	})
	if err != nil {
		b.Fatal(err)
	}
	if s, err = s.With(next); err != nil {
		b.Fatal(err)
	}
	queue := make(chan func(), 1<<10)
	r := job.NewRunner(func(f func()) { queue <- f })
	b.Cleanup(r.Close)
	d := New(r)
	d.session, d.stance.soon = s, time.Minute // however busy the machine
	d.SelectJoint("swing")
	for d.Holding() == nil {
		(<-queue)()
	}
	step, v := kinematics.Radians(0.25), 0.0
	b.ReportAllocs()
	for b.Loop() {
		if v += step; v > 0.5 || v < -0.7 {
			step = -step
			v += 2 * step
		}
		d.SetValue(v)
		if _, ok := d.Near(); !ok {
			b.Fatal("no clearance")
		}
		d.Scene()
	}
}
