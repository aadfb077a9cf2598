package find

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/fit/find/findtest"
	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
)

// hook is a plate without any symmetry.
func hook() *mesh.Mesh {
	return findtest.Extrude([]findtest.Point{{X: 0, Y: 0}, {X: 9, Y: 0}, {X: 9, Y: 2}, {X: 4, Y: 2}, {X: 2, Y: 7}, {X: 0, Y: 6}}, nil, 0, 1.5)
}

func anyMotion(t *rapid.T) mesh.Rigid {
	one := rapid.Float64Range(-1, 1)
	x := findtest.About(r3.Vec{}, r3.Unit(r3.Vec{X: one.Draw(t, "x"), Y: one.Draw(t, "y"), Z: 1}), math.Pi*one.Draw(t, "turn"))
	x.T = r3.Vec{X: 30 * one.Draw(t, "dx"), Y: 30 * one.Draw(t, "dy"), Z: 30 * one.Draw(t, "dz")}
	return x
}

// flipped is the mirror image in x of a mesh, its faces turned outward.
func flipped(m *mesh.Mesh) *mesh.Mesh {
	b := mesh.NewBuilder()
	for _, p := range m.Vertices() {
		b.Vertex(r3.Vec{X: -p.X, Y: p.Y, Z: p.Z})
	}
	for _, t := range m.Triangles() {
		b.Face(t[0], t[2], t[1])
	}
	out, _, err := b.Build(mesh.Options{Weld: -1})
	if err != nil {
		panic(err)
	}
	return out
}

func apartOf(a, b mesh.Rigid) float64 {
	return r3.Norm(r3.Sub(a.X, b.X)) + r3.Norm(r3.Sub(a.Y, b.Y)) + r3.Norm(r3.Sub(a.Z, b.Z)) + r3.Norm(r3.Sub(a.T, b.T))
}

// The motion that was done is found again, by the order of the vertices and,
// where that is another one, by the principal axes.
func TestLikenessIsTheMotion(t *testing.T) {
	a := hook()
	rapid.Check(t, func(t *rapid.T) {
		x := anyMotion(t)
		b := mesh.Moved(a, x)
		if rapid.Bool().Draw(t, "shuffled") {
			b = reordered(b)
		}
		got := likenesses(a, b, shapeOf(a), shapeOf(b))
		// The plate is its own mirror image in its middle plane.
		if len(got) != 2 || got[0].mirrors || !got[1].mirrors {
			t.Fatalf("%d likenesses: %+v", len(got), got)
		}
		if d := apartOf(got[0].Rigid, x); d > 1e-9 {
			t.Errorf("the motion is %g off", d)
		}
	})
}

// reordered is the same mesh with its vertices in another order.
func reordered(m *mesh.Mesh) *mesh.Mesh {
	b := mesh.NewBuilder()
	n := len(m.Vertices())
	for i := range n {
		b.Vertex(m.Vertices()[n-1-i])
	}
	for _, t := range m.Triangles() {
		b.Face(int32(n-1)-t[0], int32(n-1)-t[1], int32(n-1)-t[2])
	}
	out, _, err := b.Build(mesh.Options{Weld: -1})
	if err != nil {
		panic(err)
	}
	return out
}

// A box with three different edges has the eight symmetries of the group D2h,
// four of them turns; a mirror image of a lopsided solid is found as such.
func TestSymmetries(t *testing.T) {
	box := meshtest.Box(r3.Vec{}, r3.Vec{X: 2, Y: 3, Z: 5})
	turns, mirrors := 0, 0
	for _, x := range likenesses(box, box, shapeOf(box), shapeOf(box)) {
		if x.mirrors {
			mirrors++
		} else {
			turns++
		}
	}
	if turns != 4 || mirrors != 4 {
		t.Errorf("a box has %d turns and %d mirrors, want 4 and 4", turns, mirrors)
	}
	lopsided := mesh.Join(hook(), mesh.Moved(meshtest.Box(r3.Vec{}, r3.Vec{X: 1, Y: 1, Z: 1}), findtest.Shift(r3.Vec{X: 7, Y: 0.5, Z: 1.5})))
	image := flipped(lopsided)
	got := likenesses(lopsided, image, shapeOf(lopsided), shapeOf(image))
	if len(got) != 1 || !got[0].mirrors {
		t.Errorf("mirror image: %+v", got)
	}
	if got := likenesses(lopsided, lopsided, shapeOf(lopsided), shapeOf(lopsided)); len(got) != 1 || got[0].mirrors {
		t.Errorf("itself: %+v", got)
	}
}

// Parts that differ a little are not of a kind.
func TestUnlike(t *testing.T) {
	a := meshtest.Box(r3.Vec{}, r3.Vec{X: 2, Y: 3, Z: 5})
	for name, b := range map[string]*mesh.Mesh{
		"longer":   meshtest.Box(r3.Vec{}, r3.Vec{X: 2, Y: 3, Z: 5.001}),
		"cylinder": meshtest.Cylinder(1, 0, 3, 12, 1, true),
	} {
		if got := likenesses(a, b, shapeOf(a), shapeOf(b)); len(got) != 0 {
			t.Errorf("%s: %+v", name, got)
		}
	}
	empty, _, err := mesh.NewBuilder().Build(mesh.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if got := likenesses(empty, empty, shapeOf(empty), shapeOf(empty)); len(got) != 0 {
		t.Errorf("empty meshes: %+v", got)
	}
}

// Maps between parts of a kind chain: from i to j and on to k is from i to k.
func TestFamilies(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := hook()
		w := &work{}
		for range 3 {
			m := mesh.Moved(a, anyMotion(t))
			if rapid.Bool().Draw(t, "mirrored") {
				m = flipped(m)
			}
			w.parts = append(w.parts, part{mesh: m, diagonal: m.Diagonal()})
		}
		w.parts = append(w.parts, part{mesh: meshtest.Sphere(1, 8, 6), diagonal: 3}, part{})
		shapes := w.shapes()
		f := w.families(shapes)
		if f.first[1] != 0 || f.first[2] != 0 || f.first[3] != 3 || f.first[4] != 4 {
			t.Fatalf("kinds %v", f.first)
		}
		for _, x := range f.between(w, shapes, 1, 2) {
			for i, p := range w.parts[1].mesh.Vertices() {
				_, _, d := w.parts[2].mesh.BVH().Closest(x.Apply(p))
				if d > 1e-8 {
					t.Fatalf("vertex %d ends %g off", i, d)
				}
			}
		}
		if got := f.between(w, shapes, 0, 3); got != nil {
			t.Errorf("parts of two kinds: %+v", got)
		}
	})
}
