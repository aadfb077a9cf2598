// Package mechanism builds the demo mechanisms: parts as closed meshes, posed
// away from neutral and from the world axes, and the joints they were built
// on. Lengths are millimetres, Z is up.
package mechanism

import "pintle/assets/internal/solid"

// Part is one rigid piece.
type Part struct {
	Name string
	Mesh solid.Mesh
}

// Joint is a pair as built. Lower, Upper and Value count from neutral, in
// radians for a hinge and millimetres for a slider; Value is the modelled
// pose. A positive value moves the child by the right-hand rule about Axis.
type Joint struct {
	Name, Kind    string
	Parent, Child string
	Origin, Axis  solid.Vec // of the model as posed; Axis is a unit vector
	Lower, Upper  float64
	Value         float64
	Stops         *Stops   // where the parts meet, nil where nothing was built to meet
	Housing       *Housing // nil where the housing runs true
}

// Stops tells where the child's parts first meet the parent's when it turns
// from the modelled pose, in closed form from the drawing, and what meets.
type Stops struct {
	Lower, Upper           float64 // radians from the modelled pose
	LowerWhat, UpperWhat   string
	LowerPoint, UpperPoint solid.Vec // a point of the contact, on the parent
}

// Housing tells how a housing departs from a true cylinder about the hinge.
type Housing struct {
	Part         string
	Origin, Axis solid.Vec // of the housing itself, as posed
	Radius       float64
	HalfWidth    float64   // measured along Axis, both ways from Origin
	Zero         solid.Vec // unit, the direction that phases count from
	Harmonics    []Harmonic
}

// Harmonic is one term Amplitude cos(Order (a - Phase)) of a radius, where a
// is counted about the housing's axis from its zero direction. At distance x
// from the middle the phase is Phase + Twist x / HalfWidth.
type Harmonic struct {
	Order     int
	Amplitude float64 // mm
	Phase     float64 // radians
	Twist     float64 // radians
}

// Mechanism is a demo: its parts and its true joints.
type Mechanism struct {
	Name   string
	Title  string
	Parts  []Part
	Joints []Joint
	Notes  []string
}

// part returns the mesh of a part that is being built, adding the part when it
// is new.
func (m *Mechanism) part(name string) *solid.Mesh {
	for i := range m.Parts {
		if m.Parts[i].Name == name {
			return &m.Parts[i].Mesh
		}
	}
	m.Parts = append(m.Parts, Part{Name: name})
	return &m.Parts[len(m.Parts)-1].Mesh
}

// All returns the demos in the order they are offered.
func All() []Mechanism {
	return []Mechanism{TernArm(), Drawbridge(), HeronLeg()}
}
