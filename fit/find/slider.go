package find

import (
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/find/slippage"
)

const (
	slideLean  = 0.03 // root mean square of the mating normals along a slide, more is none
	slideRound = 0.01 // least share that faces across every way
	guideShare = 0.25 // share of the normals that face across, for a full guide
)

// addSlide adds the direction in which the parts slide along one another: the
// one along which their mating faces stand, as those of a guide do.
func (l *link) addSlide() {
	if len(l.mates) < leastMates {
		return
	}
	n, ok := spreadOf(l.mates)
	if !ok || math.Sqrt(max(n.values[0], 0)/n.area) > slideLean || n.values[1] < slideRound*n.area {
		return
	}
	axis := n.least
	h := hypothesis{Axis: Axis{Kind: Prismatic, Axis: axis, Origin: n.middle}}
	for _, o := range l.axes {
		if lineAngle(o.Axis.Axis, axis) < oneAxisAngle {
			h.Axis.Axis = o.Axis.Axis // known better by circles
		}
	}
	l.slides(&h)
	h.feats[fGuide] = min(1, n.values[1]/n.area/guideShare)
	h.feats[fAround] = 1 - (r3.Norm(n.first)+r3.Norm(n.second))/n.area
	x := n.area / (l.size * l.size)
	h.feats[fContact] = x / (x + 0.1)
	h.Score = 0.5 * h.feats[fGuide] * h.feats[fAround]
	l.axes = append(l.axes, h)
}

// spread says which ways mating faces face.
type spread struct {
	values        []float64 // of the sum of n n' over the area, rising
	least         r3.Vec    // the unit direction that they face along least
	first, second r3.Vec    // sum of the normals of either part, times area
	middle        r3.Vec
	area          float64
}

// spreadOf is false for faces without area.
func spreadOf(mates []mate) (spread, bool) {
	sum := mat.NewSymDense(3, nil)
	var s spread
	for _, m := range mates {
		sum.SymRankOne(sum, m.area, mat.NewVecDense(3, []float64{m.normal.X, m.normal.Y, m.normal.Z}))
		if m.first {
			s.first = r3.Add(s.first, r3.Scale(m.area, m.normal))
		} else {
			s.second = r3.Add(s.second, r3.Scale(m.area, m.normal))
		}
		s.middle = r3.Add(s.middle, r3.Scale(m.area, m.at))
		s.area += m.area
	}
	var e mat.EigenSym
	if !(s.area > 0) || !e.Factorize(sum, true) {
		return s, false
	}
	s.middle = r3.Scale(1/s.area, s.middle)
	s.values = e.Values(nil)
	var vec mat.Dense
	e.VectorsTo(&vec)
	s.least = r3.Unit(r3.Vec{X: vec.At(0, 0), Y: vec.At(1, 0), Z: vec.At(2, 0)})
	return s, true
}

// slides fills in what the surfaces say about a slide.
func (l *link) slides(h *hypothesis) {
	l.common(&h.feats)
	slide := slippage.Along(h.Axis.Axis)
	h.feats[fSlide] = 1
	h.feats[fKeeps] = min(kept(l.za, slide), kept(l.zb, slide))
	l.slips(h, slide)
}
