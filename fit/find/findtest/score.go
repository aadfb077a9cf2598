package findtest

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

// Found is a joint that a finder proposes.
type Found struct {
	Parent, Child int
	Kind          string
	Origin, Axis  r3.Vec
	Confidence    float64
}

// The limits of a hit.
const (
	HitAngle  = 0.5 * math.Pi / 180
	HitOffset = 0.005 // of the moving part's diagonal
)

// Scores says how well joints were found. Recall and precision are Hits over
// Scorable and over Found.
type Scores struct {
	Hits, Scorable, Found int
	KindRight             int       // hits whose kind is right too
	Angles                []float64 // of the hits, radians
	Offsets               []float64 // of the hits that have a line, shares of the moving part's diagonal
	Misses                []Miss
	FalsePositives        []False
	ByJoint               []int  // for each joint of the mechanism the found joint that hits it, or -1
	Right                 []bool // for each found joint whether it is a hit
	Counts                []bool // for each found joint whether it counts: sure enough and not on a pair to ignore
}

// Miss is a joint that was not found.
type Miss struct {
	Mechanism     string
	Joint         Joint
	Why           string
	Angle, Offset float64 // of the nearest joint found for the pair, NaN for none
}

// False is a joint found that is none.
type False struct {
	Mechanism string
	Found     Found
	Why       string
}

// Recall is the share of the joints that were found; NaN for no joints.
func (s Scores) Recall() float64 { return float64(s.Hits) / float64(s.Scorable) }

// Precision is the share of the found joints that are right; NaN for none.
func (s Scores) Precision() float64 { return float64(s.Hits) / float64(s.Found) }

// Add takes up what another mechanism scored; ByJoint, Right and Counts follow
// on one another.
func (s *Scores) Add(o Scores) {
	shift := len(s.Right)
	s.Hits, s.Scorable, s.Found, s.KindRight = s.Hits+o.Hits, s.Scorable+o.Scorable, s.Found+o.Found, s.KindRight+o.KindRight
	s.Angles, s.Offsets = append(s.Angles, o.Angles...), append(s.Offsets, o.Offsets...)
	s.Misses, s.FalsePositives = append(s.Misses, o.Misses...), append(s.FalsePositives, o.FalsePositives...)
	for _, i := range o.ByJoint {
		if i >= 0 {
			i += shift
		}
		s.ByJoint = append(s.ByJoint, i)
	}
	s.Right, s.Counts = append(s.Right, o.Right...), append(s.Counts, o.Counts...)
}

// Score compares the found joints of at least the given confidence with the
// mechanism's. A hit has the right pair of parts in either order, an axis
// within 0.5 degrees and a line within 0.5 % of the moving part's diagonal from
// the joint's origin; sliders have no line. Of a ball joint the origin alone
// counts. A joint takes one found joint, the best of its pair; further ones of
// the pair are false positives. Joints found on a pair to ignore count neither
// way. The kind is not needed for a hit.
func Score(m Mechanism, found []Found, least float64) Scores {
	s := Scores{Right: make([]bool, len(found)), Counts: make([]bool, len(found)), ByJoint: make([]int, len(m.Joints))}
	pairs := map[[2]int]bool{}
	for i, j := range m.Joints {
		s.ByJoint[i] = -1
		if j.Scorable {
			pairs[pair(j.Parent, j.Child)] = true
		}
	}
	ignore := map[[2]int]bool{}
	for _, p := range m.Ignore {
		if p = pair(p[0], p[1]); !pairs[p] {
			ignore[p] = true
		}
	}
	for i, f := range found {
		s.Counts[i] = f.Confidence >= least && !ignore[pair(f.Parent, f.Child)]
	}
	for i, j := range m.Joints {
		if j.Scorable {
			s.judge(m, i, found)
		}
	}
	for i, f := range found {
		if !s.Counts[i] {
			continue
		}
		s.Found++
		if !s.Right[i] {
			why := "no such joint"
			if pairs[pair(f.Parent, f.Child)] {
				why = "axis off or extra"
			}
			s.FalsePositives = append(s.FalsePositives, False{m.Name, f, why})
		}
	}
	return s
}

// judge looks for the found joint that hits joint i.
func (s *Scores) judge(m Mechanism, i int, found []Found) {
	j := m.Joints[i]
	s.Scorable++
	diag := m.Parts[j.Child].Mesh.Diagonal()
	best, at := Miss{Mechanism: m.Name, Joint: j, Why: "pair not found", Angle: math.NaN(), Offset: math.NaN()}, -1
	worst := math.Inf(1)
	for k, f := range found {
		if !s.Counts[k] || pair(f.Parent, f.Child) != pair(j.Parent, j.Child) {
			continue
		}
		angle, offset := Off(j, f)
		offset /= diag
		if x := max(angle/HitAngle, offset/HitOffset); at < 0 || x < worst {
			worst, at, best.Angle, best.Offset, best.Why = x, k, angle, offset, "axis off"
		}
	}
	if at < 0 || !(worst <= 1) {
		s.Misses = append(s.Misses, best)
		return
	}
	s.Hits++
	s.ByJoint[i], s.Right[at] = at, true
	if found[at].Kind == j.Kind {
		s.KindRight++
	}
	s.Angles = append(s.Angles, best.Angle)
	if j.Kind != "prismatic" {
		s.Offsets = append(s.Offsets, best.Offset)
	}
}

// Off says how far a found joint is from a true one: the angle between the
// axes without sense and the distance of the true origin from the found line, 0
// for a slider; for a ball joint 0 and the distance of the origins.
func Off(j Joint, f Found) (angle, offset float64) {
	d := r3.Sub(j.Origin, f.Origin)
	if j.Kind == "spherical" {
		return 0, orInf(r3.Norm(d))
	}
	n := r3.Norm(f.Axis)
	if !(n > 0) || math.IsInf(n, 0) {
		return math.Pi, math.Inf(1)
	}
	b := r3.Scale(1/n, f.Axis)
	angle = math.Atan2(r3.Norm(r3.Cross(j.Axis, b)), math.Abs(r3.Dot(j.Axis, b)))
	if j.Kind == "prismatic" {
		return angle, 0
	}
	return angle, orInf(r3.Norm(r3.Sub(d, r3.Scale(r3.Dot(d, b), b))))
}

func orInf(x float64) float64 {
	if math.IsNaN(x) {
		return math.Inf(1)
	}
	return x
}

func pair(a, b int) [2]int { return [2]int{min(a, b), max(a, b)} }

// Quantile is the q-th quantile of the values, between neighbours in
// proportion; NaN for none.
func Quantile(values []float64, q float64) float64 {
	if len(values) == 0 {
		return math.NaN()
	}
	v := slices.Clone(values)
	slices.SortFunc(v, cmp.Compare[float64])
	at := q * float64(len(v)-1)
	i := min(int(at), len(v)-1)
	k := min(i+1, len(v)-1)
	return v[i] + (at-float64(i))*(v[k]-v[i])
}
