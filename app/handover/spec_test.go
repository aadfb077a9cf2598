package handover_test

import (
	"bytes"
	"context"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"github.com/santhosh-tekuri/jsonschema/v6"
	"gonum.org/v1/gonum/spatial/r3"

	"pintle/app/doc"
	"pintle/app/doc/doctest"
	"pintle/app/handover"
	"pintle/assets/schema"
	"pintle/fit"
	"pintle/kinematics"
)

func compiled(t testing.TB) *jsonschema.Schema {
	t.Helper()
	c := jsonschema.NewCompiler()
	text, err := jsonschema.UnmarshalJSON(bytes.NewReader(schema.JointSpec()))
	if err != nil {
		t.Fatal(err)
	}
	if err := c.AddResource(schema.JointSpecID, text); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile(schema.JointSpecID)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// mechanism is the swing with a hinge on its bore, a slider, a screw and a
// fixed joint, an edited part, a pose and limits past the contact.
func mechanism(t testing.TB) *doc.Session {
	t.Helper()
	o := doctest.Options{Move: doctest.Skew()}
	path, err := doctest.WriteOBJ(t.TempDir(), doctest.Model(o))
	if err != nil {
		t.Fatal(err)
	}
	s, err := doc.OpenModel(context.Background(), path, doc.OpenOptions{})
	if err != nil {
		t.Fatal(err)
	}
	with := func(d doc.Document, err error) {
		t.Helper()
		if err == nil {
			s, err = s.With(d)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	arm := s.Doc.PartIndex("arm")
	m := s.Parts[arm].Mesh
	at := r3.Add(o.Hinge().At(1), r3.Scale(doctest.BoreRadius, kinematics.Perpendicular(o.Hinge().Dir)))
	patch := m.Topology().EvenPatchFrom(doctest.TriangleAt(m, at), doc.FeatureAngle)
	picks, err := s.Pick(arm, doc.Elements{Triangles: patch})
	if err != nil {
		t.Fatal(err)
	}
	j, err := s.ProposeJoint(picks, doc.JointOptions{Name: "swing"})
	if err != nil {
		t.Fatal(err)
	}
	j.Limits = []kinematics.Range{{Lower: kinematics.Radians(-20), Upper: kinematics.Radians(50)}}
	with(s.TakeJoint(j))
	with(s.SplitPart("base"))
	with(s.Doc.RenamePart("arm", "boom"))
	plain := doc.Joint{
		Name: "slide", Kind: kinematics.Prismatic, Parent: "boom", Child: "base 2", Letters: kinematics.Letters{Hinge: "X", Reach: "-Y"},
		Spec:   kinematics.FrameSpec{Datum: kinematics.Axis{Point: r3.Vec{X: 1}, Dir: r3.Vec{X: 0.6, Y: 0.8}}},
		Limits: []kinematics.Range{{Upper: 12.5}}, Accepted: true,
	}
	with(s.TakeJoint(plain))
	plain.Name, plain.Kind, plain.Pitch, plain.Parent, plain.Child, plain.Limits = "screw", kinematics.Helical, 0.5, "", "base", nil
	with(s.TakeJoint(plain))
	plain.Name, plain.Kind, plain.Pitch, plain.Child = "weld", kinematics.Fixed, 0, "base 3"
	with(s.TakeJoint(plain))
	with(s.Doc.SetPose(doc.Pose{Name: "up", Values: []doc.JointValue{{Joint: "slide", Values: []float64{3}}, {Joint: "swing", Values: []float64{kinematics.Radians(15)}}}}))
	return s
}

// coupled is mechanism with the slide driven by the swing, 0.1 a degree.
func coupled(t testing.TB) *doc.Session {
	t.Helper()
	s := mechanism(t)
	d, err := s.Doc.SetCoupling(doc.Coupling{
		Driver: doc.ValueRef{Joint: "swing"}, Follower: doc.ValueRef{Joint: "slide"},
		Law: kinematics.Law{Kind: kinematics.LawRatio, Ratio: 18 / math.Pi},
	})
	if err != nil {
		t.Fatal(err)
	}
	if s, err = s.With(d); err != nil {
		t.Fatal(err)
	}
	return s
}

func specJSON(t testing.TB, s *doc.Session) map[string]any {
	t.Helper()
	path := filepath.Join(t.TempDir(), "joints.json")
	if _, err := handover.WriteSpec(context.Background(), path, s, nil); err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	var v map[string]any
	if err := json.Unmarshal(data, &v); err != nil {
		t.Fatal(err)
	}
	return v
}

func TestSpecKeepsToItsSchema(t *testing.T) {
	s := mechanism(t)
	v := specJSON(t, s)
	if err := compiled(t).Validate(v); err != nil {
		t.Errorf("%#v", err)
	}
	bare, err := doc.NewSession(doc.New(s.Doc.Model, s.Model), s.Model)
	if err != nil {
		t.Fatal(err)
	}
	if err := compiled(t).Validate(specJSON(t, bare)); err != nil {
		t.Errorf("without joints: %#v", err)
	}
	// Every shape of datum, with and without redundancy.
	q := fit.Quality{Count: 7, Arc: 2 * math.Pi, SigmaAxis: math.NaN(), SigmaOrigin: math.NaN(), SigmaRadius: math.NaN()}
	for _, k := range []fit.Kind{fit.Point, fit.Line, fit.Plane, fit.Circle, fit.Sphere, fit.Cylinder, fit.Cone, fit.Torus} {
		d := s.Doc
		d.Joints = slices.Clone(d.Joints)
		d.Joints[1].Datum = fit.Datum{Kind: k, Quality: q, Radius: 3, Radius2: 1, HalfAngle: 0.4}
		if k != fit.Point && k != fit.Sphere {
			d.Joints[1].Datum.Axis = r3.Vec{Z: 1}
		}
		with, err := s.With(d)
		if err != nil {
			t.Fatal(err)
		}
		if err := compiled(t).Validate(specJSON(t, with)); err != nil {
			t.Errorf("%s: %#v", k, err)
		}
	}
}

func TestSpecSaysWhatTheDocumentHolds(t *testing.T) {
	s := mechanism(t)
	spec, err := handover.NewSpec(context.Background(), s, filepath.Join(filepath.Dir(s.Doc.Model.Path), "out"), nil)
	if err != nil {
		t.Fatal(err)
	}
	if spec.Model.Path != "../swing.obj" || spec.Model.Unit != "mm" || spec.Model.Up != "Z" || spec.Model.SHA256 != s.Doc.Model.SHA256 {
		t.Errorf("model %+v", spec.Model)
	}
	if spec.Safety != "For animation and visualisation. Real machines, rides, prosthetics and animatronics need a qualified engineer, local codes and a risk assessment." {
		t.Errorf("safety %q", spec.Safety)
	}
	var names []string
	for _, p := range spec.Parts {
		names = append(names, p.Name+" / "+p.Label)
	}
	// The renamed arm keeps its name in the file; the split base has no whole part there.
	if diff := cmp.Diff([]string{"base / base", "base 2 / base 2", "base 3 / base 3", "pin / pin", "arm / boom"}, names); diff != "" {
		t.Error(diff)
	}
	j := spec.Joints[0]
	if j.Name != "swing" || j.Type != "revolute" || j.Child != "arm" || j.Parent == nil || *j.Parent != "pin" {
		t.Errorf("joint %+v", j)
	}
	if diff := cmp.Diff([]handover.SpecFreedom{{Motion: "turn", About: "hinge", Unit: "degree", Lower: -20, Upper: 50}}, j.Freedoms); diff != "" {
		t.Error(diff)
	}
	frame := s.Doc.Joints[0].Frame
	got := kinematics.Axis{Point: r3.Vec(j.Origin), Dir: r3.Vec(j.Axis)}
	if off := kinematics.AxisErrorOf(got, doctest.Options{Move: doctest.Skew()}.Hinge()); off.Angle > 1e-9 || off.Offset > 1e-8 {
		t.Errorf("the axis is off by %+v", off)
	}
	if j.Datum == nil || j.Datum.Shape != fit.Cylinder || !(j.Datum.RMS < 1e-9) {
		t.Errorf("datum %+v", j.Datum)
	}
	free := doctest.FreeRange()
	if r3.Dot(frame.Hinge, doctest.Skew().Z) < 0 {
		free = free.Reversed()
	}
	if math.Abs(kinematics.Radians(float64(j.FreeRange.Upper))-free.Upper) > 1e-9 {
		t.Errorf("free range %+v", j.FreeRange)
	}
	if spec.Worst() != doc.Stop {
		t.Errorf("worst finding %s; a limit reaches past the contact", spec.Worst())
	}
	if p := spec.Joints[2].Pitch; p == nil || math.Abs(*p-math.Pi) > 1e-12 {
		t.Errorf("pitch %v, want 0.5 per radian times a full turn", p)
	}
	if w := spec.Joints[2]; w.Parent != nil || w.FreeRange == nil || len(w.Freedoms) != 1 || !math.IsInf(float64(w.Freedoms[0].Upper), 1) {
		t.Errorf("screw %+v", w)
	}
	want := []handover.SpecPose{{Name: "up", Values: []handover.SpecValue{{Joint: "swing", Values: []float64{15}}, {Joint: "slide", Values: []float64{3}}}}}
	if diff := cmp.Diff(want, spec.Poses, cmpopts.EquateApprox(1e-14, 0)); diff != "" {
		t.Error(diff)
	}
}

// The quaternion turns the local axes named by the letters onto hinge, reach
// and side, for all 24 letters.
func TestSpecFrameFollowsTheLetters(t *testing.T) {
	s := mechanism(t)
	for _, l := range kinematics.AllLetters() {
		d := s.Doc
		d.Joints = slices.Clone(d.Joints)
		d.Joints[1].Letters = l
		with, err := s.With(d)
		if err != nil {
			t.Fatal(err)
		}
		spec, err := handover.NewSpec(context.Background(), with, "/", nil)
		if err != nil {
			t.Fatal(err)
		}
		j := spec.Joints[1]
		x, err := kinematics.Quaternion(j.Frame).Transform()
		if err != nil {
			t.Fatal(err)
		}
		n := 0.0
		for _, c := range j.Frame {
			n += c * c
		}
		if math.Abs(n-1) > 1e-12 {
			t.Errorf("%v: quaternion of length² %g", l, n)
		}
		for _, c := range []struct {
			letter kinematics.Letter
			want   r3.Vec
		}{
			{j.Letters.Hinge, r3.Vec(j.Axis)},
			{j.Letters.Reach, r3.Vec(j.Reach)},
			{j.Letters.Side, r3.Cross(r3.Vec(j.Axis), r3.Vec(j.Reach))},
		} {
			local, ok := c.letter.Vec()
			if !ok || r3.Norm(r3.Sub(x.Turn(local), c.want)) > 1e-12 {
				t.Errorf("%v: local %s goes to %v, want %v", l, c.letter, x.Turn(local), c.want)
			}
		}
	}
}

// Each change makes a valid spec invalid: the schema holds what it says.
func TestSchemaRefuses(t *testing.T) {
	s := coupled(t)
	check := compiled(t)
	joint := func(v map[string]any, i int) map[string]any { return v["joints"].([]any)[i].(map[string]any) }
	datum := func(v map[string]any) map[string]any { return joint(v, 0)["datum"].(map[string]any) }
	freedom := func(v map[string]any, i, k int) map[string]any {
		return joint(v, i)["freedoms"].([]any)[k].(map[string]any)
	}
	coupling := func(v map[string]any) map[string]any { return v["couplings"].([]any)[0].(map[string]any) }
	for name, change := range map[string]func(v map[string]any){
		"another format":        func(v map[string]any) { v["format"] = "joint-spec" },
		"another version":       func(v map[string]any) { v["version"] = 1.0 },
		"no safety sentence":    func(v map[string]any) { delete(v, "safety") },
		"radians":               func(v map[string]any) { v["angle_unit"] = "radian" },
		"an unknown member":     func(v map[string]any) { v["extra"] = 1.0 },
		"a unit that is none":   func(v map[string]any) { v["model"].(map[string]any)["unit"] = "feet" },
		"a hash that is none":   func(v map[string]any) { v["model"].(map[string]any)["sha256"] = "abc" },
		"no parts":              func(v map[string]any) { v["parts"] = []any{} },
		"a part without pieces": func(v map[string]any) { v["parts"].([]any)[0].(map[string]any)["pieces"] = []any{} },
		"a shell below 0": func(v map[string]any) {
			v["parts"].([]any)[0].(map[string]any)["pieces"].([]any)[0].(map[string]any)["shell"] = -1.0
		},
		"a joint without name":      func(v map[string]any) { delete(joint(v, 0), "name") },
		"an empty name":             func(v map[string]any) { joint(v, 0)["name"] = "" },
		"a type that is none":       func(v map[string]any) { joint(v, 0)["type"] = "hinge" },
		"a parent that is a number": func(v map[string]any) { joint(v, 0)["parent"] = 3.0 },
		"no child":                  func(v map[string]any) { joint(v, 0)["child"] = nil },
		"an origin of two numbers":  func(v map[string]any) { joint(v, 0)["origin"] = []any{1.0, 2.0} },
		"an origin of four numbers": func(v map[string]any) { joint(v, 0)["origin"] = []any{1.0, 2.0, 3.0, 4.0} },
		"an origin with null":       func(v map[string]any) { joint(v, 0)["origin"] = []any{1.0, 2.0, nil} },
		"an axis longer than 1":     func(v map[string]any) { joint(v, 0)["axis"] = []any{0.0, 0.0, 2.0} },
		"a frame of three numbers":  func(v map[string]any) { joint(v, 0)["frame"] = []any{0.0, 0.0, 1.0} },
		"a frame of text":           func(v map[string]any) { joint(v, 0)["frame"] = []any{"0", "0", "0", "1"} },
		"a negative w":              func(v map[string]any) { joint(v, 0)["frame"] = []any{0.0, 0.0, 0.0, -1.0} },
		"a letter that is none":     func(v map[string]any) { joint(v, 0)["letters"].(map[string]any)["hinge"] = "W" },
		"a freedom with one end":    func(v map[string]any) { delete(freedom(v, 0, 0), "upper") },
		"a limit that is text":      func(v map[string]any) { freedom(v, 0, 0)["upper"] = "50" },
		"a freedom about nothing":   func(v map[string]any) { freedom(v, 0, 0)["about"] = "world" },
		"freedoms left out":         func(v map[string]any) { delete(joint(v, 0), "freedoms") },
		"a hinge without a freedom": func(v map[string]any) { joint(v, 0)["freedoms"] = []any{} },
		"a hinge with two freedoms": func(v map[string]any) {
			joint(v, 0)["freedoms"] = append(joint(v, 0)["freedoms"].([]any), freedom(v, 0, 0))
		},
		"a cylindric joint with one":   func(v map[string]any) { joint(v, 0)["type"] = "cylindric" },
		"a ball joint with one":        func(v map[string]any) { joint(v, 0)["type"] = "spherical" },
		"a cone of a hinge":            func(v map[string]any) { joint(v, 0)["cone"] = []any{30.0} },
		"a coupling without ratio":     func(v map[string]any) { delete(coupling(v), "ratio") },
		"a ratio beside a curve":       func(v map[string]any) { coupling(v)["curve"] = []any{[]any{0.0, 0.0}, []any{1.0, 1.0}} },
		"closes left out":              func(v map[string]any) { delete(joint(v, 0), "closes") },
		"drivers left out":             func(v map[string]any) { delete(v, "drivers") },
		"a law that is none":           func(v map[string]any) { coupling(v)["law"] = "cam" },
		"a driver without joint":       func(v map[string]any) { delete(coupling(v)["driver"].(map[string]any), "joint") },
		"a free range without 0":       func(v map[string]any) { joint(v, 0)["free_range"].(map[string]any)["lower"] = 1.0 },
		"a pitch of a hinge":           func(v map[string]any) { joint(v, 0)["pitch"] = 1.0 },
		"a screw without pitch":        func(v map[string]any) { delete(joint(v, 2), "pitch") },
		"a freedom of a fixed joint":   func(v map[string]any) { joint(v, 3)["freedoms"] = []any{freedom(v, 0, 0)} },
		"a datum without residuals":    func(v map[string]any) { delete(datum(v), "rms") },
		"a cylinder without radius":    func(v map[string]any) { delete(datum(v), "radius") },
		"a cylinder without axis":      func(v map[string]any) { delete(datum(v), "axis") },
		"a cylinder with a half angle": func(v map[string]any) { datum(v)["half_angle"] = 3.0 },
		"a cylinder with two radii":    func(v map[string]any) { datum(v)["radius2"] = 3.0 },
		"a sphere with an axis":        func(v map[string]any) { datum(v)["shape"] = "sphere" },
		"a negative RMS":               func(v map[string]any) { datum(v)["rms"] = -0.1 },
		"half a point":                 func(v map[string]any) { datum(v)["count"] = 3.5 },
		"sigma without axis":           func(v map[string]any) { delete(datum(v)["sigma"].(map[string]any), "axis_deg") },
		"a severity that is none":      func(v map[string]any) { joint(v, 0)["findings"].([]any)[0].(map[string]any)["severity"] = "fatal" },
		"a finding without text":       func(v map[string]any) { delete(joint(v, 0)["findings"].([]any)[0].(map[string]any), "text") },
		"a pose value that is text": func(v map[string]any) {
			v["poses"].([]any)[0].(map[string]any)["values"].([]any)[0].(map[string]any)["values"] = []any{"15"}
		},
	} {
		v := specJSON(t, s)
		change(v)
		if err := check.Validate(v); err == nil {
			t.Errorf("a spec with %s passes", name)
		}
	}
}

func TestSpecIsTheSameEveryTime(t *testing.T) {
	s := mechanism(t)
	dir := t.TempDir()
	var first []byte
	for i := range 3 {
		path := filepath.Join(dir, "a.json")
		if _, err := handover.WriteSpec(context.Background(), path, s, nil); err != nil {
			t.Fatal(err)
		}
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if i > 0 && !bytes.Equal(data, first) {
			t.Fatal("the same document gives different files")
		}
		first = data
	}
	if bytes.Contains(first, []byte("NaN")) || !strings.HasSuffix(string(first), "}\n") {
		t.Error("not the one JSON style")
	}
}

func TestSpecIsCancelledWithoutAFile(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	path := filepath.Join(t.TempDir(), "a.json")
	if _, err := handover.WriteSpec(ctx, path, mechanism(t), nil); err == nil {
		t.Error("a cancelled handover succeeded")
	}
	if _, err := os.Stat(path); err == nil {
		t.Error("a cancelled handover left a file")
	}
}

func TestPartNamesStayUnique(t *testing.T) {
	whole := func(label, source string) doc.Part {
		return doc.Part{Name: label, Pieces: []doc.Piece{{Source: source, Shell: doc.Whole}}}
	}
	d := doc.Document{Parts: []doc.Part{
		{Name: "a", Pieces: []doc.Piece{{Source: "x", Shell: 0}}},
		{Name: "a 2", Pieces: []doc.Piece{{Source: "x", Shell: 1}}},
		whole("b", "a"), whole("a 3", "c"),
	}}
	want := map[string]string{"a": "a 2", "a 2": "a 2 2", "b": "a", "a 3": "c"}
	if diff := cmp.Diff(want, handover.PartNames(d)); diff != "" {
		t.Error(diff)
	}
}
