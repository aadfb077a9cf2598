package doc_test

import (
	"context"
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/app/doc"
	"pintle/app/doc/doctest"
	"pintle/fit"
	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
	"pintle/kinematics"
)

func swing(t testing.TB, o doctest.Options) *doc.Session {
	t.Helper()
	m := doctest.Model(o)
	s, err := doc.NewSession(doc.New(doc.ModelRef{Path: "/m/swing.obj"}, m), m)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func must[T any](t testing.TB) func(T, error) T {
	return func(v T, err error) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

// hubFace picks a wall of the arm's hub: the bore or the outside.
func hubFace(t testing.TB, s *doc.Session, o doctest.Options, radius float64) []doc.Pick {
	t.Helper()
	part := s.Doc.PartIndex("arm")
	m := s.Parts[part].Mesh
	hub := o.HubAxis()
	at := r3.Add(hub.Point, r3.Scale(radius, kinematics.Perpendicular(hub.Dir)))
	patch := m.Topology().EvenPatchFrom(doctest.TriangleAt(m, r3.Add(at, r3.Scale(1, hub.Dir))), doc.FeatureAngle)
	return must[[]doc.Pick](t)(s.Pick(part, doc.Elements{Triangles: patch}))
}

func withJoint(t testing.TB, s *doc.Session, j doc.Joint) *doc.Session {
	t.Helper()
	return must[*doc.Session](t)(s.With(must[doc.Document](t)(s.TakeJoint(j))))
}

func nearAxis(t testing.TB, what string, got, want kinematics.Axis, angle, offset float64) {
	t.Helper()
	off := kinematics.AxisErrorOf(got, want)
	if off.Angle > angle || off.Offset > offset {
		t.Errorf("%s is off by %g rad and %g", what, off.Angle, off.Offset)
	}
}

func TestFromAPickToAProvenHinge(t *testing.T) {
	for name, o := range map[string]doctest.Options{"straight": {}, "skew": {Move: doctest.Skew()}} {
		t.Run(name, func(t *testing.T) {
			s := swing(t, o)
			picks := hubFace(t, s, o, doctest.BoreRadius)
			j := must[doc.Joint](t)(s.ProposeJoint(picks, doc.JointOptions{}))
			if j.Name != "arm" || j.Child != "arm" || j.Parent != "pin" || j.Kind != kinematics.Revolute {
				t.Errorf("joint %q of %q on %q, %s", j.Name, j.Child, j.Parent, j.Kind)
			}
			if j.Recipe.Shape != fit.Cylinder || j.Datum.Arc != 2*math.Pi {
				t.Errorf("recipe %+v, arc %g", j.Recipe, j.Datum.Arc)
			}
			nearAxis(t, "hinge", j.Frame.Axis(), o.Hinge(), 1e-9, 1e-8)
			if d := r3.Norm(r3.Sub(j.Frame.Origin, o.Hinge().Point)); d > 1e-8 {
				t.Errorf("origin is %g off the hub's middle", d)
			}
			s = withJoint(t, s, j)
			m := must[*doc.Motion](t)(s.Motion(context.Background(), "arm", doc.MotionOptions{}, nil))
			want := doctest.FreeRange()
			if r3.Dot(j.Frame.Hinge, o.Hinge().Dir) < 0 {
				want = want.Reversed()
			}
			got := m.FreeRange()
			if math.Abs(got.Lower-want.Lower) > 1e-9 || math.Abs(got.Upper-want.Upper) > 1e-9 {
				t.Errorf("free range %v, want %v", got, want)
			}
			if len(m.Runout) != 2 { // the picked bore, and the child's other turned surfaces
				t.Errorf("%d housings measured, want 2", len(m.Runout))
			}
			for _, r := range m.Runout {
				if r.CircularRadial > 1e-9 {
					t.Errorf("runout %v on a true hinge", r.CircularRadial)
				}
			}
			if _, err := s.TrueUp(s.Doc.Joints[0], m); !errors.Is(err, doc.ErrRunsTrue) {
				t.Errorf("truing up a true hinge: %v", err)
			}
			for _, f := range s.Findings(s.Doc.Joints[0], m) {
				if f.Kind != doc.NotAccepted {
					t.Errorf("unexpected finding: %s", f.Text)
				}
			}
		})
	}
}

// A hub that is off its hinge by a known offset and tilt is found, with its
// runout in closed form and the correction that mends it.
func TestOffHingeHousingIsFound(t *testing.T) {
	o := doctest.Options{Move: doctest.Skew(), Off: 0.8}
	s := swing(t, o)
	j := must[doc.Joint](t)(s.ProposeJoint(hubFace(t, s, o, doctest.HubRadius), doc.JointOptions{Parent: "pin"}))
	// The hinge runs through the pin, as a rigger who trusts the pin would set it.
	j.Spec.Datum = o.Hinge()
	j.Spec.Slide, j.Spec.Flip = 0, false
	j.Frame = must[kinematics.Frame](t)(s.BuildFrame(j))
	s = withJoint(t, s, j)
	m := must[*doc.Motion](t)(s.Motion(context.Background(), "arm", doc.MotionOptions{}, nil))
	// A cylinder parallel to the hinge at distance e runs out by 2 e
	// (check of eccentric cylinders in closed form).
	if got := m.Runout[0].CircularRadial; math.Abs(got-1.6) > 1e-6 {
		t.Errorf("runout %g, want 1.6", got)
	}
	byKind := map[doc.FindingKind]doc.Finding{}
	for _, f := range s.Findings(s.Doc.Joints[0], m) {
		byKind[f.Kind] = f
	}
	for _, k := range []doc.FindingKind{doc.RadialRunout, doc.OffHousing} {
		if f := byKind[k]; f.Severity != doc.Check || !strings.Contains(f.Text, "0.8000 mm") {
			t.Errorf("%s: %q", k, f.Text)
		}
	}
	c, own, ok := s.Correction(s.Doc.Joints[0], m.Runout[0].PartHousing, 0)
	if !ok {
		t.Fatal("no correction")
	}
	nearAxis(t, "the housing's own axis", own, o.HubAxis(), 1e-9, 1e-8)
	nearAxis(t, "the corrected hinge", c.Apply(j.Frame).Axis(), o.HubAxis(), 1e-9, 1e-8)
}

func TestTiltedHousing(t *testing.T) {
	o := doctest.Options{Off: 0.3, Tilt: 1.5 * math.Pi / 180}
	s := swing(t, o)
	j := must[doc.Joint](t)(s.ProposeJoint(hubFace(t, s, o, doctest.HubRadius), doc.JointOptions{}))
	nearAxis(t, "the fitted hinge", j.Frame.Axis(), o.HubAxis(), 1e-9, 1e-8)
	j.Spec.Datum = o.Hinge()
	j.Frame = must[kinematics.Frame](t)(s.BuildFrame(j))
	text := ""
	m := must[*doc.Motion](t)(s.MotionOf(context.Background(), j, doc.MotionOptions{}, nil))
	for _, f := range s.Findings(j, m) {
		text += f.Text + "\n"
	}
	if !strings.Contains(text, "1.50°") || !strings.Contains(text, "tilt it by 1.50° about (") {
		t.Errorf("findings:\n%s", text)
	}
}

func TestFindings(t *testing.T) {
	o := doctest.Options{}
	s := swing(t, o)
	j := must[doc.Joint](t)(s.ProposeJoint(hubFace(t, s, o, doctest.BoreRadius), doc.JointOptions{}))
	m := must[*doc.Motion](t)(s.MotionOf(context.Background(), j, doc.MotionOptions{}, nil))
	kinds := func(j doc.Joint) map[doc.FindingKind]doc.Finding {
		out := map[doc.FindingKind]doc.Finding{}
		for _, f := range s.Findings(j, m) {
			out[f.Kind] = f
		}
		return out
	}
	free := m.FreeRange()
	j.Limits = []kinematics.Range{{Lower: free.Lower + 0.01, Upper: free.Upper + 0.01}}
	if f := kinds(j)[doc.RangeBlocked]; f.Severity != doc.Stop || f.Value != j.Limits[0].Upper || f.Limit != free.Upper ||
		len(f.Points) != 1 || !slices.Equal(f.Parts, []string{"arm", "base"}) ||
		!strings.Contains(f.Text, "the upper limit of 31.08° cannot be reached: arm meets base at 30.51°") {
		t.Errorf("blocked range: %+v", f)
	}
	j.Limits = []kinematics.Range{{Lower: free.Lower, Upper: free.Upper}}
	if f, ok := kinds(j)[doc.RangeBlocked]; ok {
		t.Errorf("limits right at the contacts: %s", f.Text)
	}
	short := j
	short.Datum.Arc, short.Datum.SigmaAxis, short.Datum.SigmaOrigin = math.Pi/4, 0.02, 0.4
	found := kinds(short)
	if f := found[doc.ShortArc]; f.Severity != doc.Check || !strings.Contains(f.Text, "covers only 45.00° of a turn: its axis is known to 1.15° and 0.4000 mm") {
		t.Errorf("short arc: %q", f.Text)
	}
	if f := found[doc.AxisUnsure]; f.Severity != doc.Check || f.Value != 0.4 || f.Unit != doc.Length {
		t.Errorf("unsure axis: %+v", f)
	}
	rough := j
	rough.Datum.FormError = 0.5
	if f := kinds(rough)[doc.DatumRough]; !strings.Contains(f.Text, "departs from a cylinder by 0.5000 mm") {
		t.Errorf("rough datum: %q", f.Text)
	}
	accepted := j
	accepted.Accepted = true
	if list := s.Findings(accepted, m); len(list) != 0 {
		t.Errorf("an accepted hinge that is right has findings: %+v", list)
	}
	if doc.Worst(s.Findings(rough, m)) != doc.Check || doc.Worst(nil) != doc.Note {
		t.Error("worst severity")
	}
}

func TestOverlapAtRestIsFound(t *testing.T) {
	o := doctest.Options{Off: 0.8}
	s := swing(t, o)
	j := must[doc.Joint](t)(s.ProposeJoint(hubFace(t, s, o, doctest.BoreRadius), doc.JointOptions{}))
	m := must[*doc.Motion](t)(s.MotionOf(context.Background(), j, doc.MotionOptions{}, nil))
	var overlap []doc.Finding
	for _, f := range s.Findings(j, m) {
		if f.Kind == doc.RestOverlap {
			overlap = append(overlap, f)
		}
	}
	// Pin and bore of one radius, 0.8 apart: each reaches 0.8 into the other.
	if len(overlap) != 1 || math.Abs(overlap[0].Value-0.8) > 0.05 || !slices.Equal(overlap[0].Parts, []string{"arm", "pin"}) {
		t.Errorf("overlap %+v", overlap)
	}
}

func TestAnswersStandSideBySide(t *testing.T) {
	o := doctest.Options{Lobes: 0.4}
	s := swing(t, o)
	picks := hubFace(t, s, o, doctest.HubRadius)
	m := s.Parts[2].Mesh
	ring := m.Topology().Outline(picks[0].Triangles)[0].Vertices
	// A vertex on a lobe and the one opposite, in a valley: their midpoint is off
	// by half the difference of the two radii, which is the lobes' height.
	picks[0].Vertices = []int32{ring[0], ring[doctest.Facets/2]}
	answers := s.Answers(picks)
	got := map[string]doc.Answer{}
	for _, a := range answers {
		if a.Err != nil {
			t.Errorf("%s: %v", a.Label, a.Err)
		}
		got[a.Label] = a
	}
	if a := got["faces"]; a.Datum.Kind != fit.Cylinder || a.Offset > 1e-9 {
		t.Errorf("faces: %s, offset %g", a.Datum.Kind, a.Offset)
	}
	if a := got["loop 1 alone"]; a.Datum.Kind != fit.Circle || a.Offset > 1e-6 || a.Angle > 1e-9 {
		t.Errorf("loop: %s, offset %g, angle %g", a.Datum.Kind, a.Offset, a.Angle)
	}
	if a := got["2 vertices"]; a.Datum.Kind != fit.Line || math.Abs(a.Offset-0.4) > 1e-6 || math.Abs(a.Angle-math.Pi/2) > 1e-9 {
		t.Errorf("vertices: %s, offset %g, angle %g", a.Datum.Kind, a.Offset, a.Angle)
	}
	if a := got["midpoint of 2 vertices"]; a.Datum.Kind != fit.Point || math.Abs(a.Offset-0.4) > 1e-6 || !math.IsNaN(a.Angle) {
		t.Errorf("midpoint: %s, offset %g, angle %g", a.Datum.Kind, a.Offset, a.Angle)
	}
	if _, ok := got["everything picked"]; !ok || len(answers) != 6 {
		t.Errorf("%d answers", len(answers))
	}
}

func TestDatumMethods(t *testing.T) {
	o := doctest.Options{Move: doctest.Skew()}
	s := swing(t, o)
	arm := s.Doc.PartIndex("arm")
	m := s.Parts[arm].Mesh
	bore := hubFace(t, s, o, doctest.BoreRadius)
	rims := m.Topology().Outline(bore[0].Triangles)
	loops := []doc.Loop{{Vertices: rims[0].Vertices, Closed: true}, {Vertices: rims[1].Vertices, Closed: true}}
	pick := func(e doc.Elements) []doc.Pick { return must[[]doc.Pick](t)(s.Pick(arm, e)) }
	two := pick(doc.Elements{Loops: loops})
	d := must[fit.Datum](t)(s.FitPicks(two, doc.DatumRecipe{Method: doc.TwoLoops}))
	nearAxis(t, "axis by two loops", kinematics.Axis{Point: d.Origin, Dir: d.Axis}, o.Hinge(), 1e-9, 1e-8)
	if d.Count != 2*doctest.Facets || math.Abs(d.Extent[1]-d.Extent[0]-2*doctest.HubHalf) > 1e-9 || d.Arc != 2*math.Pi {
		t.Errorf("two loops: %+v", d)
	}
	// From the first to the second.
	a, b := m.Vertices()[loops[0].Vertices[0]], m.Vertices()[loops[1].Vertices[0]]
	if r3.Dot(d.Axis, r3.Sub(b, a)) <= 0 {
		t.Error("the axis does not run from the first loop to the second")
	}
	points := pick(doc.Elements{Vertices: []int32{loops[0].Vertices[0], loops[0].Vertices[doctest.Facets/2]}})
	d = must[fit.Datum](t)(s.FitPicks(points, doc.DatumRecipe{Method: doc.TwoPoints}))
	if off := o.Hinge().Distance(d.Origin); off > 1e-9 || !math.IsNaN(d.SigmaAxis) {
		t.Errorf("midpoint of opposite vertices is %g off, sigma %g", off, d.SigmaAxis)
	}
	e := m.Topology().EdgeVerts[m.Topology().TriEdges[bore[0].Triangles[0]][0]]
	d = must[fit.Datum](t)(s.FitPicks(pick(doc.Elements{Edges: [][2]int32{e}}), doc.DatumRecipe{Method: doc.EdgeLine}))
	if got := r3.Norm(r3.Sub(m.Vertices()[e[1]], m.Vertices()[e[0]])); math.Abs(d.Extent[1]-d.Extent[0]-got) > 1e-12 {
		t.Errorf("edge of length %g, extent %v", got, d.Extent)
	}
	for _, c := range []struct {
		picks  []doc.Pick
		recipe doc.DatumRecipe
		want   string
	}{
		{nil, doc.DatumRecipe{Method: doc.LeastSquares, Shape: fit.Circle}, "nothing is picked"},
		{two, doc.DatumRecipe{Method: doc.TwoPoints}, "needs two vertices, 0 are picked"},
		{points, doc.DatumRecipe{Method: doc.TwoLoops}, "needs two loops, 0 are picked"},
		{points, doc.DatumRecipe{Method: doc.EdgeLine}, "needs one edge, 0 are picked"},
		{points, doc.DatumRecipe{Method: doc.LeastSquares, Shape: fit.Cylinder}, "needs at least 5 points, got 2"},
		{points, doc.DatumRecipe{Method: "guess"}, `there is no datum method "guess"`},
		{[]doc.Pick{{Source: "leg", Elements: doc.Elements{Vertices: []int32{1}}}}, doc.DatumRecipe{Method: doc.TwoPoints}, `the model has no part "leg"`},
		{[]doc.Pick{{Source: "arm", Elements: doc.Elements{Vertices: []int32{99999}}}}, doc.DatumRecipe{Method: doc.TwoPoints}, `has no vertex 99999: pick the housing again`},
		{[]doc.Pick{{Source: "arm", Elements: doc.Elements{Triangles: []int32{99999}}}}, doc.DatumRecipe{Method: doc.LeastSquares, Shape: fit.Plane}, `has no triangle 99999`},
	} {
		if _, err := s.FitPicks(c.picks, c.recipe); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("error %v, want %q", err, c.want)
		}
	}
	// Hub faces: the outside and bore are cylinders, an end is a flat face with a
	// round rim, whose centre is its middle.
	end := m.Topology().EvenPatchFrom(doctest.TriangleAt(m, r3.Add(o.Hinge().At(doctest.HubHalf+1), r3.Scale(7, kinematics.Perpendicular(o.Hinge().Dir)))), doc.FeatureAngle)
	ring := doc.DatumRecipe{Method: doc.LeastSquares, Shape: fit.Circle}
	if got, err := s.Suggest(pick(doc.Elements{Triangles: end})); err != nil || got != ring {
		t.Errorf("suggested %+v (%v) for an end of the hub", got, err)
	}
	for want, picks := range map[doc.DatumRecipe][]doc.Pick{
		{Method: doc.LeastSquares, Shape: fit.Plane}:    pick(doc.Elements{Triangles: end[:1]}),
		{Method: doc.LeastSquares, Shape: fit.Cylinder}: bore,
		{Method: doc.TwoLoops}:                          two,
		{Method: doc.TwoPoints}:                         points,
		{Method: doc.LeastSquares, Shape: fit.Circle}:   pick(doc.Elements{Loops: loops[:1]}),
		{Method: doc.LeastSquares, Shape: fit.Point}:    pick(doc.Elements{Vertices: []int32{3}}),
		{Method: doc.EdgeLine}:                          pick(doc.Elements{Edges: [][2]int32{e}}),
	} {
		if got, err := s.Suggest(picks); err != nil || got != want {
			t.Errorf("suggested %+v (%v), want %+v", got, err, want)
		}
	}
}

func TestRefitKeepsWhatTheUserChose(t *testing.T) {
	o := doctest.Options{Move: doctest.Skew()}
	s := swing(t, o)
	j := must[doc.Joint](t)(s.ProposeJoint(hubFace(t, s, o, doctest.BoreRadius), doc.JointOptions{}))
	j.Spec = j.Spec.Flipped()
	j.Spec.Slide += 1.5
	j.Spec.Reach.At = kinematics.Reference{Kind: kinematics.FromWorld, World: kinematics.PlusX}
	j.Frame = must[kinematics.Frame](t)(s.BuildFrame(j))
	before := j.Frame
	// A datum whose direction came out the other way round must not flip the hinge.
	j.Datum.Axis = r3.Scale(-1, j.Datum.Axis)
	j.Datum.Extent = [2]float64{-j.Datum.Extent[1], -j.Datum.Extent[0]}
	j.Spec.Datum.Dir = r3.Scale(-1, j.Spec.Datum.Dir)
	j.Spec.Flip, j.Spec.Slide = !j.Spec.Flip, -j.Spec.Slide
	j.Accepted = true
	again := must[doc.Joint](t)(s.Refit(j))
	if d := r3.Norm(r3.Sub(again.Frame.Origin, before.Origin)) + r3.Norm(r3.Sub(again.Frame.Hinge, before.Hinge)) + r3.Norm(r3.Sub(again.Frame.Reach, before.Reach)); d > 1e-7 {
		t.Errorf("the frame moved by %g:\n%v\n%v", d, before, again.Frame)
	}
	if again.Accepted {
		t.Error("a joint fitted anew counts as accepted")
	}
}

// A hub with two lobes of 0.3 mm on two rings of vertices: a torus goes through
// the points better than the cylinder that it is, but faces another way.
func TestAHubThatIsNotQuiteRoundIsACylinder(t *testing.T) {
	lobed := meshtest.Cylinder(50, -20, 20, 56, 1, false, func(p r3.Vec) r3.Vec {
		f := 1 + 0.3/50*math.Cos(2*math.Atan2(p.Y, p.X))
		return r3.Vec{X: p.X * f, Y: p.Y * f, Z: p.Z}
	})
	m := &mesh.Model{Unit: mesh.Millimetre, Up: mesh.UpZ, Parts: []mesh.Part{{Name: "hub", Mesh: lobed}}}
	s, err := doc.NewSession(doc.New(doc.ModelRef{Path: "/hub.obj"}, m), m)
	if err != nil {
		t.Fatal(err)
	}
	var faces []int32
	for i := range lobed.Triangles() {
		if i%56 < 50 { // with a gap, as where an arm grows out of it
			faces = append(faces, int32(i))
		}
	}
	picks, err := s.Pick(0, doc.Elements{Triangles: faces})
	if err != nil {
		t.Fatal(err)
	}
	got, err := s.Suggest(picks)
	if err != nil || got.Shape != fit.Cylinder {
		t.Errorf("suggested %+v (%v), want a cylinder", got, err)
	}
}
