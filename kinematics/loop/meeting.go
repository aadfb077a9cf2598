package loop

import (
	"context"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
	"pintle/kinematics"
)

// Body is a mesh that moves with a part, in model coordinates as modelled.
type Body struct {
	Part int
	Mesh *mesh.Mesh
}

// Meeting is where two bodies meet on a driver's way.
type Meeting struct {
	A, B   int     // numbers of the bodies
	Drive  float64 // the driver's value
	Values []float64
	Gap    float64 // the distance that is left, model units
	Point  r3.Vec  // on A, where it then stands
}

// MeetingOptions steer Meet.
type MeetingOptions struct {
	// Pairs are the bodies, by number, that may meet; nil takes all that belong to
	// different parts.
	Pairs [][2]int
	// Within is the distance that counts as meeting, in model units; 0: 1e-5 of the
	// bodies' size.
	Within float64
	// Progress may be nil; its share is the driver's way as far as Reach goes.
	Progress func(done float64, what string)
}

// Meet follows driver k from a pose in one sense (1 or -1), the other drivers
// held, and returns the first meeting of two bodies on the way, nil where there
// is none before the way ends at stop (as Reach tells). Pairs that are nearer
// than Within to begin with are left out and returned as touching: what parts of
// a joint do is for exact contact to tell. Parts move no farther in a step than
// they are apart, by their speeds at its ends with half as much again to spare,
// so a step leaps over nothing (conservative advancement: B. Mirtich, Impulse-
// based dynamic simulation, Berkeley 1996). It fails where the pose does not
// close the loops, where a body is of no part, and when ctx is done.
func (l *Linkage) Meet(ctx context.Context, from []float64, k int, sense float64, bodies []Body, o MeetingOptions) (m *Meeting, stop Stop, touching [][2]int, err error) {
	if err := l.checkDriver(from, k); err != nil {
		return nil, Stop{}, nil, err
	}
	x, err := l.newMeet(bodies, o)
	if err != nil {
		return nil, Stop{}, nil, err
	}
	end, err := l.stop(ctx, from, k, sense)
	if err != nil {
		return nil, Stop{}, nil, err
	}
	x.start, x.end = from[l.drivers[k]], end.Drive
	if math.IsInf(x.end, 0) {
		x.end = x.start + sense*2*math.Pi
	}
	x.k = k
	stop, err = l.follows(ctx, from, k, sense, walkHooks{limit: x.limit, fits: x.fits, took: x.took}, nil)
	switch {
	case x.met != nil:
		return x.met, end, x.touching, nil
	case err != nil:
		return nil, Stop{}, nil, err
	}
	return nil, stop, x.touching, nil
}

// glance is how far about itself a pair looks at once, of the bodies' size:
// farther is dearer, nearer takes more steps.
const glance = 0.01

// meet is a search for a meeting.
type meet struct {
	l          *Linkage
	bodies     []Body
	pairs      [][2]int
	apart      []float64 // of each pair: how far it is apart at least
	outset     []float64 // of each pair: how fast that shrinks where the next step begins
	speeds     []float64 // of each pair: how fast that may shrink on the next step
	touching   [][2]int
	begun      bool
	within     float64
	size       float64 // of the largest body
	o          MeetingOptions
	k          int
	start, end float64 // of the driver
	motions    []kinematics.Transform
	met        *Meeting
	squared    []*squared
}

func (l *Linkage) newMeet(bodies []Body, o MeetingOptions) (*meet, error) {
	x := &meet{l: l, bodies: bodies, o: o, within: o.Within, pairs: o.Pairs, motions: make([]kinematics.Transform, l.tree.NumParts()), squared: make([]*squared, len(bodies))}
	size := 0.0
	for i, b := range bodies {
		if b.Part < 0 || b.Part >= l.tree.NumParts() || b.Mesh == nil {
			return nil, &LinkageError{Reason: fmt.Sprintf("body %d is of part %d: the model has parts 0 to %d, and a body needs a mesh", i, b.Part, l.tree.NumParts()-1)}
		}
		size = max(size, b.Mesh.Diagonal())
	}
	x.size = size
	if x.within == 0 {
		x.within = 1e-5 * size
	}
	if !(x.within > 0) || !finite(x.within) {
		return nil, &LinkageError{Reason: fmt.Sprintf("meeting within %g: give a positive distance", x.within)}
	}
	if x.pairs == nil {
		for a := range bodies {
			for b := range a {
				if bodies[a].Part != bodies[b].Part {
					x.pairs = append(x.pairs, [2]int{b, a})
				}
			}
		}
	}
	for _, p := range x.pairs {
		for _, i := range p {
			if i < 0 || i >= len(bodies) {
				return nil, &LinkageError{Reason: fmt.Sprintf("there is no body %d: give 0 to %d", i, len(bodies)-1)}
			}
		}
	}
	return x, nil
}

// limit returns how long a step the bodies allow from the walker's place, or 0
// where two meet.
func (x *meet) limit(a *walker) float64 {
	values := a.valuesAt(a.w.y)
	x.l.tree.FKTo(x.motions, values[:x.l.tree.NumValues()])
	ahead := x.ahead(a, a.w.y, a.w.t)
	if x.o.Progress != nil && x.end != x.start {
		x.o.Progress(min(max((values[x.l.drivers[x.k]]-x.start)/(x.end-x.start), 0), 1), "Following the loop")
	}
	if !x.begun {
		x.begun = true
		x.setTouchingAside()
	}
	best := math.Inf(1)
	for i, p := range x.pairs {
		speed := x.speed(p, x.motions, ahead)
		x.outset[i] = speed
		if speed == 0 {
			continue
		}
		// What is known from before is measured again only where it would bound the
		// step.
		if need := min(min(best, a.here.reach)*speed, glance*x.size) + x.within; x.apart[i] < need {
			x.apart[i] = need
			if g, near := x.gap(p, need); near {
				x.apart[i] = g.Distance
				if g.Distance <= x.within {
					at := x.motions[x.bodies[p[0]].Part].Apply(x.body(p[0]).own.Apply(g.PA))
					x.met = &Meeting{A: p[0], B: p[1], Drive: values[x.l.drivers[x.k]], Values: values, Gap: g.Distance, Point: at}
					return 0
				}
			}
		}
		// Half of what is within is kept, so that the way ends.
		best = min(best, (x.apart[i]-x.within/2)/speed)
	}
	return max(best, shortest)
}

// shortest is the least step; shorter ones are rounding.
const shortest = 1e-8

// fits reports whether no pair can come together on the step of h from w.y to
// w.y1, by the larger of the speeds at both: a part that stands still at a dead
// point sets off on the way.
func (x *meet) fits(a *walker, h float64) bool {
	values := a.valuesAt(a.w.y1)
	there := x.l.tree.FK(values[:x.l.tree.NumValues()])
	ahead := x.ahead(a, a.w.y1, a.w.t1)
	for i, p := range x.pairs {
		x.speeds[i] = max(x.outset[i], x.speed(p, there, ahead))
		need := h*x.speeds[i] + x.within/2
		if x.apart[i] < need {
			x.apart[i] = need
			if g, near := x.gap(p, need); near {
				x.apart[i] = g.Distance
			}
		}
		// limit allows for rounding, and so must this.
		if x.apart[i] < need*(1-1e-9) && h > shortest {
			return false
		}
	}
	return true
}

// gap returns the distance of a pair where the parts stand, if below far; its
// points are as modelled on the pair's first body.
func (x *meet) gap(p [2]int, far float64) (mesh.Gap, bool) {
	a, b := x.body(p[0]), x.body(p[1])
	xAB := a.own.Inverse().Mul(x.motions[x.bodies[p[0]].Part].Inverse()).Mul(x.motions[x.bodies[p[1]].Part]).Mul(b.own)
	return mesh.Distance(a.mesh.BVH(), b.mesh.BVH(), mesh.Rigid(xAB), far)
}

func (x *meet) setTouchingAside() {
	var apart [][2]int
	for _, p := range x.pairs {
		if g, near := x.gap(p, 2*x.within); near && g.Distance <= x.within {
			x.touching = append(x.touching, p)
		} else {
			apart = append(apart, p)
		}
	}
	x.pairs = apart
	x.apart, x.outset, x.speeds = make([]float64, len(apart)), make([]float64, len(apart)), make([]float64, len(apart))
}

// took notes that the walker took a step.
func (x *meet) took(h float64) {
	for i := range x.apart {
		x.apart[i] -= h * x.speeds[i]
	}
}

// ahead returns where the parts stand a little further from y along the
// tangent t there, and leaves the walker at y.
func (x *meet) ahead(a *walker, y, t []float64) []kinematics.Transform {
	w, d := a.w, a.dims()
	for i := range d {
		w.step[i] = y[i] + nudge*t[i]
	}
	values := a.valuesAt(w.step[:d])
	a.put(y)
	return x.l.tree.FK(values[:x.l.tree.NumValues()])
}

// spare is by how much a step may find parts faster than where it began.
const spare = 1.5

// speed bounds how fast points of a pair near each other, per unit of the way:
// the fastest corner of the second body's box as the first one sees it, from
// where the parts stand to a little ahead.
func (x *meet) speed(p [2]int, at, ahead []kinematics.Transform) float64 {
	a, b := &x.bodies[p[0]], &x.bodies[p[1]]
	now := at[a.Part].Inverse().Mul(at[b.Part])
	then := ahead[a.Part].Inverse().Mul(ahead[b.Part])
	box := b.Mesh.Bounds()
	fast := 0.0
	for _, q := range box.Vertices() {
		fast = max(fast, r3.Norm(r3.Sub(then.Apply(q), now.Apply(q))))
	}
	// What is left of two equal motions is rounding.
	if fast <= 1e-9*r3.Norm(r3.Sub(box.Max, box.Min)) {
		return 0
	}
	return spare * fast / nudge
}
