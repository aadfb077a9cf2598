package doc

import (
	"errors"
	"fmt"
	"math"

	"pintle/fit"
	"pintle/kinematics"
)

// worstRadial returns the radial surface of a housing that runs out most, -1
// where none does by more than its facets explain.
func worstRadial(r PartRunout) int {
	worst := -1
	for i, s := range r.Surfaces {
		if s.Direction == kinematics.Radial && !math.IsNaN(s.Circular) && (worst < 0 || s.Circular > r.Surfaces[worst].Circular) {
			worst = i
		}
	}
	if worst < 0 || !(r.Surfaces[worst].Circular > runoutLimit(r.Surfaces[worst])) {
		return -1
	}
	return worst
}

// runoutLimit is the runout of a surface that its facets or rounding explain.
func runoutLimit(s kinematics.SurfaceRunout) float64 {
	return max(s.Sagitta, runoutRel*s.Stations[s.Worst].Radius)
}

// ErrRunsTrue says that no housing runs out.
var ErrRunsTrue = errors.New("the housing runs true already: there is nothing to correct")

// TrueUp returns the joint with its hinge on the own axis of the housing that
// runs out most in its motion: it now rests on that surface, fitted as a
// cylinder, turns in the same sense and has its origin at the foot of the old
// one. What reach aims at stays; a roll off the old housing goes. It fails with
// ErrRunsTrue, and where no cylinder fits or the surface is out of round, which
// no move of the hinge mends.
func (s *Session) TrueUp(j Joint, m *Motion) (Joint, error) {
	most, at, patch := 0.0, -1, -1
	for i, r := range m.Runout {
		if k := worstRadial(r); k >= 0 && r.Surfaces[k].Circular > most {
			most, at, patch = r.Surfaces[k].Circular, i, k
		}
	}
	if at < 0 {
		return j, ErrRunsTrue
	}
	r := m.Runout[at]
	surface := r.Surfaces[patch]
	if round := surface.Stations[surface.Worst].Roundness; round >= surface.Circular/2 {
		return j, fmt.Errorf("truing up %s: the housing on %s is out of round by %s: ask the modeller to mend it",
			j.Name, r.Part, LengthText(round, s.Model.Unit))
	}
	trued := j
	trued.Picks = []Pick{{Source: r.Part, Elements: Elements{Triangles: r.Patches[patch]}}}
	trued.Recipe = DatumRecipe{Method: LeastSquares, Shape: fit.Cylinder}
	trued.Spec.Roll = kinematics.Aim{}
	trued, err := s.Refit(trued)
	if err != nil {
		return j, fmt.Errorf("truing up %s: %w", j.Name, err)
	}
	trued.Spec.Slide = trued.Spec.SlideTo(j.Frame.Origin)
	if trued.Frame, err = s.BuildFrame(trued); err != nil {
		return j, fmt.Errorf("truing up %s: %w", j.Name, err)
	}
	return trued, nil
}
