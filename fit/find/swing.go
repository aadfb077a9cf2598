package find

import (
	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

const (
	shortSlide = 0.01 // of the smaller part's diagonal
	longerStep = 0.04
	slideSpots = 120  // of either part
	leastFree  = 0.02 // share of the way of a slide that may lead into the other part
)

// freeAlong reports whether the parts can slide a little along unit a both
// ways: how much of the way of each part's near surface leads into the other
// part. What overlaps before counts only as far as it gets deeper.
func (w *work) freeAlong(l *link, a r3.Vec) bool {
	p, q := w.parts[l.a].mesh, w.parts[l.b].mesh
	for _, step := range []float64{shortSlide, -shortSlide, longerStep, -longerStep} {
		by := r3.Scale(step*l.size, a)
		inP, wayP := deeper(l.za, q, by)
		inQ, wayQ := deeper(l.zb, p, r3.Scale(-1, by))
		if !(inP+inQ <= leastFree*(wayP+wayQ)) {
			return false
		}
	}
	return true
}

// deeper returns how far the spots get into the other part when moved, and how
// far the near ones move, both summed over the area.
func deeper(spots []spot, other *mesh.Mesh, by r3.Vec) (in, way float64) {
	step := r3.Norm(by)
	stride := max(1, len(spots)/slideSpots)
	for i := 0; i < len(spots); i += stride {
		s := &spots[i]
		way += s.area * s.near * step
		before := -s.gap
		if s.inside {
			before = s.gap
		}
		if before+step <= 0 {
			continue // cannot reach it
		}
		p := r3.Add(s.at, by)
		tri, q, d := other.BVH().Closest(p)
		if r3.Dot(r3.Sub(p, q), other.AreaNormal(tri)) < 0 {
			in += s.area * min(step, max(0, d-max(before, 0)))
		}
	}
	return in, way
}
