package doc

import (
	"context"
	"fmt"
	"strings"

	"pintle/app/job"
	"pintle/kinematics"
	"pintle/kinematics/loop"
)

// LoopFacts is what can be told of a group of loops that move together.
type LoopFacts struct {
	Linkage
	Kind     string // "strut", "four-bar, crank-rocker", ... or ""
	Mobility loop.Mobility
	Misfit   loop.Misfit // the widest opening of a loop as modelled
	Drivers  []DriverFacts
}

// DriverFacts is how far one driver of a loop goes, the others held as modelled.
type DriverFacts struct {
	Driver ValueRef
	Reach  loop.Reach
	Locks  []LoopLock // where the driver moves on and another joint stands still, by rising value
	Flat   []float64  // values of the driver at which several ways lead on
}

// LoopLock is where a joint of a loop stands still: from there it could not
// drive.
type LoopLock struct {
	Joint ValueRef
	At    float64 // the driver's value
	Value float64 // the joint's
}

// LoopFacts returns what can be told of each group of loops. One that cannot
// move has its Problem alone. It fails where the joints form no tree or ctx is
// done.
func (s *Session) LoopFacts(ctx context.Context, progress job.Progress) ([]LoopFacts, error) {
	all, err := s.Linkages()
	if err != nil {
		return nil, err
	}
	out := make([]LoopFacts, len(all.List))
	for i, n := range all.List {
		tell(progress, float64(i)/float64(len(all.List)), "Following loops")
		out[i].Linkage = n
		if n.Solver == nil {
			continue
		}
		if out[i], err = loopFacts(ctx, all.Tree, n); err != nil {
			return nil, err
		}
	}
	return out, nil
}

func loopFacts(ctx context.Context, t *kinematics.Tree, n Linkage) (LoopFacts, error) {
	out := LoopFacts{Linkage: n, Kind: loopKind(n.Solver)}
	zero := n.Solver.Zero()
	var err error
	if out.Mobility, err = n.Solver.Mobility(zero); err != nil {
		return out, err
	}
	misfits, err := n.Solver.Misfits(zero)
	if err != nil {
		return out, err
	}
	for _, m := range misfits {
		if m.Length > out.Misfit.Length {
			out.Misfit = m
		}
	}
	for k, v := range n.Drivers {
		d := DriverFacts{Driver: v}
		if d.Reach, err = n.Solver.Reach(ctx, zero, k); err != nil {
			return out, fmt.Errorf("how far joint %q goes: %w", v.Joint, err)
		}
		dead, flat, err := n.Solver.DeadPoints(ctx, zero, k)
		if err != nil {
			return out, fmt.Errorf("the dead points of joint %q: %w", v.Joint, err)
		}
		at := n.Solver.Drivers()[k]
		for _, p := range dead {
			if j, freedom := t.ValueOf(p.Value); p.Value != at {
				d.Locks = append(d.Locks, LoopLock{
					Joint: ValueRef{Joint: t.Joint(j).Name, Freedom: freedom}, At: p.Drive, Value: p.Values[p.Value],
				})
			}
		}
		for _, c := range flat {
			d.Flat = append(d.Flat, c.Values[at])
		}
		out.Drivers = append(out.Drivers, d)
	}
	return out, nil
}

// loopKind names the linkages that have names.
func loopKind(l *loop.Linkage) string {
	var names []string
	for range l.Struts() {
		names = append(names, "strut")
	}
	for i := range l.NumLoops() {
		if f, _, ok := l.FourBarOf(i); ok {
			names = append(names, "four-bar, "+string(f.Class(loopSnap)))
		}
	}
	return strings.Join(names, "; ")
}

// LoopFree returns how far the first driver of a group of loops goes before
// anything of the loop meets: it proves every joint of one freedom, holds each to
// the range that contact leaves it and to its limits, and follows the loop. A
// joint that cannot be proved is not held. ok is false where the loop cannot
// move. It fails where ctx is done.
func (s *Session) LoopFree(ctx context.Context, n Linkage, progress job.Progress) (r loop.Reach, ok bool, err error) {
	if n.Solver == nil {
		return r, false, nil
	}
	free := map[string]kinematics.Range{}
	for i, name := range n.Joints {
		stage := job.Stage(progress, float64(i)/float64(len(n.Joints)), float64(i+1)/float64(len(n.Joints)))
		m, err := s.Motion(ctx, name, MotionOptions{}, stage)
		switch {
		case ctx.Err() != nil:
			return r, false, ctx.Err()
		case err == nil:
			free[name] = m.FreeInLoop()
		}
	}
	r, _, ok, err = s.LoopReach(ctx, n.Drivers[0], free)
	return r, ok, err
}

// FreeInLoop returns the free range of a joint with that of the loop that it
// drives.
func (m *Motion) FreeInLoop() kinematics.Range {
	r := m.FreeRange()
	if m.Loop != nil {
		if both, ok := r.Intersect(m.Loop.Range()); ok {
			return both
		}
	}
	return r
}
