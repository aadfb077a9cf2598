package mesh

import "gonum.org/v1/gonum/spatial/r3"

// Unit is the length that one model unit stands for.
type Unit string

// The units a model may be in.
const (
	Millimetre Unit = "mm"
	Centimetre Unit = "cm"
	Metre      Unit = "m"
	Inch       Unit = "in"
)

// Millimetres returns the length of one unit in millimetres, or 0 for a unit
// that is not known.
func (u Unit) Millimetres() float64 {
	switch u {
	case Millimetre:
		return 1
	case Centimetre:
		return 10
	case Metre:
		return 1000
	case Inch:
		return 25.4
	}
	return 0
}

// Up is the model axis that points up.
type Up string

// The up axes a model may have.
const (
	UpY Up = "Y"
	UpZ Up = "Z"
)

// Part is one rigid piece of a model.
type Part struct {
	Name string // as in the file; unique within the model
	Mesh *Mesh  // in model units and axes, with the scene's transforms applied
}

// Node is a named point of the file's scene graph that carries no mesh, such as
// a skin's joint or a locator.
type Node struct {
	Name   string
	Parent int // index into Model.Nodes, or -1
	Joint  bool
	Origin r3.Vec    // in model units and axes
	Axes   [3]r3.Vec // unit local x, y, z in model axes
}

// Model is what a file holds: parts in one common frame.
type Model struct {
	Parts []Part
	Nodes []Node
	Unit  Unit
	Up    Up
	Notes []string // what the reader mended or left out, one sentence each
}

// Bounds returns the box round all parts, the zero box for none.
func (m *Model) Bounds() r3.Box {
	b := emptyBox()
	for _, p := range m.Parts {
		if len(p.Mesh.vertices) > 0 {
			b = union(b, p.Mesh.bounds)
		}
	}
	if b.Min.X > b.Max.X {
		return r3.Box{}
	}
	return b
}

// Find returns the index of the part with that name, or -1.
func (m *Model) Find(name string) int {
	for i, p := range m.Parts {
		if p.Name == name {
			return i
		}
	}
	return -1
}
