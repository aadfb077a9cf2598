package region

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"pintle/kinematics"
	"pintle/kinematics/contact"
	"pintle/kinematics/internal/task"
)

// Fork is how far a universal joint can turn about its side at one turn about
// its hinge.
type Fork struct {
	About        float64          // the turn about the hinge
	Side         kinematics.Range // within Options.Lean either way
	Lower, Upper *contact.Event   // what ends it; nil: nothing does
}

// Universal is the region of turns of a universal joint that can be reached by
// turning about the hinge first and about the side then.
type Universal struct {
	Frame        kinematics.Frame
	Forks        []Fork         // by rising turn about the hinge
	Lower, Upper *contact.Event // what ends the turn about the hinge; nil: nothing does
	// Off is how far interpolation was off at most where it was looked at last.
	Off float64
}

// FindUniversal finds the free region of a universal joint, with turns added as
// by FindBall. The turn about the hinge is looked at within Options.Lean either
// way. It returns an error as FindBall does.
func FindUniversal(ctx context.Context, in Input, o Options) (*Universal, error) {
	o, err := o.filled()
	if err != nil {
		return nil, fmt.Errorf("free region of a universal joint: %w", err)
	}
	if err := in.check(); err != nil {
		return nil, fmt.Errorf("free region of a universal joint: %w", err)
	}
	f := forkFinder{in: in, o: o, ctx: ctx}
	u, err := f.run()
	if err != nil {
		return nil, fmt.Errorf("free region of a universal joint: %w", err)
	}
	return u, nil
}

type forkFinder struct {
	in    Input
	o     Options
	ctx   context.Context
	forks []Fork
}

func (f *forkFinder) run() (*Universal, error) {
	u := &Universal{Frame: f.in.Frame}
	s, err := f.in.turning(f.ctx, kinematics.Identity(), f.in.about(f.in.Frame.Hinge), f.o)
	if err != nil {
		return nil, err
	}
	r, err := s.FreeRange(f.ctx, kinematics.Range{Lower: -f.o.Lean, Upper: f.o.Lean})
	if err != nil {
		return nil, err
	}
	u.Lower, u.Upper = r.Lower, r.Upper
	over := kinematics.Range{Lower: -f.o.Lean, Upper: f.o.Lean}
	// Short of the contact, at which parts touch.
	const short = 1 - 1e-6
	if r.Lower != nil {
		over.Lower = short * r.Lower.Value
	}
	if r.Upper != nil {
		over.Upper = short * r.Upper.Value
	}
	var list []float64
	for i := range f.o.First + 1 {
		s := float64(i) / float64(f.o.First)
		list = append(list, over.Lower*(1-s)+over.Upper*s)
	}
	if !slices.Contains(list, 0) {
		list = append(list, 0)
	}
	slices.Sort(list)
	list = slices.Compact(list)
	if err := f.add(list); err != nil {
		return nil, err
	}
	open := list[:len(list)-1]
	for len(open) > 0 && len(f.forks) < f.o.Most {
		var off float64
		if open, off, err = f.refine(open); err != nil {
			return nil, err
		}
		u.Off = max(u.Off, off)
	}
	u.Forks = f.forks
	return u, nil
}

// refine looks into the middle of the gaps that start at the given turns and
// returns the starts of those to look into next, and how far off the others were.
func (f *forkFinder) refine(open []float64) (next []float64, off float64, err error) {
	before := Universal{Forks: slices.Clone(f.forks)}
	mids := make([]float64, len(open))
	for i, a := range open {
		k := before.index(a)
		mids[i] = (before.Forks[k].About + before.Forks[k+1].About) / 2
	}
	if err := f.add(mids); err != nil {
		return nil, 0, err
	}
	after := Universal{Forks: f.forks}
	for i, a := range open {
		want, got := before.At(mids[i]), after.At(mids[i])
		by := max(math.Abs(got.Lower-want.Lower), math.Abs(got.Upper-want.Upper))
		if by <= f.o.Error || mids[i]-a <= narrowest {
			off = max(off, by)
			continue
		}
		next = append(next, a, mids[i])
	}
	return next, off, nil
}

// add finds the limits at turns about the hinge.
func (f *forkFinder) add(turns []float64) error {
	found := make([]Fork, len(turns))
	err := task.InTwo(len(turns), func(i int) error {
		at := kinematics.Rotation(f.in.about(f.in.Frame.Hinge), turns[i])
		s, err := f.in.turning(f.ctx, at, f.in.about(at.Turn(f.in.Frame.Side())), f.o)
		if err != nil {
			return err
		}
		limit := kinematics.Range{Lower: -f.o.Lean, Upper: f.o.Lean}
		r, err := s.FreeRange(f.ctx, limit)
		if err != nil {
			return err
		}
		found[i] = Fork{About: turns[i], Side: limit, Lower: r.Lower, Upper: r.Upper}
		if r.Lower != nil {
			found[i].Side.Lower = r.Lower.Value
		}
		if r.Upper != nil {
			found[i].Side.Upper = r.Upper.Value
		}
		return nil
	}, func(done int) {
		f.o.report(float64(done+len(f.forks))/float64(max(len(turns)+len(f.forks), f.o.Most/4)), "turning about both axes")
	})
	if err != nil {
		return err
	}
	f.forks = append(f.forks, found...)
	slices.SortFunc(f.forks, func(a, b Fork) int { return cmp.Compare(a.About, b.About) })
	return nil
}

// index returns the index of the fork at a turn, or of the last before it, but
// for the last of all.
func (u *Universal) index(about float64) int {
	i, found := slices.BinarySearchFunc(u.Forks, about, func(f Fork, a float64) int { return cmp.Compare(f.About, a) })
	if !found {
		i--
	}
	return min(max(i, 0), max(len(u.Forks)-2, 0))
}

// At returns the limits about the side at a turn about the hinge, interpolated;
// beyond the first and the last fork those of these.
func (u *Universal) At(about float64) kinematics.Range {
	i := u.index(about)
	a := &u.Forks[i]
	if len(u.Forks) == 1 || about <= a.About {
		return a.Side
	}
	b := &u.Forks[i+1]
	if about >= b.About {
		return b.Side
	}
	s := (about - a.About) / (b.About - a.About)
	return kinematics.Range{Lower: (1-s)*a.Side.Lower + s*b.Side.Lower, Upper: (1-s)*a.Side.Upper + s*b.Side.Upper}
}

// SolidAngle returns the solid angle that the reach can point into with turns
// about the side of up to a right angle, in steradians: the integral of the
// difference of the sines of the limits over the turn about the hinge, in closed
// form for the straight pieces. For constant limits a to b over a range d it is
// d (sin b - sin a).
func (u *Universal) SolidAngle() float64 {
	sum := 0.0
	clip := func(r kinematics.Range) (lower, upper float64) {
		return max(r.Lower, -math.Pi/2), min(r.Upper, math.Pi/2)
	}
	for i := 1; i < len(u.Forks); i++ {
		lowA, highA := clip(u.Forks[i-1].Side)
		lowB, highB := clip(u.Forks[i].Side)
		// The sine is the cosine of the complement.
		mean := meanCos(math.Pi/2-highA, math.Pi/2-highB) - meanCos(math.Pi/2-lowA, math.Pi/2-lowB)
		sum += (u.Forks[i].About - u.Forks[i-1].About) * mean
	}
	return sum
}
