package find

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/find/slippage"
)

// The features of a hypothesis, each without unit and from 0 to 1, larger for
// a likelier one.
const (
	fGap      = iota // the parts are close
	fCentre          // the axis goes through the middle of the near surface
	fFree            // no other pair has a better use for the line
	fTwin            // the motion takes a pair of parts of the same kinds into this one
	fTwinOnly        // it does, and nothing else shows the axis
	fUnlike          // the parts are not of one kind, as left and right are
	fSlip            // mating faces that the motion keeps in contact

	fBoth  // circles of the part that shows fewer
	fMost  // circles of the part that shows more
	fNear  // the circles are close to the other part
	fOnly  // few lines like it in the part
	fShare // how heavy the line is in the part that shows it
	fTurn  // near surface of the part with less of it, turned about the axis
	fTurns // the same of the other part

	fSlide   // a slide, a constant
	fKeeps   // near surface of the part with less of it that stands along the slide
	fGuide   // the mating faces hold every way but along
	fAround  // they go round
	fContact // they are large

	fFixed // not moving, a constant
	fSmall // the smaller part is small
	fSeat  // its surface lies on the other part
	fKin   // there are more like it on that part
	fDeep  // it reaches into the other part
	fPlain // it is turned about one axis, all of it
	numFeatures
)

type features [numFeatures]float64

const (
	farGap   = 0.05 // of the smaller part's diagonal, a gap that halves closeness
	slipLean = 0.12 // of the speed, across a face that slips
)

// common fills in what hypotheses of all kinds have.
func (l *link) common(f *features) {
	x := l.gap / (farGap * l.size)
	f[fGap] = 1 / (1 + x*x)
	f[fFree] = 1
}

// turns fills in what the surfaces say about a turn.
func (l *link) turns(h *hypothesis) {
	f := &h.feats
	l.common(f)
	turn := slippage.About(h.Origin, h.Axis.Axis)
	ta, tb := kept(l.za, turn), kept(l.zb, turn)
	f[fTurn], f[fTurns] = min(ta, tb), max(ta, tb)
	c, radius := centreOf(l.za, l.zb)
	x := fromLine(c, h.Origin, h.Axis.Axis) / (radius + 1e-3*l.size)
	f[fCentre] = 1 / (1 + x*x)
	l.slips(h, turn)
}

// slips fills in what the mating faces say about a motion.
func (l *link) slips(h *hypothesis, m slippage.Motion) {
	h.Evidence.Gap, h.Evidence.Slips = l.gap, math.NaN()
	h.feats[fSlip] = 0.5
	good := 0.0
	for _, x := range l.mates {
		h.Evidence.Mating += x.area
		v := m.Speed(x.at)
		if math.Abs(r3.Dot(v, x.normal)) <= slipLean*r3.Norm(v) {
			good += x.area
		}
	}
	if len(l.mates) >= leastMates && h.Evidence.Mating > 0 {
		h.Evidence.Slips = good / h.Evidence.Mating
		h.feats[fSlip] = h.Evidence.Slips
	}
}

// kept is the share of the near surface that a motion moves along itself,
// a half where there is none.
func kept(spots []spot, m slippage.Motion) float64 {
	good, all := 0.0, 0.0
	for _, s := range spots {
		g := s.area * s.near
		all += g
		v := m.Speed(s.at)
		if l := r3.Norm(v); l > 0 {
			g *= min(1, max(0, 2-math.Abs(r3.Dot(v, s.normal))/(slipLean*l)))
		}
		good += g
	}
	if all == 0 {
		return 0.5
	}
	return good / all
}
