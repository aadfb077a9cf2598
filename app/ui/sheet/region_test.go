package sheet

import (
	"math"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"

	"pintle/app/doc"
	"pintle/kinematics"
	"pintle/kinematics/contact"
	"pintle/kinematics/region"
)

// The chart draws the rim where it is: side to the right, hinge up, to scale.
func TestPolarChartIsToScale(t *testing.T) {
	opened(t) // a theme for the colours
	var rim []region.Rim
	for i, lean := range []float64{math.Pi / 6, math.Pi / 3, math.Pi / 4, math.Pi / 12} {
		rim = append(rim, region.Rim{Azimuth: -math.Pi + float64(i)*math.Pi/2, Lean: lean, Event: &contact.Event{}})
	}
	r := &doc.Region{Kind: kinematics.Spherical, Ball: &region.Ball{Rim: rim}}
	var lines []*canvas.Line
	var circles int
	var walk func(o fyne.CanvasObject)
	walk = func(o fyne.CanvasObject) {
		switch x := o.(type) {
		case *canvas.Line:
			lines = append(lines, x)
		case *canvas.Circle:
			circles++
		case *fyne.Container:
			for _, c := range x.Objects {
				walk(c)
			}
		}
	}
	walk(polarChart(r, doc.Joint{Kind: kinematics.Spherical}))
	if circles != 2 || len(lines) != 2+4 {
		t.Fatalf("%d circles, %d lines", circles, len(lines))
	}
	// 60 degrees fill the chart: 92 pixels. Azimuth -180 to the left at 30 degrees.
	at := lines[2].Position1
	if math.Abs(float64(at.X)-(110-46)) > 0.01 || math.Abs(float64(at.Y)-110) > 0.01 {
		t.Errorf("30 degrees away from side are drawn at %v", at)
	}
	down := lines[3].Position1 // azimuth -90 at 60 degrees: down
	if math.Abs(float64(down.X)-110) > 0.01 || math.Abs(float64(down.Y)-(110+92)) > 0.01 {
		t.Errorf("60 degrees away from hinge are drawn at %v", down)
	}
}

// A ball joint is asked how far it leans with a button, and shows that in its
// place.
func TestRegionIsFoundByAButton(t *testing.T) {
	s, d := opened(t)
	hinged(t, d, "wrist")
	d.SetKind(kinematics.Spherical)
	j, _, _ := d.Joint()
	b := &builder{sheet: s, desk: d}
	b.region(j)
	if len(b.objects) != 2 { // a gap and the button
		t.Fatalf("%d objects", len(b.objects))
	}
	r, err := d.Session().Region(t.Context(), j, nil)
	if err != nil {
		t.Fatal(err)
	}
	if n := r.Narrowest(); n.Event == nil || !(n.Lean < math.Pi/2) {
		t.Errorf("the wrist, which is a hinge, leans %+v", n)
	}
}
