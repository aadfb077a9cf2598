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

// studDocument is a bar of half width 1 along x on a ball joint, with a stop 4 off
// it to Side and one 6.5 off it the other way, both from 8 to 10 along it.
func studDocument(t *testing.T, limits *kinematics.Range) string {
	t.Helper()
	part := func(name string, lo, hi r3.Vec) mesh.Part { return mesh.Part{Name: name, Mesh: meshtest.Box(lo, hi)} }
	dir := t.TempDir()
	path, err := doctest.WriteOBJ(dir, &mesh.Model{Unit: mesh.Millimetre, Parts: []mesh.Part{
		part("stud", r3.Vec{X: 2, Y: -1, Z: -1}, r3.Vec{X: 14, Y: 1, Z: 1}),
		part("left", r3.Vec{X: 8, Y: 4, Z: -20}, r3.Vec{X: 10, Y: 7, Z: 20}),
		part("right", r3.Vec{X: 8, Y: -9, Z: -20}, r3.Vec{X: 10, Y: -6.5, Z: 20}),
	}})
	if err != nil {
		t.Fatal(err)
	}
	s, err := doc.OpenModel(context.Background(), path, doc.OpenOptions{Unit: mesh.Millimetre})
	if err != nil {
		t.Fatal(err)
	}
	j := doc.Joint{
		Name: "ball", Kind: kinematics.Spherical, Parent: "left", Child: "stud", Letters: kinematics.DenavitHartenberg(),
		Frame: kinematics.Frame{Hinge: r3.Vec{Z: 1}, Reach: r3.Vec{X: 1}}, Accepted: true,
	}
	j.Spec = kinematics.FrameSpec{Datum: j.Frame.Axis()}
	d, err := s.Doc.AddJoint(j.WithLimit(0, limits))
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(dir, "ball.pintle")
	if err := doc.Save(file, d); err != nil {
		t.Fatal(err)
	}
	return file
}

// A ball joint's motion tells each freedom by itself and where it leans: 16.47
// degrees to the nearer stop (closed form: the bar's side meets its upper edge).
func TestMotionOfABallJoint(t *testing.T) {
	file := studDocument(t, nil)
	lean := func(d float64) float64 {
		return kinematics.Degrees(math.Atan2(d, 10) - math.Asin(1/math.Hypot(d, 10)))
	}
	v := answer(t, 0, "motion", file, "--joint", "ball")
	if got, want := keys(v), "file findings freedoms joint kind moving region still unit"; got != want {
		t.Errorf("keys %s\nwant %s", got, want)
	}
	swing := v["freedoms"].([]any)[0].(map[string]any)
	if got := number(t, swing, "free_range", "upper"); math.Abs(got-lean(4)) > 1e-9 || math.Abs(number(t, swing, "contacts", "lower", "angle")+lean(6.5)) > 1e-9 {
		t.Errorf("swing about the hinge %v", swing)
	}
	if got := number(t, v, "region", "narrowest", "lean"); math.Abs(got-lean(4)) > 1e-9 {
		t.Errorf("leans least %v", got)
	}
	got := ok(t, 0, "motion", file, "--joint", "ball")
	for _, want := range []string{"swing about hinge", "16.47°, by itself", "stud meets left at 16.47°", "twist about reach", "free to free", "leans least", "16.47° to azimuth 0.00°; stud meets left", "sr"} {
		if !strings.Contains(got, want) {
			t.Errorf("the text lacks %q:\n%s", want, got)
		}
	}
	// Limits beyond the stops are told, by each and by the lean.
	wide := studDocument(t, &kinematics.Range{Lower: -0.1, Upper: 0.5})
	if got := ok(t, 1, "motion", wide, "--joint", "ball"); strings.Count(got, "cannot be reached") != 2 {
		t.Errorf("findings\n%s", got)
	}
}
