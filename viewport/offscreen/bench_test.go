package offscreen

import (
	"context"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh/meshtest"
	"pintle/viewport/draft"
)

// turning renders b.N pictures of a scene, each from a new direction.
func turning(b *testing.B, s draft.Scene, w, h int, o Options) {
	r := open(b)
	cam := draft.NewCamera(s.Bounds(), "", float64(w)/float64(h))
	ctx := context.Background()
	if _, err := r.Render(ctx, s, cam, w, h, o); err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		cam = cam.Orbit(cam.Target, 0.01, 0.001)
		if _, err := r.Render(ctx, s, cam, w, h, o); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkElbow(b *testing.B) {
	s, _ := elbow()
	for _, c := range []struct {
		name string
		o    Options
	}{{"4x", Options{Samples: 4}}, {"1x", Options{Samples: 1}}} {
		b.Run(c.name, func(b *testing.B) { turning(b, s, 1440, 900, c.o) })
	}
	b.Run("marks alone", func(b *testing.B) {
		r := open(b)
		cam := draft.NewCamera(s.Bounds(), "", 1.6)
		if _, err := r.Render(context.Background(), s, cam, 1440, 900, Options{}); err != nil {
			b.Fatal(err)
		}
		b.ReportAllocs()
		for b.Loop() {
			if _, err := r.Render(context.Background(), s, cam, 1440, 900, Options{}); err != nil {
				b.Fatal(err)
			}
		}
	})
}

// BenchmarkMillion turns a million triangles.
func BenchmarkMillion(b *testing.B) {
	s := draft.Scene{Parts: []draft.PartView{{
		Mesh: meshtest.Torus(10, 4, 1000, 500, func(p r3.Vec) r3.Vec { return p }),
	}}}
	for _, c := range []struct {
		name string
		o    Options
	}{{"4x", Options{Samples: 4}}, {"1x", Options{Samples: 1}}} {
		b.Run(c.name, func(b *testing.B) { turning(b, s, 1440, 900, c.o) })
	}
	s.Style.Wire = true
	b.Run("wire 1x", func(b *testing.B) { turning(b, s, 1440, 900, Options{Samples: 1}) })
}
