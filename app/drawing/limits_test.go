package drawing

import (
	"context"
	"math"
	"path/filepath"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/app/doc"
	"pintle/app/doc/doctest"
	"pintle/kinematics"
	"pintle/viewport/draft"
)

// of returns the session of the swing with its arm on a joint of a kind.
func of(t *testing.T, j doc.Joint) *doc.Session {
	t.Helper()
	path, err := doctest.WriteOBJ(t.TempDir(), doctest.Model(doctest.Options{}))
	if err != nil {
		t.Fatal(err)
	}
	s, err := doc.OpenModel(context.Background(), filepath.Clean(path), doc.OpenOptions{})
	if err != nil {
		t.Fatal(err)
	}
	j.Name, j.Parent, j.Child, j.Letters = "swing", "pin", "arm", kinematics.DenavitHartenberg()
	j.Frame = kinematics.Frame{Origin: r3.Vec{X: 1, Y: 2, Z: 3}, Hinge: r3.Vec{Z: 1}, Reach: r3.Vec{X: 1}}
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

func marksOf[T draft.Mark](s draft.Scene) []T {
	var out []T
	for _, m := range s.Marks {
		if x, ok := m.(T); ok {
			out = append(out, x)
		}
	}
	return out
}

// The limits of the chosen freedom are drawn about that freedom's own axis as the
// values before it have left it, with the extreme positions there.
func TestLimitsAreDrawnAboutTheFreedomsAxis(t *testing.T) {
	limit := kinematics.Range{Lower: -0.3, Upper: 0.7}
	a := 0.4
	s, c := math.Sincos(a)
	for _, k := range []struct {
		kind    kinematics.Kind
		freedom int
		axis    r3.Vec // unit, of the arc; zero: no arc
	}{
		{kinematics.Cylindric, 0, r3.Vec{Z: 1}},
		{kinematics.Cylindric, 1, r3.Vec{}},
		{kinematics.Universal, 0, r3.Vec{Z: 1}},
		{kinematics.Universal, 1, r3.Vec{X: -s, Y: c}}, // the side as the first turn left it
		{kinematics.Spherical, 0, r3.Vec{Z: 1}},
		{kinematics.Spherical, 1, r3.Vec{Y: 1}},       // both swings are about the parent's axes
		{kinematics.Spherical, 2, r3.Vec{X: c, Y: s}}, // the twist is about the reach as swung
		{kinematics.Planar, 2, r3.Vec{Z: 1}},
	} {
		session := of(t, doc.Joint{Kind: k.kind}.WithLimit(k.freedom, &limit))
		values := make([]float64, k.kind.Freedoms())
		values[0] = a
		scene, err := Scene(session, Options{Joint: "swing", Freedom: k.freedom, Part: -1, Values: map[string][]float64{"swing": values}})
		if err != nil {
			t.Fatal(err)
		}
		arcs := marksOf[draft.DimArc](scene)
		if (len(arcs) == 1) != (k.axis != r3.Vec{}) {
			t.Errorf("%s, %s: %d arcs", k.kind, k.kind.Freedom(k.freedom), len(arcs))
			continue
		}
		if len(arcs) == 1 && (arcs[0].Range != limit || r3.Norm(r3.Sub(arcs[0].Frame.Hinge, k.axis)) > 1e-12) {
			t.Errorf("%s, %s: arc %+v, want it about %v", k.kind, k.kind.Freedom(k.freedom), arcs[0], k.axis)
		}
		ends := marksOf[draft.Extreme](scene)
		if len(ends) != 2 {
			t.Fatalf("%s: %d extreme positions", k.kind, len(ends))
		}
		joint := kinematics.Joint{Kind: k.kind, Frame: session.Doc.Joints[0].Frame}
		for i, end := range []float64{limit.Lower, limit.Upper} {
			values[k.freedom] = end
			p := r3.Vec{X: 7, Y: 5, Z: 2}
			if off := r3.Norm(r3.Sub(ends[i].Motion.Apply(p), joint.Motion(values...).Apply(p))); off > 1e-12 {
				t.Errorf("%s, %s: end %d is off by %g", k.kind, k.kind.Freedom(k.freedom), i, off)
			}
		}
	}
}

// A cone's rim lies at its angle from the reach, at every azimuth.
func TestConeIsDrawnAtItsAngles(t *testing.T) {
	cone := kinematics.Cone{Max: []float64{0.3, 0.5, 0.9, 0.5}}
	s := of(t, doc.Joint{Kind: kinematics.Spherical, Cone: &cone})
	scene, err := Scene(s, Options{Joint: "swing", Part: -1})
	if err != nil {
		t.Fatal(err)
	}
	f := s.Doc.Joints[0].Frame
	rims := marksOf[draft.Polyline](scene)
	if len(rims) != 1 || !rims[0].Closed || len(marksOf[draft.Line](scene)) < 8 {
		t.Fatalf("%d rims", len(rims))
	}
	for _, p := range rims[0].Points {
		d := r3.Sub(p, f.Origin)
		azimuth := math.Atan2(r3.Dot(d, f.Hinge), r3.Dot(d, f.Side()))
		if off := kinematics.Angle(d, f.Reach) - cone.At(azimuth); math.Abs(off) > 1e-9 {
			t.Errorf("at azimuth %v the rim is off by %v", azimuth, off)
		}
	}
}
