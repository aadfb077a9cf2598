package contact

import (
	"fmt"
	"testing"

	"pintle/kinematics"
)

// carriage is a barrel with a flap on a pin between two collars, the one near
// and the other far: about n triangles in all.
func carriage(n int) (moving, still solid) {
	around := max(12, int(1.2*sqrt(float64(n)/4)))
	rows := max(1, n/(6*2*around))
	flap := box(5, 50, -2, 1, -15, 15)
	stops := joined(box(20, 30, -6, 6, 40, 45), tube(3, 6, -60, -40, 24, 0))
	moving = joined(flap.subdividedTo(n/14), walled(4.1, 6, -15, 15, around, rows))
	still = joined(stops.subdividedTo(n/9), walled(3, 4, -60, 60, around+around/3, rows))
	return moving, still
}

func BenchmarkMotions(b *testing.B) {
	for name, by := range map[string]Motion{"slider": Slider(zAxis), "screw": Screw(zAxis, 2)} {
		for _, n := range benchSizes {
			m, k := carriage(n)
			moving, still := []Body{m.body(b, "moving")}, []Body{k.body(b, "still")}
			for _, x := range []Body{moving[0], still[0]} {
				x.Mesh.BVH()
				x.Mesh.Topology()
			}
			s, err := NewScene(b.Context(), moving, still, by, Options{})
			if err != nil {
				b.Fatal(err)
			}
			r := freeRange(b, s)
			if r.Lower == nil || r.Upper == nil {
				b.Fatalf("%s: %+v %+v", name, r.Lower, r.Upper)
			}
			over := kinematics.Range{Lower: r.Lower.Value, Upper: r.Upper.Value}
			for what, f := range map[string]func() error{
				"scene": func() error { _, err := NewScene(b.Context(), moving, still, by, Options{}); return err },
				"range": func() error { _, err := s.FreeRange(b.Context(), everywhere()); return err },
				"curve": func() error { _, err := s.Curve(b.Context(), over, CurveOptions{}); return err },
			} {
				b.Run(fmt.Sprintf("%s/%s/n=%d", name, what, n), func(b *testing.B) {
					b.ReportAllocs()
					for b.Loop() {
						if err := f(); err != nil {
							b.Fatal(err)
						}
					}
				})
			}
		}
	}
}
