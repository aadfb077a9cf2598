package find

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
)

func ctxOf() context.Context { return context.Background() }

// Cancelled, each returns although a call is still under way, and nothing is
// told any more.
func TestEachStopsAtOnce(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	begun, block, ended := make(chan struct{}), make(chan struct{}), make(chan struct{})
	told := 0
	go func() {
		<-begun
		cancel()
	}()
	err := each(ctx, 1, func(int) {
		close(begun)
		<-block
		close(ended)
	}, func(int) { told++ })
	if !errors.Is(err, context.Canceled) {
		t.Errorf("each: %v", err)
	}
	close(block)
	<-ended
	if told != 0 {
		t.Errorf("told %d times after the end", told)
	}
}

func TestEachDoesAll(t *testing.T) {
	done := make([]int, 100)
	last := 0
	if err := each(t.Context(), len(done), func(i int) { done[i]++ }, func(n int) { last = n }); err != nil || last != len(done) {
		t.Fatalf("%v, told %d", err, last)
	}
	for i, n := range done {
		if n != 1 {
			t.Errorf("%d done %d times", i, n)
		}
	}
	if err := each(t.Context(), 0, nil, nil); err != nil {
		t.Error(err)
	}
}

// A step that is cancelled stops the part.
func TestPartStops(t *testing.T) {
	m := mesh.Join(meshtest.Cylinder(4, 0, 9, 30, 2, true), bumpy(5))
	for stop := range 6 {
		ctx, cancel := context.WithCancel(t.Context())
		n := 0
		_, err := newPart(ctx, mesh.Part{Name: "a", Mesh: m}, func(float64, string) {
			if n++; n > stop {
				cancel()
			}
		})
		if !errors.Is(err, context.Canceled) {
			t.Errorf("cancelled at step %d: %v", stop, err)
		}
		cancel()
	}
}

// Progress names the part and what is done to it.
func TestSurveyTells(t *testing.T) {
	var all []string
	last := 0.0
	o := Options{Progress: func(done float64, what string) {
		if done < last || done > surveyed+1e-9 {
			t.Errorf("%g after %g", done, last)
		}
		last = done
		all = append(all, what)
	}}
	parts := []mesh.Part{{Name: "hub", Mesh: meshtest.Cylinder(4, 0, 9, 30, 2, true)}, {Name: "none"}}
	w, err := survey(t.Context(), parts, o)
	if err != nil || len(w.parts) != 2 || len(w.parts[0].lines) == 0 || w.parts[1].mesh != nil {
		t.Fatalf("%+v, %v", w, err)
	}
	if text := strings.Join(all, "\n"); !strings.Contains(text, "hub: looking for flat faces") {
		t.Errorf("told %q", text)
	}
}

// Degenerate parts are looked at without harm.
func TestPartsOfLittle(t *testing.T) {
	soup := mesh.NewBuilder()
	for i := range 40 {
		x := float64(i % 5)
		soup.Face(soup.Vertex(r3.Vec{X: x}), soup.Vertex(r3.Vec{X: x + 1e-9}), soup.Vertex(r3.Vec{X: 5, Y: 1e-3 * float64(i)}))
	}
	slivers, _, err := soup.Build(mesh.Options{Weld: -1})
	if err != nil {
		t.Fatal(err)
	}
	fan := mesh.NewBuilder()
	a, b := fan.Vertex(r3.Vec{}), fan.Vertex(r3.Vec{Z: 1})
	for i := range 7 {
		fan.Face(a, b, fan.Vertex(r3.Vec{X: float64(i), Y: 1}))
	}
	manifold, _, err := fan.Build(mesh.Options{})
	if err != nil {
		t.Fatal(err)
	}
	one := mesh.NewBuilder()
	one.Face(one.Vertex(r3.Vec{}), one.Vertex(r3.Vec{X: 1}), one.Vertex(r3.Vec{Y: 1}))
	single, _, err := one.Build(mesh.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for name, m := range map[string]*mesh.Mesh{"slivers": slivers, "fan": manifold, "single": single} {
		p, err := newPart(t.Context(), mesh.Part{Name: name, Mesh: m}, func(float64, string) {})
		if err != nil || len(p.spheres) != 0 {
			t.Errorf("%s: %+v, %v", name, p, err)
		}
	}
}

// What a part shows grows with its triangles alone.
func BenchmarkPart(b *testing.B) {
	for _, n := range []int{50, 160, 500} {
		m := mesh.Join(meshtest.Torus(6, 2, 2*n, n), meshtest.Cylinder(3, 0, 9, 2*n, n/2, true), meshtest.Sphere(2, n, n, func(p r3.Vec) r3.Vec { return r3.Add(p, r3.Vec{X: 20}) }))
		b.Run(fmt.Sprintf("triangles=%d", len(m.Triangles())), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				p := mesh.Part{Name: "a", Mesh: mesh.Moved(m, mesh.Identity())} // nothing cached
				if _, err := newPart(ctxOf(), p, func(float64, string) {}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
