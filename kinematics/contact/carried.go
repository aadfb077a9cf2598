package contact

import "math"

// parallel is the sine of the angle to the motion up to which a face counts as
// one that it carries along itself.
const parallel = 1e-4

// findCarried finds the surfaces that the motion carries along themselves: those
// turned about the axis for a hinge, of these the cylinders and threads for a screw, and
// faces parallel to the axis for a slider.
func (s *side) findCarried(c *cylindrical, tolerance float64) {
	if s.motion.slides() {
		s.findParallel(c, tolerance)
		return
	}
	s.surface = findTurned(s, c, tolerance)
	if s.motion.hinge() {
		return
	}
	for t := range s.tris {
		if math.Abs(s.facets[s.facetOf[t]].normal.Z) > parallel {
			s.turned[t], s.sagitta[t] = -1, 0
		}
	}
	s.findHelical(tolerance)
	s.slackenRims()
}

// slackenRims gives triangles beside rounds the sagitta of these as slack: a
// round that is tessellated otherwise reaches into their rims by it.
func (s *side) slackenRims() {
	most := make([]float32, len(s.points))
	for t, v := range s.tris {
		for _, i := range v {
			most[i] = max(most[i], s.sagitta[t])
		}
	}
	for t, v := range s.tris {
		s.slack[t] = 0
		if s.turned[t] < 0 {
			s.slack[t] = max(most[v[0]], most[v[1]], most[v[2]])
		}
	}
}

// findParallel finds the facets of a slider that are parallel to the axis: they
// do not lean from it by more than the tolerance over their length. What is
// tessellated of a round along the axis slides on itself exactly; but rounds
// that are tessellated otherwise reach into it by the sagitta, which is the
// slack of the triangles beside it.
func (s *side) findParallel(c *cylindrical, tolerance float64) {
	top := s.mesh.Topology()
	f := surface{turned: make([]int32, len(s.tris)), dip: make([]float32, len(s.points))}
	f.sagitta, f.slack = make([]float32, len(s.tris)), make([]float32, len(s.tris))
	f.facetOf, f.facets = findFacets(s, c, top)
	candidate := make([]bool, len(f.facets))
	for i := range f.facets {
		b := &f.facets[i]
		lean := math.Abs(b.normal.Z)
		candidate[i] = b.radial > 0 && lean <= parallel && lean*b.width <= tolerance
	}
	patch := f.joinFacets(s, top, candidate)
	s.surface = f
	for t := range s.tris {
		if f.turned[t] = patch[f.facetOf[t]]; f.turned[t] >= 0 {
			f.sagitta[t] = s.bowOf(int32(t))
		}
	}
	s.slackenRims()
}
