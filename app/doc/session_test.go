package doc_test

import (
	"context"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/app/doc"
	"pintle/app/doc/doctest"
	"pintle/fit"
	"pintle/fit/mesh"
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
			if len(m.Runout) != 1 || m.Runout[0].CircularRadial > 1e-9 {
				t.Errorf("run-out %+v", m.Runout)
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
// run-out in closed form and the correction that mends it.
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
		t.Errorf("run-out %g, want 1.6", got)
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
	j.Limits = &kinematics.Range{Lower: free.Lower + 0.01, Upper: free.Upper + 0.01}
	if f := kinds(j)[doc.RangeBlocked]; f.Severity != doc.Stop || f.Value != j.Limits.Upper || f.Limit != free.Upper ||
		len(f.Points) != 1 || !slices.Equal(f.Parts, []string{"arm", "base"}) ||
		!strings.Contains(f.Text, "the upper limit of 31.08° cannot be reached: arm meets base at 30.51°") {
		t.Errorf("blocked range: %+v", f)
	}
	j.Limits = &kinematics.Range{Lower: free.Lower, Upper: free.Upper}
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
	// Hub faces: the outside and bore are cylinders, an end is a plane.
	end := m.Topology().EvenPatchFrom(doctest.TriangleAt(m, r3.Add(o.Hinge().At(doctest.HubHalf+1), r3.Scale(7, kinematics.Perpendicular(o.Hinge().Dir)))), doc.FeatureAngle)
	for want, picks := range map[doc.DatumRecipe][]doc.Pick{
		{Method: doc.LeastSquares, Shape: fit.Plane}:    pick(doc.Elements{Triangles: end}),
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

// Picks survive every edit of the parts: what is picked on a part comes back on
// the same points after splitting, joining and renaming, whichever part holds
// it then.
func TestPicksSurviveEditsProperty(t *testing.T) {
	base := swing(t, doctest.Options{Move: doctest.Skew()})
	rapid.Check(t, func(rt *rapid.T) {
		s := base
		for range rapid.IntRange(0, 4).Draw(rt, "edits") {
			d := s.Doc
			var err error
			name := func(label string) string {
				return d.Parts[rapid.IntRange(0, len(d.Parts)-1).Draw(rt, label)].Name
			}
			switch rapid.SampledFrom([]string{"split", "join", "rename"}).Draw(rt, "edit") {
			case "split":
				d, err = s.SplitPart(name("split"))
				if err != nil && !strings.Contains(err.Error(), "nothing to split") {
					rt.Fatal(err)
				}
			case "join":
				if a, b := name("a"), name("b"); a != b {
					d, err = d.JoinParts(a, b)
					if err != nil {
						rt.Fatal(err)
					}
				}
			case "rename":
				if d, err = d.RenamePart(name("rename"), rapid.StringMatching("[a-z]{6,9}").Draw(rt, "name")); err != nil {
					continue
				}
			}
			if s, err = s.With(d); err != nil {
				rt.Fatal(err)
			}
		}
		total := 0
		for i, p := range s.Parts {
			total += len(p.Mesh.Triangles())
			if err := mesh.Validate(p.Mesh); err != nil {
				rt.Fatalf("part %q: %v", p.Name, err)
			}
			checkPickRoundTrip(rt, s, i)
		}
		want := 0
		for _, p := range base.Parts {
			want += len(p.Mesh.Triangles())
		}
		if total != want {
			rt.Fatalf("%d triangles, want %d", total, want)
		}
	})
}

// checkPickRoundTrip picks elements of part i, and finds them there again.
func checkPickRoundTrip(t *rapid.T, s *doc.Session, i int) {
	m := s.Parts[i].Mesh
	tri := int32(rapid.IntRange(0, len(m.Triangles())-1).Draw(t, "triangle"))
	v := m.Triangles()[tri]
	e := doc.Elements{
		Vertices: []int32{v[2]}, Edges: [][2]int32{{v[1], v[0]}},
		Loops: []doc.Loop{{Vertices: []int32{v[2], v[0], v[1]}, Closed: true}}, Triangles: []int32{tri},
	}
	picks, err := s.Pick(i, e)
	if err != nil {
		t.Fatal(err)
	}
	if len(picks) != 1 {
		t.Fatalf("%d picks of one triangle", len(picks))
	}
	points, err := s.PickPoints(picks)
	if err != nil {
		t.Fatal(err)
	}
	want := []r3.Vec{m.Vertices()[v[0]], m.Vertices()[v[1]], m.Vertices()[v[2]]}
	for _, p := range want {
		if !slices.Contains(points, p) {
			t.Fatalf("%v is not among the picked points %v", p, points)
		}
	}
	on := s.Where(picks[0])
	if len(on) != 1 || on[0].Part != i {
		t.Fatalf("found on %+v, want part %d", on, i)
	}
	if diff := cmp.Diff(e, on[0].Elements); diff != "" {
		t.Fatal(diff)
	}
}

func TestSplitKeepsNameAndJointsWithTheBiggestShell(t *testing.T) {
	o := doctest.Options{}
	s := swing(t, o)
	j := must[doc.Joint](t)(s.ProposeJoint(hubFace(t, s, o, doctest.BoreRadius), doc.JointOptions{}))
	s = withJoint(t, s, j)
	d := must[doc.Document](t)(s.SplitPart("arm"))
	s = must[*doc.Session](t)(s.With(d))
	if len(s.Parts) != 4 || s.Parts[2].Name != "arm" || s.Parts[3].Name != "arm 2" || d.Joints[0].Child != "arm" {
		t.Fatalf("parts %v", d.Parts)
	}
	if n := len(s.Parts[3].Mesh.Triangles()); n != 12 {
		t.Errorf("the smaller shell has %d triangles, want the bar's 12", n)
	}
	if on := s.Where(d.Joints[0].Picks[0]); len(on) != 1 || on[0].Part != 2 {
		t.Errorf("the housing is on %+v", on)
	}
	if _, err := s.SplitPart("arm 2"); err == nil || !strings.Contains(err.Error(), "nothing to split") {
		t.Error(err)
	}
	if n, err := s.Shells("base"); n != 3 || err != nil {
		t.Errorf("base has %d shells, %v", n, err)
	}
	// Parts whose pieces stay the same keep their mesh.
	renamed := must[*doc.Session](t)(s.With(must[doc.Document](t)(d.RenamePart("base", "ground"))))
	if renamed.Parts[0].Mesh != s.Parts[0].Mesh || renamed.Parts[2].Mesh != s.Parts[2].Mesh {
		t.Error("meshes were built anew")
	}
	bad := d
	bad.Parts = slices.Clone(d.Parts)
	bad.Parts[3].Pieces = []doc.Piece{{Source: "arm", Shell: 7}}
	if _, err := s.With(bad); err == nil || !strings.Contains(err.Error(), `has no shell 7, it has 2`) {
		t.Error(err)
	}
}

func TestPickRefusesWhatIsNotThere(t *testing.T) {
	s := swing(t, doctest.Options{})
	d := must[doc.Document](t)(s.Doc.JoinParts("base", "pin"))
	s = must[*doc.Session](t)(s.With(d))
	n := int32(len(s.Parts[0].Mesh.Vertices()))
	for _, c := range []struct {
		part int
		e    doc.Elements
		want string
	}{
		{9, doc.Elements{}, "there is no part number 9"},
		{0, doc.Elements{Vertices: []int32{n}}, "the part has no vertex"},
		{0, doc.Elements{Triangles: []int32{-1}}, "the part has no triangle -1"},
		{0, doc.Elements{Edges: [][2]int32{{0, n - 1}}}, "lie on different pieces of the part"},
		{0, doc.Elements{Loops: []doc.Loop{{Vertices: []int32{0, n - 1, 1}}}}, "lie on different pieces of the part"},
	} {
		if _, err := s.Pick(c.part, c.e); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("error %v, want %q", err, c.want)
		}
	}
	// Elements of two pieces become two picks.
	picks, err := s.Pick(0, doc.Elements{Vertices: []int32{0, n - 1}})
	if err != nil || len(picks) != 2 || picks[0].Source != "base" || picks[1].Source != "pin" {
		t.Errorf("%+v, %v", picks, err)
	}
	if text := doc.PickText(picks); text != "1 vertex on base; 1 vertex on pin" {
		t.Error(text)
	}
}

func TestOpenModelSaveAndOpenAgain(t *testing.T) {
	ctx := context.Background()
	dir := t.TempDir()
	path := must[string](t)(doctest.WriteOBJ(dir, doctest.Model(doctest.Options{})))
	var steps []float64
	s := must[*doc.Session](t)(doc.OpenModel(ctx, path, doc.OpenOptions{Progress: func(done float64, _ string) { steps = append(steps, done) }}))
	if s.Model.Unit != mesh.Millimetre || len(s.Parts) != 3 || len(s.Doc.Model.SHA256) != 64 || !slices.IsSorted(steps) || len(steps) == 0 {
		t.Errorf("%s, %d parts, hash %q, progress %v", s.Model.Unit, len(s.Parts), s.Doc.Model.SHA256, steps)
	}
	file := filepath.Join(dir, "swing.pintle")
	if err := doc.Save(file, s.Doc); err != nil {
		t.Fatal(err)
	}
	again := must[*doc.Session](t)(doc.Open(ctx, file, doc.OpenOptions{}))
	if !again.Doc.Equal(s.Doc) || len(again.Opening) != len(s.Opening) {
		t.Errorf("opened again: %+v", again.Opening)
	}
	// The model changes: a finding, and the document opens.
	text := must[[]byte](t)(os.ReadFile(path))
	if err := os.WriteFile(path, append(text, "# second version\n"...), 0o600); err != nil {
		t.Fatal(err)
	}
	changed := must[*doc.Session](t)(doc.Open(ctx, file, doc.OpenOptions{}))
	if len(changed.Opening) == 0 || changed.Opening[0].Kind != doc.ModelChanged || changed.Opening[0].Severity != doc.Check {
		t.Errorf("findings %+v", changed.Opening)
	}
	// The model lies beside the document although the document says elsewhere.
	d := s.Doc
	d.Model.Path = filepath.Join(dir, "old", "swing.obj")
	if err := doc.Save(file, d); err != nil {
		t.Fatal(err)
	}
	if beside, err := doc.Open(ctx, file, doc.OpenOptions{}); err != nil || beside.Doc.Model.Path != path {
		t.Errorf("%v", err)
	}
	if err := os.Remove(path); err != nil {
		t.Fatal(err)
	}
	_, err := doc.Open(ctx, file, doc.OpenOptions{})
	want := "swing.pintle: the model swing.obj was not found; looked for " + d.Model.Path + " and " + path + "; put it there or choose the model again"
	if err == nil || err.Error() != want {
		t.Errorf("error %v\nwant  %s", err, want)
	}
}

func TestOpenIsCancelled(t *testing.T) {
	path := must[string](t)(doctest.WriteOBJ(t.TempDir(), doctest.Model(doctest.Options{})))
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := doc.OpenModel(ctx, path, doc.OpenOptions{}); err == nil || ctx.Err() == nil {
		t.Error("a cancelled opening succeeded")
	}
	s := swing(t, doctest.Options{})
	j := must[doc.Joint](t)(s.ProposeJoint(hubFace(t, s, doctest.Options{}, doctest.BoreRadius), doc.JointOptions{}))
	if _, _, err := s.Prove(ctx, j, nil); err == nil {
		t.Error("a cancelled proof succeeded")
	}
}
