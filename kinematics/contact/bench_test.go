package contact

import (
	"fmt"
	"testing"
)

// walled is a ring whose cylinder walls are cut into rows.
func walled(r0, r1, z0, z1 float64, n, rows int) solid {
	profile := make([][2]float64, 0, 2*rows+2)
	for k := range rows + 1 {
		profile = append(profile, [2]float64{r1, z0 + (z1-z0)*float64(k)/float64(rows)})
	}
	for k := range rows + 1 {
		profile = append(profile, [2]float64{r0, z1 - (z1-z0)*float64(k)/float64(rows)})
	}
	return lathe(profile, n, 0, turn)
}

// pinInBarrel is a flap on a barrel that turns on a pin with the given radial
// gap, between two stops: about n triangles in all.
func pinInBarrel(gap float64, n int) (moving, still solid) {
	around := max(12, int(1.2*sqrt(float64(n)/4)))
	rows := max(1, n/(6*2*around))
	flap, stops := flapAndStops()
	moving = joined(flap.subdividedTo(n/14), walled(4+gap, 6, -15, 15, around, rows))
	still = joined(stops.subdividedTo(n/9), walled(3, 4, -20, 20, around+around/3, rows))
	return moving, still
}

var benchSizes = []int{1_000, 10_000, 100_000, 1_000_000}

func benchScene(b *testing.B, gap float64, n int) (moving, still []Body) {
	m, s := pinInBarrel(gap, n)
	moving, still = []Body{m.body(b, "moving")}, []Body{s.body(b, "still")}
	for _, body := range []Body{moving[0], still[0]} {
		body.Mesh.BVH()
		body.Mesh.Topology()
	}
	b.Logf("%d triangles", len(moving[0].Mesh.Triangles())+len(still[0].Mesh.Triangles()))
	return moving, still
}

// The hierarchies and the adjacency are the meshes' own and not counted.
func BenchmarkNewScene(b *testing.B) {
	for _, gap := range []float64{0.1, 0} {
		for _, n := range benchSizes {
			b.Run(fmt.Sprintf("gap=%g/n=%d", gap, n), func(b *testing.B) {
				m, s := benchScene(b, gap, n)
				b.ReportAllocs()
				for b.Loop() {
					if _, err := NewScene(b.Context(), m, s, Hinge(zAxis), Options{}); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
}

func BenchmarkFreeRange(b *testing.B) {
	for _, gap := range []float64{0.1, 0} {
		for _, n := range benchSizes {
			b.Run(fmt.Sprintf("gap=%g/n=%d", gap, n), func(b *testing.B) {
				m, k := benchScene(b, gap, n)
				s, err := NewScene(b.Context(), m, k, Hinge(zAxis), Options{})
				if err != nil {
					b.Fatal(err)
				}
				b.ReportAllocs()
				for b.Loop() {
					if _, err := s.FreeRange(b.Context(), everywhere()); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
}

func BenchmarkClearance(b *testing.B) {
	angles := make([]float64, 61)
	for i := range angles {
		angles[i] = float64(i-30) * degree
	}
	for _, n := range benchSizes {
		b.Run(fmt.Sprintf("angles=61/n=%d", n), func(b *testing.B) {
			m, k := benchScene(b, 0.1, n)
			s, err := NewScene(b.Context(), m, k, Hinge(zAxis), Options{})
			if err != nil {
				b.Fatal(err)
			}
			b.ReportAllocs()
			for b.Loop() {
				if _, err := s.Clearance(b.Context(), angles); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// The curve over the whole free range, certified to 1e-4 of the size.
func BenchmarkCurve(b *testing.B) {
	for _, n := range append([]int{200_000}, benchSizes...) {
		b.Run(fmt.Sprintf("n=%d", n), func(b *testing.B) {
			m, k := benchScene(b, 0.1, n)
			s, err := NewScene(b.Context(), m, k, Hinge(zAxis), Options{})
			if err != nil {
				b.Fatal(err)
			}
			r := freeRange(b, s)
			curve(b, s, r.Lower.Value, r.Upper.Value, CurveOptions{})
			b.ReportAllocs()
			for b.Loop() {
				curve(b, s, r.Lower.Value, r.Upper.Value, CurveOptions{})
			}
		})
	}
}

// Dragging: a scene that stands, and the clearance at every picture.
func BenchmarkDrag(b *testing.B) {
	for _, n := range append([]int{200_000}, benchSizes...) {
		b.Run(fmt.Sprintf("n=%d", n), func(b *testing.B) {
			m, k := benchScene(b, 0.1, n)
			s, err := NewScene(b.Context(), m, k, Hinge(zAxis), Options{})
			if err != nil {
				b.Fatal(err)
			}
			r := freeRange(b, s)
			p, err := s.ClearanceAt(b.Context(), 0, Proximity{})
			if err != nil {
				b.Fatal(err)
			}
			b.ReportAllocs()
			const pictures = 60 // over the free range
			for i := 0; b.Loop(); i++ {
				at := r.Lower.Value + (r.Upper.Value-r.Lower.Value)*float64(i%pictures)/pictures
				if p, err = s.ClearanceAt(b.Context(), at, p); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
