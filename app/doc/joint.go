package doc

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit"
	"pintle/fit/mesh"
	"pintle/kinematics"
)

// JointOptions say what of a new joint is given; the rest is guessed.
type JointOptions struct {
	Name   string          // "": the child part's
	Kind   kinematics.Kind // "": revolute, or spherical where the datum is a sphere
	Recipe DatumRecipe     // zero: by Suggest
	Child  string          // "": the part that most of the pick lies on
	Parent string          // "": see World; else guessed
	World  bool            // the parent is the world
}

// ProposeJoint makes a joint from picks on its housing: the datum fitted to
// them, the hinge along the datum's axis with its origin in the middle of the
// housing, the child part they lie on, and as parent the part that touches
// the housing most, or else lies nearest to it. The document is not changed;
// Document.AddJoint takes the result.
func (s *Session) ProposeJoint(picks []Pick, o JointOptions) (Joint, error) {
	picks = mergePicks(picks)
	j := Joint{Name: o.Name, Kind: o.Kind, Picks: picks, Recipe: o.Recipe, Letters: kinematics.DenavitHartenberg()}
	var err error
	if j.Recipe == (DatumRecipe{}) {
		if j.Recipe, err = s.Suggest(picks); err != nil {
			return Joint{}, err
		}
	}
	if j.Datum, err = s.FitPicks(picks, j.Recipe); err != nil {
		return Joint{}, err
	}
	if j.Kind == "" {
		j.Kind = kindFor(j.Datum)
	}
	if j.Child = o.Child; j.Child == "" {
		if j.Child, err = s.pickedPart(picks); err != nil {
			return Joint{}, err
		}
	}
	if _, err := s.Doc.mustPart(j.Child); err != nil {
		return Joint{}, err
	}
	if j.Spec, err = s.specFor(j); err != nil {
		return Joint{}, err
	}
	if j.Parent = o.Parent; j.Parent == "" && !o.World {
		if j.Parent, err = s.GuessParent(j.Child, picks); err != nil {
			return Joint{}, err
		}
	}
	if j.Name == "" {
		j.Name = s.Doc.FreeJointName(j.Child)
	}
	if j.Frame, err = s.BuildFrame(j); err != nil {
		return Joint{}, err
	}
	return j, nil
}

// kindFor returns what a joint on a housing of that shape most likely is.
func kindFor(d fit.Datum) kinematics.Kind {
	if d.Kind == fit.Sphere {
		return kinematics.Spherical
	}
	return kinematics.Revolute
}

// specFor returns the plain frame recipe of a joint's datum. A ball gives a
// ball joint its centre alone: the hinge then stands square to the line from
// there to the middle of the child, so that reach runs along the child.
func (s *Session) specFor(j Joint) (kinematics.FrameSpec, error) {
	if j.Datum.Kind != fit.Sphere || !j.Kind.Leans() {
		return specOf(j.Datum, j.Recipe)
	}
	along := r3.Vec{X: 1}
	if i := s.Doc.PartIndex(j.Child); i >= 0 {
		if c, ok := centroid(s.Parts[i].Mesh); ok {
			// A child that is all round the ball has no direction to tell.
			if d := r3.Sub(c, j.Datum.Origin); r3.Norm(d) > 1e-6*j.Datum.Radius {
				along = r3.Unit(d)
			}
		}
	}
	return kinematics.FrameSpec{Datum: kinematics.Axis{Point: j.Datum.Origin, Dir: kinematics.Perpendicular(along)}}, nil
}

// specOf returns the plain frame recipe of a datum: on its axis, in the middle
// of what the points cover. A fitted axis has no sense of its own, so its
// largest component is made positive; one drawn from a first pick to a second
// keeps its sense.
func specOf(d fit.Datum, r DatumRecipe) (kinematics.FrameSpec, error) {
	axis, err := HingeAxis(d)
	if err != nil {
		return kinematics.FrameSpec{}, err
	}
	spec := kinematics.FrameSpec{Datum: axis, Slide: (d.Extent[0] + d.Extent[1]) / 2}
	spec.Flip = r.Method == LeastSquares && largest(axis.Dir) < 0
	return spec, nil
}

// largest returns the component of v that is largest without its sign.
func largest(v r3.Vec) float64 {
	m := v.X
	for _, c := range []float64{v.Y, v.Z} {
		if math.Abs(c) > math.Abs(m) {
			m = c
		}
	}
	return m
}

// BuildFrame returns a joint's frame by its recipe, among the document's other
// joints.
func (s *Session) BuildFrame(j Joint) (kinematics.Frame, error) {
	around := s.surroundings(j)
	around.Frame = func(name string) (kinematics.Frame, bool) {
		if i := s.Doc.JointIndex(name); i >= 0 && name != j.Name {
			return s.Doc.Joints[i].Frame, true
		}
		return kinematics.Frame{}, false
	}
	return kinematics.Build(j.Spec, around)
}

// Refit returns the joint with its datum fitted again to its picks, by another
// recipe if the caller changed it, and its frame built on the new datum. What
// the user chose about the frame stays: the flip, the slide measured from the
// middle of the housing, what reach and roll aim at.
func (s *Session) Refit(j Joint) (Joint, error) {
	d, err := s.FitPicks(j.Picks, j.Recipe)
	if err != nil {
		return j, err
	}
	fitted := j
	fitted.Datum = d
	spec, err := s.specFor(fitted)
	if err != nil {
		return j, err
	}
	if d.Axis == (r3.Vec{}) && j.Spec.Datum.Dir != (r3.Vec{}) {
		spec.Datum.Dir = j.Spec.Datum.Dir // no datum's, so a new one does not change it
	}
	middle := (j.Datum.Extent[0] + j.Datum.Extent[1]) / 2
	slid := j.Spec.Slide - middle
	if j.Spec.Datum.Dir != (r3.Vec{}) {
		sense := r3.Dot(spec.Datum.Dir, j.Spec.Datum.Dir) < 0
		spec.Flip = j.Spec.Flip != sense
		if sense {
			slid = -slid
		}
	}
	spec.Slide += slid
	spec.Reach, spec.Roll = j.Spec.Reach, j.Spec.Roll
	j.Datum, j.Spec, j.Accepted = d, spec, false
	if j.Frame, err = s.BuildFrame(j); err != nil {
		return j, err
	}
	return j, nil
}

// pickedPart returns the part that most picked vertices belong to, the first
// of several with as many.
func (s *Session) pickedPart(picks []Pick) (string, error) {
	best, most := -1, 0
	votes := make([]int, len(s.Parts))
	for _, p := range picks {
		for _, on := range s.Where(p) {
			votes[on.Part] += len(pickedVertices(s.Parts[on.Part].Mesh, on.Elements))
		}
	}
	for i, n := range votes {
		if n > most {
			best, most = i, n
		}
	}
	if best < 0 {
		return "", errors.New("what is picked belongs to no part")
	}
	return s.Doc.Parts[best].Name, nil
}

// GuessParent returns the part that a housing on the child most likely turns
// in: of the parts that do not hang on the child, the one that is near most of
// the housing's points, or else the nearest one; "" where there is none.
func (s *Session) GuessParent(child string, picks []Pick) (string, error) {
	points, err := s.PickPoints(picks)
	if err != nil {
		return "", err
	}
	if len(points) == 0 {
		return "", errors.New("nothing is picked")
	}
	points = thin(points, maxProbes)
	near := touchReach(points)
	barred := s.below(child)
	best, most, nearest := -1, 0, math.Inf(1)
	for i, p := range s.Parts {
		if barred[p.Name] {
			continue
		}
		n, d := proximity(p.Mesh, points, near)
		if n > most || n == most && d < nearest {
			best, most, nearest = i, n, d
		}
	}
	if best < 0 {
		return "", nil
	}
	return s.Parts[best].Name, nil
}

// maxProbes bounds how many points of a housing are held against other parts.
const maxProbes = 2000

// thin returns at most n of the points, evenly spread over the list.
func thin(points []r3.Vec, n int) []r3.Vec {
	if len(points) <= n {
		return points
	}
	out := make([]r3.Vec, n)
	for i := range out {
		out[i] = points[i*len(points)/n]
	}
	return out
}

// touchReach is the gap within which a housing counts as touching: two percent
// of its size covers a fit's clearance and the facets of both sides.
func touchReach(points []r3.Vec) float64 { return 0.02 * extentOf(points) }

// extentOf returns the diagonal of the box round the points. (r3.Box.Union
// leaves boxes without volume out, so it cannot be used.)
func extentOf(points []r3.Vec) float64 {
	if len(points) == 0 {
		return 0
	}
	lo, hi := points[0], points[0]
	for _, p := range points {
		lo = r3.Vec{X: min(lo.X, p.X), Y: min(lo.Y, p.Y), Z: min(lo.Z, p.Z)}
		hi = r3.Vec{X: max(hi.X, p.X), Y: max(hi.Y, p.Y), Z: max(hi.Z, p.Z)}
	}
	return r3.Norm(r3.Sub(hi, lo))
}

// proximity returns how many points lie within reach of the mesh's surface and
// the least distance of any.
func proximity(m *mesh.Mesh, points []r3.Vec, reach float64) (within int, least float64) {
	least = math.Inf(1)
	for _, p := range points {
		_, _, d := m.BVH().Closest(p)
		if d <= reach {
			within++
		}
		least = min(least, d)
	}
	return within, least
}

// below returns the names of the part and of all parts that hang on it.
func (s *Session) below(part string) map[string]bool {
	set := map[string]bool{part: true}
	for grown := true; grown; {
		grown = false
		for _, j := range s.Doc.Joints {
			if set[j.Parent] && !set[j.Child] && !j.Closes {
				set[j.Child], grown = true, true
			}
		}
	}
	return set
}

// MovingParts returns the numbers of the parts that a joint moves, its child
// and everything below with what rides on them, and of all others, both
// rising. Of a joint in a loop these are what moves with its child and what
// stays with its parent; parts that the loop moves otherwise are neither.
func (s *Session) MovingParts(j Joint) (moving, still []int) {
	if moving, still, ok := s.loopParts(j); ok {
		return moving, still
	}
	set := s.below(j.Child)
	riders := s.Riders()
	for i := range s.Doc.Parts {
		root := i
		for riders[root] >= 0 {
			root = riders[root]
		}
		if set[s.Doc.Parts[root].Name] {
			moving = append(moving, i)
		} else {
			still = append(still, i)
		}
	}
	return moving, still
}

// ChangeJoint returns the document with a joint changed by f and with every
// frame built anew, as the window does for each change of a joint's form.
func (s *Session) ChangeJoint(name string, f func(Joint) Joint) (Document, error) {
	d, err := s.Doc.EditJoint(name, f)
	if err != nil {
		return s.Doc, err
	}
	return s.rebuilt(d)
}

// TakeJoint returns the document with a new joint added, its own frame and
// every other one built anew, since the parent's reach may now point at it. A
// joint whose child hangs on another part already closes a loop.
func (s *Session) TakeJoint(j Joint) (Document, error) {
	j.Closes = j.Closes || s.Doc.wouldClose(j)
	frame, err := s.BuildFrame(j)
	if err != nil {
		return s.Doc, err
	}
	j.Frame = frame
	d, err := s.Doc.AddJoint(j)
	if err != nil {
		return s.Doc, err
	}
	return s.rebuilt(d)
}

// DropJoint returns the document without a joint and with every frame built
// anew.
func (s *Session) DropJoint(name string) (Document, error) {
	d, err := s.Doc.RemoveJoint(name)
	if err != nil {
		return s.Doc, err
	}
	return s.rebuilt(d)
}

func (s *Session) rebuilt(d Document) (Document, error) {
	next, err := s.With(d)
	if err != nil {
		return s.Doc, err
	}
	built, err := next.RebuildFrames()
	if err != nil {
		return s.Doc, err
	}
	return built, nil
}
