package sweep

import (
	"context"
	"fmt"
	"math"

	"pintle/fit/mesh"
	"pintle/kinematics"
)

// grain says how finely a stage works.
type grain struct {
	resolution int
	least      int     // cells for the thinner side of a profile
	sag        float64 // share of a cell by which chords may stray from arcs
	rough      bool    // the deviation does not count
	bare       bool    // only the volume counts
	tell       func(done float64, what string)
}

// solid is what a stage makes.
type solid struct {
	mesh      *mesh.Mesh
	volume    float64 // with true arcs where the stage turns
	doubt     float64 // estimate of the random error of volume
	sag       float64 // most that chords cut off, model units
	deviation float64 // see Envelope
	notes     []string
}

// stage is a motion of one freedom, or of a few that cannot be taken apart.
type stage interface {
	sweep(ctx context.Context, bodies []*mesh.Mesh, g grain) (solid, error)
}

// node is a rigid piece with what hangs on it. A point of it, or of the sweeps
// of what hangs on it, first moves by its first stage, then by the second and
// so on. Where the ranges of all stages are independent of one another, what
// the whole passes through is the sweep of sweeps, exactly:
//
//	{M1(q1) M2(q2) p} = M1{ M2{p} }.
type node struct {
	bodies []*mesh.Mesh
	stages []stage
	next   []node
}

// hold is a place in a row of stages where bodies stand off from where they are
// modelled without moving.
type hold struct{ at kinematics.Transform }

func (h hold) sweep(context.Context, []*mesh.Mesh, grain) (solid, error) {
	return solid{}, fmt.Errorf("a part that is held passes through no volume")
}

// moves tells whether the stage sweeps.
func moves(s stage) bool { _, held := s.(hold); return !held }

// count returns the sweeping stages of the node and all below.
func (n *node) count() int {
	c := 0
	for _, s := range n.stages {
		if moves(s) {
			c++
		}
	}
	for i := range n.next {
		c += n.next[i].count()
	}
	return c
}

// sweeper works through a tree of nodes.
type sweeper struct {
	grain
	done, all int
	tell      func(done float64, what string)
}

// run sweeps the node. It returns what stands for it afterwards, and the sum of
// all errors, with the last sweep as its mesh if there was any.
func (w *sweeper) run(ctx context.Context, n *node) (bodies []*mesh.Mesh, sum solid, err error) {
	bodies = n.bodies
	for i := range n.next {
		more, s, err := w.run(ctx, &n.next[i])
		if err != nil {
			return nil, solid{}, err
		}
		bodies = append(bodies[:len(bodies):len(bodies)], more...)
		sum.inherit(s)
	}
	for _, st := range n.stages {
		if h, ok := st.(hold); ok {
			moved := make([]*mesh.Mesh, len(bodies))
			for i, b := range bodies {
				moved[i] = mesh.Moved(b, mesh.Rigid(h.at))
			}
			bodies = moved
			continue
		}
		s, err := w.stage(ctx, st, bodies)
		if err != nil {
			return nil, solid{}, err
		}
		s.inherit(sum)
		bodies, sum = []*mesh.Mesh{s.mesh}, s
	}
	return bodies, sum, nil
}

// stage sweeps one stage.
func (w *sweeper) stage(ctx context.Context, st stage, bodies []*mesh.Mesh) (solid, error) {
	g := w.grain
	w.done++
	g.sag = innerSag
	if w.done == w.all {
		g.sag = lastSag // the outcome is the answer
		g.bare = g.rough
	}
	if w.tell != nil {
		from, to := float64(w.done-1)/float64(w.all), float64(w.done)/float64(w.all)
		g.tell = func(done float64, what string) { w.tell(from+(to-from)*done, what) }
	}
	return st.sweep(ctx, bodies, g)
}

// inherit adds the errors of an inner solid that was swept on. Motions are
// rigid, so a surface that is off by a length leaves the next one off by no
// more; volumes in doubt grow with the surface that they spread over.
func (s *solid) inherit(in solid) {
	s.deviation += in.deviation
	s.sag += in.sag
	if in.mesh != nil && s.mesh != nil {
		s.doubt = math.Hypot(s.doubt, in.doubt*max(1, s.mesh.Area()/in.mesh.Area()))
	} else {
		s.doubt = math.Hypot(s.doubt, in.doubt)
	}
	s.notes = append(s.notes, in.notes...)
	if s.mesh == nil {
		s.mesh = in.mesh
	}
}

// sweepOf sweeps a tree of nodes and, at half the resolution, once more, from
// which it knows its error.
func sweepOf(ctx context.Context, doing string, n node, o Options) (Envelope, error) {
	env, err := sweepTree(ctx, &n, o)
	if err != nil {
		return Envelope{}, fmt.Errorf("%s: %w", doing, err)
	}
	return env, nil
}

func sweepTree(ctx context.Context, n *node, o Options) (Envelope, error) {
	o, err := o.checked()
	if err != nil {
		return Envelope{}, err
	}
	const coarseShare = 0.2 // of the time
	w := sweeper{all: n.count()}
	w.grain = grain{resolution: o.Resolution / 2, least: leastCells / 2, rough: true}
	if o.Progress != nil {
		w.tell = func(done float64, what string) { o.Progress(coarseShare*done, what) }
	}
	_, coarse, err := w.run(ctx, n)
	if err != nil {
		return Envelope{}, err
	}
	w.done = 0
	w.grain = grain{resolution: o.Resolution, least: leastCells}
	if o.Progress != nil {
		w.tell = func(done float64, what string) { o.Progress(coarseShare+(1-coarseShare)*done, what) }
	}
	_, fine, err := w.run(ctx, n)
	if err != nil {
		return Envelope{}, err
	}
	env := Envelope{Mesh: fine.mesh, Volume: fine.volume, Area: fine.mesh.Area(), Deviation: fine.deviation, Notes: unique(fine.notes)}
	env.Error = safe*math.Abs(fine.volume-coarse.volume) + sure*fine.doubt
	if w.all > 1 {
		env.Error += fine.sag * env.Area
	}
	return env, nil
}

// unique drops notes that were said before.
func unique(notes []string) []string {
	seen := map[string]bool{}
	var out []string
	for _, n := range notes {
		if !seen[n] {
			out = append(out, n)
		}
		seen[n] = true
	}
	return out
}
