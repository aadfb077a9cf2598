package doc

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/app/job"
	"pintle/fit"
	"pintle/fit/mesh"
	"pintle/kinematics"
	"pintle/kinematics/contact"
)

// MotionInput is what the motion of a hinge, slider or screw is computed from.
// It needs no document.
type MotionInput struct {
	Parts         []mesh.Part
	Moving, Still []int // numbers of parts
	// Poses are where all parts stand at value 0, nil: as modelled.
	Poses []kinematics.Transform
	Axis  kinematics.Axis
	Kind  kinematics.Kind // "": revolute
	Pitch float64         // of a screw: model units per radian
	// Range is how far contact is sought; zero: a full turn either way, for sliders
	// and screws any way.
	Range kinematics.Range
	// Housings of a hinge are measured for runout, and so are the turned surfaces of the
	// Watched parts, as TurnedSurfaces finds them. With both nil the moving parts
	// that meet still ones as modelled are watched, or all where none does.
	Housings []PartHousing
	Watched  []int
	Reach    r3.Vec // angle 0 of runout profiles; zero: any
	// Tolerance is the overlap that counts as touching, in model units; 0: the
	// default of package contact.
	Tolerance float64
	// Samples is how many samples the clearance curve may have, MostSamples where
	// time allows; 0: no curve.
	Samples int
	// Error is how exact the curve has to be, in model units; 0: 1e-4 of the
	// diagonal of all parts.
	Error float64
	// Margin is what suggested limits are to keep from contact, nil: none are; Own are
	// the joint's limits, nil: it has none.
	Margin *contact.Margin
	Own    *kinematics.Range
}

// PartHousing is a housing with the name of the part that it is on.
type PartHousing struct {
	Part string
	kinematics.Housing
}

// Motion is what moving a joint of one freedom shows. Part numbers in Free are
// those of the input's Moving and Still lists; values are radians, of a slider
// model units.
type Motion struct {
	Axis          kinematics.Axis
	Kind          kinematics.Kind
	Pitch         float64
	Size          float64 // diagonal of the moving parts, model units
	Moving, Still []int
	Poses         []kinematics.Transform // of all parts at value 0, nil: as modelled
	Searched      kinematics.Range
	Free          contact.Result
	Runout        []PartRunout // of each housing
	// Curve is the clearance over Shown with its certified error and its minima, nil
	// where none was asked for. Bodies in it are places in Moving and Still.
	Curve *contact.Curve
	// CurveAsked is the error that the curve was to have, model units.
	CurveAsked float64
	// Holding is which limits hold, nil where no margin was given.
	Holding *Holding
	// Loop is what the closed loop shows that the joint drives, nil for others.
	Loop          *LoopMotion
	BuildTime     time.Duration
	FreeRangeTime time.Duration
}

// PartRunout is the runout of one housing.
type PartRunout struct {
	PartHousing
	kinematics.Runout
}

// Freedom returns what the motion's values mean.
func (m *Motion) Freedom() kinematics.Freedom { return m.Kind.Freedom(0) }

// FullTurn is the range that contact is sought in where nothing else is said.
func FullTurn() kinematics.Range { return kinematics.Range{Lower: -2 * math.Pi, Upper: 2 * math.Pi} }

// ErrNothingStill is the error of a motion in which everything moves.
var ErrNothingStill = errors.New("every part moves: there is nothing to meet")

// ComputeMotion moves the moving parts about or along the axis: free range, a
// hinge's runout and clearance. It fails where the input makes no sense and when
// ctx is done.
func ComputeMotion(ctx context.Context, in MotionInput, progress job.Progress) (*Motion, error) {
	m, scene, err := newMotion(ctx, &in, progress)
	if err != nil {
		return nil, err
	}
	if err := m.find(ctx, scene, in, progress); err != nil {
		return nil, err
	}
	return m, nil
}

// newMotion checks and completes the input and prepares the search for contacts.
func newMotion(ctx context.Context, in *MotionInput, progress job.Progress) (*Motion, *contact.Scene, error) {
	if in.Kind == "" {
		in.Kind = kinematics.Revolute
	}
	if in.Range == (kinematics.Range{}) {
		if in.Range = kinematics.Unlimited(); in.Kind == kinematics.Revolute {
			in.Range = FullTurn()
		}
	}
	if !in.Range.Contains(0) {
		unit := ""
		if in.Kind.Turns() {
			unit = " degrees"
		}
		f := in.Kind.Freedom(0)
		return nil, nil, fmt.Errorf("the range from %.6g to %.6g%s must hold 0, the pose as modelled",
			toFile(f, in.Range.Lower), toFile(f, in.Range.Upper), unit)
	}
	if len(in.Still) == 0 {
		return nil, nil, ErrNothingStill
	}
	axis, err := kinematics.NewAxis(in.Axis.Point, in.Axis.Dir)
	if err != nil {
		return nil, nil, err
	}
	out := &Motion{
		Axis: axis, Kind: in.Kind, Pitch: in.Pitch, Moving: in.Moving, Still: in.Still, Searched: in.Range,
		Size: sizeOf(in.Parts, in.Moving), Poses: in.Poses,
	}
	by := contact.Motion{Axis: axis, Kind: in.Kind, Pitch: in.Pitch}
	start := time.Now()
	scene, err := contact.NewScene(ctx, in.bodies(in.Moving), in.bodies(in.Still), by,
		contact.Options{Tolerance: in.Tolerance, Progress: job.Stage(progress, 0, 0.3)})
	out.BuildTime = time.Since(start)
	return out, scene, err
}

// find fills in free range, runout and clearance.
func (m *Motion) find(ctx context.Context, scene *contact.Scene, in MotionInput, progress job.Progress) (err error) {
	start := time.Now()
	tell(progress, 0.3, "Seeking contact")
	if m.Free, err = scene.FreeRange(ctx, in.Range); err != nil {
		return err
	}
	m.FreeRangeTime = time.Since(start)
	if in.Margin != nil {
		if m.Holding, err = holding(ctx, scene, in.Own, m.Free, *in.Margin); err != nil {
			return err
		}
	}
	if in.Kind == kinematics.Revolute {
		tell(progress, 0.5, "Measuring runout")
		if err := m.measure(ctx, in); err != nil {
			return err
		}
	}
	if in.Samples > 0 {
		tell(progress, 0.6, "Measuring clearance")
		if err := m.clear(ctx, scene, in, job.Stage(progress, 0.6, 1)); err != nil {
			return err
		}
	}
	tell(progress, 1, "Done")
	return nil
}

func tell(progress job.Progress, done float64, what string) {
	if progress != nil {
		progress(done, what)
	}
}

// sizeOf returns the diagonal of the box round some of the parts.
func sizeOf(parts []mesh.Part, list []int) float64 {
	var corners []r3.Vec
	for _, p := range list {
		if len(parts[p].Mesh.Triangles()) > 0 {
			box := parts[p].Mesh.Bounds()
			corners = append(corners, box.Min, box.Max)
		}
	}
	return extentOf(corners)
}

func (in *MotionInput) bodies(list []int) []contact.Body {
	out := bodies(in.Parts, list)
	for i, p := range list {
		if in.Poses != nil {
			out[i].Pose = in.Poses[p]
		}
	}
	return out
}

func bodies(parts []mesh.Part, list []int) []contact.Body {
	out := make([]contact.Body, len(list))
	for i, p := range list {
		out[i] = contact.Body{Name: parts[p].Name, Mesh: parts[p].Mesh}
	}
	return out
}

// measure fills in the runout of the housings.
func (m *Motion) measure(ctx context.Context, in MotionInput) error {
	housings, watched := slices.Clone(in.Housings), in.Watched
	if housings == nil && watched == nil {
		watched = m.meeting()
	}
	for _, i := range watched {
		p := in.Parts[i]
		patches, err := TurnedSurfaces(ctx, p.Mesh, m.Axis)
		if err != nil {
			return err
		}
		if patches = unmeasured(p.Mesh, patches, in.Housings); len(patches) > 0 {
			housings = append(housings, PartHousing{Part: p.Name, Housing: kinematics.Housing{Mesh: p.Mesh, Patches: patches}})
		}
	}
	for _, h := range housings {
		r, err := kinematics.MeasureRunout(ctx, h.Housing, m.Axis, kinematics.RunoutOptions{Zero: in.Reach})
		if err != nil {
			return fmt.Errorf("part %q: %w", h.Part, err)
		}
		m.Runout = append(m.Runout, PartRunout{PartHousing: h, Runout: r})
	}
	return nil
}

// meeting returns the moving parts that meet still ones as modelled: the hinge
// is between these. Parts further out have hinges of their own, whose housings
// may lie about this axis by chance. Where nothing meets, all may be meant.
func (m *Motion) meeting() []int {
	var list []int
	for i, p := range m.Moving {
		if slices.ContainsFunc(m.Free.Rest, func(r contact.Rest) bool { return r.Moving == i }) {
			list = append(list, p)
		}
	}
	if len(list) == 0 {
		return m.Moving
	}
	return list
}

// FreeRange returns the free range, with infinite ends where nothing stops the
// part within the searched range.
func (m *Motion) FreeRange() kinematics.Range {
	r := kinematics.Range{Lower: math.Inf(-1), Upper: math.Inf(1)}
	if e := m.Free.Lower; e != nil {
		r.Lower = e.Value
	}
	if e := m.Free.Upper; e != nil {
		r.Upper = e.Value
	}
	return r
}

// Shown returns the range that a curve over the value is drawn for: the free
// range, cut where nothing stops the part earlier: to half a turn either way, for
// a slider to the moving parts' own size.
func (m *Motion) Shown() kinematics.Range {
	r := m.FreeRange()
	far := math.Pi
	if !m.Freedom().Turns {
		far = m.Size
	}
	for _, end := range []struct {
		v    *float64
		most float64
	}{{&r.Lower, max(m.Searched.Lower, -far)}, {&r.Upper, min(m.Searched.Upper, far)}} {
		if math.IsInf(*end.v, 0) {
			*end.v = end.most
		}
	}
	return r
}

// MotionOptions steer Session.Motion.
type MotionOptions struct {
	Tolerance float64 // see MotionInput
	Samples   int     // see MotionInput
	Error     float64 // see MotionInput
}

// Motion computes the motion of a hinge, slider or screw with everything below
// it, all other joints as modelled. A hinge's runout is measured on the picked
// housing; where no faces belong to the pick, on the turned surfaces that are
// found.
func (s *Session) Motion(ctx context.Context, joint string, o MotionOptions, progress job.Progress) (*Motion, error) {
	i, err := s.Doc.mustJoint(joint)
	if err != nil {
		return nil, err
	}
	in, err := s.MotionInput(s.Doc.Joints[i])
	if err != nil {
		return nil, err
	}
	in.Tolerance, in.Samples, in.Error = o.Tolerance, o.Samples, o.Error
	m, err := ComputeMotion(ctx, in, job.Stage(progress, 0, 0.9))
	if err == nil {
		m, err = s.withLoop(ctx, s.Doc.Joints[i], m, job.Stage(progress, 0.9, 1))
	}
	if err != nil {
		return nil, fmt.Errorf("the motion of joint %q: %w", joint, err)
	}
	return m, nil
}

// MotionOf is Motion for a joint that is not in the document yet: what a pick
// would give.
func (s *Session) MotionOf(ctx context.Context, j Joint, o MotionOptions, progress job.Progress) (*Motion, error) {
	in, err := s.MotionInput(j)
	if err != nil {
		return nil, err
	}
	in.Tolerance, in.Samples, in.Error = o.Tolerance, o.Samples, o.Error
	m, err := ComputeMotion(ctx, in, job.Stage(progress, 0, 0.9))
	if err != nil {
		return nil, err
	}
	return s.withLoop(ctx, j, m, job.Stage(progress, 0.9, 1))
}

// MotionInput returns what the motion of a joint is computed from.
func (s *Session) MotionInput(j Joint) (MotionInput, error) {
	if n := j.Kind.Freedoms(); n > 1 {
		return MotionInput{}, fmt.Errorf("joint %q %s", j.Name, unprovenText(n))
	}
	if j.Kind == kinematics.Fixed {
		return MotionInput{}, fmt.Errorf("joint %q is fixed: nothing moves", j.Name)
	}
	in := MotionInput{Parts: s.Parts, Axis: j.Frame.Axis(), Reach: j.Frame.Reach, Kind: j.Kind, Pitch: j.Pitch}
	in.Moving, in.Still = s.MovingParts(j)
	if j.Kind != kinematics.Revolute {
		return in, nil
	}
	var err error
	in.Housings, err = s.Housing(j)
	// A hinge picked on one part must hold for the other one's housing too.
	in.Watched = []int{s.Doc.PartIndex(j.Child)}
	return in, err
}

// unprovenText says why the contacts of a joint of several freedoms are not
// known.
func unprovenText(freedoms int) string {
	return fmt.Sprintf("moves in %d ways at once: contacts are found for each by itself, not for all of them together", freedoms)
}

// unmeasured returns the patches of a mesh that share no triangle with a
// housing's.
func unmeasured(m *mesh.Mesh, patches [][]int32, housings []PartHousing) [][]int32 {
	taken := map[int32]bool{}
	for _, h := range housings {
		if h.Mesh != m {
			continue
		}
		for _, p := range h.Patches {
			for _, t := range p {
				taken[t] = true
			}
		}
	}
	return slices.DeleteFunc(patches, func(p []int32) bool {
		return slices.ContainsFunc(p, func(t int32) bool { return taken[t] })
	})
}

// DatumAxis returns the axis of the joint's datum with the middle of the housing
// as its point.
func (j Joint) DatumAxis() (kinematics.Axis, bool) { return datumAxis(j.Datum) }

func datumAxis(d fit.Datum) (kinematics.Axis, bool) {
	axis, err := HingeAxis(d)
	if err != nil {
		return axis, false
	}
	axis.Point = axis.At((d.Extent[0] + d.Extent[1]) / 2)
	return axis, true
}
