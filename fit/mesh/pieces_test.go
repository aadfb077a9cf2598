package mesh_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
)

// Each piece is what Sub makes of its triangles.
func TestPiecesAreSubs(t *testing.T) {
	m := mesh.Join(meshtest.Sphere(1, 12, 6), meshtest.Torus(5, 1, 9, 7))
	lists := [][]int32{{0, 3, 4, 40}, {}, {1, 2, 90, 91, 92}}
	for i, piece := range mesh.Pieces(m, lists) {
		want := mesh.Sub(m, lists[i])
		if diff := cmp.Diff(want.Vertices(), piece.Vertices()); diff != "" {
			t.Errorf("piece %d: %s", i, diff)
		}
		if diff := cmp.Diff(want.Triangles(), piece.Triangles()); diff != "" || piece.NumPolygons() != want.NumPolygons() {
			t.Errorf("piece %d: %d polygons, want %d, %s", i, piece.NumPolygons(), want.NumPolygons(), diff)
		}
	}
	defer func() {
		if recover() == nil {
			t.Error("a falling list is no panic")
		}
	}()
	mesh.Pieces(m, [][]int32{{4, 3}})
}
