package contact

import (
	"context"
	"fmt"
	"slices"

	"pintle/kinematics"
	"pintle/kinematics/internal/task"
)

// FreeRange returns the largest interval about the pose as modelled in which
// nothing moves deeper into anything than the tolerance, and what ends it. It
// looks within limit, which must hold zero and may be infinite, and for a hinge
// no further than a full turn either way, for a screw no further than a
// thousand. Of contacts at equal angles it returns that of
// the lowest body and triangle indexes. Both directions are searched at once.
func (s *Scene) FreeRange(ctx context.Context, limit kinematics.Range) (Result, error) {
	if err := limit.Check(); err != nil {
		return Result{}, fmt.Errorf("free range: %w", err)
	}
	if !limit.Contains(0) {
		return Result{}, fmt.Errorf("free range: limits %g to %g do not hold zero, the pose as modelled", limit.Lower, limit.Upper)
	}
	var ends [2]*Event
	err := task.InTwo(2, func(i int) error {
		e, err := s.first(ctx, [2]float64{-1, 1}[i], [2]float64{-limit.Lower, limit.Upper}[i])
		ends[i] = e
		return err
	}, nil)
	if err != nil {
		return Result{}, fmt.Errorf("free range: %w", err)
	}
	return Result{Lower: ends[0], Upper: ends[1], Rest: slices.Clone(s.at.rest)}, nil
}

// first returns the first contact within limit, in model terms, in direction dir, or
// nil.
func (s *Scene) first(ctx context.Context, dir, limit float64) (*Event, error) {
	stop := s.at.stopped[0]
	if dir > 0 {
		stop = s.at.stopped[1]
	}
	if stop != nil {
		e := s.event(stop, dir)
		e.Value, e.AtRest = 0, true
		return e, ctx.Err()
	}
	x := search{solver: solver{scene: s, motion: s.motion, dir: dir, best: hit{angle: s.inner(limit)}}}
	switch {
	case s.motion.hinge():
		x.best.angle = min(x.best.angle, fullTurn)
	case s.motion.turns:
		x.best.angle = min(x.best.angle, mostTurns*turn)
	}
	for m := range s.moving {
		for k := range s.still {
			x.push(int32(m), int32(k), 0, 0, 0)
		}
	}
	if err := x.run(ctx); err != nil || !x.found {
		return nil, err
	}
	return s.event(&x.best, dir), nil
}

// search is a best-first traversal of pairs of nodes.
type search struct {
	solver
	queue []nodePair // binary heap by bound
	now   []nodePair // pairs with bound zero, which come before all others
}

// nodePair is a pair of nodes whose contents meet no sooner than at bound.
type nodePair struct {
	bound         float64
	side          [2]int32
	moving, still int32
}

// mostTurns is how many turns of a screw are looked at.
const mostTurns = 1000

// push queues a pair of nodes unless its contents cannot meet before the best
// contact so far; what a screw does before the value after has been looked at.
func (x *search) push(mi, si, m, s int32, after float64) {
	ms, ss := x.scene.moving[mi], x.scene.still[si]
	if !ms.live[m] || !ss.live[s] {
		return
	}
	a, b := &ms.bounds[m], &ss.bounds[s]
	if x.motion.overlap(a, b) <= x.scene.flush {
		return
	}
	bound := x.motion.approach(a, b, x.dir, after)
	if bound > x.best.angle {
		return
	}
	p := nodePair{bound: bound, side: [2]int32{mi, si}, moving: m, still: s}
	if bound == 0 {
		x.now = append(x.now, p)
		return
	}
	x.queue = append(x.queue, p)
	up(x.queue)
}

// pop takes the pair with the least bound.
func (x *search) pop() (p nodePair, ok bool) {
	if n := len(x.now); n > 0 {
		p, x.now = x.now[n-1], x.now[:n-1]
		return p, true
	}
	n := len(x.queue)
	if n == 0 {
		return p, false
	}
	p = x.queue[0]
	x.queue[0] = x.queue[n-1]
	x.queue = x.queue[:n-1]
	down(x.queue)
	return p, true
}

func up(q []nodePair) {
	i := len(q) - 1
	for i > 0 {
		parent := (i - 1) / 2
		if q[parent].bound <= q[i].bound {
			return
		}
		q[parent], q[i] = q[i], q[parent]
		i = parent
	}
}

func down(q []nodePair) {
	i := 0
	for {
		child := 2*i + 1
		if child >= len(q) {
			return
		}
		if child+1 < len(q) && q[child+1].bound < q[child].bound {
			child++
		}
		if q[i].bound <= q[child].bound {
			return
		}
		q[i], q[child] = q[child], q[i]
		i = child
	}
}

// run pops pairs until the next bound lies beyond the best contact. What is
// left then cannot come before it: bounds are below the angles they bound by
// more than rounding, so the result does not depend on the order of the pairs.
func (x *search) run(ctx context.Context) error {
	x.mi = -1
	for steps := 0; ; steps++ {
		if steps%1024 == 0 && ctx.Err() != nil {
			return ctx.Err()
		}
		p, ok := x.pop()
		if !ok || p.bound > x.best.angle {
			return nil
		}
		if p.side[0] != x.mi || p.side[1] != x.si {
			x.bodies(p.side[0], p.side[1])
		}
		a, b := &x.m.nodes[p.moving], &x.s.nodes[p.still]
		switch {
		case a.Count > 0 && b.Count > 0:
			x.after = p.bound
			for i := a.First; i < a.First+a.Count; i++ {
				for j := b.First; j < b.First+b.Count; j++ {
					x.pair(i, j)
				}
			}
			if x.screws() {
				x.push(p.side[0], p.side[1], p.moving, p.still, p.bound+turn)
			}
		case b.Count > 0 || a.Count == 0 && x.motion.size(&x.m.bounds[p.moving]) >= x.motion.size(&x.s.bounds[p.still]):
			x.push(p.side[0], p.side[1], p.moving+1, p.still, 0)
			x.push(p.side[0], p.side[1], a.Right, p.still, 0)
		default:
			x.push(p.side[0], p.side[1], p.moving, p.still+1, 0)
			x.push(p.side[0], p.side[1], p.moving, b.Right, 0)
		}
	}
}
