package doc

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"pintle/kinematics"
	"pintle/kinematics/loop"
)

// loop tells what the joint's closed loop makes of it.
func (w *findingWriter) loop(m *Motion) {
	s := w.session
	if !s.Doc.HasLoops() {
		return
	}
	all, err := s.Linkages()
	if err != nil {
		return // the joints form no tree, which every edit refuses
	}
	i := all.LinkageOf(w.joint.Name)
	if i < 0 {
		return
	}
	n := all.List[i]
	if n.Solver == nil {
		w.add(Finding{Severity: Stop, Kind: LoopStuck, Text: "its loop cannot be moved: " + n.Problem.Error(), Limit: math.NaN()})
		return
	}
	for f := range w.joint.Kind.Freedoms() {
		if r, n, ok, err := s.LoopReach(context.Background(), ValueRef{Joint: w.joint.Name, Freedom: f}, nil); err == nil && ok {
			w.loopStops(f, r, n)
			w.loopOpens(f, r, n)
		}
	}
	switch {
	case m == nil:
	case m.Loop != nil:
		w.loopMeets(m.Loop)
	default:
		w.loopApart(n)
	}
}

// loopStops tells where the limits of a value cannot be reached.
func (w *findingWriter) loopStops(f int, r loop.Reach, n Linkage) {
	limit, ok := w.joint.Limit(f)
	if !ok {
		return
	}
	freedom, unit := w.joint.Kind.Freedom(f), Length
	if freedom.Turns {
		unit = Angle
	}
	for _, end := range []struct {
		name  string
		limit float64
		stop  loop.Stop
		past  bool
	}{
		{"lower", limit.Lower, r.Lower, limit.Lower < r.Range.Lower},
		{"upper", limit.Upper, r.Upper, limit.Upper > r.Range.Upper},
	} {
		slack := 1e-6 * max(1, math.Abs(end.limit))
		if !end.past || math.Abs(end.limit-end.stop.Drive) <= slack || math.IsInf(end.limit, 0) {
			continue
		}
		w.add(Finding{
			Severity: Check, Kind: LoopStops, Value: end.limit, Limit: end.stop.Drive, Unit: unit,
			Text: fmt.Sprintf("the %s limit of %s cannot be reached: the loop lets it go to %s, %s; bring the limit in",
				end.name, w.amount(freedom, end.limit), w.amount(freedom, end.stop.Drive), w.stopText(end.stop, n)),
		})
	}
}

// stopText says what ends a loop's way.
func (w *findingWriter) stopText(stop loop.Stop, n Linkage) string {
	name := n.Solver.Joint(n.Solver.JointOf(stop.Value)).Name
	switch stop.Reason {
	case loop.DeadPoint:
		return fmt.Sprintf("where %q is at its dead point", name)
	case loop.AtLimit:
		return fmt.Sprintf("where %q is at its limit", name)
	}
	return "where its way is lost"
}

// opens is how far a loop may stand open before that is worth a look: a share of
// the model's size (common practice, no published source).
const opens = 1e-4

// loopOpens tells how far the loop stands open at the ends of its reach.
func (w *findingWriter) loopOpens(f int, r loop.Reach, n Linkage) {
	driver := ValueRef{Joint: w.joint.Name, Freedom: f}
	if len(n.Drivers) == 0 || n.Drivers[0] != driver {
		return // once a linkage is enough
	}
	worst := loop.Misfit{}
	for _, stop := range []loop.Stop{r.Lower, r.Upper} {
		list, err := n.Solver.Misfits(stop.Values)
		if err != nil {
			continue
		}
		for _, m := range list {
			if m.Length > worst.Length {
				worst = m
			}
		}
	}
	b := w.session.Model.Bounds()
	limit := opens * math.Hypot(math.Hypot(b.Max.X-b.Min.X, b.Max.Y-b.Min.Y), b.Max.Z-b.Min.Z)
	if worst.Length <= limit {
		return
	}
	w.add(Finding{
		Severity: Check, Kind: LoopOpens, Value: worst.Length, Limit: limit, Unit: Length,
		Text: fmt.Sprintf("the loop opens by %s and %s on its way: its joints' axes do not quite fit one another; look at %s",
			w.len(worst.Length), AngleText(worst.Angle), strings.Join(n.Joints, ", ")),
	})
}

// loopApart names the parts that a proof of the joint leaves out, and where they
// are told of.
func (w *findingWriter) loopApart(n Linkage) {
	moving, still := w.session.MovingParts(w.joint)
	var apart []string
	for p, part := range w.session.Doc.Parts {
		if !slices.Contains(moving, p) && !slices.Contains(still, p) {
			apart = append(apart, part.Name)
		}
	}
	if len(apart) > 0 {
		w.add(Finding{
			Severity: Note, Kind: LoopApart, Parts: apart, Limit: math.NaN(),
			Text: fmt.Sprintf("%s move otherwise in the loop: joint %q, which drives it, tells where they meet", strings.Join(apart, ", "), n.Drivers[0].Joint),
		})
	}
}

// amount writes a joint value with its unit.
func (w *findingWriter) amount(f kinematics.Freedom, v float64) string {
	if f.Turns {
		return AngleText(v)
	}
	return w.len(v)
}
