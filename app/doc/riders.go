package doc

import (
	"context"
	"sync"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

// rideReach is the gap, as a share of the model's diagonal, up to which a part
// without a joint counts as fastened to another.
const rideReach = 0.02

// gaps remembers how far parts are apart. It is shared by the sessions about
// one model and safe for concurrent use.
type gaps struct {
	mu    sync.Mutex
	known map[[2]*mesh.Mesh]float64
}

// between returns the distance of two meshes, or -1 where it exceeds limit.
// The limit must be the same in every call.
func (g *gaps) between(a, b *mesh.Mesh, limit float64) float64 {
	g.mu.Lock()
	d, ok := g.known[[2]*mesh.Mesh{a, b}]
	g.mu.Unlock()
	if ok {
		return d
	}
	d = -1
	if boxesWithin(a.Bounds(), b.Bounds(), limit) {
		identity := mesh.Rigid{X: r3.Vec{X: 1}, Y: r3.Vec{Y: 1}, Z: r3.Vec{Z: 1}}
		if gap, near := mesh.Distance(a.BVH(), b.BVH(), identity, limit); near {
			d = gap.Distance
		}
	}
	g.mu.Lock()
	defer g.mu.Unlock()
	g.known[[2]*mesh.Mesh{a, b}], g.known[[2]*mesh.Mesh{b, a}] = d, d
	return d
}

func boxesWithin(a, b r3.Box, limit float64) bool {
	apart := func(lo1, hi1, lo2, hi2 float64) bool { return lo1 > hi2+limit || lo2 > hi1+limit }
	return !apart(a.Min.X, a.Max.X, b.Min.X, b.Max.X) && !apart(a.Min.Y, a.Max.Y, b.Min.Y, b.Max.Y) &&
		!apart(a.Min.Z, a.Max.Z, b.Min.Z, b.Max.Z)
}

// Riders says which parts ride along: a part that no joint carries and that
// carries none is taken to be fastened to the part it is nearest to, so that a
// first joint moves all that hangs on its child. The result holds for each
// part the number of the part it rides on, or -1. Chains end at a part with a
// joint. Parts that nothing is near stay where they are; without any joint
// nothing rides.
//
// Riders attach in the order of their gaps, smallest first, equal ones in the
// order of the parts.
func (s *Session) Riders() []int { return s.riders() }

// prepareRiders measures the gaps that Riders looks at, for long models ahead
// of the first joint.
func (s *Session) prepareRiders(ctx context.Context, progress func(float64, string)) error {
	limit := s.rideLimit()
	for i := range s.Parts {
		if err := ctx.Err(); err != nil {
			return err
		}
		tell(progress, float64(i)/float64(len(s.Parts)), "Seeing which parts touch")
		for k := range i {
			s.sources.gaps.between(s.Parts[i].Mesh, s.Parts[k].Mesh, limit)
		}
	}
	return nil
}

func (s *Session) rideLimit() float64 {
	b := s.Model.Bounds()
	return rideReach * r3.Norm(r3.Sub(b.Max, b.Min))
}

func (s *Session) findRiders() []int {
	host := make([]int, len(s.Parts))
	fixed := make([]bool, len(s.Parts)) // has a joint, or rides already
	for i := range host {
		host[i] = -1
	}
	for _, j := range s.Doc.Joints {
		for _, name := range []string{j.Parent, j.Child} {
			if i := s.Doc.PartIndex(name); i >= 0 {
				fixed[i] = true
			}
		}
	}
	limit := s.rideLimit()
	for {
		best, on, least := -1, -1, 0.0
		for i := range s.Parts {
			if fixed[i] {
				continue
			}
			for k := range s.Parts {
				if !fixed[k] {
					continue
				}
				d := s.sources.gaps.between(s.Parts[i].Mesh, s.Parts[k].Mesh, limit)
				if d >= 0 && (best < 0 || d < least) {
					best, on, least = i, k, d
				}
			}
		}
		if best < 0 {
			return host
		}
		host[best], fixed[best] = on, true
	}
}
