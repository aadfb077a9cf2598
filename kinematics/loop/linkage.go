// Package loop moves closed kinematic loops: a tree of joints together with
// joints that close it. Given the values of the driven freedoms it finds those
// of all others, follows the assembly that the model stands in, and says where
// a driver can go no further and which joint locks there.
//
// All joints of a linkage have values, those that close loops as well: the
// tree's come first, in the tree's order, then those of the closing joints.
// Every loop then is six equations, whatever its joints' kinds: the way round
// it must come back to where it began. Redundant equations (a plane linkage has
// three in space) are told by singular values. Angles are radians, lengths
// model units; inside, lengths are measured from the loop's middle in units of
// its size.
package loop

import (
	"fmt"
	"math"
	"slices"
	"sync"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/kinematics"
)

// Closing is a joint that closes a loop: both its parts hang on the tree
// already (or are the world).
type Closing struct {
	Joint kinematics.Joint
	// OnChild is the joint's frame as it was measured on the child part, where
	// Joint.Frame is what was measured on the parent; nil where both are one.
	// Their difference is the misfit of the loop as modelled.
	OnChild *kinematics.Frame
}

// Close returns the joints as closings whose frames are the same on both parts.
func Close(joints ...kinematics.Joint) []Closing {
	out := make([]Closing, len(joints))
	for i, j := range joints {
		out[i].Joint = j
	}
	return out
}

// Options steer a linkage. The zero value is ready to use.
type Options struct {
	// Tolerance is how far axes may be from what would make the loop movable and
	// still count as meant so: in radians, and in lengths by the loop's size. It
	// tells redundant equations from real ones. 0: 0.002 (0.11 degrees).
	Tolerance float64
	// Misfit is the largest opening of a loop that is tolerated, in radians, and
	// in lengths by the loop's size. 0: 0.02.
	Misfit float64
	// Snap is how far lengths may be, by the loop's size, from those of a linkage
	// with change points for it to count as one: measured links are never quite
	// equal, and a parallelogram whose sides differ by a hair would turn back
	// where it lies nearly flat. There the motion goes straight on to the nearest
	// pose that closes. 0: not at all.
	Snap float64
	// HoldLimits makes the limits of the joints stop the motion; otherwise they
	// are reported only.
	HoldLimits bool
	// Unit is what lengths are called in errors, for example "mm"; may be empty.
	Unit string
}

// Linkage is a mechanism with closed loops. It is constant once made and may
// be shared by goroutines.
type Linkage struct {
	tree     *kinematics.Tree
	closings []Closing
	values   int // of the tree and the closings
	links    []link
	loops    []ring
	freedoms []freedom
	active   []int // the values that take part in a loop, ascending
	column   []int // of each value among active, -1 where it takes no part
	drivers  []int // values
	follow   []int // active values that are not driven, ascending
	at       []int // of each value among the coordinates of a walk (see walker): -1 where it is none of the followers
	rank     int   // of the loops' equations, near the modelled pose
	o        Options
	pool     sync.Pool
}

// freedom is what is known of one value.
type freedom struct {
	joint  int // tree joints, then closings
	scale  float64
	length bool
	limits kinematics.Range
	ball   bool
}

// New makes a linkage of the tree and the joints that close its loops. drivers
// are the values (see ValueIndex) that are given, all others follow; nil takes
// DefaultDrivers. It returns a *LinkageError where a closing joint has no
// meaning or closes nothing, where a driver is in no loop or cannot be chosen
// freely, and where the loops cannot move at all.
func New(tree *kinematics.Tree, closings []Closing, drivers []int, o Options) (*Linkage, error) {
	l, err := build(tree, closings, o)
	if err != nil {
		return nil, err
	}
	if err := l.measureRank(); err != nil {
		return nil, err
	}
	if drivers == nil {
		if drivers, err = l.defaultDrivers(nil); err != nil {
			return nil, err
		}
	}
	return l.WithDrivers(drivers)
}

// WithDrivers returns the linkage driven by other values. It fails as New does.
func (l *Linkage) WithDrivers(drivers []int) (*Linkage, error) {
	n := l.clone()
	n.drivers = slices.Clone(drivers)
	n.follow = nil
	for i, d := range n.drivers {
		switch {
		case d < 0 || d >= n.values:
			return nil, &LinkageError{Reason: fmt.Sprintf("driver %d: the linkage has values 0 to %d", d, n.values-1)}
		case slices.Contains(n.drivers[:i], d):
			return nil, &LinkageError{Joint: n.name(d), Reason: "it drives twice: name each driver once"}
		case n.column[d] < 0:
			return nil, &LinkageError{Joint: n.name(d), Reason: "it is in no loop: it moves freely, choose a joint of the loop as driver"}
		case n.Joint(n.JointOf(d)).Kind == kinematics.Spherical:
			return nil, &LinkageError{Joint: n.name(d), Reason: "a ball cannot drive: choose a joint that turns or slides about one axis"}
		}
	}
	if len(n.drivers) == 0 {
		return nil, &LinkageError{Reason: "nothing drives: choose at least one driver"}
	}
	n.at = make([]int, n.values)
	for v := range n.at {
		n.at[v] = -1
		if n.column[v] >= 0 && !slices.Contains(n.drivers, v) {
			n.follow = append(n.follow, v)
			n.at[v] = len(n.follow)
		}
	}
	return n, n.checkDrivers()
}

// WithLimits returns the linkage with narrower limits of some values: each is
// held to what it shares with the range given for it. They stop the motion
// whatever the options say. Values that are not there are passed over; a range
// that shares nothing with the joint's own leaves the place nearest to it.
func (l *Linkage) WithLimits(limits map[int]kinematics.Range) *Linkage {
	n := l.clone()
	n.drivers, n.follow, n.at = l.drivers, l.follow, l.at
	n.o.HoldLimits = true
	n.freedoms = slices.Clone(l.freedoms)
	for v, r := range limits { // each by itself: the order does not matter
		if v < 0 || v >= len(n.freedoms) || r.Check() != nil {
			continue
		}
		own := n.freedoms[v].limits
		n.freedoms[v].limits = kinematics.Range{Lower: own.Clamp(r.Lower), Upper: own.Clamp(r.Upper)}
	}
	return n
}

func (l *Linkage) clone() *Linkage {
	return &Linkage{
		tree: l.tree, closings: l.closings, values: l.values, links: l.links, loops: l.loops, freedoms: l.freedoms,
		active: l.active, column: l.column, rank: l.rank, o: l.o,
	}
}

// NumValues returns how many values the linkage has: those of the tree, which
// Tree.FK takes, then those of the closing joints.
func (l *Linkage) NumValues() int { return l.values }

// NumLoops returns how many loops there are: one for each closing joint.
func (l *Linkage) NumLoops() int { return len(l.loops) }

// Tree returns the tree that the linkage was made of.
func (l *Linkage) Tree() *kinematics.Tree { return l.tree }

// Zero returns the values of the pose as modelled.
func (l *Linkage) Zero() []float64 { return make([]float64, l.values) }

// Drivers returns the values that drive, in the order they were given.
func (l *Linkage) Drivers() []int { return slices.Clone(l.drivers) }

// Followers returns the values that Solve finds, ascending.
func (l *Linkage) Followers() []int { return slices.Clone(l.follow) }

// InLoop reports whether the value takes part in a loop.
func (l *Linkage) InLoop(value int) bool {
	return value >= 0 && value < l.values && l.column[value] >= 0
}

// ValueIndex returns where the values of a joint stand: tree joints by their
// number, then the closing joints.
func (l *Linkage) ValueIndex(joint int) (first, count int) {
	if joint < l.tree.NumJoints() {
		return l.tree.ValueIndex(joint)
	}
	r := &l.loops[joint-l.tree.NumJoints()]
	return r.first, r.count
}

// JointOf returns the joint that a value belongs to: tree joints by their
// number, then the closing joints.
func (l *Linkage) JointOf(value int) int { return l.freedoms[value].joint }

// Joint returns a copy of a joint, counted as JointOf does.
func (l *Linkage) Joint(joint int) kinematics.Joint {
	if joint < l.tree.NumJoints() {
		return l.tree.Joint(joint)
	}
	return l.closings[joint-l.tree.NumJoints()].Joint
}

// Find returns the first value of the first joint of that name, or -1.
func (l *Linkage) Find(name string) int {
	for v, f := range l.freedoms {
		if l.Joint(f.joint).Name == name {
			return v
		}
	}
	return -1
}

// name names the joint of a value for a message.
func (l *Linkage) name(value int) string {
	return jointName(l.Joint(l.freedoms[value].joint), l.freedoms[value].joint)
}

func jointName(j kinematics.Joint, i int) string {
	if j.Name != "" {
		return fmt.Sprintf("%q", j.Name)
	}
	return fmt.Sprintf("joint %d", i)
}

// limits returns the limits of a value.
func (l *Linkage) limits(value int) kinematics.Range {
	return l.freedoms[value].limits
}

// amount writes a value for a message, with its unit.
func (l *Linkage) amount(value int, v float64) string {
	if l.freedoms[value].length {
		return l.length(v)
	}
	return angleText(v)
}

func (l *Linkage) length(v float64) string {
	if l.o.Unit == "" {
		return fmt.Sprintf("%.4g", v)
	}
	return fmt.Sprintf("%.4g %s", v, l.o.Unit)
}

func angleText(v float64) string { return fmt.Sprintf("%.4g deg", v*180/math.Pi) }

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

// tolerance and misfit are the options with their defaults.
func (o Options) tolerance() float64 {
	if o.Tolerance > 0 {
		return o.Tolerance
	}
	return 2e-3
}

func (o Options) misfit() float64 {
	if o.Misfit > 0 {
		return o.Misfit
	}
	return 0.02
}

// snap is the singular value that a linkage has where it comes nearest to flat
// when its lengths are off by Options.Snap: it grows with the root.
func (o Options) snap() float64 {
	if o.Snap > 0 {
		return max(flat, 1.5*math.Sqrt(o.Snap))
	}
	return flat
}

// centre returns the middle of the points and the distance of the farthest.
func centre(points []r3.Vec) (r3.Vec, float64) {
	var c r3.Vec
	for _, p := range points { // about the first point, so that no digits are lost far out
		c = r3.Add(c, r3.Scale(1/float64(len(points)), r3.Sub(p, points[0])))
	}
	c = r3.Add(c, points[0])
	far := 0.0
	for _, p := range points {
		far = max(far, r3.Norm(r3.Sub(p, c)))
	}
	return c, far
}
