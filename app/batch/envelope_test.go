package batch_test

import (
	"context"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pintle/app/doc/doctest"
	"pintle/fit/meshio"
	"pintle/kinematics"
)

// Beyond its stop the swing's arm cuts off a stop's corner, half the bar's
// height deep; the pin in its bore stays out of it.
func TestEnvelopeSaysWhatToCarve(t *testing.T) {
	dir := t.TempDir()
	free := doctest.FreeRange()
	limits := &kinematics.Range{Lower: free.Lower + 0.05, Upper: free.Upper + 0.2}
	path := document(t, doctest.Options{}, limits)
	out, patch := filepath.Join(dir, "e.stl"), filepath.Join(dir, "carve.obj")
	v := answer(t, 0, "envelope", path, "--joint=swing joint", "--limb", "--resolution=150", "-o", out, "--carve", patch)
	if number(t, v, "carve", "area") <= 0 || math.Abs(number(t, v, "carve", "depth")-2) > 0.3 {
		t.Errorf("carve %v", v["carve"])
	}
	parts := map[string]any{}
	for _, p := range at(v, "carve", "parts").([]any) {
		parts[at(p, "part").(string)] = p
	}
	if number(t, parts["base"], "area") <= 0 || len(at(parts["base"], "triangles").([]any)) == 0 || number(t, parts["pin"], "area") != 0 || number(t, parts["pin"], "at_rest") <= 0 {
		t.Errorf("parts %v", parts)
	}
	m, err := meshio.Read(context.Background(), patch, meshio.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if got, want := m.Parts[0].Mesh.Area(), number(t, v, "carve", "area"); math.Abs(got-want) > 1e-6*want {
		t.Errorf("%v to carve on file, %v printed", got, want)
	}
	if v["range_from"] != "limits" || number(t, v, "joints", 0, "values", 0, "upper") != kinematics.Degrees(limits.Upper) {
		t.Errorf("joints %v", v["joints"])
	}
	text := ok(t, 0, "envelope", path, "--joint=swing joint", "--resolution=60", "-o", out)
	if !strings.Contains(text, "to carve") || !strings.Contains(text, "base: ") || strings.Contains(text, "pin: ") {
		t.Error(text)
	}
	// Between the stops there is nothing to carve, and nothing is written.
	none := filepath.Join(dir, "none.obj")
	text = ok(t, 0, "envelope", path, "--joint=swing joint", "--range=-10:5", "--resolution=60", "-o", out, "--carve", none)
	if !strings.Contains(text, "nothing deeper than") || !strings.Contains(text, "as given") {
		t.Error(text)
	}
	if _, err := os.Stat(none); err == nil {
		t.Error("an empty patch was written")
	}
}

func TestEnvelopeRefusesWhatDoesNotGoTogether(t *testing.T) {
	limits := &kinematics.Range{Lower: -0.1, Upper: 0.1}
	path := document(t, doctest.Options{}, limits)
	model := swing(t, doctest.Options{})
	hinge := []string{"--moving=arm", "--origin=0,0,0", "--axis=0,0,1"}
	for _, c := range []struct {
		want string
		args []string
	}{
		{"give --limb", []string{path, "--joint=swing joint", "--tip=arm"}},
		{"has no joints", append([]string{model, "--limb"}, hinge...)},
		{"1 values; give as many pairs", []string{path, "--joint=swing joint", "--range=0:1,0:2"}},
		{"lower end", []string{path, "--joint=swing joint", "--range=5:1"}},
		{`no part "wing"`, []string{path, "--joint=swing joint", "--limb", "--tip=wing"}},
		{`no joint "wing"`, []string{path, "--joint=wing"}},
		{"carve.txt: a mesh is written as", []string{path, "--joint=swing joint", "--carve=carve.txt"}},
		{"give a length", []string{path, "--joint=swing joint", "--resolution=30", "--tolerance=-1"}},
	} {
		refused(t, c.want, append([]string{"envelope", "-o", filepath.Join(t.TempDir(), "x.stl")}, c.args...)...)
	}
}
