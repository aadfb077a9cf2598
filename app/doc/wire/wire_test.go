package wire_test

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/app/doc/wire"
	"pintle/fit"
	"pintle/kinematics"
)

func TestMarshalLaysOutInOneStyle(t *testing.T) {
	got, err := wire.Marshal(map[string]any{
		"angle":  wire.Deg(math.Pi / 6),
		"empty":  map[string]int{},
		"list":   []any{},
		"nested": []any{[]int{1, 2}, map[string]any{"a": "x, [y] \"{z}\": <&>"}},
		"none":   wire.Num(math.NaN()),
		"text":   []string{"a, b", "c\\"},
		"vec":    wire.Vec{X: 1, Y: -0.5, Z: math.Copysign(0, -1)},
	})
	want := `{
  "angle": 30,
  "empty": {},
  "list": [],
  "nested": [
    [1, 2],
    {
      "a": "x, [y] \"{z}\": <&>"
    }
  ],
  "none": null,
  "text": ["a, b", "c\\"],
  "vec": [1, -0.5, 0]
}
`
	if err != nil || string(got) != want {
		t.Errorf("%v, got\n%s", err, got)
	}
}

func TestDegreesAreTheShortestThatReadBack(t *testing.T) {
	for _, deg := range []float64{0, 30, 45, 60, 90, 118.64, -31.27, 180, 360, 1e-9, 0.05, 12345.678} {
		rad := deg * (math.Pi / 180)
		if got := wire.Degrees(rad); got != deg {
			t.Errorf("Degrees(%v deg) = %v", deg, got)
		}
	}
	for _, c := range [][2]float64{{math.Pi / 6, 30}, {math.Pi / 3, 60}, {2 * math.Pi / 3, 120}, {2 * math.Pi, 360}, {-math.Pi, -180}} {
		if got := wire.Degrees(c[0]); got != c[1] {
			t.Errorf("Degrees(%v) = %v, want %v", c[0], got, c[1])
		}
	}
	if !math.IsNaN(wire.Degrees(math.NaN())) || !math.IsInf(wire.Degrees(math.Inf(-1)), -1) {
		t.Error("NaN and infinities do not pass through")
	}
}

// An angle read back is the same to the last bit or its neighbour, and it
// settles.
func TestDegRoundTripProperty(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rad := rapid.Float64Range(-1e6, 1e6).Draw(t, "rad")
		read := func(v float64) float64 {
			text, err := json.Marshal(wire.Deg(v))
			var back wire.Deg
			if err == nil {
				err = json.Unmarshal(text, &back)
			}
			if err != nil {
				t.Fatal(err)
			}
			return float64(back)
		}
		once := read(rad)
		if math.Abs(once-rad) > 2.3e-16*math.Abs(rad)+5e-324 {
			t.Fatalf("%v became %v", rad, once)
		}
		// A neighbour may be one that has a short form; that form is final.
		twice := read(once)
		if thrice := read(twice); thrice != twice {
			t.Fatalf("%v became %v, %v and then %v", rad, once, twice, thrice)
		}
	})
}

// The layout never changes the value, whatever strings stand in it.
func TestMarshalKeepsTheValueProperty(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		type leaf struct {
			S []string             `json:"s"`
			M map[string][]float64 `json:"m"`
		}
		v := []leaf{{
			S: rapid.SliceOf(rapid.String()).Draw(t, "s"),
			M: rapid.MapOf(rapid.String(), rapid.SliceOf(rapid.Float64Range(-1e9, 1e9))).Draw(t, "m"),
		}}
		text, err := wire.Marshal(v)
		if err != nil {
			t.Fatal(err)
		}
		var back []leaf
		if err := json.Unmarshal(text, &back); err != nil {
			t.Fatalf("%v in\n%s", err, text)
		}
		if d := cmp.Diff(v, back, cmpopts.EquateEmpty()); d != "" {
			t.Fatal(d)
		}
	})
}

func datums() map[string]fit.Datum {
	q := fit.Quality{Count: 9, Rejected: 1, RMS: 0.01, FormError: 0.03, Arc: 1, Sagitta: 0.2, SigmaAxis: 0.001, SigmaOrigin: 0.002, SigmaRadius: 0.003}
	deg30 := 30.0
	deg30 *= math.Pi / 180 // in float64: the constant expression rounds to the neighbour
	o, a, e := r3.Vec{X: 1, Y: 2, Z: 3}, r3.Vec{X: 0.6, Z: 0.8}, [2]float64{-1, 2}
	exact := fit.Quality{Count: 2, Arc: 2 * math.Pi, SigmaAxis: math.NaN(), SigmaOrigin: math.NaN(), SigmaRadius: math.NaN()}
	q2, qa := q, q
	q2.SigmaRadius2, qa.SigmaHalfAngle = 0.004, math.NaN()
	return map[string]fit.Datum{
		"point":    {Kind: fit.Point, Origin: o, Quality: exact},
		"line":     {Kind: fit.Line, Origin: o, Axis: a, Extent: e, Quality: q},
		"plane":    {Kind: fit.Plane, Origin: o, Axis: a, Extent: e, Quality: q},
		"circle":   {Kind: fit.Circle, Origin: o, Axis: a, Radius: 4, Extent: e, Quality: q},
		"sphere":   {Kind: fit.Sphere, Origin: o, Radius: 4, Quality: q},
		"cylinder": {Kind: fit.Cylinder, Origin: o, Axis: a, Radius: 4, Extent: e, Quality: q},
		"cone":     {Kind: fit.Cone, Origin: o, Axis: a, HalfAngle: deg30, Extent: e, Quality: qa},
		"torus":    {Kind: fit.Torus, Origin: o, Axis: a, Radius: 4, Radius2: 1, Extent: e, Quality: q2},
	}
}

func TestDatumRoundTrip(t *testing.T) {
	for name, want := range datums() {
		text, err := wire.Marshal(wire.NewDatum(want))
		if err != nil {
			t.Fatal(err)
		}
		var w wire.Datum
		if err := wire.Unmarshal(text, &w); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		got, err := w.Datum()
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if d := cmp.Diff(want, got, cmpopts.EquateNaNs()); d != "" {
			t.Errorf("%s: %s", name, d)
		}
		for _, c := range []struct {
			key string
			has bool
		}{
			{`"axis":`, want.Axis != r3.Vec{}},
			{`"radius":`, want.Radius > 0},
			{`"radius2":`, want.Radius2 > 0},
			{`"half_angle": 30,`, want.HalfAngle > 0},
		} {
			// sigma has an entry named radius too
			head, _, _ := strings.Cut(string(text), `"sigma"`)
			if strings.Contains(head, c.key) != c.has {
				t.Errorf("%s: key %s present %v, want %v", name, c.key, !c.has, c.has)
			}
		}
	}
}

func TestDatumRefusesWhatItCannotBe(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{`{"shape": "blob", "point": [0,0,0]}`, `there is no datum of shape "blob"`},
		{`{"shape": "line", "point": [0,0,0]}`, "a line has no axis"},
		{`{"shape": "line", "point": [0,0,0], "axis": [0,0,2]}`, "a line's axis has a length of 2 where a unit vector is needed"},
		{`{"shape": "sphere", "point": [0,0,0]}`, "a sphere's radius is missing or negative"},
		{`{"shape": "sphere", "point": [0,0,0], "radius": null}`, "a sphere's radius is missing or negative"},
		{`{"shape": "cone", "point": [0,0,0], "axis": [0,0,1], "half_angle": -3}`, "a cone's half_angle is missing or negative"},
		{`{"shape": "point", "point": [0,0,0], "count": -1}`, "a point's counts are negative"},
	} {
		var w wire.Datum
		if err := wire.Unmarshal([]byte(c.text), &w); err != nil {
			t.Errorf("%s: %v", c.text, err)
			continue
		}
		if _, err := w.Datum(); err == nil || err.Error() != c.want {
			t.Errorf("%s: %v, want %q", c.text, err, c.want)
		}
	}
}

func TestFrame(t *testing.T) {
	want := kinematics.Frame{Origin: r3.Vec{X: 1}, Hinge: r3.Vec{Z: 1}, Reach: r3.Vec{X: 0.6, Y: 0.8}}
	if got, err := wire.NewFrame(want).Frame(); err != nil || got != want {
		t.Errorf("%v, %v", got, err)
	}
	for name, f := range map[string]wire.Frame{
		"hinge has a length of 0 where a unit vector is needed":              {Reach: wire.Vec{X: 1}},
		"reach has a length of 2 where a unit vector is needed":              {Hinge: wire.Vec{X: 1}, Reach: wire.Vec{Y: 2}},
		"hinge and reach are not at right angles (their dot product is 0.6)": {Hinge: wire.Vec{X: 1}, Reach: wire.Vec{X: 0.6, Y: 0.8}},
		"hinge has a length of NaN where a unit vector is needed":            {Hinge: wire.Vec{X: math.NaN()}},
	} {
		if _, err := f.Frame(); err == nil || err.Error() != name {
			t.Errorf("%v, want %s", err, name)
		}
	}
}

func TestUnmarshalIsStrict(t *testing.T) {
	type inner struct {
		V wire.Vec `json:"v"`
		N wire.Num `json:"n"`
		D wire.Deg `json:"d"`
	}
	type outer struct {
		Name string  `json:"name"`
		List []inner `json:"list"`
	}
	var ok outer
	if err := wire.Unmarshal([]byte(" {\"name\": \"a\", \"list\": [{\"v\": [1,2,3], \"n\": null, \"d\": 90}]} \n"), &ok); err != nil {
		t.Fatal(err)
	}
	if ok.List[0].D != math.Pi/2 || !math.IsNaN(float64(ok.List[0].N)) || ok.List[0].V != (wire.Vec{X: 1, Y: 2, Z: 3}) {
		t.Errorf("read %+v", ok)
	}
	for _, c := range []struct{ text, want string }{
		{"", "line 1: the text ends too early"},
		{" \n ", "line 2: the text ends too early"},
		{"{\n\"name\": \"a\"", "line 2: the text ends too early"},
		{"[1]", "line 1: an object { } was expected"},
		{"7", "line 1: an object { } was expected"},
		{"{}\n{}", "line 1: there is text behind the end"},
		{"{\"name\":\n\"a\",\n\"name\": \"b\"}", `line 3: the name "name" stands twice in one object`},
		{`{"Name": "a"}`, `unknown name "Name": names are in lower case`},
		{`{"nam": "a"}`, `unknown field "nam"`},
		{"{\"name\":\n7}", "line 2: name cannot be a number"},
		{`{"list": [{"v": [1,2]}]}`, "must be three numbers [x, y, z], not [1,2]"},
		{`{"list": [{"v": [1,2,null]}]}`, "must be three numbers [x, y, z], not [1,2,null]"},
		{`{"list": [{"v": [1,2,3,4]}]}`, "must be three numbers"},
		{`{"list": [{"n": "x"}]}`, `a number was expected, not "x"`},
		{`{"list": [{"d": [1e999]}]}`, "a number was expected, not [1e999]"},
		{`{"name": tru}`, "line 1: invalid character"},
		{`{"list": [` + strings.Repeat("{},", 600_000), "there are more than 500000 objects"},
		{`{"list": ` + strings.Repeat("[", 100000), "nested deeper than 32 levels"},
	} {
		var v outer
		err := wire.Unmarshal([]byte(c.text), &v)
		if err == nil || !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%.40q: %v, want %q", c.text, err, c.want)
		}
	}
}

func TestVersion(t *testing.T) {
	if v, err := wire.Version([]byte(`{"x": {"pintle": 4}, "pintle": 3}`), "pintle"); v != 3 || err != nil {
		t.Errorf("%d, %v", v, err)
	}
	for _, c := range []struct{ text, want string }{
		{`{"x": {"pintle": 4}}`, "there is no version"},
		{`{"pintle": null}`, `the version "pintle" must be a whole number, not null`},
		{`{"pintle": 1.5}`, `the version "pintle" must be a whole number, not 1.5`},
		{`{"pintle": "1"}`, `the version "pintle" must be a whole number, not "1"`},
		{`[1]`, "line 1: an object { } was expected"},
	} {
		if _, err := wire.Version([]byte(c.text), "pintle"); err == nil || err.Error() != c.want {
			t.Errorf("%s: %v, want %q", c.text, err, c.want)
		}
	}
}
