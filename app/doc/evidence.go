package doc

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit"
	"pintle/fit/mesh"
	"pintle/kinematics"
)

// What can be picked for an axis that was found (common practice, no published
// source).
const (
	evenRadius  = 5e-4                 // of the radius, between the corners of a face about the axis
	facetAcross = 0.1                  // sine of the lean of its normal along the axis
	facetFacing = 0.6                  // least cosine between its normal and the radius: eight facets and more
	leastHoused = math.Pi              // turn that a surface covers
	leastRim    = 6                    // corners of a rim
	sameCorner  = 1e-3                 // radians, between two of them
	leastRing   = 8                    // single vertices of a ring
	housedAngle = 0.02 * math.Pi / 180 // between the axis and the datum of what is picked for it
	housedShift = 1e-3                 // of the radius, between them
)

// housing is what can be picked for an axis.
type housing struct {
	picks  []Pick
	recipe DatumRecipe
	datum  fit.Datum
}

// roundThing is a surface, a rim or a ring of vertices about an axis.
type roundThing struct {
	elements    Elements
	shape       fit.Kind
	rank        int     // of its sort: surfaces first, then rims
	radius, mid float64 // mid is measured along the axis from its point
	weight      float64
	part        int
}

// housingOf returns what a user would pick for a hinge about the axis: the
// largest round face about it on either part near the axis' point, or else a
// rim, or else a ring of single vertices, whose own datum agrees with the axis.
// It is false where there is none.
func (s *Session) housingOf(axis kinematics.Axis, parts ...int) (housing, bool) {
	var list []roundThing
	for _, p := range parts {
		m := s.Parts[p].Mesh
		for _, t := range slices.Concat(roundFaces(m, axis), roundRims(m, axis), roundRings(m, axis)) {
			t.part = p
			far := t.mid / t.radius
			t.weight /= 1 + far*far
			list = append(list, t)
		}
	}
	slices.SortStableFunc(list, func(a, b roundThing) int {
		switch {
		case a.rank != b.rank:
			return a.rank - b.rank
		case a.weight > b.weight:
			return -1
		case a.weight < b.weight:
			return 1
		}
		return 0
	})
	const tries = 6 // of each sort
	left := [3]int{tries, tries, tries}
	for _, t := range list {
		if left[t.rank]--; left[t.rank] < 0 {
			continue
		}
		if h, ok := s.housingFrom(t, axis); ok {
			return h, true
		}
	}
	return housing{}, false
}

// housingFrom fits what is picked and holds it against the axis.
func (s *Session) housingFrom(t roundThing, axis kinematics.Axis) (housing, bool) {
	h := housing{recipe: DatumRecipe{Method: LeastSquares, Shape: t.shape}}
	var err error
	if h.picks, err = s.Pick(t.part, t.elements); err != nil {
		return h, false // it runs over pieces that were joined
	}
	if h.datum, err = s.FitPicks(h.picks, h.recipe); err != nil || h.datum.Axis == (r3.Vec{}) {
		return h, false
	}
	angle := kinematics.Angle(h.datum.Axis, axis.Dir)
	return h, min(angle, math.Pi-angle) <= housedAngle && axis.Distance(h.datum.Origin) <= housedShift*t.radius
}

// roundFaces returns the connected cylinders about an axis that cover half a
// turn or more.
func roundFaces(m *mesh.Mesh, axis kinematics.Axis) []roundThing {
	top := m.Topology()
	radius := facetRadii(m, axis)
	var out []roundThing
	for t, r := range radius {
		if r == 0 {
			continue
		}
		face := []int32{int32(t)}
		radius[t] = 0
		for i := 0; i < len(face); i++ {
			for _, e := range top.TriEdges[face[i]] {
				for _, u := range top.EdgeFaces(int(e)) {
					if x := radius[u]; x != 0 && math.Abs(x-r) <= evenRadius*r {
						radius[u] = 0
						face = append(face, u)
					}
				}
			}
		}
		if thing, ok := roundFace(m, axis, face, r); ok {
			out = append(out, thing)
		}
	}
	return out
}

// facetRadii returns the radius of the cylinder about the axis that a triangle
// lies on, 0 where it lies on none.
func facetRadii(m *mesh.Mesh, axis kinematics.Axis) []float64 {
	radius := make([]float64, len(m.Triangles()))
	for t := range radius {
		a, b, c := m.Corners(t)
		ra, rb, rc := axis.Distance(a), axis.Distance(b), axis.Distance(c)
		r := (ra + rb + rc) / 3
		if !(max(ra, rb, rc)-min(ra, rb, rc) <= evenRadius*r) || r == 0 {
			continue
		}
		n := m.AreaNormal(t)
		length := r3.Norm(n)
		out := axis.Offset(r3.Scale(1.0/3, r3.Add(a, r3.Add(b, c))))
		if length > 0 && math.Abs(r3.Dot(n, axis.Dir)) <= facetAcross*length &&
			math.Abs(r3.Dot(n, out)) >= facetFacing*length*r3.Norm(out) {
			radius[t] = r
		}
	}
	return radius
}

// roundFace measures a cylinder about the axis.
func roundFace(m *mesh.Mesh, axis kinematics.Axis, face []int32, r float64) (roundThing, bool) {
	if len(face) < fewestFacets {
		return roundThing{}, false
	}
	slices.Sort(face)
	vertices := pickedVertices(m, Elements{Triangles: face})
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, v := range vertices {
		h := axis.Along(m.Vertices()[v])
		lo, hi = min(lo, h), max(hi, h)
	}
	turn := turnOf(m, axis, vertices)
	area := 0.0
	for _, t := range face {
		area += r3.Norm(m.AreaNormal(int(t))) / 2
	}
	t := roundThing{elements: Elements{Triangles: face}, shape: fit.Cylinder, radius: r, mid: (lo + hi) / 2, weight: area}
	return t, turn >= leastHoused
}

// turnOf returns the turn about an axis that vertices cover: a full one without
// the widest gap between them, which a round of facets fills with one facet. It
// is 0 for fewer corners than a hexagon has: those of a box lie on a circle too.
func turnOf(m *mesh.Mesh, axis kinematics.Axis, vertices []int32) float64 {
	u := kinematics.Perpendicular(axis.Dir)
	v := r3.Cross(axis.Dir, u)
	angles := make([]float64, len(vertices))
	for i, k := range vertices {
		q := axis.Offset(m.Vertices()[k])
		angles[i] = math.Atan2(r3.Dot(q, v), r3.Dot(q, u))
	}
	slices.Sort(angles)
	corners, widest := 0, 0.0
	for i, a := range angles {
		next := angles[(i+1)%len(angles)]
		if i+1 == len(angles) {
			next += 2 * math.Pi
		}
		if next-a > sameCorner {
			corners++
		}
		widest = max(widest, next-a)
	}
	if corners < leastRim {
		return 0
	}
	return 2*math.Pi - widest
}

// roundRims returns the closed sharp loops that are circles about an axis.
func roundRims(m *mesh.Mesh, axis kinematics.Axis) []roundThing {
	var out []roundThing
	for _, l := range m.Topology().FeatureLoops(FeatureAngle) {
		if !l.Closed || len(l.Vertices) < leastRim {
			continue
		}
		p := m.Vertices()[l.Vertices[0]]
		r, h := axis.Distance(p), axis.Along(p)
		if r == 0 || slices.ContainsFunc(l.Vertices, func(v int32) bool {
			q := m.Vertices()[v]
			return math.Abs(axis.Distance(q)-r) > evenRadius*r || math.Abs(axis.Along(q)-h) > evenRadius*r
		}) || turnOf(m, axis, l.Vertices) < leastHoused {
			continue
		}
		out = append(out, roundThing{
			elements: Elements{Loops: []Loop{{Vertices: l.Vertices, Closed: true}}}, shape: fit.Circle, rank: 1,
			radius: r, mid: h, weight: r,
		})
	}
	return out
}

// roundRings returns the rings of eight vertices or more about an axis: what is
// left of a round housing in a coarse mesh, where no rim closes.
func roundRings(m *mesh.Mesh, axis kinematics.Axis) []roundThing {
	list := make([]ringVertex, len(m.Vertices()))
	for i, p := range m.Vertices() {
		list[i] = ringVertex{int32(i), axis.Distance(p), axis.Along(p)}
	}
	// Vertices of one radius stand together; among them those of one height.
	slices.SortFunc(list, func(a, b ringVertex) int { return cmp.Or(cmp.Compare(a.r, b.r), cmp.Compare(a.vertex, b.vertex)) })
	var out []roundThing
	for len(list) > 0 {
		tol := evenRadius * list[0].r
		n := 1
		for n < len(list) && list[n].r-list[0].r <= tol {
			n++
		}
		same := slices.Clone(list[:n])
		list = list[n:]
		slices.SortFunc(same, func(a, b ringVertex) int { return cmp.Or(cmp.Compare(a.h, b.h), cmp.Compare(a.vertex, b.vertex)) })
		for len(same) >= leastRing && tol > 0 {
			n := 1
			for n < len(same) && same[n].h-same[0].h <= tol {
				n++
			}
			if ring, ok := roundRing(m, axis, same[:n]); ok {
				out = append(out, ring)
			}
			same = same[n:]
		}
	}
	return out
}

// ringVertex is a vertex by its distance from an axis and its place along it.
type ringVertex struct {
	vertex int32
	r, h   float64
}

func roundRing(m *mesh.Mesh, axis kinematics.Axis, ring []ringVertex) (roundThing, bool) {
	if len(ring) < leastRing {
		return roundThing{}, false
	}
	vertices := make([]int32, len(ring))
	for i, p := range ring {
		vertices[i] = p.vertex
	}
	slices.Sort(vertices)
	return roundThing{
		elements: Elements{Vertices: vertices}, shape: fit.Circle, rank: 2,
		radius: ring[0].r, mid: ring[0].h, weight: ring[0].r,
	}, turnOf(m, axis, vertices) >= leastHoused
}
