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
	sum := mat.NewSymDense(3, nil)
	var first, second, at r3.Vec
	area := 0.0
	for _, m := range l.mates {
		sum.SymRankOne(sum, m.area, mat.NewVecDense(3, []float64{m.normal.X, m.normal.Y, m.normal.Z}))
		if m.first {
			first = r3.Add(first, r3.Scale(m.area, m.normal))
		} else {
			second = r3.Add(second, r3.Scale(m.area, m.normal))
		}
		at = r3.Add(at, r3.Scale(m.area, m.at))
		area += m.area
	}
	var e mat.EigenSym
	if !(area > 0) || !e.Factorize(sum, true) {
		return
	}
	v := e.Values(nil)
	if math.Sqrt(max(v[0], 0)/area) > slideLean || v[1] < slideRound*area {
		return
	}
	var vec mat.Dense
	e.VectorsTo(&vec)
	axis := r3.Unit(r3.Vec{X: vec.At(0, 0), Y: vec.At(1, 0), Z: vec.At(2, 0)})
	h := hypothesis{Axis: Axis{Kind: Prismatic, Axis: axis, Origin: r3.Scale(1/area, at)}}
	for _, o := range l.axes {
		if lineAngle(o.Axis.Axis, axis) < oneAxisAngle {
			h.Axis.Axis = o.Axis.Axis // known better by circles
		}
	}
	l.slides(&h)
	h.feats[fGuide] = min(1, v[1]/area/guideShare)
	h.feats[fAround] = 1 - (r3.Norm(first)+r3.Norm(second))/area
	x := area / (l.size * l.size)
	h.feats[fContact] = x / (x + 0.1)
	h.Score = 0.5 * h.feats[fGuide] * h.feats[fAround]
	l.axes = append(l.axes, h)
}

// slides fills in what the surfaces say about a slide.
func (l *link) slides(h *hypothesis) {
	l.common(&h.feats)
	slide := slippage.Along(h.Axis.Axis)
	h.feats[fSlide] = 1
	h.feats[fKeeps] = min(kept(l.za, slide), kept(l.zb, slide))
	l.slips(h, slide)
}
