package batch_test

import (
	"context"
	"math"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/app/batch"
	"pintle/app/doc/doctest"
	"pintle/fit/meshio"
	"pintle/kinematics"
)

func TestMotionOfAModel(t *testing.T) {
	o := doctest.Options{Move: doctest.Skew()}
	path := swing(t, o)
	v := answer(t, 0, "motion", path, "--moving", "arm", "--origin", triple(o.Hinge().Point), "--axis", triple(r3.Scale(3, o.Hinge().Dir)), "--samples", "9")
	if got, want := keys(v), "axis clearance contacts curve file findings free_range joint kind moving rest runout searched still timing unit"; got != want {
		t.Errorf("keys %s\nwant %s", got, want)
	}
	for path, want := range map[string]string{
		"free_range": "lower upper", "contacts": "lower upper", "searched": "lower upper", "axis": "direction origin",
		"timing": "build_ms free_range_ms load_ms", "runout": "axial radial sagitta surfaces",
	} {
		if got := keys(v[path]); got != want {
			t.Errorf("keys of %s: %s", path, got)
		}
	}
	if got, want := keys(at(v, "contacts", "upper")), "angle at_rest faces normal parts point"; got != want {
		t.Errorf("keys of a contact: %s", got)
	}
	if got, want := keys(at(v, "rest", 0)), "blocks depth faces ignored kind parts point"; got != want {
		t.Errorf("keys of a rest contact: %s", got)
	}
	if got, want := keys(at(v, "runout", "surfaces", 0)), "arc circular direction eccentricity own_axis part sagitta stations tilt total triangles"; got != want {
		t.Errorf("keys of a surface: %s", got)
	}
	free := doctest.FreeRange()
	near(t, "lower end", number(t, v, "free_range", "lower"), kinematics.Degrees(free.Lower), 1e-7)
	near(t, "upper end", number(t, v, "free_range", "upper"), kinematics.Degrees(free.Upper), 1e-7)
	near(t, "angle of the upper contact", number(t, v, "contacts", "upper", "angle"), number(t, v, "free_range", "upper"), 0)
	if got := []any{at(v, "contacts", "upper", "parts", 0), at(v, "contacts", "upper", "parts", 1)}; !reflect.DeepEqual(got, []any{"arm", "base"}) {
		t.Errorf("parts in contact %v", got)
	}
	// The bar's side meets the stop's upright edge.
	_, corner := doctest.Contacts()
	back := o.Move
	p := r3.Sub(vec(t, v, "contacts", "upper", "point"), back.T)
	near(t, "x of the contact", r3.Dot(p, back.X), corner.X, 1e-6)
	near(t, "y of the contact", r3.Dot(p, back.Y), corner.Y, 1e-6)
	near(t, "radial runout", number(t, v, "runout", "radial", "circular"), 0, 1e-9)
	near(t, "axial runout", number(t, v, "runout", "axial", "circular"), 0, 1e-9)
	curve := at(v, "clearance").([]any)
	if len(curve) < 9 || number(t, curve[0], "angle") != number(t, v, "free_range", "lower") {
		t.Errorf("clearance %v", curve)
	}
	near(t, "clearance at the lower contact", number(t, curve[0], "distance"), 0, 1e-6)
	if got, want := keys(v["curve"]), "asked error least lowest minima note"; got != want {
		t.Errorf("keys of the curve: %s", got) // few samples do not reach the error asked for
	}
	if got, want := keys(at(v, "curve", "minima", 0)), "angle distance parts points"; got != want {
		t.Errorf("keys of a minimum: %s", got)
	}
	v = answer(t, 0, "motion", path, "--moving", "arm", "--still=base", "--origin", triple(o.Hinge().Point), "--axis", triple(o.Hinge().Dir), "--range=-30:28", "--error=0.001")
	if number(t, v, "curve", "error") > 0.001 || number(t, v, "curve", "asked") != 0.001 {
		t.Errorf("curve %v", v["curve"])
	}
	// At 28 degrees the corner at (30, 20) is 30 sin -28 + 20 cos 28 above the bar's middle.
	sin, cos := math.Sincos(kinematics.Radians(28))
	near(t, "least clearance", number(t, v, "curve", "least", "distance"), 20*cos-30*sin-doctest.ArmHalf, 1e-9)
	near(t, "angle of the least clearance", number(t, v, "curve", "least", "angle"), 28, 1e-9)
	text := ok(t, 0, "motion", path, "--moving", "arm", "--origin", triple(o.Hinge().Point), "--axis", triple(o.Hinge().Dir))
	for _, want := range []string{"free range         -42.30° to 30.51°\n", "upper contact      arm meets base at ", "runout, radial"} {
		if !strings.Contains(text, want) {
			t.Errorf("the text lacks %q:\n%s", want, text)
		}
	}
}

// Nothing stops the pin's collar when only the pin is in its way: null, and no
// contact.
func TestMotionWithNothingInTheWay(t *testing.T) {
	v := answer(t, 0, "motion", swing(t, doctest.Options{}), "--moving=arm", "--still=pin", "--origin=0,0,0", "--axis=0,0,1", "--samples=0")
	for _, end := range []string{"lower", "upper"} {
		if at(v, "free_range", end) != nil || at(v, "contacts", end) != nil {
			t.Errorf("%s: %v, %v", end, at(v, "free_range", end), at(v, "contacts", end))
		}
	}
	if len(v["clearance"].([]any)) != 0 || at(v, "rest", 0, "kind") != "mating" {
		t.Errorf("clearance %v, rest %v", v["clearance"], v["rest"])
	}
	v = answer(t, 0, "motion", swing(t, doctest.Options{}), "--moving=arm", "--origin=0,0,0", "--axis=0,0,1", "--range=-40:20", "--samples=3")
	if at(v, "free_range", "upper") != nil || number(t, v, "searched", "lower") != -40 {
		t.Errorf("a range that ends before the contacts: %v of %v", v["free_range"], v["searched"])
	}
}

func TestMotionFindsTheRunoutOfAHubThatIsOff(t *testing.T) {
	v := answer(t, 0, "motion", swing(t, doctest.Options{Off: 0.8}), "--moving=arm", "--still=base", "--origin=0,0,0", "--axis=0,0,1", "--samples=0")
	// An eccentric cylinder runs out by twice its eccentricity.
	near(t, "runout", number(t, v, "runout", "radial", "circular"), 1.6, 1e-6)
	for _, s := range at(v, "runout", "surfaces").([]any) {
		if at(s, "direction") == "radial" {
			near(t, "eccentricity", number(t, s, "eccentricity", 0), 0.8, 1e-6)
		}
	}
	tilt := 1.5
	v = answer(t, 0, "motion", swing(t, doctest.Options{Tilt: kinematics.Radians(tilt)}), "--moving=arm", "--still=base", "--origin=0,0,0", "--axis=0,0,1", "--samples=0")
	// A face tilted by a, seen at radius q, runs out by 2 q tan a; the end faces
	// reach to the hub's radius.
	if got := number(t, v, "runout", "axial", "circular"); got < 2*doctest.BoreRadius*math.Tan(kinematics.Radians(tilt)) || got > 2*1.05*doctest.HubRadius*math.Tan(kinematics.Radians(tilt)) {
		t.Errorf("axial runout %v", got)
	}
}

// A part further out, whose own hinge runs about along this one, is not taken
// for this hinge's housing.
func TestMotionMeasuresThePartsThatMeet(t *testing.T) {
	m := doctest.Model(doctest.Options{})
	further := doctest.Model(doctest.Options{Off: 1, Tilt: kinematics.Radians(2), Move: kinematics.Translation(r3.Vec{Z: 40})})
	arm := further.Parts[2]
	arm.Name = "hand"
	m.Parts = append(m.Parts, arm)
	path, err := doctest.WriteOBJ(t.TempDir(), m)
	if err != nil {
		t.Fatal(err)
	}
	args := []string{"motion", path, "--moving=arm,hand", "--origin=0,0,0", "--axis=0,0,1", "--samples=0"}
	near(t, "runout of the arm", number(t, answer(t, 0, args...), "runout", "radial", "circular"), 0, 1e-9)
	// Where nothing meets, all moving parts may be meant.
	v := answer(t, 0, append(args, "--still=base")...)
	if got := number(t, v, "runout", "radial", "circular"); got < 2 {
		t.Errorf("runout of arm and hand %v, want that of the hand, which is 1 off", got)
	}
}

func TestMotionOfADocument(t *testing.T) {
	o := doctest.Options{Move: doctest.Skew()}
	inside := &kinematics.Range{Lower: kinematics.Radians(-40), Upper: kinematics.Radians(30)}
	v := answer(t, 0, "motion", document(t, o, inside), "--joint", "swing joint", "--samples", "5")
	near(t, "upper end", number(t, v, "free_range", "upper"), kinematics.Degrees(doctest.FreeRange().Upper), 1e-7)
	if v["joint"] != "swing joint" || len(v["findings"].([]any)) != 0 {
		t.Errorf("joint %v, findings %v", v["joint"], v["findings"])
	}
	outside := &kinematics.Range{Lower: kinematics.Radians(-40), Upper: kinematics.Radians(35)}
	path := document(t, o, outside)
	v = answer(t, batch.ExitStop, "motion", path, "--joint", "swing joint", "--samples", "0")
	f := at(v, "findings", 0)
	if got, want := keys(f), "joint kind limit parts points severity text unit value"; got != want {
		t.Errorf("keys of a finding: %s", got)
	}
	if at(f, "severity") != "stop" || at(f, "unit") != "degree" || number(t, f, "value") != 35 {
		t.Errorf("finding %v", f)
	}
	text := ok(t, batch.ExitStop, "motion", path, "--joint", "swing joint")
	if !strings.Contains(text, "stop   the upper limit of 35.00° cannot be reached") {
		t.Error(text)
	}
}

func TestEnvelope(t *testing.T) {
	dir := t.TempDir()
	path := swing(t, doctest.Options{})
	args := []string{"envelope", path, "--moving", "arm", "--origin", "0,0,0", "--axis", "0,0,1", "--range", "0:30", "--resolution", "120"}
	for _, ext := range []string{".stl", ".obj", ".glb"} {
		out := filepath.Join(dir, "e"+ext)
		v := answer(t, 0, append(args, "-o", out)...)
		if got, want := keys(v), "area axis carve deviation error file joints moving notes output range range_from triangles unit volume"; got != want {
			t.Errorf("keys %s", got)
		}
		m, err := meshio.Read(context.Background(), out, meshio.Options{})
		if err != nil {
			t.Fatal(err)
		}
		scale := 1.0
		if ext == ".glb" {
			scale = 1e-9 // mm³ in m³
		}
		volume, bound := number(t, v, "volume"), number(t, v, "error")
		// Chords stand in for arcs, so the mesh holds a little less.
		if got := m.Parts[0].Mesh.Volume() / scale; math.Abs(got-volume) > bound+0.01*volume {
			t.Errorf("%s: volume %g on file, %g printed", ext, got, volume)
		}
		if len(m.Parts[0].Mesh.Triangles()) != int(number(t, v, "triangles")) {
			t.Errorf("%s: %d triangles on file", ext, len(m.Parts[0].Mesh.Triangles()))
		}
		if v["range_from"] != "flag" || number(t, v, "range", "upper") != 30 {
			t.Errorf("range %v from %v", v["range"], v["range_from"])
		}
	}
	out := filepath.Join(dir, "contact.stl")
	v := answer(t, 0, "envelope", path, "--moving=arm", "--origin=0,0,0", "--axis=0,0,1", "--resolution=60", "-o", out)
	near(t, "range by contact", number(t, v, "range", "upper"), kinematics.Degrees(doctest.FreeRange().Upper), 1e-7)
	limits := &kinematics.Range{Lower: kinematics.Radians(-10), Upper: kinematics.Radians(5)}
	v = answer(t, 0, "envelope", document(t, doctest.Options{}, limits), "--joint=swing joint", "--resolution=60", "-o", out)
	if v["range_from"] != "limits" || number(t, v, "range", "lower") != -10 {
		t.Errorf("range %v from %v", v["range"], v["range_from"])
	}
	text := ok(t, 0, "envelope", path, "--moving=arm", "--still=pin", "--origin=0,0,0", "--axis=0,0,1", "--resolution=60", "-o", out)
	if !strings.Contains(text, "a full turn: nothing stops it") || !strings.Contains(text, " mm³ ± ") {
		t.Error(text)
	}
}

// Limits that are two degrees, or 1.5 mm, short of contact, and which ends hold
// (the bar is d away from the corner at asin((2+d)/r) before its azimuth).
func TestMotionSuggestsLimits(t *testing.T) {
	free := doctest.FreeRange()
	own := &kinematics.Range{Lower: kinematics.Radians(-10), Upper: kinematics.Radians(33)}
	path := document(t, doctest.Options{}, own)
	v := answer(t, batch.ExitStop, "motion", path, "--joint=swing joint", "--samples=0", "--margin=2")
	near(t, "suggested lower", number(t, v, "limits", "suggested", "lower", "value"), kinematics.Degrees(free.Lower)+2, 1e-7)
	if at(v, "limits", "active", "lower", "by") != "user" || at(v, "limits", "active", "upper", "by") != "contact" || at(v, "limits", "suggested", "upper", "by") != "margin" {
		t.Errorf("limits %v", v["limits"])
	}
	near(t, "the contact holds", number(t, v, "limits", "active", "upper", "value"), kinematics.Degrees(free.Upper), 1e-7)
	_, c := doctest.Contacts()
	want := math.Atan2(c.Y, c.X) - math.Asin((doctest.ArmHalf+1.5)/math.Hypot(c.X, c.Y))
	v = answer(t, 0, "motion", swing(t, doctest.Options{}), "--moving=arm", "--origin=0,0,0", "--axis=0,0,1", "--samples=0", "--clear=1.5")
	near(t, "by clearance", number(t, v, "limits", "active", "upper", "value"), kinematics.Degrees(want), 1e-6)
	text := ok(t, 0, "motion", swing(t, doctest.Options{}), "--moving=arm", "--origin=0,0,0", "--axis=0,0,1", "--margin=1")
	if !strings.Contains(text, "by margin: kept 1 deg from where") {
		t.Error(text)
	}
	for _, bad := range []string{"--margin=-1", "--clear=far", "--clear=Inf"} {
		refused(t, "give a number that is not negative", "motion", swing(t, doctest.Options{}), "--moving=arm", "--origin=0,0,0", "--axis=0,0,1", bad)
	}
}
