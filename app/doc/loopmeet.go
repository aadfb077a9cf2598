package doc

import (
	"context"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/app/job"
	"pintle/kinematics"
	"pintle/kinematics/loop"
)

// LoopMotion is what the whole loop shows as a joint drives it, besides what the
// motion of each of its joints by itself does: parts that no joint is between
// may meet. Values are the driver's.
type LoopMotion struct {
	Lower, Upper *LoopMeeting // the first on the way down and up, nil where there is none
	Touching     [][2]string  // parts that touch as modelled, and that no proof of a joint judges
	Reach        kinematics.Range
}

// LoopMeeting is where two parts of a loop meet.
type LoopMeeting struct {
	Value float64
	Parts [2]string
	Point r3.Vec // where they then meet, model units
}

// Range returns how far the loop goes without parts of it meeting that no joint
// is between.
func (m *LoopMotion) Range() kinematics.Range {
	r := m.Reach
	if m.Lower != nil {
		r.Lower = max(r.Lower, m.Lower.Value)
	}
	if m.Upper != nil {
		r.Upper = min(r.Upper, m.Upper.Value)
	}
	return r
}

// loopMotion follows the loop that the joint drives; nil where it drives none.
func (s *Session) loopMotion(ctx context.Context, j Joint, progress job.Progress) (*LoopMotion, error) {
	if !s.Doc.HasLoops() {
		return nil, nil
	}
	all, err := s.Linkages()
	if err != nil {
		return nil, nil // told elsewhere
	}
	i := all.LinkageOf(j.Name)
	if i < 0 || all.List[i].Solver == nil {
		return nil, nil
	}
	n := all.List[i]
	k := slices.IndexFunc(n.Drivers, func(v ValueRef) bool { return v.Joint == j.Name })
	if k < 0 {
		return nil, nil
	}
	bodies, pairs := s.loopBodies(all, n)
	out := &LoopMotion{}
	ends := [2]float64{}
	for end, sense := range []float64{-1, 1} {
		stage := job.Stage(progress, float64(end)/2, float64(end+1)/2)
		m, stop, touching, err := n.Solver.Meet(ctx, n.Solver.Zero(), k, sense, bodies, loop.MeetingOptions{Pairs: pairs, Progress: stage})
		if err != nil {
			return nil, fmt.Errorf("the loop of joint %q: %w", j.Name, err)
		}
		ends[end] = stop.Drive
		if m != nil {
			met := &LoopMeeting{Value: m.Drive, Parts: [2]string{s.Parts[m.A].Name, s.Parts[m.B].Name}, Point: m.Point}
			if sense < 0 {
				out.Lower = met
			} else {
				out.Upper = met
			}
		}
		if end == 0 {
			for _, p := range touching {
				out.Touching = append(out.Touching, [2]string{s.Parts[p[0]].Name, s.Parts[p[1]].Name})
			}
		}
	}
	out.Reach = kinematics.Range{Lower: ends[0], Upper: ends[1]}
	return out, nil
}

// loopBodies returns the document's parts as bodies and the pairs of them that a
// linkage moves against each other and that no exact proof of one of its joints
// judges.
func (s *Session) loopBodies(all *Linkages, n Linkage) (bodies []loop.Body, pairs [][2]int) {
	mover := s.movers(all, n)
	proven := map[[2]int]bool{} // by the joints that move the two sides
	for _, name := range n.Joints {
		j := s.Doc.Joints[s.Doc.JointIndex(name)]
		if j.Kind.Freedoms() == 1 {
			a, b := s.moverOf(mover, j.Child), s.moverOf(mover, j.Parent)
			proven[[2]int{min(a, b), max(a, b)}] = true
		}
	}
	for p := range s.Parts {
		bodies = append(bodies, loop.Body{Part: p, Mesh: s.Parts[p].Mesh})
		for q := range p {
			a, b := mover[q], mover[p]
			if a != b && !proven[[2]int{min(a, b), max(a, b)}] {
				pairs = append(pairs, [2]int{q, p})
			}
		}
	}
	if pairs == nil {
		pairs = [][2]int{} // not all
	}
	return bodies, pairs
}

// movers returns for each part the joint of the linkage that moves it, the next
// one towards the world, or -1.
func (s *Session) movers(all *Linkages, n Linkage) []int {
	out := make([]int, len(s.Doc.Parts))
	for p := range out {
		out[p] = -1
		for k := all.Tree.Carrier(p); k >= 0; {
			j := all.Tree.Joint(k)
			if slices.Contains(n.Joints, j.Name) {
				out[p] = k
				break
			}
			if j.Parent == kinematics.World {
				break
			}
			k = all.Tree.Carrier(j.Parent)
		}
	}
	return out
}

func (s *Session) moverOf(movers []int, part string) int {
	if k := s.Doc.PartIndex(part); k >= 0 {
		return movers[k]
	}
	return -1
}

// withLoop adds to a joint's motion what its loop shows.
func (s *Session) withLoop(ctx context.Context, j Joint, m *Motion, progress job.Progress) (*Motion, error) {
	l, err := s.loopMotion(ctx, j, progress)
	if err != nil {
		return nil, err
	}
	m.Loop = l
	return m, nil
}

// loopMeets tells where parts of a loop meet, and what was not judged.
func (w *findingWriter) loopMeets(m *LoopMotion) {
	f := w.joint.Kind.Freedom(0)
	limit, limited := w.joint.Limit(0)
	unit := Length
	if f.Turns {
		unit = Angle
	}
	for _, end := range []struct {
		name string
		met  *LoopMeeting
		past bool
	}{
		{"lower", m.Lower, m.Lower != nil && limit.Lower < m.Lower.Value},
		{"upper", m.Upper, m.Upper != nil && limit.Upper > m.Upper.Value},
	} {
		switch {
		case end.met == nil:
		case end.past && limited:
			w.add(Finding{
				Severity: Stop, Kind: RangeBlocked, Value: map[string]float64{"lower": limit.Lower, "upper": limit.Upper}[end.name],
				Limit: end.met.Value, Unit: unit, Parts: end.met.Parts[:], Points: []r3.Vec{end.met.Point},
				Text: fmt.Sprintf("the %s limit cannot be reached: in the loop %s meets %s at %s; bring the limit in or cut the parts free",
					end.name, end.met.Parts[0], end.met.Parts[1], w.amount(f, end.met.Value)),
			})
		case !limited:
			w.add(Finding{
				Severity: Note, Kind: LoopMeets, Value: end.met.Value, Limit: math.NaN(), Unit: unit,
				Parts: end.met.Parts[:], Points: []r3.Vec{end.met.Point},
				Text: fmt.Sprintf("in the loop %s meets %s at %s", end.met.Parts[0], end.met.Parts[1], w.amount(f, end.met.Value)),
			})
		}
	}
	for _, p := range m.Touching {
		w.add(Finding{
			Severity: Note, Kind: LoopApart, Parts: []string{p[0], p[1]}, Limit: math.NaN(),
			Text: fmt.Sprintf("%s and %s touch as modelled without a joint between them: whether they meet in the loop was not judged", p[0], p[1]),
		})
	}
}
