package drawing

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit"
	"pintle/kinematics"
	"pintle/viewport/draft"
)

func TestEveryDatumHasItsMarks(t *testing.T) {
	d := fit.Datum{
		Origin: r3.Vec{X: 1}, Axis: r3.Vec{Z: 1}, Radius: 5, Radius2: 1, HalfAngle: 0.3, Extent: [2]float64{2, 8},
	}
	for kind, want := range map[fit.Kind]string{
		fit.Point: "draft.Point", fit.Line: "draft.AxisLine", fit.Plane: "draft.Plane", fit.Circle: "draft.Ring",
		fit.Sphere: "draft.Ball", fit.Cylinder: "draft.Revolved", fit.Cone: "draft.Revolved", fit.Torus: "draft.Tube",
	} {
		d.Kind = kind
		m := Datum(d, kinematics.Identity(), 100, draft.InkHover)
		if len(m) == 0 || fmt.Sprintf("%T", m[0]) != want {
			t.Errorf("a %s is drawn as %T, want %s first", kind, m, want)
		}
	}
}

func TestDatumMovesWithItsPart(t *testing.T) {
	d := fit.Datum{Kind: fit.Cylinder, Origin: r3.Vec{X: 10}, Axis: r3.Vec{X: 1}, Radius: 5, Extent: [2]float64{-1, 1}}
	quarter := kinematics.Rotation(kinematics.Axis{Dir: r3.Vec{Z: 1}}, math.Pi/2)
	m, ok := Datum(d, quarter, 100, draft.InkHover)[0].(draft.Revolved)
	if !ok {
		t.Fatal("a cylinder is not drawn as one")
	}
	if r3.Norm(r3.Sub(m.Axis.Point, r3.Vec{Y: 10})) > 1e-12 || r3.Norm(r3.Sub(m.Axis.Dir, r3.Vec{Y: 1})) > 1e-12 {
		t.Errorf("turned a quarter the axis is %v", m.Axis)
	}
	if m.From != -1 || m.To != 1 || m.Radius != m.Radius2 {
		t.Errorf("cylinder from %v to %v, radii %v and %v", m.From, m.To, m.Radius, m.Radius2)
	}
}

// A cone's radius at a distance h from its apex is h tan(half angle).
func TestConeIsDrawnWhereItsPointsAre(t *testing.T) {
	d := fit.Datum{Kind: fit.Cone, Axis: r3.Vec{Z: 1}, HalfAngle: math.Pi / 6, Extent: [2]float64{3, 6}}
	m := Datum(d, kinematics.Identity(), 100, draft.InkHover)[0].(draft.Revolved)
	if math.Abs(m.Radius-math.Sqrt(3)) > 1e-12 || math.Abs(m.Radius2-2*math.Sqrt(3)) > 1e-12 {
		t.Errorf("radii %v and %v, want sqrt 3 and 2 sqrt 3", m.Radius, m.Radius2)
	}
}

func TestDegreesHaveATrueMinus(t *testing.T) {
	for rad, want := range map[float64]string{-math.Pi / 2: "−90.00°", math.Pi: "180.00°", 0: "0.00°"} {
		if got := degrees(rad, 2); got != want {
			t.Errorf("degrees(%v) = %q, want %q", rad, got, want)
		}
	}
}
