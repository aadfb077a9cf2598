package doc_test

import (
	"context"
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/app/doc"
	"pintle/app/doc/doctest"
	"pintle/kinematics"
	"pintle/kinematics/contact"
)

// lifted is the carriage with its roof on a slider of its own, and the floor on
// a hinge that turns all of it.
func lifted(t *testing.T) *doc.Session {
	t.Helper()
	s := carriage(t, doc.Joint{Kind: kinematics.Prismatic})
	add := func(name string, kind kinematics.Kind, parent, child string, f kinematics.Frame) {
		j := doc.Joint{Name: name, Kind: kind, Parent: parent, Child: child, Letters: kinematics.DenavitHartenberg(), Frame: f}
		j.Spec = kinematics.FrameSpec{Datum: f.Axis()}
		d := must[doc.Document](t)(s.Doc.AddJoint(j))
		s = must[*doc.Session](t)(s.With(d))
	}
	add("lift", kinematics.Prismatic, "floor", "roof", kinematics.Frame{Hinge: r3.Vec{Z: 1}, Reach: r3.Vec{X: 1}})
	add("turn", kinematics.Revolute, "", "floor", kinematics.Frame{Origin: r3.Vec{X: 70, Y: -8}, Hinge: r3.Vec{X: 1}, Reach: r3.Vec{Y: 1}})
	return s
}

// A roof that is lifted gives way by as much, wherever the whole is turned to
// (plain arithmetic).
func TestContactsFollowTheOtherJoints(t *testing.T) {
	s := lifted(t)
	ctx := context.Background()
	for _, lift := range []float64{-4, 3} {
		for _, turn := range []float64{0, 0.7} {
			x := must[*doc.Stance](t)(s.Stance(ctx, "slide", map[string][]float64{"slide": {2}, "lift": {lift}, "turn": {turn}}, doc.MotionOptions{Samples: 200}, nil))
			if r := x.Motion.FreeRange(); math.Abs(r.Lower+7) > 1e-9 || math.Abs(r.Upper-12-lift) > 1e-9 {
				t.Errorf("lifted by %v, turned by %v: free range %v", lift, turn, r)
			}
			var near contact.Proximity
			for _, v := range []float64{-6, 0, 1, 5} {
				near = must[contact.Proximity](t)(x.ClearanceAt(ctx, v, near))
				want := min(v+7, 12+lift-v)
				if math.Abs(near.Distance-want) > 1e-9 || math.Abs(x.Motion.Curve.At(v)-want) > x.Motion.Curve.Error+1e-9 {
					t.Errorf("lifted by %v, turned by %v, at %v: %v, want %v", lift, turn, v, near.Distance, want)
				}
			}
		}
	}
}

// With all others as modelled there is no other motion, and the clearance is
// that of the curve.
func TestStanceAsModelled(t *testing.T) {
	s := lifted(t)
	x := must[*doc.Stance](t)(s.Stance(context.Background(), "slide", map[string][]float64{"slide": {5}, "lift": {0}}, doc.MotionOptions{}, nil))
	near := must[contact.Proximity](t)(x.ClearanceAt(context.Background(), -3, contact.Proximity{}))
	if x.Motion != nil || math.Abs(near.Distance-4) > 1e-9 {
		t.Errorf("motion %v, clearance %v, want none and 4", x.Motion, near.Distance)
	}
	if _, err := s.Stance(context.Background(), "no such", nil, doc.MotionOptions{}, nil); err == nil {
		t.Error("a joint that is not there stands")
	}
	if _, err := x.ClearanceAt(context.Background(), math.NaN(), near); err == nil {
		t.Error("a clearance at no value")
	}
}

// fineStance is a fine swing as a session, with its joint.
func fineStance(t testing.TB, n int) *doc.Session {
	t.Helper()
	m := doctest.Fine(doctest.Model(doctest.Options{}), n)
	s, err := doc.NewSession(doc.New(doc.ModelRef{Path: "swing.obj", Unit: m.Unit, Up: m.Up}, m), m)
	if err != nil {
		t.Fatal(err)
	}
	j := doc.Joint{
		Name: "swing", Kind: kinematics.Revolute, Parent: "base", Child: "arm", Letters: kinematics.DenavitHartenberg(),
		Frame: kinematics.Frame{Hinge: r3.Vec{Z: 1}, Reach: r3.Vec{X: 1}},
	}
	j.Spec = kinematics.FrameSpec{Datum: j.Frame.Axis()}
	d, err := s.Doc.AddJoint(j)
	if err != nil {
		t.Fatal(err)
	}
	if s, err = s.With(d); err != nil {
		t.Fatal(err)
	}
	return s
}

// The finer mesh of the same faces has the same clearance.
func TestClearanceOfAFineMesh(t *testing.T) {
	s := fineStance(t, 3)
	x := must[*doc.Stance](t)(s.Stance(context.Background(), "swing", nil, doc.MotionOptions{}, nil))
	var near contact.Proximity
	for v := -0.7; v < 0.5; v += 0.01 {
		near = must[contact.Proximity](t)(x.ClearanceAt(context.Background(), v, near))
		if want := min(gapOf(v), 6); math.Abs(near.Distance-want) > 1e-9 {
			t.Errorf("at %v: %v, want %v", v, near.Distance, want)
		}
	}
}

// BenchmarkDragFrame is what a frame of a drag costs but for the drawing, on
// 200 000 triangles: the clearance at a value a quarter of a degree on.
func BenchmarkDragFrame(b *testing.B) {
	s := fineStance(b, 16)
	n := 0
	for _, p := range s.Parts {
		n += len(p.Mesh.Triangles())
	}
	x, err := s.Stance(context.Background(), "swing", nil, doc.MotionOptions{}, nil)
	if err != nil {
		b.Fatal(err)
	}
	var near contact.Proximity
	b.ReportAllocs()
	step, v := kinematics.Radians(0.25), 0.0
	for b.Loop() {
		if v += step; v > 0.5 || v < -0.7 {
			step = -step
			v += 2 * step
		}
		if near, err = x.ClearanceAt(context.Background(), v, near); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(n), "triangles")
}

// BenchmarkStance is what a change of another joint costs in the background.
func BenchmarkStance(b *testing.B) {
	s := fineStance(b, 16)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := s.Motion(context.Background(), "swing", doc.MotionOptions{Samples: doc.MostSamples}, nil); err != nil {
			b.Fatal(err)
		}
	}
}
