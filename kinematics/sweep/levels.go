package sweep

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

// level is a radius or a height at which faces lie, with their area.
type level struct{ at, area float64 }

// flat is how little, next to the profile's size, the corners of a face may
// differ in radius or height that lies at one.
const flat = 1e-7

// levels returns the radii and the heights at which faces lie all over, rising.
// Thin walls and plates have two of them close together.
func (s *surface) levels() (radii, heights []level) {
	size := max(s.rHi-s.rLo, s.zHi-s.zLo)
	spread := func(a, b, c float64) (mean float64, ok bool) {
		return (a + b + c) / 3, max(a, b, c)-min(a, b, c) <= flat*size
	}
	radius := func(p r3.Vec) float64 {
		if s.straight {
			return p.X
		}
		return math.Sqrt(squared(p.X, p.Y))
	}
	for _, v := range s.tris {
		a, b, c := s.p[v[0]], s.p[v[1]], s.p[v[2]]
		z, isFlat := spread(a.Z, b.Z, c.Z)
		r, isRound := 0.0, false
		if !isFlat { // a face across the hinge may have all corners on its rim
			r, isRound = spread(radius(a), radius(b), radius(c))
		}
		if !isFlat && !isRound {
			continue
		}
		ab, ac := r3.Sub(b, a), r3.Sub(c, a)
		if s.straight {
			ab.Y /= s.scale
			ac.Y /= s.scale
		}
		area := r3.Norm(r3.Cross(ab, ac)) / 2
		if isFlat {
			heights = append(heights, level{z, area})
		} else {
			radii = append(radii, level{r, area})
		}
	}
	return merged(radii, 2*flat*size), merged(heights, 2*flat*size)
}

// merged sorts levels and makes one of those that follow within a distance.
func merged(list []level, within float64) []level {
	slices.SortFunc(list, func(a, b level) int { return cmp.Or(cmp.Compare(a.at, b.at), cmp.Compare(a.area, b.area)) })
	var out []level
	last := math.Inf(-1)
	for _, l := range list {
		if l.at-last > within {
			out = append(out, l)
		} else {
			out[len(out)-1].area += l.area
		}
		last = l.at
	}
	return out
}

// ticks are the places of nodes along one side of the profile. Without extra
// ones they are evenly spaced.
type ticks struct {
	at    []float64 // nil: evenly spaced
	first []int32   // of each even place: the first node there or beyond
}

// between returns ticks for n even places and one in the middle between any two
// neighbouring levels that no even place lies between, so that what is thinner
// than a cell is not passed over. There are no more of these than even places;
// levels of less area than the least count for nothing.
func between(n int, start, step float64, levels []level, least float64) ticks {
	levels = slices.DeleteFunc(slices.Clone(levels), func(l level) bool { return l.area < least })
	type gap struct{ at, area float64 }
	var gaps []gap
	for k := 1; k < len(levels); k++ {
		a, b := levels[k-1], levels[k]
		margin := 0.05 * (b.at - a.at)
		even := start + step*math.Ceil((a.at+margin-start)/step)
		if even > b.at-margin {
			gaps = append(gaps, gap{a.at + (b.at-a.at)/2, min(a.area, b.area)})
		}
	}
	if len(gaps) == 0 {
		return ticks{}
	}
	if len(gaps) > n {
		slices.SortFunc(gaps, func(a, b gap) int { return cmp.Or(cmp.Compare(b.area, a.area), cmp.Compare(a.at, b.at)) })
		gaps = gaps[:n]
		slices.SortFunc(gaps, func(a, b gap) int { return cmp.Compare(a.at, b.at) })
	}
	var t ticks
	for k := range n {
		even := start + float64(k)*step
		for len(gaps) > 0 && gaps[0].at < even {
			if gaps[0].at > start {
				t.at = append(t.at, gaps[0].at)
			}
			gaps = gaps[1:]
		}
		t.first = append(t.first, int32(len(t.at)))
		t.at = append(t.at, even)
	}
	return t
}

// place returns where node i of evenly spaced nodes, or of the ticks, lies.
func (t *ticks) place(i int, start, step float64) float64 {
	if t.at == nil {
		return start + float64(i)*step
	}
	return t.at[i]
}

// within returns the first and the last of n nodes from lo to hi, one more
// either way where rounding could tell.
func (t *ticks) within(lo, hi float64, n int, start, step float64) (from, to int) {
	if t.at == nil {
		from = int(math.Ceil((lo-start)/step - 1e-6))
		to = int(math.Floor((hi-start)/step + 1e-6))
		return max(0, from), min(n-1, to)
	}
	even := func(x float64) int { return int(max(-1, min(float64(len(t.first)), math.Floor((x-start)/step)))) }
	slack := 1e-6 * step
	if k := even(lo - slack); k >= 0 {
		from = n
		if k < len(t.first) {
			from = int(t.first[k])
		}
	}
	for from < n && t.at[from] < lo-slack {
		from++
	}
	to = n - 1
	if k := even(hi+slack) + 1; k < len(t.first) {
		to = int(t.first[k])
	}
	for to >= 0 && t.at[to] > hi+slack {
		to--
	}
	return from, to
}

// cell returns the cell that x lies in, the nearest for one beyond all.
func (t *ticks) cell(x float64, n int, start, step float64) int {
	_, to := t.within(math.Inf(-1), x, n, start, step)
	return max(0, min(n-2, to))
}
