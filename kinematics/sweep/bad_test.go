package sweep

import (
	"context"
	"errors"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
	"pintle/kinematics"
)

func TestBadInputIsRefusedInOneSentence(t *testing.T) {
	box := meshtest.Box(r3.Vec{X: 1}, r3.Vec{X: 2, Y: 1, Z: 1})
	empty, _, err := mesh.NewBuilder().Build(mesh.Options{})
	if err != nil {
		t.Fatal(err)
	}
	plate := sheet(r3.Vec{X: 1}, r3.Vec{X: 3}, r3.Vec{X: 3, Z: 2})
	disc := sheet(r3.Vec{X: 1}, r3.Vec{X: 3}, r3.Vec{X: 3, Y: 2})
	good := degrees(0, 90)
	for _, c := range []struct {
		name   string
		bodies []*mesh.Mesh
		axis   kinematics.Axis
		over   kinematics.Range
		cells  int
		want   string
	}{
		{"no body", nil, upAxis(), good, 0, "has no faces"},
		{"empty body", []*mesh.Mesh{empty}, upAxis(), good, 0, "has no faces"},
		{"nil body", []*mesh.Mesh{box, nil}, upAxis(), good, 0, "body 1 is missing"},
		{"no direction", []*mesh.Mesh{box}, kinematics.Axis{}, good, 0, "axis direction"},
		{"NaN point", []*mesh.Mesh{box}, kinematics.Axis{Point: r3.Vec{X: math.NaN()}, Dir: r3.Vec{Z: 1}}, good, 0, "axis point"},
		{"range backward", []*mesh.Mesh{box}, upAxis(), degrees(90, 0), 0, "range"},
		{"range NaN", []*mesh.Mesh{box}, upAxis(), kinematics.Range{Upper: math.NaN()}, 0, "range"},
		{"too coarse", []*mesh.Mesh{box}, upAxis(), good, 3, "resolution is 3 cells, want 16 to 2000"},
		{"negative", []*mesh.Mesh{box}, upAxis(), good, -1, "resolution is -1 cells"},
		{"too fine", []*mesh.Mesh{box}, upAxis(), good, 1 << 30, "resolution is"},
		{"sheet at rest", []*mesh.Mesh{plate}, upAxis(), degrees(5, 5), 0, "no closed shell and does not move"},
		{"sheet that slides in itself", []*mesh.Mesh{disc}, upAxis(), good, 0, "passes through no volume"},
	} {
		_, err := Hinge(context.Background(), c.bodies, c.axis, c.over, Options{Resolution: c.cells})
		if err == nil || !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: error is %v, want one that says %q", c.name, err, c.want)
		}
	}
}

func TestOpenShellsAreSweptAsSheetsAndSaidSo(t *testing.T) {
	tube := meshtest.Cylinder(0.5, 0, 1, 24, 1, false, moved(r3.Vec{X: 2}))
	box := meshtest.Box(r3.Vec{X: 1}, r3.Vec{X: 2, Y: 1, Z: 1})
	e := mustSweep(t, []*mesh.Mesh{tube, box}, upAxis(), degrees(0, 60), 60)
	if len(e.Notes) != 1 || !strings.Contains(e.Notes[0], "1 shell") || !strings.Contains(e.Notes[0], "not closed") {
		t.Errorf("notes are %q", e.Notes)
	}
	if e := mustSweep(t, []*mesh.Mesh{box}, upAxis(), degrees(0, 60), 60); e.Notes != nil {
		t.Errorf("notes of a closed part are %q", e.Notes)
	}
}

func TestShellsTooSmallAreSaidToBePassedOver(t *testing.T) {
	big := meshtest.Box(r3.Vec{X: 1}, r3.Vec{X: 5, Y: 1, Z: 4})
	var bodies []*mesh.Mesh
	for k := range 9 {
		at := r3.Vec{X: 5.5, Z: 0.4 * float64(k)}
		bodies = append(bodies, meshtest.Box(at, r3.Add(at, r3.Vec{X: 1e-4, Y: 1e-4, Z: 1e-4})))
	}
	e := mustSweep(t, append(bodies, big), upAxis(), degrees(0, 30), 40)
	if len(e.Notes) != 2 || !strings.Contains(e.Notes[0], "smaller than a cell") || !strings.Contains(e.Notes[1], "stick out") {
		t.Errorf("notes are %q", e.Notes)
	}
}

// Ten kilometres off and with a part turned inside out, the volume is the
// same as at home, but for the rounding of the coordinates.
func TestFarAwayAndInsideOut(t *testing.T) {
	far := moved(r3.Vec{X: 1e7, Y: -1e7, Z: 1e7})
	mirror := func(p r3.Vec) r3.Vec { return r3.Vec{X: p.X, Y: -p.Y, Z: p.Z} }
	body := meshtest.Box(r3.Vec{X: 1, Y: -0.25}, r3.Vec{X: 3, Y: 0.25, Z: 1}, mirror, far)
	axis := kinematics.Axis{Point: far(r3.Vec{Z: 1e6}), Dir: r3.Vec{Z: 1}}
	e := mustSweep(t, []*mesh.Mesh{body}, axis, degrees(0, 90), 200)
	if want := 7.33574010638093; math.Abs(e.Volume-want) > e.Error+1e-6 {
		t.Errorf("volume is %.9g, want %.9g within %.3g", e.Volume, want, e.Error)
	}
}

func TestCancelAndProgress(t *testing.T) {
	body := meshtest.Sphere(1, 40, 20, moved(r3.Vec{X: 3}))
	var last float64
	_, err := Hinge(context.Background(), []*mesh.Mesh{body}, upAxis(), degrees(0, 90), Options{Resolution: 60, Progress: func(done float64, what string) {
		if done < last || done > 1 || what == "" {
			t.Errorf("progress %v %q after %v", done, what, last)
		}
		last = done
	}})
	if err != nil || last != 1 {
		t.Errorf("error %v, progress ended at %v, want 1", err, last)
	}
	ctx, cancel := context.WithCancel(context.Background())
	_, err = Hinge(ctx, []*mesh.Mesh{body}, upAxis(), degrees(0, 90), Options{Resolution: 60, Progress: func(float64, string) { cancel() }})
	if !errors.Is(err, context.Canceled) {
		t.Errorf("error is %v, want context.Canceled", err)
	}
}
