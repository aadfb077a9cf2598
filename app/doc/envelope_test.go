package doc_test

import (
	"context"
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/app/doc"
	"pintle/app/doc/doctest"
	"pintle/assets"
	"pintle/fit/mesh"
	"pintle/kinematics"
)

// jointed opens a demo with its joints as generated.
func jointed(t *testing.T, name string) *doc.Session {
	t.Helper()
	s, _ := demo(t, name)
	var known struct {
		Joints []struct {
			Name, Type, Parent, Child string
			Origin, Axis              [3]float64
			Lower, Upper, Value       float64
		}
	}
	for _, d := range assets.Demos() {
		if d.Name == name {
			if err := json.Unmarshal(d.Truth, &known); err != nil {
				t.Fatal(err)
			}
		}
	}
	d := s.Doc
	for _, k := range known.Joints {
		axis := axisOf(k.Origin, k.Axis)
		d = must[doc.Document](t)(d.AddJoint(doc.Joint{
			Name: k.Name, Kind: kinematics.Kind(k.Type), Parent: k.Parent, Child: k.Child,
			Spec:    kinematics.FrameSpec{Datum: axis},
			Frame:   kinematics.Frame{Origin: axis.Point, Hinge: axis.Dir, Reach: kinematics.Perpendicular(axis.Dir)},
			Limits:  []kinematics.Range{{Lower: k.Lower - k.Value, Upper: k.Upper - k.Value}},
			Letters: kinematics.DenavitHartenberg(), Closes: d.JointOf(k.Child) >= 0,
		}))
	}
	return must[*doc.Session](t)(s.With(d))
}

// The swing's arm turned between its stops meets nothing to carve; turned
// further it cuts off their corners, as deep as the bar's half height.
func TestEnvelopeOfTheSwing(t *testing.T) {
	s := swing(t, doctest.Options{Move: doctest.Skew()})
	axis := doctest.Options{Move: doctest.Skew()}.Hinge()
	free := doctest.FreeRange()
	j := doc.Joint{
		Name: "swing", Kind: kinematics.Revolute, Child: "arm", Letters: kinematics.DenavitHartenberg(),
		Spec:  kinematics.FrameSpec{Datum: axis},
		Frame: kinematics.Frame{Origin: axis.Point, Hinge: axis.Dir, Reach: kinematics.Perpendicular(axis.Dir)},
	}
	margin := 2 * math.Pi / 180
	for _, c := range []struct {
		name   string
		over   kinematics.Range
		carved bool
	}{
		{"between the stops", kinematics.Range{Lower: free.Lower + margin, Upper: free.Upper - margin}, false},
		{"beyond one", kinematics.Range{Lower: free.Lower + margin, Upper: free.Upper + 5*margin}, true},
	} {
		j.Limits = []kinematics.Range{c.over}
		e, err := s.EnvelopeOf(context.Background(), j, doc.EnvelopeOptions{Resolution: 200}, nil)
		if err != nil {
			t.Fatal(err)
		}
		if !slices.Equal(e.Moving, []int{2}) || !slices.Equal(e.Still, []int{0, 1}) || len(e.Over) != 1 || e.Over[0].Joint != "swing" || e.Over[0].Over[0] != c.over {
			t.Errorf("%s: %+v %+v %+v", c.name, e.Moving, e.Still, e.Over)
		}
		if got := e.Carving.Area > 0; got != c.carved {
			t.Errorf("%s: %v to carve, %v deep", c.name, e.Carving.Area, e.Carving.Depth)
		}
		if c.carved && math.Abs(e.Carving.Parts[0].Depth-2) > 0.3 {
			t.Errorf("%s: the stops lie %v deep, want 2", c.name, e.Carving.Parts[0].Depth)
		}
		if e.Carving.Parts[1].Area > 0 || e.Carving.Parts[1].AtRest == 0 {
			t.Errorf("%s: the pin in its bore: %+v", c.name, e.Carving.Parts[1])
		}
		if err := mesh.Validate(e.Mesh); err != nil {
			t.Error(err)
		}
	}
}

// What a limb passes through holds its parts in every pose, and a limb that
// ends sooner passes through less.
func TestEnvelopeOfALimb(t *testing.T) {
	s := jointed(t, "heron-leg")
	last := 0.0
	var whole *doc.Envelope
	for _, o := range []doc.EnvelopeOptions{
		{},
		{Limb: true, Tip: "shank"},
		{Limb: true},
	} {
		o.Resolution = 60
		e, err := s.Envelope(context.Background(), "hip", o, nil)
		if err != nil {
			t.Fatal(err)
		}
		if e.Volume <= last {
			t.Errorf("%+v: the volume is %v, was %v with fewer joints moving", o, e.Volume, last)
		}
		last, whole = e.Volume, e
	}
	if n := len(whole.Over); n != 3 || whole.Over[2].Joint != "ankle" {
		t.Errorf("%+v moves", whole.Over)
	}
	tree := must[*kinematics.Tree](t)(s.Tree())
	for k := range 40 {
		values := tree.Zero()
		for i := range s.Doc.Joints {
			r, _ := s.Doc.Joints[i].Limit(0)
			first, _ := tree.ValueIndex(i)
			values[first] = r.Lower + math.Mod(0.618*float64(k*(i+1)), 1)*r.Span()
		}
		motions := tree.FK(values)
		for _, p := range whole.Moving {
			verts := s.Parts[p].Mesh.Vertices()
			for n := 0; n < len(verts); n += 1 + len(verts)/50 {
				q := motions[p].Apply(verts[n])
				if d, _, _ := whole.Mesh.BVH().SignedDistance(q); d > whole.Deviation {
					t.Fatalf("%s at %v: a vertex is %v outside, stated are %v", s.Parts[p].Name, values, d, whole.Deviation)
				}
			}
		}
	}
}

func TestEnvelopesSayWhatTheyLeaveOut(t *testing.T) {
	s := jointed(t, "drawbridge")
	e := must[*doc.Envelope](t)(s.Envelope(context.Background(), "strut foot", doc.EnvelopeOptions{Limb: true, Resolution: 40, NoCarving: true}, nil))
	if len(e.Over) != 2 || e.Over[1].Kind != kinematics.Prismatic || e.Carving != nil {
		t.Errorf("%+v moves", e.Over)
	}
	if len(e.Notes) == 0 || !strings.Contains(e.Notes[0], "as if it were open") {
		t.Errorf("notes are %q", e.Notes)
	}
	for name, c := range map[string]struct {
		joint string
		o     doc.EnvelopeOptions
		want  string
	}{
		"no joint":       {"wing", doc.EnvelopeOptions{}, `no joint "wing"`},
		"closing joint":  {"strut head", doc.EnvelopeOptions{}, "closes a loop"},
		"no tip":         {"strut foot", doc.EnvelopeOptions{Limb: true, Tip: "wing"}, `no part "wing"`},
		"tip elsewhere":  {"strut foot", doc.EnvelopeOptions{Limb: true, Tip: "leaf"}, "does not hang on it"},
		"bad resolution": {"strut foot", doc.EnvelopeOptions{Resolution: 3}, "resolution is 3"},
		"bad ranges":     {"strut foot", doc.EnvelopeOptions{Ranges: map[string][]kinematics.Range{"strut foot": {{}, {}}}}, "2 ranges"},
	} {
		_, err := s.Envelope(context.Background(), c.joint, c.o, nil)
		if err == nil || !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: error is %v, want one that says %q", name, err, c.want)
		}
	}
	ball := doc.Joint{
		Name: "ball", Kind: kinematics.Spherical, Child: "strut barrel",
		Frame: kinematics.Frame{Hinge: r3.Vec{Z: 1}, Reach: r3.Vec{X: 1}},
	}
	if _, err := s.EnvelopeOf(context.Background(), ball, doc.EnvelopeOptions{Limb: true}, nil); err == nil || !strings.Contains(err.Error(), "not in the document") {
		t.Errorf("error is %v", err)
	}
}
