package doc_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/app/doc"
	"pintle/app/doc/doctest"
	"pintle/fit/mesh"
)

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
