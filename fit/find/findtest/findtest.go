// Package findtest is what joint finding is developed on: mechanisms whose
// joints are known, damage that real files show, and the score of what was
// found. Tests import it, the program does not. Lengths are model units, angles
// radians, axes unit vectors in model axes. Everything random follows from its
// seed alone.
package findtest

import (
	"fmt"
	"math/rand/v2"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

// Class says how much of a joint the parts show.
type Class string

// The classes of joints, by how much of them the parts show.
const (
	BothSides Class = "both sides" // circles about the axis in both parts
	OneSide   Class = "one side"   // in one part only
	TurnedSet Class = "turned"     // turned surfaces without one clean circle
	Slides    Class = "slider"     // faces along a direction
	Nothing   Class = "nothing"    // no sign of the axis
	Unknown   Class = ""           // of a mechanism that was not made here
)

// Classes lists the classes in the order of the tables.
func Classes() []Class { return []Class{BothSides, OneSide, TurnedSet, Slides, Nothing, Unknown} }

// Joint is a joint that is known to be there.
type Joint struct {
	Name          string
	Parent, Child int    // indexes of parts
	Kind          string // "revolute", "prismatic", "cylindric", "screw", "spherical"
	Origin, Axis  r3.Vec // in the pose that the parts are in
	Pitch         float64
	Lower, Upper  float64 // motion from this pose that it allows; both 0 for not known
	Follows       int     // with Ratio, the joint whose value times Ratio it takes
	Ratio         float64 // 0 for a joint that moves freely
	Loop          bool    // closes a loop, no part hangs on it
	Scorable      bool    // false: parts show nothing, whatever is found does not count
	Class         Class
	Radius        float64 // of the surfaces that turn on one another, 0 for not known
}

// Mechanism is a model whose joints are known.
type Mechanism struct {
	Name   string
	Parts  []mesh.Part
	Joints []Joint
	Fixed  [][2]int // parts that do not move against one another: holder, held
	Ignore [][2]int // pairs for which a joint found counts neither way
}

// mapped returns the mechanism with every mesh replaced.
func (m Mechanism) mapped(f func(part int, x *mesh.Mesh) *mesh.Mesh) Mechanism {
	parts := make([]mesh.Part, len(m.Parts))
	for i, p := range m.Parts {
		parts[i] = mesh.Part{Name: p.Name, Mesh: f(i, p.Mesh)}
	}
	m.Parts = parts
	return m
}

// source is the random numbers of a seed; stream keeps users of one seed apart.
func source(seed uint64, stream int) *rand.Rand {
	return rand.New(rand.NewPCG(seed, uint64(stream)))
}

// built makes the mesh of vertices and faces as they are.
func built(vertices []r3.Vec, faces [][]int32) *mesh.Mesh {
	b := mesh.NewBuilder()
	for _, p := range vertices {
		b.Vertex(p)
	}
	for _, f := range faces {
		b.Face(f...)
	}
	m, _, err := b.Build(mesh.Options{Weld: -1})
	if err != nil {
		panic(fmt.Sprintf("findtest: %v", err))
	}
	return m
}

// ofTriangles is built for triangles.
func ofTriangles(vertices []r3.Vec, triangles [][3]int32) *mesh.Mesh {
	faces := make([][]int32, len(triangles))
	for i := range triangles {
		faces[i] = triangles[i][:]
	}
	return built(vertices, faces)
}
