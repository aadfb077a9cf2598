package doc_test

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/app/doc"
	"pintle/fit"
	"pintle/fit/mesh"
	"pintle/kinematics"
)

// genVec draws a point; genDir a unit direction.
func genVec(t *rapid.T, label string) r3.Vec {
	c := rapid.Float64Range(-1e7, 1e7)
	return r3.Vec{X: c.Draw(t, label), Y: c.Draw(t, label), Z: c.Draw(t, label)}
}

func genDir(t *rapid.T, label string) r3.Vec {
	a, z := rapid.Float64Range(-math.Pi, math.Pi).Draw(t, label), rapid.Float64Range(-1, 1).Draw(t, label)
	s := math.Sqrt(1 - z*z)
	return r3.Unit(r3.Vec{X: s * math.Cos(a), Y: s * math.Sin(a), Z: z})
}

func genIndexes(t *rapid.T, label string) []int32 {
	return rapid.SliceOfN(rapid.Int32Range(0, math.MaxInt32), 1, 5).Draw(t, label)
}

func genPick(t *rapid.T, source string) doc.Pick {
	p := doc.Pick{Source: source, Elements: doc.Elements{Vertices: genIndexes(t, "vertices")}}
	if rapid.Bool().Draw(t, "edges") {
		p.Edges = [][2]int32{{0, 7}, {7, 9}}
	}
	if rapid.Bool().Draw(t, "loops") {
		p.Loops = []doc.Loop{{Vertices: []int32{4, 5, 6}, Closed: true}, {Vertices: genIndexes(t, "loop")}}
		p.Loops[1].Vertices = append(p.Loops[1].Vertices, 3)
	}
	if rapid.Bool().Draw(t, "patch") {
		p.Triangles = genIndexes(t, "triangles")
	}
	return p
}

func genDatum(t *rapid.T) fit.Datum {
	d := fit.Datum{
		Kind: fit.Cylinder, Origin: genVec(t, "origin"), Axis: genDir(t, "axis"),
		Radius: rapid.Float64Range(0, 1e6).Draw(t, "radius"), Extent: [2]float64{-3, 4.5},
	}
	d.Quality = fit.Quality{
		Count: 12, RMS: 0.25, FormError: 1, Arc: rapid.Float64Range(0, 2*math.Pi).Draw(t, "arc"),
		SigmaAxis: rapid.SampledFrom([]float64{math.NaN(), 0.01}).Draw(t, "sigma"), SigmaOrigin: 0.5, SigmaRadius: math.NaN(),
	}
	return d
}

func genSpec(t *rapid.T, joints []string) kinematics.FrameSpec {
	s := kinematics.FrameSpec{
		Datum: kinematics.Axis{Point: genVec(t, "datum point"), Dir: genDir(t, "datum dir")},
		Flip:  rapid.Bool().Draw(t, "flip"), Slide: rapid.Float64Range(-9, 9).Draw(t, "slide"),
	}
	angle := rapid.Float64Range(-math.Pi, math.Pi)
	switch rapid.IntRange(0, 3).Draw(t, "reference") {
	case 1:
		s.Reach = kinematics.Aim{Role: kinematics.RoleSide, At: kinematics.Reference{Kind: kinematics.FromPoint, Point: genVec(t, "point")}, Angle: angle.Draw(t, "angle")}
	case 2:
		s.Reach = kinematics.Aim{At: kinematics.Reference{Kind: kinematics.FromWorld, World: kinematics.MinusZ}}
		s.Roll = kinematics.Aim{Angle: angle.Draw(t, "roll")}
	case 3:
		if len(joints) > 0 {
			s.Roll.At = kinematics.Reference{Kind: kinematics.FromJoint, Joint: joints[0], Feature: kinematics.TheirSide}
		}
	}
	return s
}

// genDocument draws a document that is valid.
func genDocument(t *rapid.T) doc.Document {
	letters := rapid.SampledFrom(kinematics.AllLetters())
	d := doc.Document{Model: doc.ModelRef{
		Path: "/models/of " + rapid.StringMatching(`[a-zäß]{1,8}`).Draw(t, "dir") + "/arm.glb", SHA256: strings.Repeat("0af9", 16),
		Unit: rapid.SampledFrom([]mesh.Unit{"", mesh.Inch}).Draw(t, "unit"), Up: rapid.SampledFrom([]mesh.Up{"", mesh.UpZ}).Draw(t, "up"),
	}}
	n := rapid.IntRange(1, 6).Draw(t, "parts")
	for i := range n {
		p := doc.Part{Name: fmt.Sprintf("part %d", i), Hidden: rapid.Bool().Draw(t, "hidden")}
		p.Pieces = []doc.Piece{{Source: fmt.Sprintf("mesh.%d", i), Shell: rapid.IntRange(doc.Whole, 3).Draw(t, "shell")}}
		if rapid.Bool().Draw(t, "joined") {
			p.Pieces = append(p.Pieces, doc.Piece{Source: fmt.Sprintf("extra.%d", i), Shell: doc.Whole})
		}
		d.Parts = append(d.Parts, p)
	}
	var joints []string
	for i := range n {
		if !rapid.Bool().Draw(t, "has joint") {
			continue
		}
		j := doc.Joint{
			Name: fmt.Sprintf("joint %q <%d>", "é", i), Child: d.Parts[i].Name, Letters: letters.Draw(t, "letters"),
			Kind:     rapid.SampledFrom(kinematics.Kinds()).Draw(t, "kind"),
			Accepted: rapid.Bool().Draw(t, "accepted"),
			Picks:    []doc.Pick{genPick(t, "mesh.0")},
			Recipe:   doc.DatumRecipe{Method: doc.LeastSquares, Shape: fit.Cylinder, Robust: rapid.Bool().Draw(t, "robust")},
			Datum:    genDatum(t), Spec: genSpec(t, joints),
		}
		if j.Kind == kinematics.Helical {
			j.Pitch = 0.5
		}
		if i > 0 && rapid.Bool().Draw(t, "has parent") {
			j.Parent = d.Parts[rapid.IntRange(0, i-1).Draw(t, "parent")].Name
		}
		j.Frame = kinematics.Frame{Origin: genVec(t, "frame"), Hinge: genDir(t, "hinge")}
		j.Frame.Reach = kinematics.Perpendicular(j.Frame.Hinge)
		if rapid.Bool().Draw(t, "limited") {
			for range j.Kind.Freedoms() {
				r := kinematics.Range{Lower: rapid.Float64Range(-4, 0).Draw(t, "lower"), Upper: rapid.Float64Range(0, 4).Draw(t, "upper")}
				if rapid.IntRange(0, 3).Draw(t, "open end") == 0 {
					r.Upper = math.Inf(1)
				}
				j.Limits = append(j.Limits, r)
			}
		}
		if j.Kind.Leans() && rapid.Bool().Draw(t, "has cone") {
			j.Cone = &kinematics.Cone{Max: rapid.SliceOfN(rapid.Float64Range(0, 3.14), 1, 5).Draw(t, "cone")}
		}
		joints = append(joints, j.Name)
		d.Joints = append(d.Joints, j)
	}
	if len(joints) > 0 && rapid.Bool().Draw(t, "posed") {
		p := doc.Pose{Name: "folded"}
		for _, j := range joints {
			n := d.Joints[d.JointIndex(j)].Kind.Freedoms()
			p.Values = append(p.Values, doc.JointValue{Joint: j, Values: rapid.SliceOfN(rapid.Float64Range(-7, 7), n, n).Draw(t, "values")})
		}
		d.Poses = []doc.Pose{p, {Name: "neutral"}}
	}
	d.Couplings = genCouplings(t, d.Joints)
	return d
}

// genCouplings lets values of later joints follow those of earlier ones.
func genCouplings(t *rapid.T, joints []doc.Joint) []doc.Coupling {
	var free, out []doc.Coupling
	for _, j := range joints {
		for f := range j.Kind.Freedoms() {
			free = append(free, doc.Coupling{Follower: doc.ValueRef{Joint: j.Name, Freedom: f}})
		}
	}
	for i := 1; i < len(free); i++ {
		if !rapid.Bool().Draw(t, "follows") {
			continue
		}
		c := free[i]
		c.Driver = free[rapid.IntRange(0, i-1).Draw(t, "driver")].Follower
		number := rapid.Float64Range(-3, 3)
		switch c.Law.Kind = rapid.SampledFrom(kinematics.LawKinds()).Draw(t, "law"); c.Law.Kind {
		case kinematics.LawMirror:
			c.Law.Ratio = 1
		case kinematics.LawCurve:
			for x := range 3 {
				c.Law.Curve = append(c.Law.Curve, kinematics.CurvePoint{Driver: float64(x) / 3, Follower: number.Draw(t, "follower")})
			}
		case kinematics.LawLinear:
			c.Law.Offset = number.Draw(t, "offset")
			fallthrough
		default:
			c.Law.Ratio = math.Round(number.Draw(t, "ratio") * 8)
		}
		out = append(out, c)
	}
	return out
}

// twoParts is a small valid document, for tests that change one thing.
func twoParts() doc.Document {
	j := doc.Joint{
		Name: "elbow", Kind: kinematics.Revolute, Parent: "base", Child: "arm",
		Picks:   []doc.Pick{{Source: "arm", Elements: doc.Elements{Vertices: []int32{1, 2}}}},
		Recipe:  doc.DatumRecipe{Method: doc.TwoPoints},
		Frame:   kinematics.Frame{Hinge: r3.Vec{Z: 1}, Reach: r3.Vec{X: 1}},
		Spec:    kinematics.FrameSpec{Datum: kinematics.Axis{Dir: r3.Vec{Z: 1}}},
		Limits:  []kinematics.Range{{Lower: -1, Upper: 2}},
		Letters: kinematics.DenavitHartenberg(),
	}
	return doc.Document{
		Model: doc.ModelRef{Path: "/m/arm.obj"},
		Parts: []doc.Part{
			{Name: "base", Pieces: []doc.Piece{{Source: "base", Shell: doc.Whole}}},
			{Name: "arm", Pieces: []doc.Piece{{Source: "arm", Shell: doc.Whole}}},
			{Name: "pin", Pieces: []doc.Piece{{Source: "pin", Shell: 0}}},
		},
		Joints: []doc.Joint{j},
		Poses:  []doc.Pose{{Name: "neutral", Values: []doc.JointValue{{Joint: "elbow", Values: []float64{0.5}}}}},
	}
}

func TestValidateNamesTheContradiction(t *testing.T) {
	if err := twoParts().Validate(); err != nil {
		t.Fatal(err)
	}
	joint := func(f func(*doc.Joint)) func(*doc.Document) {
		return func(d *doc.Document) { f(&d.Joints[0]) }
	}
	add := func(name, parent, child string) func(*doc.Document) {
		return func(d *doc.Document) {
			j := d.Joints[0]
			j.Name, j.Parent, j.Child = name, parent, child
			d.Joints = append(d.Joints, j)
		}
	}
	for _, c := range []struct {
		want   string
		change func(*doc.Document)
	}{
		{`the model's unit "furlong" is not one of mm, cm, m, in`, func(d *doc.Document) { d.Model.Unit = "furlong" }},
		{`the model's up axis "W" is not one of Y, Z`, func(d *doc.Document) { d.Model.Up = "W" }},
		{`the model's sha256 must be 64 hexadecimal digits in lower case`, func(d *doc.Document) { d.Model.SHA256 = "12" }},
		{`a part needs a name`, func(d *doc.Document) { d.Parts[2].Name = " " }},
		{`there are two parts named "arm"`, func(d *doc.Document) { d.Parts[2].Name = "arm" }},
		{`the part name "a\x00" holds characters that cannot be shown`, func(d *doc.Document) { d.Parts[2].Name = "a\x00" }},
		{`is longer than 500 bytes`, func(d *doc.Document) { d.Parts[2].Name = strings.Repeat("a", 501) }},
		{`part "pin" has no pieces`, func(d *doc.Document) { d.Parts[2].Pieces = nil }},
		{`part "pin" has a piece that names nothing`, func(d *doc.Document) { d.Parts[2].Pieces[0].Source = "" }},
		{`the parts "arm" and "pin" both hold part "arm" of the model`, func(d *doc.Document) { d.Parts[2].Pieces[0] = d.Parts[1].Pieces[0] }},
		{`the parts "arm" and "pin" both hold shell 2 of part "arm" of the model`, func(d *doc.Document) { d.Parts[2].Pieces[0] = doc.Piece{Source: "arm", Shell: 2} }},
		{`the parts "arm" and "pin" both hold part "arm" of the model`, func(d *doc.Document) {
			d.Parts[1].Pieces[0].Shell = 1
			d.Parts[2].Pieces[0] = doc.Piece{Source: "arm", Shell: doc.Whole}
		}},
		{`there are two joints named "elbow"`, add("elbow", "base", "pin")},
		{`joint "elbow": there is no joint kind "wobble"`, joint(func(j *doc.Joint) { j.Kind = "wobble" })},
		{`joint "elbow": it has no child part`, joint(func(j *doc.Joint) { j.Child = "" })},
		{`joint "elbow": part "arm" is both its parent and its child`, joint(func(j *doc.Joint) { j.Parent = "arm" })},
		{`joint "elbow": there is no part "leg"`, joint(func(j *doc.Joint) { j.Parent = "leg" })},
		{`joint "elbow": not a joint frame`, joint(func(j *doc.Joint) { j.Frame.Reach.Y = 1 })},
		{`joint "elbow": letters`, joint(func(j *doc.Joint) { j.Letters.Reach = j.Letters.Hinge })},
		{`joint "elbow": its lower limit 180 is above its upper limit 90`, joint(func(j *doc.Joint) { j.Limits = []kinematics.Range{{Lower: math.Pi, Upper: math.Pi / 2}} })},
		{`joint "elbow": its pitch 2 has no meaning`, joint(func(j *doc.Joint) { j.Pitch = 2 })},
		{`joint "elbow": there is no datum method "guess"`, joint(func(j *doc.Joint) { j.Recipe.Method = "guess" })},
		{`joint "elbow": there is no datum of shape "egg"`, joint(func(j *doc.Joint) { j.Recipe = doc.DatumRecipe{Method: doc.LeastSquares, Shape: "egg"} })},
		{`takes neither a shape nor robust`, joint(func(j *doc.Joint) { j.Recipe.Robust = true })},
		{`its pick on "": it names no part`, joint(func(j *doc.Joint) { j.Picks = []doc.Pick{{}} })},
		{`its pick on "arm": it holds nothing`, joint(func(j *doc.Joint) { j.Picks = []doc.Pick{{Source: "arm"}} })},
		{`its pick on "arm": -1 is no element`, joint(func(j *doc.Joint) {
			j.Picks = []doc.Pick{{Source: "arm", Elements: doc.Elements{Triangles: []int32{-1}}}}
		})},
		{`its pick on "arm": a loop has 1 vertices`, joint(func(j *doc.Joint) {
			j.Picks = []doc.Pick{{Source: "arm", Elements: doc.Elements{Loops: []doc.Loop{{Vertices: []int32{1}}}}}}
		})},
		{`part "arm" hangs on two joints, "elbow" and "second": a part has one`, add("second", "pin", "arm")},
		{`closes a ring`, add("back", "arm", "base")},
		{`the frame of joint "elbow" refers to joint "gone", which is not there`, joint(func(j *doc.Joint) {
			j.Spec.Roll.At = kinematics.Reference{Kind: kinematics.FromJoint, Joint: "gone"}
		})},
		{`there are two poses named "neutral"`, func(d *doc.Document) { d.Poses = append(d.Poses, doc.Pose{Name: "neutral"}) }},
		{`pose "neutral": there is no joint "knee"`, func(d *doc.Document) { d.Poses[0].Values[0].Joint = "knee" }},
		{`pose "neutral": joint "elbow" stands twice`, func(d *doc.Document) { d.Poses[0].Values = append(d.Poses[0].Values, d.Poses[0].Values[0]) }},
		{`pose "neutral": the value of joint "elbow" is not a number`, func(d *doc.Document) { d.Poses[0].Values[0].Values = []float64{math.Inf(1)} }},
	} {
		d := twoParts()
		c.change(&d)
		if err := d.Validate(); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("error %v, want %q", err, c.want)
		}
		if _, err := doc.Encode(d, ""); err == nil {
			t.Errorf("a document with %q was encoded", c.want)
		}
	}
}

// A long chain of joints is checked in one pass: a quadratic check would not
// end within the test's time.
func TestValidateLongChain(t *testing.T) {
	d := twoParts()
	d.Poses = nil
	j := d.Joints[0]
	d.Parts, d.Joints = d.Parts[:1], nil
	const n = 100_000
	for i := range n {
		name := fmt.Sprintf("link %d", i)
		j.Name, j.Parent, j.Child = name, d.Parts[i].Name, name
		d.Parts = append(d.Parts, doc.Part{Name: name, Pieces: []doc.Piece{{Source: name, Shell: doc.Whole}}})
		d.Joints = append(d.Joints, j)
	}
	if err := d.Validate(); err != nil {
		t.Error(err)
	}
	j.Name, j.Parent, j.Child = "ring", d.Parts[n].Name, "base"
	d.Joints = append(d.Joints, j)
	if err := d.Validate(); err == nil || !strings.Contains(err.Error(), "closes a ring") {
		t.Errorf("error %v, want a ring", err)
	}
}

func TestSaveLoadRoundTripProperty(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := genDocument(t)
		dir := "/work/documents"
		if rapid.Bool().Draw(t, "beside") {
			d.Model.Path = dir + "/models/arm.glb"
		}
		again := func(d doc.Document) doc.Document {
			text, err := doc.Encode(d, dir)
			if err != nil {
				t.Fatal(err)
			}
			if d, err = doc.Decode(text, dir); err != nil {
				t.Fatalf("%v in\n%s", err, text)
			}
			return d
		}
		once := again(d)
		sameDocument(t, d, once)
		// What passed through a file does not change any more.
		if twice := again(once); !twice.Equal(again(twice)) {
			t.Fatal("the document does not settle")
		}
	})
}

func TestSaveAndLoad(t *testing.T) {
	dir := t.TempDir()
	d := twoParts()
	d.Model.Path = filepath.Join(dir, "models", "arm.glb")
	path := filepath.Join(dir, "a", "..", "round.pintle")
	if err := os.Mkdir(filepath.Join(dir, "a"), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := doc.Save(path, d); err != nil {
		t.Fatal(err)
	}
	got, err := doc.Load(filepath.Join(dir, "round.pintle"))
	if err != nil || !got.Equal(d) || got.Model.Path != d.Model.Path {
		t.Errorf("%v, model %q", err, got.Model.Path)
	}
}

// sameDocument allows angles the neighbouring double: degrees in the file do
// not reach every radian.
func sameDocument(t *rapid.T, want, got doc.Document) {
	opts := cmp.Options{cmpopts.EquateNaNs(), cmpopts.EquateEmpty(), cmpopts.EquateApprox(2e-15, 0)}
	if diff := cmp.Diff(want, got, opts); diff != "" {
		t.Fatalf("the document came back changed (-want +got):\n%s", diff)
	}
}
