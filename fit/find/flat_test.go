package find

import (
	"context"
	"errors"
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
)

// bumpy is a box of fine grids.
func bumpy(n int) *mesh.Mesh {
	var sides []*mesh.Mesh
	for i := range 6 {
		x := mesh.Identity()
		if i < 4 { // about x
			for range i {
				x.Y, x.Z = x.Z, r3.Scale(-1, x.Y)
			}
		} else { // about y, either way
			s := float64(2*(i%2) - 1)
			x.X, x.Z = r3.Vec{Z: s}, r3.Vec{X: -s}
		}
		lift := func(p r3.Vec) r3.Vec { return r3.Add(p, r3.Vec{X: -5, Y: -5, Z: 5}) }
		sides = append(sides, meshtest.Grid(10, 10, n, n, lift, x.Apply))
	}
	b := mesh.NewBuilder()
	for _, s := range sides {
		first := int32(b.NumVertices())
		for _, p := range s.Vertices() {
			b.Vertex(p)
		}
		for i := range s.NumPolygons() {
			var f []int32
			for _, v := range s.Polygon(i) {
				f = append(f, first+v)
			}
			b.Face(f...)
		}
	}
	m, _, err := b.Build(mesh.Options{Weld: mesh.DefaultWeld})
	if err != nil {
		panic(err)
	}
	return m
}

// A box is six flat faces, with noise and without.
func TestFlatsOfABox(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(3, 12).Draw(t, "cells")
		m := bumpy(n)
		sigma := rapid.SampledFrom([]float64{1e-6, 1e-3, 1e-2}).Draw(t, "noise")
		sets, err := flats(t.Context(), shaken(m, sigma, rapid.Uint64().Draw(t, "seed")), 1.3*sigma)
		if err != nil {
			t.Fatal(err)
		}
		all := 0
		for _, s := range sets[:min(6, len(sets))] {
			all += len(s)
		}
		if want := len(m.Triangles()); len(sets) < 6 || float64(all) < 0.97*float64(want) {
			t.Errorf("%d faces, the first six with %d of %d triangles", len(sets), all, want)
		}
	})
}

// The plane of points, against its closed form.
func TestPlaneSum(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, n, r := drawCircle(t)
		var s planeSum
		for _, p := range roundPoints(c, n, r, 5, 0, rapid.IntRange(3, 20).Draw(t, "n"), nil) {
			s.add(p)
		}
		at, normal, ok := s.plane(n)
		if !ok || angle(normal, n) > 1e-7 || math.Abs(r3.Dot(r3.Sub(at, c), n)) > 1e-9*r {
			t.Errorf("plane through %v across %v, want %v across %v", at, normal, c, n)
		}
	})
	var s planeSum
	s.add(r3.Vec{X: 1})
	if _, _, ok := s.plane(r3.Vec{Z: 1}); ok {
		t.Error("one point has a plane")
	}
}

func TestFlatsStop(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := flats(ctx, bumpy(4), 1e-6); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
}

func TestAltitudes(t *testing.T) {
	b := mesh.NewBuilder()
	b.Face(b.Vertex(r3.Vec{}), b.Vertex(r3.Vec{X: 4}), b.Vertex(r3.Vec{X: 1, Y: 0.5}))
	m, _, err := b.Build(mesh.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if h := altitudes(m); math.Abs(h[0]-0.5) > 1e-15 {
		t.Errorf("altitude %g, want 0.5", h[0])
	}
}
