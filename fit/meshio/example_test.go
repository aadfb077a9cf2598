package meshio_test

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"pintle/fit/mesh"
	"pintle/fit/meshio"
)

func ExampleRead() {
	m, err := meshio.Read(context.Background(), "../../testdata/meshio/clevis.obj", meshio.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(m.Unit, m.Up)
	for _, p := range m.Parts {
		fmt.Println(p.Name, p.Mesh.NumPolygons(), len(p.Mesh.Triangles()))
	}
	// Output:
	// cm Z
	// plate 1 3
	// pin 2 3
}

func ExampleDecode() {
	const text = "o lever\nv 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 3\nf 1 1 2\n"
	m, err := meshio.Decode(context.Background(), strings.NewReader(text), int64(len(text)), meshio.OBJ, meshio.Options{
		Unit: mesh.Centimetre, // names the unit, rescales nothing
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(m.Parts[0].Name, m.Parts[0].Mesh.Bounds().Max.X, m.Unit)
	fmt.Println(m.Notes[0])
	// Output:
	// lever 1 cm
	// part lever: 1 face has no area and was left out.
}

func ExampleError() {
	const text = "v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 7\n"
	_, err := meshio.Decode(context.Background(), strings.NewReader(text), int64(len(text)), "", meshio.Options{Name: "elbow.obj"})
	var e *meshio.Error
	if errors.As(err, &e) {
		fmt.Println(e.Place)
	}
	fmt.Println(err)
	// Output:
	// line 4
	// elbow.obj, line 4: a face uses vertex 7, but there are 3 vertices; export the model again
}
