package batch_test

import (
	"context"
	"math"
	"path/filepath"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/app/doc"
	"pintle/app/doc/doctest"
	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
	"pintle/kinematics"
)

// A slider's motion is told in model units: a block with gaps of 7 and 12.
func TestMotionOfASlider(t *testing.T) {
	box := func(x, z0, z1 float64) *mesh.Mesh {
		return meshtest.Box(r3.Vec{X: -x, Y: -x, Z: z0}, r3.Vec{X: x, Y: x, Z: z1})
	}
	dir := t.TempDir()
	path, err := doctest.WriteOBJ(dir, &mesh.Model{Unit: mesh.Millimetre, Parts: []mesh.Part{
		{Name: "block", Mesh: box(5, 0, 10)}, {Name: "floor", Mesh: box(30, -9, -7)}, {Name: "roof", Mesh: box(30, 22, 24)},
	}})
	if err != nil {
		t.Fatal(err)
	}
	s, err := doc.OpenModel(context.Background(), path, doc.OpenOptions{Unit: mesh.Millimetre})
	if err != nil {
		t.Fatal(err)
	}
	j := doc.Joint{
		Name: "slide", Kind: kinematics.Prismatic, Parent: "floor", Child: "block", Letters: kinematics.DenavitHartenberg(),
		Frame: kinematics.Frame{Hinge: r3.Vec{Z: 1}, Reach: r3.Vec{X: 1}},
	}
	j.Spec = kinematics.FrameSpec{Datum: j.Frame.Axis()}
	d, err := s.Doc.AddJoint(j)
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(dir, "slide.pintle")
	if err := doc.Save(file, d); err != nil {
		t.Fatal(err)
	}
	v := answer(t, 0, "motion", file, "--joint", "slide", "--samples", "5")
	if v["kind"] != "prismatic" || math.Abs(number(t, v, "free_range", "lower")+7) > 1e-9 || math.Abs(number(t, v, "free_range", "upper")-12) > 1e-9 {
		t.Errorf("free range %v", v["free_range"])
	}
	if got := number(t, v, "contacts", "upper", "travel"); math.Abs(got-12) > 1e-9 {
		t.Errorf("meets the roof at %v", got)
	}
	if _, ok := v["contacts"].(map[string]any)["upper"].(map[string]any)["angle"]; ok {
		t.Error("a slider's contact at an angle")
	}
	if v["searched"].(map[string]any)["upper"] != nil {
		t.Errorf("searched %v", v["searched"])
	}
	got := ok(t, 0, "motion", file, "--joint", "slide", "--range=-3:20")
	for _, want := range []string{"prismatic", "free to 12 mm", "block meets roof at", "least clearance  4 mm at -3 mm, ± ", ", block to floor\n"} {
		if !strings.Contains(got, want) {
			t.Errorf("the text lacks %q:\n%s", want, got)
		}
	}
	if strings.Contains(got, "runout") {
		t.Errorf("a slider's runout:\n%s", got)
	}
}
