package find

import (
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
)

const (
	slideFlat   = 1e-3 // share of the mating area that faces along the slide
	slideRound  = 0.02 // least share that faces in every direction across it
	slideAround = 0.35 // most that the normals add up to: the guide goes round
	slideScore  = 0.2
	leastGuide  = 0.02 // of the smaller part's diagonal squared, mating area
)

// addSlide adds the direction in which the parts slide along one another where
// their mating faces all stand along it and go round it, as in a guide. Only
// parts without a common axis of revolution need it.
func (l *link) addSlide(size float64) {
	if len(l.mates) < leastMates || len(l.axes) > 0 && l.axes[0].a != nil && l.axes[0].b != nil && l.axes[0].Score > slideScore/4 {
		return
	}
	sum := mat.NewSymDense(3, nil)
	var all, at r3.Vec
	area := 0.0
	for _, m := range l.mates {
		sum.SymRankOne(sum, m.area, mat.NewVecDense(3, []float64{m.normal.X, m.normal.Y, m.normal.Z}))
		if m.first {
			all = r3.Add(all, r3.Scale(m.area, m.normal))
		}
		at = r3.Add(at, r3.Scale(m.area, m.at))
		area += m.area
	}
	var e mat.EigenSym
	if area < leastGuide*size*size || !e.Factorize(sum, true) {
		return
	}
	v := e.Values(nil)
	if v[0] > slideFlat*area || v[1] < slideRound*area || r3.Norm(all) > slideAround*area/2 {
		return
	}
	var vec mat.Dense
	e.VectorsTo(&vec)
	axis := r3.Unit(r3.Vec{X: vec.At(0, 0), Y: vec.At(1, 0), Z: vec.At(2, 0)})
	l.axes = append([]hypothesis{{Axis: Axis{
		Kind: Prismatic, Axis: axis, Origin: r3.Scale(1/area, at), Score: slideScore,
		Evidence: Evidence{Gap: l.gap, Mating: area, Slips: 1 - math.Max(v[0], 0)/area},
	}}}, l.axes...)
}
