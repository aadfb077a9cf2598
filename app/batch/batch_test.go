package batch_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"image"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"gonum.org/v1/gonum/spatial/r3"

	"pintle/app/batch"
	"pintle/app/doc"
	"pintle/app/doc/doctest"
	"pintle/kinematics"
	"pintle/viewport/draft"
)

// command runs the command line in this process.
type command struct {
	out, err string
	batch.Outcome
}

func run(t testing.TB, deps batch.Deps, in string, args ...string) command {
	t.Helper()
	var out, errs bytes.Buffer
	o := batch.Main(context.Background(), args, batch.Streams{In: strings.NewReader(in), Out: &out, Err: &errs}, deps)
	return command{out.String(), errs.String(), o}
}

// ok runs a command that must succeed with the code.
func ok(t testing.TB, code int, args ...string) string {
	t.Helper()
	c := run(t, batch.Deps{}, "", args...)
	if c.Code != code || c.err != "" || c.Window {
		t.Fatalf("%q: code %d, window %v, error %q", args, c.Code, c.Window, c.err)
	}
	return c.out
}

// answer runs a command with --json and decodes what it prints.
func answer(t testing.TB, code int, args ...string) map[string]any {
	t.Helper()
	text := ok(t, code, append(args, "--json")...)
	var v map[string]any
	if err := json.Unmarshal([]byte(text), &v); err != nil {
		t.Fatalf("%v in\n%s", err, text)
	}
	if !strings.HasPrefix(text, "{\n  \"") || !strings.HasSuffix(text, "\n}\n") || strings.Contains(text, "NaN") {
		t.Errorf("not the one style:\n%s", text)
	}
	return v
}

// keys returns the names of an object in order, as a golden list.
func keys(v any) string {
	var list []string
	for k := range v.(map[string]any) {
		list = append(list, k)
	}
	slices.Sort(list)
	return strings.Join(list, " ")
}

func at(v any, path ...any) any {
	for _, p := range path {
		switch p := p.(type) {
		case string:
			v = v.(map[string]any)[p]
		case int:
			v = v.([]any)[p]
		}
	}
	return v
}

func number(t testing.TB, v any, path ...any) float64 {
	t.Helper()
	n, isNumber := at(v, path...).(float64)
	if !isNumber {
		t.Fatalf("%v is %v, want a number", path, at(v, path...))
	}
	return n
}

func near(t testing.TB, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s is %v, want %v", what, got, want)
	}
}

func vec(t testing.TB, v any, path ...any) r3.Vec {
	t.Helper()
	return r3.Vec{X: number(t, at(v, path...), 0), Y: number(t, at(v, path...), 1), Z: number(t, at(v, path...), 2)}
}

// swing writes the test mechanism as a model.
func swing(t testing.TB, o doctest.Options) string {
	t.Helper()
	path, err := doctest.WriteOBJ(t.TempDir(), doctest.Model(o))
	if err != nil {
		t.Fatal(err)
	}
	return path
}

// document writes the swing with a hinge on its bore; limits in degrees about
// the true hinge direction.
func document(t testing.TB, o doctest.Options, limits *kinematics.Range) string {
	t.Helper()
	model := swing(t, o)
	s, err := doc.OpenModel(context.Background(), model, doc.OpenOptions{})
	if err != nil {
		t.Fatal(err)
	}
	arm := s.Doc.PartIndex("arm")
	m := s.Parts[arm].Mesh
	hub := o.HubAxis()
	p := r3.Add(hub.At(1), r3.Scale(doctest.BoreRadius, kinematics.Perpendicular(hub.Dir)))
	picks, err := s.Pick(arm, doc.Elements{Triangles: m.Topology().EvenPatchFrom(doctest.TriangleAt(m, p), doc.FeatureAngle)})
	if err != nil {
		t.Fatal(err)
	}
	j, err := s.ProposeJoint(picks, doc.JointOptions{Name: "swing joint"})
	if err != nil {
		t.Fatal(err)
	}
	if r3.Dot(j.Frame.Hinge, o.Hinge().Dir) < 0 {
		j.Spec = j.Spec.Flipped()
	}
	j.Accepted = true
	j = j.WithLimit(0, limits)
	d, err := s.TakeJoint(j)
	if err != nil {
		t.Fatal(err)
	}
	if d, err = d.SetPose(doc.Pose{Name: "raised", Values: []doc.JointValue{{Joint: "swing joint", Values: []float64{0.25}}}}); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(filepath.Dir(model), "swing.pintle")
	if err := doc.Save(path, d); err != nil {
		t.Fatal(err)
	}
	return path
}

func triple(v r3.Vec) string { return fmt.Sprintf("%.17g,%.17g,%.17g", v.X, v.Y, v.Z) }

func TestFitOfAModelsPart(t *testing.T) {
	o := doctest.Options{Move: doctest.Skew()}
	v := answer(t, 0, "fit", swing(t, o), "--shape", "cylinder", "--part", "pin")
	if got, want := keys(v), "arc axis count extent file form_error part point radius rejected rms sagitta shape sigma unit"; got != want {
		t.Errorf("keys %s\nwant %s", got, want)
	}
	if got, want := keys(v["sigma"]), "axis_deg point radius"; got != want {
		t.Errorf("sigma's keys %s", got)
	}
	near(t, "radius", number(t, v, "radius"), doctest.BoreRadius, 1e-9)
	near(t, "arc", number(t, v, "arc"), 360, 1e-9)
	got := kinematics.Axis{Point: vec(t, v, "point"), Dir: vec(t, v, "axis")}
	if off := kinematics.AxisErrorOf(got, o.Hinge()); off.Angle > 1e-9 || off.Offset > 1e-8 {
		t.Errorf("axis off by %+v", off)
	}
	if v["shape"] != "cylinder" || v["unit"] != "mm" || v["part"] != "pin" {
		t.Errorf("%v", v)
	}
	text := ok(t, 0, "fit", swing(t, o), "--shape", "cylinder", "--part", "pin")
	for _, want := range []string{"shape            cylinder\n", "radius           5 mm\n", "covered arc      360.00°\n"} {
		if !strings.Contains(text, want) {
			t.Errorf("the text lacks %q:\n%s", want, text)
		}
	}
}

// The circle example of W. Gander, G. H. Golub, R. Strebel, Least-squares
// fitting of circles and ellipses, BIT 34 (1994) 558-578: published centre
// (4.7398, 2.9835) and radius 4.7142, here to more digits.
const gander = "# x y z\n1,7,0\n2\t6 0\n\n5; 8; 0 # third\n7 7 0\r\n9 5 0\n3 7 0"

func TestFitOfATextFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "circle.xyz")
	if err := os.WriteFile(path, []byte("\ufeff"+gander), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, args := range [][]string{{"fit", path, "--shape", "circle", "--json"}, {"fit", "-", "--json", "--shape=circle"}} {
		c := run(t, batch.Deps{}, gander, args...)
		var v map[string]any
		if err := json.Unmarshal([]byte(c.out), &v); err != nil || c.Code != 0 {
			t.Fatalf("%v: %v, %s", args, err, c.err)
		}
		near(t, "centre x", number(t, v, "point", 0), 4.73978241090607, 1e-9)
		near(t, "centre y", number(t, v, "point", 1), 2.98353269929248, 1e-9)
		near(t, "radius", number(t, v, "radius"), 4.71422603779211, 1e-9)
		near(t, "RMS", number(t, v, "rms"), 0.452327145287504, 1e-9)
		if number(t, v, "count") != 6 {
			t.Errorf("%v points", v["count"])
		}
	}
}

// ringPoints is rows on rings about z: radius and height of each ring.
func ringPoints(rings [][2]float64) string {
	var b strings.Builder
	for i := range 16 {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / 16)
		for _, r := range rings {
			fmt.Fprintf(&b, "%.17g %.17g %.17g\n", r[0]*cos, r[0]*sin, r[1])
		}
	}
	return b.String()
}

func TestFitShapesHaveTheirKeys(t *testing.T) {
	tube := [][2]float64{{10, 3}, {13, 0}, {10, -3}, {7, 0}, {10 + 3*math.Sqrt2/2, 3 * math.Sqrt2 / 2}}
	slab := "0 0 0\n5 0 0.1\n0 3 0\n5 3 0\n9 1 0\n"
	for _, c := range []struct {
		shape, points string
		with, not     []string
	}{
		{"point", slab, nil, []string{"axis", "radius", "radius2", "half_angle", "extent"}},
		{"line", slab, []string{"axis", "extent"}, []string{"radius", "radius2", "half_angle"}},
		{"plane", slab, []string{"axis"}, []string{"radius", "radius2", "half_angle"}},
		{"circle", gander, []string{"axis", "radius"}, []string{"radius2", "half_angle"}},
		{"sphere", ringPoints(tube), []string{"radius"}, []string{"axis", "radius2", "half_angle", "extent"}},
		{"cylinder", ringPoints([][2]float64{{4, 0}, {4, 9}}), []string{"axis", "radius"}, []string{"radius2", "half_angle"}},
		{"cone", ringPoints([][2]float64{{4, 4}, {7, 7}, {9, 9}}), []string{"axis", "half_angle"}, []string{"radius", "radius2"}},
		{"torus", ringPoints(tube), []string{"axis", "radius", "radius2"}, []string{"half_angle"}},
	} {
		out := run(t, batch.Deps{}, c.points, "fit", "-", "--shape", c.shape, "--json")
		var v map[string]any
		if err := json.Unmarshal([]byte(out.out), &v); err != nil || out.Code != 0 {
			t.Errorf("%s: %v, %s", c.shape, err, out.err)
			continue
		}
		for _, k := range append(c.with, "shape", "point", "rms", "form_error", "arc", "sigma", "sagitta", "count", "rejected") {
			if _, has := v[k]; !has {
				t.Errorf("%s lacks %s", c.shape, k)
			}
		}
		for _, k := range c.not {
			if _, has := v[k]; has {
				t.Errorf("%s has %s", c.shape, k)
			}
		}
		switch c.shape {
		case "cone":
			near(t, "half angle", number(t, v, "half_angle"), 45, 1e-9)
		case "torus":
			near(t, "radius", number(t, v, "radius"), 10, 1e-9)
			near(t, "tube radius", number(t, v, "radius2"), 3, 1e-9)
		}
	}
}

func TestParts(t *testing.T) {
	path := swing(t, doctest.Options{})
	v := answer(t, 0, "parts", path)
	if got, want := keys(v), "box file nodes notes parts triangles unit up"; got != want {
		t.Errorf("keys %s", got)
	}
	if got, want := keys(at(v, "parts", 0)), "area box closed diagonal hidden name polygons shells triangles vertices volume"; got != want {
		t.Errorf("keys of a part %s", got)
	}
	if at(v, "parts", 0, "name") != "base" || number(t, v, "parts", 0, "shells") != 3 || number(t, v, "parts", 2, "shells") != 2 {
		t.Errorf("%v", v["parts"])
	}
	near(t, "volume of the base", number(t, v, "parts", 0, "volume"), 40*40*2+10*20*6+10*30*6, 1e-9)
	// Area of a regular prism with n sides on radius r: n r^2 sin(2 pi/n) at
	// the ends, 2 n r sin(pi/n) h round it.
	const n, r, h = doctest.Facets, doctest.BoreRadius, 17.0
	near(t, "area of the pin", number(t, v, "parts", 1, "area"),
		n*r*r*math.Sin(2*math.Pi/n)+2*n*r*math.Sin(math.Pi/n)*h, 1e-9)
	text := ok(t, 0, "parts", path)
	if !strings.Contains(text, "3 parts, ") || !strings.Contains(text, "\nbase ") {
		t.Error(text)
	}
	if d := answer(t, 0, "parts", document(t, doctest.Options{}, nil)); at(d, "parts", 2, "name") != "arm" {
		t.Errorf("parts of a document: %v", d["parts"])
	}
}

func TestHandover(t *testing.T) {
	out := filepath.Join(t.TempDir(), "joints.json")
	inside := &kinematics.Range{Upper: kinematics.Radians(30)}
	v := answer(t, 0, "handover", document(t, doctest.Options{}, inside), "--as", "spec", "-o", out)
	if got, want := keys(v), "as file findings joints output worst"; got != want {
		t.Errorf("keys %s", got)
	}
	text, err := os.ReadFile(out)
	if err != nil || !bytes.Contains(text, []byte(`"name": "swing joint"`)) {
		t.Errorf("%v\n%s", err, text)
	}
	outside := document(t, doctest.Options{}, &kinematics.Range{Upper: kinematics.Radians(99)})
	if got := ok(t, batch.ExitStop, "handover", outside, "--as=spec", "-o", out); !strings.Contains(got, "1 joint\njoint        type      parent  child  limits\nswing joint  revolute  pin     arm    ") ||
		!strings.Contains(got, "\nstop   swing joint: the upper limit of 99.00°") {
		t.Error(got)
	}
	if text, err := os.ReadFile(out); err != nil || !bytes.Contains(text, []byte(`"severity": "stop"`)) {
		t.Error("the spec lacks its finding", err)
	}
}

// painter stands in for the renderer: it notes what it is asked for.
type painter struct {
	scene         draft.Scene
	camera        draft.Camera
	width, height int
	closed        bool
	err           error
}

func (p *painter) Render(_ context.Context, s draft.Scene, c draft.Camera, w, h int) (*image.RGBA, error) {
	p.scene, p.camera, p.width, p.height = s, c, w, h
	return image.NewRGBA(image.Rect(0, 0, w, h)), p.err
}

func (p *painter) Close() { p.closed = true }

func TestDraw(t *testing.T) {
	path := document(t, doctest.Options{}, nil)
	out := filepath.Join(t.TempDir(), "picture.png")
	p := &painter{}
	deps := batch.Deps{Renderer: func() (batch.Renderer, error) { return p, nil }}
	c := run(t, deps, "", "draw", path, "-o", out, "--size", "64x40", "--named", "raised", "--pose", "swing joint=-12.5", "--view", "top")
	if c.Code != 0 || c.err != "" || c.out != out+": 64 x 40 pixels\n" {
		t.Fatalf("%+v", c)
	}
	f, err := os.Open(out)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if img, err := png.Decode(f); err != nil || img.Bounds().Dx() != 64 || img.Bounds().Dy() != 40 {
		t.Errorf("picture %v, %v", img, err)
	}
	if !p.closed || p.width != 64 || len(p.scene.Parts) != 3 {
		t.Errorf("%+v", p)
	}
	want := kinematics.Rotation(kinematics.Axis{Dir: r3.Vec{Z: 1}}, kinematics.Radians(-12.5))
	q := r3.Vec{X: 40, Y: 1, Z: 2}
	if off := r3.Norm(r3.Sub(p.scene.Parts[2].Motion.Apply(q), want.Apply(q))); off > 1e-7 {
		t.Errorf("the pose is off by %g", off)
	}
	if c := run(t, deps, "", "draw", swing(t, doctest.Options{}), "-o", out, "--json"); c.Code != 0 || !strings.Contains(c.out, `"width": 1440`) {
		t.Errorf("a model's picture: %+v", c)
	}
	p.err = errors.New("the card is gone")
	if c := run(t, deps, "", "draw", path, "-o", out); c.Code != 2 || c.err != "pintle: the card is gone\n" {
		t.Errorf("%+v", c)
	}
	deps.Renderer = func() (batch.Renderer, error) { return nil, errors.New("no OpenGL here") }
	if c := run(t, deps, "", "draw", path, "-o", out); c.Code != 2 || c.err != "pintle: drawing swing.pintle: no OpenGL here\n" {
		t.Errorf("%+v", c)
	}
}

func TestWindowAndHelp(t *testing.T) {
	path := swing(t, doctest.Options{})
	for _, c := range []struct {
		args []string
		want batch.Outcome
	}{
		{nil, batch.Outcome{Window: true}},
		{[]string{path}, batch.Outcome{Window: true, File: path}},
		{[]string{"open", path}, batch.Outcome{Window: true, File: path}},
	} {
		if got := run(t, batch.Deps{}, "", c.args...); got.Outcome != c.want || got.out+got.err != "" {
			t.Errorf("%q: %+v", c.args, got)
		}
	}
	if c := run(t, batch.Deps{Version: "1.2.3"}, "", "--version"); c.out != "1.2.3\n" || c.Code != 0 || c.Window {
		t.Errorf("%+v", c)
	}
	help := run(t, batch.Deps{}, "", "--help")
	for _, want := range []string{"fit ", "parts ", "motion ", "envelope ", "handover ", "draw ", "Exit codes: 0 done, 1 findings"} {
		if !strings.Contains(help.out, want) || help.Code != 0 || help.Window {
			t.Errorf("the help lacks %q:\n%s", want, help.out)
		}
	}
	for _, name := range []string{"fit", "parts", "find", "motion", "envelope", "handover", "draw", "open"} {
		if c := run(t, batch.Deps{}, "", name, "--help"); c.Code != 0 || !strings.Contains(c.out, "Usage: pintle "+name) {
			t.Errorf("help of %s: %+v", name, c)
		}
	}
}

func TestAnswersAreTheSameEveryTime(t *testing.T) {
	o := doctest.Options{Move: doctest.Skew(), Off: 0.3, Lobes: 0.2}
	args := []string{"motion", swing(t, o), "--moving", "arm", "--origin", triple(o.Hinge().Point), "--axis", triple(o.Hinge().Dir), "--samples", "11"}
	strip := func() map[string]any {
		v := answer(t, 0, args...)
		delete(v, "timing")
		return v
	}
	if diff := cmp.Diff(strip(), strip()); diff != "" {
		t.Error(diff)
	}
}
