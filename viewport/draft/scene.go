package draft

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
	"pintle/kinematics"
)

// Scene is everything there is to see, as plain values: make a new one for
// every change. What the shaded picture depends on (Parts, Palette, Style) is
// kept apart from Marks, which are drawn over it, so a change of marks alone
// costs no new shading.
type Scene struct {
	Parts   []PartView
	Marks   []Mark
	Palette Palette // zero: Paper
	Style   Style
}

// PartView is one mesh as it is to be seen. Its index in Scene.Parts is what
// picking reports, so owners keep their own order and put extra pieces
// (envelopes, ghosts of other poses) behind their parts with NoPick.
type PartView struct {
	Mesh     *mesh.Mesh
	Motion   kinematics.Transform // of the mesh as modelled; the zero value is no motion
	Tint     int                  // index into Palette.Tints, counted round
	Look     Look
	Emphasis Emphasis
	NoPick   bool // picking looks through it
}

// Look says how a part is drawn.
type Look uint8

// The looks of a part.
const (
	Solid  Look = iota // filled and outlined
	Ghost              // translucent, with thin outlines: a part out of the way
	Wash               // translucent in the range colour, no inner lines: an envelope
	Hidden             // not drawn and not picked
)

// Emphasis says whether a part stands out.
type Emphasis uint8

// The degrees of emphasis.
const (
	Plain    Emphasis = iota
	Hovered           // outlined in the hover ink
	Selected          // outlined in the accent
)

// Style says how all parts together are drawn.
type Style struct {
	Wire       bool    // every polygon edge over the shaded faces
	SeeThrough bool    // all fills transparent, hidden edges dashed
	NoEdges    bool    // leave feature edges and outlines out
	Feature    float64 // dihedral angle from which an edge is a feature; 0: DefaultFeature
}

// DefaultFeature is the dihedral angle from which an edge is inked.
const DefaultFeature = 30 * math.Pi / 180

// FeatureAngle returns Feature, or DefaultFeature where it is not set.
func (s Style) FeatureAngle() float64 {
	if s.Feature > 0 {
		return s.Feature
	}
	return DefaultFeature
}

// Drawn reports whether the part appears at all.
func (p PartView) Drawn() bool { return p.Mesh != nil && p.Look != Hidden }

// MotionOrIdentity returns the part's motion, the identity for the zero value.
func (p PartView) MotionOrIdentity() kinematics.Transform { return orIdentity(p.Motion) }

func orIdentity(x kinematics.Transform) kinematics.Transform {
	if x == (kinematics.Transform{}) {
		return kinematics.Identity()
	}
	return x
}

// Corners returns the box corners of every drawn part where its motion has
// taken it: what Camera.Fit wants.
func (s Scene) Corners() []r3.Vec {
	var points []r3.Vec
	for _, p := range s.Parts {
		if !p.Drawn() || len(p.Mesh.Vertices()) == 0 {
			continue
		}
		x := p.MotionOrIdentity()
		for _, c := range BoxCorners(p.Mesh.Bounds()) {
			points = append(points, x.Apply(c))
		}
	}
	return points
}

// Bounds returns the box round all drawn parts under their motions, the zero
// box if there are none.
func (s Scene) Bounds() r3.Box { return boundsOf(s.Corners()) }

// boundsOf returns the box round the points. Unlike r3.Box.Union it keeps
// flat boxes, which a sheet-metal part has.
func boundsOf(points []r3.Vec) r3.Box {
	if len(points) == 0 {
		return r3.Box{}
	}
	b := r3.Box{Min: points[0], Max: points[0]}
	for _, p := range points[1:] {
		b.Min = r3.Vec{X: math.Min(b.Min.X, p.X), Y: math.Min(b.Min.Y, p.Y), Z: math.Min(b.Min.Z, p.Z)}
		b.Max = r3.Vec{X: math.Max(b.Max.X, p.X), Y: math.Max(b.Max.Y, p.Y), Z: math.Max(b.Max.Z, p.Z)}
	}
	return b
}
