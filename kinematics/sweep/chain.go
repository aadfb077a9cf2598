package sweep

import (
	"context"
	"fmt"
	"math"

	"pintle/fit/mesh"
)

// grain says how finely a stage works.
type grain struct {
	resolution int
	least      int     // cells for the thinner side of a profile
	sag        float64 // share of a cell by which chords may stray from arcs
	rough      bool    // only the volume counts
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

// count returns the stages of the node and all below.
func (n *node) count() int {
	c := len(n.stages)
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

// run sweeps the node. last tells that its outcome is the answer.
func (w *sweeper) run(ctx context.Context, n *node, last bool) (solid, error) {
	bodies := n.bodies
	var sum solid // what the pieces below brought with them
	for i := range n.next {
		s, err := w.run(ctx, &n.next[i], false)
		if err != nil {
			return solid{}, err
		}
		bodies = append(bodies[:len(bodies):len(bodies)], s.mesh)
		sum.inherit(s)
	}
	for i, st := range n.stages {
		g := w.grain
		g.sag = innerSag
		if last && i == len(n.stages)-1 {
			g.sag = lastSag
		}
		if w.tell != nil {
			from, to := float64(w.done)/float64(w.all), float64(w.done+1)/float64(w.all)
			g.tell = func(done float64, what string) { w.tell(from+(to-from)*done, what) }
		}
		s, err := st.sweep(ctx, bodies, g)
		if err != nil {
			return solid{}, err
		}
		w.done++
		s.inherit(sum)
		bodies, sum = []*mesh.Mesh{s.mesh}, s
	}
	if len(n.stages) == 0 {
		return sum, fmt.Errorf("a piece of the limb has no joint")
	}
	return sum, nil
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
func sweepOf(doing string, ctx context.Context, n node, o Options) (Envelope, error) {
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
	coarse, err := w.run(ctx, n, true)
	if err != nil {
		return Envelope{}, err
	}
	w.done = 0
	w.grain = grain{resolution: o.Resolution, least: leastCells}
	if o.Progress != nil {
		w.tell = func(done float64, what string) { o.Progress(coarseShare+(1-coarseShare)*done, what) }
	}
	fine, err := w.run(ctx, n, true)
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
