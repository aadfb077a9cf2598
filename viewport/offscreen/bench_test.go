package offscreen

import (
	"context"
	"fmt"
	"testing"
	"time"

	"github.com/go-gl/gl/v3.3-core/gl"
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
	b.ReportMetric(float64(r.Stats().Bytes)/1e6, "MB-meshes")
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

// BenchmarkStages times drawing, reading the depth and reading the colours of
// a picture apart, each finished before the next begins.
func BenchmarkStages(b *testing.B) {
	s, _ := elbow()
	cam := draft.NewCamera(s.Bounds(), "", 1.6)
	for _, samples := range []int{4, 1} {
		b.Run(fmt.Sprint(samples, "x"), func(b *testing.B) {
			r := open(b)
			if _, err := r.Render(context.Background(), s, cam, 1440, 900, Options{Samples: samples}); err != nil {
				b.Fatal(err)
			}
			var draw, depth, color time.Duration
			for b.Loop() {
				r.thread.Call(func() {
					t0 := time.Now()
					stageDraw(r.gl, s, r.last.view)
					t1 := time.Now()
					r.gl.target.depth()
					t2 := time.Now()
					r.gl.target.color()
					draw, depth, color = draw+t1.Sub(t0), depth+t2.Sub(t1), color+time.Since(t2)
				})
			}
			n := float64(b.N) * 1e6
			b.ReportMetric(float64(draw)/n, "ms-draw")
			b.ReportMetric(float64(depth)/n, "ms-depth")
			b.ReportMetric(float64(color)/n, "ms-color")
		})
	}
}

// stageDraw draws the opaque parts and waits for the card.
func stageDraw(g *glState, s draft.Scene, v draft.View) {
	g.cache.begin()
	a := newAssembly(s, draft.Paper(), v, g.cache, g.uniforms)
	a.build()
	g.target.begin(1, 1, 1)
	_ = g.renderer.Render(a.solid, eyeCamera{v})
	a.finish()
	g.cache.end()
	gl.Finish()
}
