package mesh_test

import (
	"fmt"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
)

// A face keeps its corners; the mesh cuts it into triangles, here with one
// notched corner.
func ExampleBuilder() {
	b := mesh.NewBuilder()
	for _, p := range []r3.Vec{{}, {X: 4}, {X: 4, Y: 1}, {X: 1, Y: 1}, {X: 1, Y: 4}, {Y: 4}} {
		b.Vertex(p)
	}
	b.Face(0, 1, 2, 3, 4, 5)
	m, report, err := b.Build(mesh.Options{Weld: mesh.DefaultWeld})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(m.NumPolygons(), "polygon,", len(m.Triangles()), "triangles, area", m.Area())
	fmt.Println(report.Boundary, "boundary edges")
	// Output:
	// 1 polygon, 4 triangles, area 7
	// 6 boundary edges
}

// The rim of a housing, from any of its edges.
func ExampleTopology_LoopThrough() {
	housing := meshtest.Cylinder(20, 0, 50, 12, 1, true)
	top := housing.Topology()
	edge, _ := top.EdgeBetween(17, 18)
	rim, ok := top.LoopThrough(edge, 0.8)
	fmt.Println(ok, rim.Closed, rim.Vertices)
	// Output:
	// true true [12 13 14 15 16 17 18 19 20 21 22 23]
}
