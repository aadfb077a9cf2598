package doc_test

import (
	"bytes"
	"context"
	"errors"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/app/doc"
	"pintle/fit/mesh"
)

// fused returns a session on a demo whose parts are one mesh.
func fused(t *testing.T, demo string) *doc.Session {
	t.Helper()
	s, _ := demoSession(t, demo)
	var all []*mesh.Mesh
	for _, p := range s.Parts {
		all = append(all, p.Mesh)
	}
	m := &mesh.Model{Unit: mesh.Millimetre, Up: mesh.UpZ, Parts: []mesh.Part{{Name: "all", Mesh: mesh.Join(all...)}}}
	one, err := doc.NewSession(doc.New(doc.ModelRef{Path: "/all.obj"}, m), m)
	if err != nil {
		t.Fatal(err)
	}
	return one
}

func TestAFusedModelComesApart(t *testing.T) {
	s := fused(t, "heron-leg")
	cut, err := s.Unfused(context.Background(), doc.CutAuto, nil)
	if err != nil {
		t.Fatal(err)
	}
	if len(cut.Parts) < 4 || cut.Parts[0].Name != "all 1" {
		t.Fatalf("%d parts, the first is %q", len(cut.Parts), cut.Parts[0].Name)
	}
	seen := make([]int, len(s.Parts[0].Mesh.Triangles()))
	for i, p := range cut.Parts {
		for tri := range p.Mesh.Triangles() {
			picks, err := cut.Pick(i, doc.Elements{Triangles: []int32{int32(tri)}})
			if err != nil {
				t.Fatal(err)
			}
			seen[picks[0].Triangles[0]]++
		}
	}
	if i := slices.IndexFunc(seen, func(n int) bool { return n != 1 }); i >= 0 {
		t.Errorf("triangle %d is in %d parts", i, seen[i])
	}
	// The document keeps the pieces.
	data, err := doc.Encode(cut.Doc, "/")
	if err != nil {
		t.Fatal(err)
	}
	back, err := doc.Decode(data, "/")
	if err != nil || !back.Equal(cut.Doc) || !bytes.Contains(data, []byte(`"fine": true`)) {
		t.Errorf("it reads back differently: %v", err)
	}
	// What is picked for a joint between pieces is kept by the model's numbers.
	p := found(t, cut, nil)
	d, n, err := cut.AcceptAbove(p, 0.5, nil)
	if err != nil || n < 3 {
		t.Fatalf("%d joints between the pieces, error %v", n, err)
	}
	again, err := s.With(d)
	if err != nil {
		t.Fatal(err)
	}
	for _, j := range d.Joints {
		if len(j.Picks) > 0 {
			if _, err := again.Refit(j); err != nil {
				t.Errorf("%s: %v", j.Name, err)
			}
		}
	}
}

func TestUnfusedLeavesWhatItShould(t *testing.T) {
	one := fused(t, "heron-leg")
	ctx := context.Background()
	if s, err := one.Unfused(ctx, doc.CutNever, nil); err != nil || s != one {
		t.Errorf("never: %v", err)
	}
	many, _ := demoSession(t, "heron-leg")
	if s, err := many.Unfused(ctx, doc.CutAuto, nil); err != nil || s != many {
		t.Errorf("a model of several parts was cut: %v", err)
	}
	if s, err := many.Unfused(ctx, doc.CutAlways, nil); err != nil || len(s.Parts) < len(many.Parts) {
		t.Errorf("always: %v", err)
	}
	ctx, cancel := context.WithCancel(ctx)
	cancel()
	if _, err := one.Unfused(ctx, doc.CutAuto, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("error %v", err)
	}
}

// Two boxes that were welded at a corner are one shell, and two fine ones.
func TestFineShellsPartAtAVertex(t *testing.T) {
	b := mesh.NewBuilder()
	box := func(lo, hi r3.Vec) {
		var v [8]int32
		for i := range v {
			p := lo
			if i&1 != 0 {
				p.X = hi.X
			}
			if i&2 != 0 {
				p.Y = hi.Y
			}
			if i&4 != 0 {
				p.Z = hi.Z
			}
			v[i] = b.Vertex(p)
		}
		for _, f := range [][4]int{{0, 2, 3, 1}, {4, 5, 7, 6}, {0, 1, 5, 4}, {2, 6, 7, 3}, {0, 4, 6, 2}, {1, 3, 7, 5}} {
			b.Face(v[f[0]], v[f[1]], v[f[2]], v[f[3]])
		}
	}
	box(r3.Vec{}, r3.Vec{X: 1, Y: 1, Z: 1})
	box(r3.Vec{X: 1, Y: 1, Z: 1}, r3.Vec{X: 2, Y: 2, Z: 2})
	built, _, err := b.Build(mesh.Options{})
	if err != nil {
		t.Fatal(err)
	}
	m := &mesh.Model{Unit: mesh.Millimetre, Up: mesh.UpZ, Parts: []mesh.Part{{Name: "both", Mesh: built}}}
	s, err := doc.NewSession(doc.New(doc.ModelRef{Path: "/both.obj"}, m), m)
	if err != nil {
		t.Fatal(err)
	}
	d := s.Doc
	d.Parts = []doc.Part{
		{Name: "a", Pieces: []doc.Piece{{Source: "both", Shell: 0, Fine: true}}},
		{Name: "b", Pieces: []doc.Piece{{Source: "both", Shell: 1, Fine: true}}},
	}
	with, err := s.With(d)
	if err != nil {
		t.Fatal(err)
	}
	for i := range 2 {
		if n := len(with.Parts[i].Mesh.Triangles()); n != 12 || len(with.Parts[i].Mesh.Vertices()) != 8 {
			t.Errorf("part %d has %d triangles", i, n)
		}
	}
	d.Parts[1].Pieces[0].Shell = 2
	if _, err := s.With(d); err == nil {
		t.Error("a fine shell that is not there was found")
	}
	d.Parts[1].Pieces[0] = doc.Piece{Source: "both", Shell: 0}
	if err := d.Validate(); err == nil {
		t.Error("one part of the model is cut in two ways")
	}
}
