// Package find proposes the joints of a mechanism from its geometry alone:
// which parts turn on one another, about which axis, and why. It returns
// candidates, never joints. Lengths are model units, angles radians, axes unit
// vectors in model axes.
package find

import (
	"context"
	"fmt"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

// Kind names the motion that a candidate lets its child have.
type Kind string

// The kinds that are told apart. Fixed parts stand in Result.Fixed, never
// among the joints.
const (
	FixedKind   Kind = "fixed"     // does not move
	Revolute    Kind = "revolute"  // turns about the axis
	Prismatic   Kind = "prismatic" // slides along the axis; only its direction has a meaning
	Cylindrical Kind = "cylindric" // turns about the axis and slides along it
	Screw       Kind = "screw"     // turns about the axis and moves along it by Pitch a turn
	Spherical   Kind = "spherical" // turns about the origin every way; the axis has no meaning
	Planar      Kind = "planar"    // slides on the plane across the axis and turns on it
)

// Candidate is one proposed joint.
type Candidate struct {
	Parent, Child int // indexes of parts
	Kind          Kind
	Axis          r3.Vec  // unit; its sense has no meaning
	Origin        r3.Vec  // on the axis, nearest to the circles it rests on
	Pitch         float64 // of a screw: model units along the axis in a full turn, positive for a right-hand thread
	Confidence    float64 // 0 to 1
	Loop          bool    // closes a loop: the other joints make a tree without it
	Evidence      Evidence
	RunnersUp     []Axis // other axes for the same pair, best first
}

// Axis is one hypothesis for a pair of parts.
type Axis struct {
	Kind         Kind
	Axis, Origin r3.Vec
	Pitch        float64 // as a Candidate's
	Score        float64 // evidence as a share of the smaller part's size
	Evidence     Evidence
}

// Evidence is what a candidate rests on.
type Evidence struct {
	InParent, InChild int     // circles about the axis in either part, near the other part
	Radius            float64 // of the largest of them, model units
	Gap               float64 // least distance between the parts, model units
	Mating            float64 // area of faces that lie against one another, square model units
	Slips             float64 // share of it that the motion leaves in contact, 0 to 1; NaN without mating faces
	Twins             int     // pairs of parts of the same kinds that stand turned against each other about the axis
	Words             string  // the same as a sentence
}

// Fixed is a part that sits on another one and does not move against it: a
// bolt, a badge, a cover.
type Fixed struct {
	Part, To   int     // indexes of parts
	Confidence float64 // 0 to 1
	Words      string  // why
}

// Finding is a pair of near parts, or a part, for which nothing is proposed.
type Finding struct {
	A, B int // indexes of parts; B is -1 where it is about A alone
	Text string
}

// Result is what Joints found.
type Result struct {
	Joints   []Candidate // sorted by child
	Fixed    []Fixed     // sorted by part; these parts have no joint with what they sit on
	Findings []Finding
	Ground   int // index of the part that does not move, -1 for no parts
}

// Options steer Joints. The zero value is ready to use.
type Options struct {
	// Near is the largest gap between two parts of a joint, relative to the
	// model's diagonal; 0 stands for 0.01.
	Near     float64
	Progress func(done float64, what string)
}

const (
	defaultNear = 0.01
	maxParts    = 4096
)

// Joints proposes one joint for every part but the ground, as a tree of the
// best supported pairs, and joints that close loops. Parts without triangles take no part. It fails on
// cancellation and on more than 4096 parts. The result does not depend on the
// number of cores.
func Joints(ctx context.Context, parts []mesh.Part, o Options) (Result, error) {
	if len(parts) > maxParts {
		return Result{}, fmt.Errorf("finding joints: the model has %d parts, the limit is %d: join parts that do not move", len(parts), maxParts)
	}
	if !(o.Near > 0) {
		o.Near = defaultNear
	}
	w, err := survey(ctx, parts, o)
	if err != nil {
		return Result{}, fmt.Errorf("finding joints: %w", err)
	}
	links, err := w.links(ctx)
	if err != nil {
		return Result{}, fmt.Errorf("finding joints: %w", err)
	}
	rank(len(parts), links, weights())
	return w.tree(links), nil
}

// progress reports a share of the work.
func (o Options) progress(done float64, format string, args ...any) {
	if o.Progress != nil {
		o.Progress(done, fmt.Sprintf(format, args...))
	}
}
