// Package doc holds the mechanism as a document: which model it is about, how
// the model's parts are named, split and joined, the joints with the recipes
// they were made by, and poses. A Document is a value that is never modified:
// every edit returns another one, which shares what did not change, so undo is
// keeping the old values.
//
// A Session ties a document to its loaded model. Everything the window can do
// is a function here that batch mode and tests call without a display.
//
// Inside, angles are radians and lengths model units; the file holds degrees.
package doc

import (
	"bytes"
	"slices"

	"pintle/fit"
	"pintle/fit/mesh"
	"pintle/kinematics"
)

// Document is one mechanism. Its slices, at any depth, must not be modified.
type Document struct {
	Model  ModelRef
	Parts  []Part  // in the order of the parts list; names are unique
	Joints []Joint // in balloon order; names are unique
	Poses  []Pose  // the user's own; "as modelled" is not among them
	// Couplings make joint values follow others.
	Couplings []Coupling
	// Drivers are the values that drive closed loops, the rest of a loop follows.
	// Loops that they leave free have theirs chosen, see Session.Linkages.
	Drivers []ValueRef
}

// ModelRef says which model file the document is about.
type ModelRef struct {
	// Path is where the model lies, absolute in memory. The file holds it
	// relative to the document, so that the two can move together.
	Path   string
	SHA256 string    // lower-case hex of the file's content when it was last taken up
	Unit   mesh.Unit // what one unit of the file means; "": as the file says
	Up     mesh.Up   // the file's up axis; "": as the file says
}

// Part is one rigid piece: pieces of the model under one name.
type Part struct {
	Name   string
	Hidden bool
	Pieces []Piece // at least one; several where parts were joined
}

// Piece is a part of the model file, or one shell of it.
type Piece struct {
	Source string // the part's name in the model file
	Shell  int    // number of the shell by mesh.Topology.Shells, or Whole
	// Fine counts shells finer: only edges of two faces hold them together, so
	// that what was welded at a corner or along a seam comes apart.
	Fine bool
}

// Whole as a Piece's shell means all of the source.
const Whole = -1

// Pick is mesh elements of one part of the model file, by the numbers that
// they have there: renaming, splitting and joining parts leaves picks as they
// are.
type Pick struct {
	Source string // the part's name in the model file
	Elements
}

// Elements are vertices, edges, loops and faces of one mesh, by number.
type Elements struct {
	Vertices  []int32    // single vertices
	Edges     [][2]int32 // by their two vertices
	Loops     []Loop     // edge loops
	Triangles []int32    // face patch
}

// Loop is an edge loop by its vertices in order; a closed one does not repeat
// the first.
type Loop struct {
	Vertices []int32
	Closed   bool
}

// Method says how a pick becomes a datum.
type Method string

// The methods.
const (
	// LeastSquares fits the recipe's shape to all picked vertices by orthogonal
	// distance.
	LeastSquares Method = "fit"
	// TwoLoops runs an axis through the centres of two loops.
	TwoLoops Method = "two_loops"
	// TwoPoints runs an axis through two vertices; the datum's point is their
	// midpoint.
	TwoPoints Method = "two_points"
	// EdgeLine runs an axis along a picked edge.
	EdgeLine Method = "edge"
)

// DatumRecipe says how a joint's datum is made from its picks.
type DatumRecipe struct {
	Method Method
	Shape  fit.Kind // for LeastSquares
	Robust bool     // for LeastSquares: leave outliers out
}

// Joint lets a child part move against its parent, with all it was made from.
type Joint struct {
	Name   string
	Kind   kinematics.Kind
	Parent string  // part, or "" for the world
	Child  string  // part
	Pitch  float64 // of a screw: model units of travel per radian
	Picks  []Pick
	Recipe DatumRecipe
	Datum  fit.Datum
	Spec   kinematics.FrameSpec
	Frame  kinematics.Frame   // what Spec came to when it was last built
	Limits []kinematics.Range // one for each freedom of the kind, or none; ends may be infinite
	Cone   *kinematics.Cone   // how far a universal or ball joint may lean; nil: not limited
	// Letters is the export's axis letters of hinge and reach.
	Letters  kinematics.Letters
	Accepted bool // the user has looked at it and agreed
	// Closes says that the joint closes a loop: its child hangs on another joint
	// already. See Loops.
	Closes bool
}

// Pose is a named set of joint values; joints it does not name stand at zero,
// as modelled.
type Pose struct {
	Name   string
	Values []JointValue // in the order of the joints
}

// JointValue is where one joint stands: its values in the order of
// kinematics.Kind.Freedom, radians or model units. Values that are left out are
// 0.
type JointValue struct {
	Joint  string
	Values []float64
}

// Equal reports whether two documents are the same to the last digit that a
// file keeps.
func (d Document) Equal(e Document) bool {
	a, errA := marshal(d, "")
	b, errB := marshal(e, "")
	return errA == nil && errB == nil && bytes.Equal(a, b)
}

// PartIndex returns the index of the part with that name, or -1.
func (d Document) PartIndex(name string) int {
	return slices.IndexFunc(d.Parts, func(p Part) bool { return p.Name == name })
}

// JointIndex returns the index of the joint with that name, or -1.
func (d Document) JointIndex(name string) int {
	return slices.IndexFunc(d.Joints, func(j Joint) bool { return j.Name == name })
}

// PoseIndex returns the index of the pose with that name, or -1.
func (d Document) PoseIndex(name string) int {
	return slices.IndexFunc(d.Poses, func(p Pose) bool { return p.Name == name })
}

// JointOf returns the index of the joint that carries the part, or -1.
func (d Document) JointOf(part string) int {
	return slices.IndexFunc(d.Joints, func(j Joint) bool { return j.Child == part && !j.Closes })
}
