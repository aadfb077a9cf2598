package doc_test

import (
	"context"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/app/doc"
	"pintle/assets"
	"pintle/fit"
	"pintle/kinematics"
)

// truth is what is known about a mechanism's joints.
type truth struct {
	Joints []struct {
		Name, Type, Parent, Child string
		Origin, Axis              [3]float64
		Housing                   *struct {
			Origin, Axis [3]float64
			Radius       float64
		}
	}
}

func axisOf(origin, dir [3]float64) kinematics.Axis {
	return kinematics.Axis{Point: r3.Vec{X: origin[0], Y: origin[1], Z: origin[2]}, Dir: r3.Unit(r3.Vec{X: dir[0], Y: dir[1], Z: dir[2]})}
}

// demo opens a demo mechanism.
func demo(t *testing.T, name string) (*doc.Session, truth) {
	t.Helper()
	for _, d := range assets.Demos() {
		if d.Name != name {
			continue
		}
		path := filepath.Join(t.TempDir(), name+".obj")
		if err := os.WriteFile(path, d.OBJ, 0o600); err != nil {
			t.Fatal(err)
		}
		return openTruth(t, path, d.Truth)
	}
	t.Fatalf("there is no demo %q", name)
	return nil, truth{}
}

func openTruth(t *testing.T, path string, text []byte) (*doc.Session, truth) {
	t.Helper()
	s := must[*doc.Session](t)(doc.OpenModel(context.Background(), path, doc.OpenOptions{}))
	var known truth
	if err := json.Unmarshal(text, &known); err != nil {
		t.Fatal(err)
	}
	return s, known
}

// wellKnown returns the child's largest turned surface about the axis whose
// vertices lie on it closely over clearly more than half a turn: what a rigger
// would pick.
func wellKnown(t *testing.T, s *doc.Session, part int, axis kinematics.Axis) []doc.Pick {
	t.Helper()
	m := s.Parts[part].Mesh
	patches := must[[][]int32](t)(doc.TurnedSurfaces(context.Background(), m, axis))
	for _, p := range patches {
		points, normals := fit.FromPatch(m, p)
		d, err := fit.FitCylinder(points, fit.Options{Normals: normals})
		if err == nil && kinematics.Degrees(d.Arc) > 190 && d.RMS < 1e-4*d.Radius {
			return must[[]doc.Pick](t)(s.Pick(part, doc.Elements{Triangles: p}))
		}
	}
	return nil
}

// checkTrueAxes makes a joint from each housing and holds its axis against the
// truth: 0.05 degrees where the arc exceeds half a turn. It returns how many
// joints had such a housing.
func checkTrueAxes(t *testing.T, s *doc.Session, known truth) (checked, parents int) {
	t.Helper()
	for _, j := range known.Joints {
		part := s.Doc.PartIndex(j.Child)
		if j.Type != "revolute" || part < 0 || j.Housing != nil {
			continue
		}
		axis := axisOf(j.Origin, j.Axis)
		picks := wellKnown(t, s, part, axis)
		if picks == nil {
			continue
		}
		got := must[doc.Joint](t)(s.ProposeJoint(picks, doc.JointOptions{}))
		off := kinematics.AxisErrorOf(axis, got.Frame.Axis())
		t.Logf("%-14s %-14s arc %3.0f  angle %.5f deg  offset %.2g %s", j.Name, j.Child, kinematics.Degrees(got.Datum.Arc), kinematics.Degrees(off.Angle), off.Offset, s.Model.Unit)
		if kinematics.Degrees(off.Angle) > 0.05 || off.Offset > 1e-3*got.Datum.Radius || got.Child != j.Child {
			t.Errorf("joint %s: off by %+v, child %q", j.Name, off, got.Child)
		}
		checked++
		if got.Parent == j.Parent {
			parents++
		}
	}
	return checked, parents
}

func TestHousingsOfTheDemosGiveTheTrueAxes(t *testing.T) {
	for name, least := range map[string]int{"tern-arm": 7, "drawbridge": 2, "heron-leg": 2} {
		s, known := demo(t, name)
		// The guess of the parent may err where a part is crowded, but seldom.
		if checked, parents := checkTrueAxes(t, s, known); checked < least || parents < checked-1 {
			t.Errorf("%s: %d joints checked, want %d; %d parents guessed right", name, checked, least, parents)
		}
	}
}

// The leg's knee housing is off its own hinge by 0.8 mm and 1.5 degrees: set on
// the true hinge, the program finds it, with the numbers.
func TestTheKneeThatIsOffIsFound(t *testing.T) {
	s, known := demo(t, "heron-leg")
	for _, k := range known.Joints {
		if k.Housing == nil {
			continue
		}
		part := s.Doc.PartIndex(k.Child)
		m := s.Parts[part].Mesh
		hinge, housing := axisOf(k.Origin, k.Axis), axisOf(k.Housing.Origin, k.Housing.Axis)
		at := r3.Add(housing.Point, r3.Scale(k.Housing.Radius, kinematics.Perpendicular(housing.Dir)))
		tri, _, _ := m.BVH().Closest(at)
		surface, ok := doc.SurfaceFrom(m, tri)
		if !ok || math.Abs(surface.Datum.Radius-k.Housing.Radius) > 1e-6 {
			t.Fatalf("the housing's surface is %+v", surface.Datum)
		}
		picks := must[[]doc.Pick](t)(s.Pick(part, doc.Elements{Triangles: surface.Triangles}))
		j := must[doc.Joint](t)(s.ProposeJoint(picks, doc.JointOptions{Name: k.Name, Parent: k.Parent}))
		nearAxis(t, "the housing's axis", j.Frame.Axis(), housing, 1e-7, 1e-5)
		j.Spec.Datum, j.Spec.Slide = hinge, 0
		s = withJoint(t, s, j)
		found, _, err := s.Prove(context.Background(), s.Doc.Joints[0], nil)
		if err != nil {
			t.Fatal(err)
		}
		text := ""
		for _, f := range found {
			text += string(f.Severity) + " " + string(f.Kind) + ": " + f.Text + "\n"
		}
		t.Log("\n" + text)
		for _, want := range []string{"check radial_runout: ", "check off_housing: the hinge is 1.50° and 0.8000 mm off its housing's axis", "its own axis lies 0.8000 mm and 1.50° off the hinge"} {
			if !strings.Contains(text, want) {
				t.Errorf("the findings lack %q", want)
			}
		}
		checkTrueUp(t, s, housing)
		return
	}
	t.Error("no joint has a housing of its own")
}

// checkTrueUp trues up the only joint: its hinge then is the housing's axis, in
// the old sense, its origin the foot of the old one, and the housing runs true.
func checkTrueUp(t *testing.T, s *doc.Session, housing kinematics.Axis) {
	t.Helper()
	j := s.Doc.Joints[0]
	_, m, err := s.Prove(context.Background(), j, nil)
	if err != nil {
		t.Fatal(err)
	}
	trued := must[doc.Joint](t)(s.TrueUp(j, m))
	nearAxis(t, "the trued hinge", trued.Frame.Axis(), housing, 1e-7, 1e-5)
	if r3.Dot(trued.Frame.Hinge, j.Frame.Hinge) < 0 {
		t.Error("truing up turned the hinge round")
	}
	if along := r3.Dot(r3.Sub(trued.Frame.Origin, j.Frame.Origin), trued.Frame.Hinge); math.Abs(along) > 1e-9 {
		t.Errorf("truing up slid the origin by %g", along)
	}
	s = must[*doc.Session](t)(s.With(must[doc.Document](t)(s.ChangeJoint(j.Name, func(doc.Joint) doc.Joint { return trued }))))
	found, m, err := s.Prove(context.Background(), s.Doc.Joints[0], nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range found {
		if f.Kind == doc.OffHousing { // the pin's bore, about the true hinge, runs out now
			t.Errorf("after truing up: %s", f.Text)
		}
	}
	if first := m.Runout[0].Surfaces[0]; first.Circular > first.Sagitta {
		t.Errorf("after truing up the housing runs out by %g, its facets hide %g", first.Circular, first.Sagitta)
	}
}
