package contact

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

// surface says which triangles lie on surfaces of revolution about the axis.
// Such a surface comes to lie on itself when it turns, so its inside can never
// newly collide with anything: only the ends of an arc can.
type surface struct {
	facetOf []int32
	facets  []facet
	turned  []int32   // per triangle: its patch of revolution, or -1
	sagitta []float32 // per triangle: how far a turned one lies inside its surface
	slack   []float32 // per triangle: how far a corner on a turned patch does
	dip     []float32 // per vertex: how much nearer the axis it lies than the round
}

const (
	// widestHalfStep is half the widest step that still counts as a round: 12
	// facets to the turn and a little. Fewer are taken for flats.
	widestHalfStep = 15.5 * math.Pi / 180
	// sharpest is the cosine of the sharpest bend inside a turned patch.
	sharpest = 0.69
	// fewestColumns is how many facets in different directions make a round.
	fewestColumns = 3
)

// findTurned finds the turned patches of a mesh: flat ones perpendicular to
// the axis, and connected facets each of which faces the axis from within its
// own arc and whose vertices lie on one profile to within the sagitta.
func findTurned(s *side, c *cylindrical, tolerance float64) surface {
	top := s.mesh.Topology()
	f := surface{}
	f.facetOf, f.facets = findFacets(s, c, top)
	candidate := make([]bool, len(f.facets))
	for i := range f.facets {
		candidate[i] = f.facets[i].flat(tolerance) || f.facets[i].facesAxis()
	}
	patch := f.joinFacets(s, top, candidate)
	f.checkPatches(s, c, patch, tolerance)
	f.turned = make([]int32, len(s.tris))
	f.sagitta = make([]float32, len(s.tris))
	for t := range s.tris {
		f.turned[t] = patch[f.facetOf[t]]
		if f.turned[t] >= 0 {
			f.sagitta[t] = float32(f.facets[f.facetOf[t]].sagitta())
		}
	}
	f.findSlack(s, c)
	return f
}

// flat reports whether the facet is perpendicular to the axis.
func (f *facet) flat(tolerance float64) bool {
	return f.zHi-f.zLo <= tolerance && math.Abs(f.normal.Z) > 0.99
}

// facesAxis reports whether the facet's normal meets the axis somewhere on the
// facet: the tangential part of the normal is then no more than the facet's
// own width explains.
func (f *facet) facesAxis() bool {
	return f.radial > 0 && f.half <= widestHalfStep &&
		math.Abs(wrapHalf(f.facing-wrapHalf(f.at+f.width/2))) <= f.width/2+1e-9
}

// joinFacets labels candidates with the patch that bends of less than 46
// degrees link them to; other facets get -1. Labels are facet numbers.
func (f *surface) joinFacets(s *side, top *mesh.Topology, candidate []bool) []int32 {
	parent := make([]int32, len(f.facets))
	for i := range parent {
		parent[i] = int32(i)
	}
	find := func(i int32) int32 {
		for parent[i] != i {
			parent[i] = parent[parent[i]]
			i = parent[i]
		}
		return i
	}
	for e := range top.EdgeVerts {
		tris := top.EdgeFaces(e)
		if len(tris) != 2 {
			continue
		}
		a, b := f.facetOf[tris[0]], f.facetOf[tris[1]]
		if a == b || !candidate[a] || !candidate[b] || r3.Dot(f.facets[a].normal, f.facets[b].normal) < sharpest {
			continue
		}
		a, b = find(a), find(b)
		parent[max(a, b)] = min(a, b)
	}
	patch := make([]int32, len(f.facets))
	for i := range patch {
		patch[i] = -1
		if candidate[i] {
			patch[i] = find(int32(i))
		}
	}
	return patch
}

// checkPatches takes out of the patches what is not turned: patches of fewer
// than three columns, the odd facet that lies off its patch's profile, and
// patches that turning does not carry onto themselves.
func (f *surface) checkPatches(s *side, c *cylindrical, patch []int32, tolerance float64) {
	f.countColumns(patch, tolerance)
	spots := make(map[int32][]sample)
	var odd []int32
	for _, p := range f.sampleProfiles(s, c, patch, tolerance) {
		slices.SortFunc(p.samples, func(a, b sample) int { return cmp.Compare(a.key, b.key) })
		for i := 0; i < len(p.samples); {
			n := 1
			reach := max(tolerance, p.samples[i].sagitta/4)
			for i+n < len(p.samples) && p.samples[i+n].key-p.samples[i].key <= reach {
				n++
			}
			odd = append(odd, offProfile(p.samples[i:i+n], tolerance)...)
			i += n
		}
		spots[p.patch] = append(spots[p.patch], p.spots()...)
	}
	for _, b := range odd {
		patch[b] = -1
	}
	off := make(map[int32]bool)
	for p, list := range spots {
		off[p] = !f.turnsOnItself(s, c, list, tolerance)
	}
	for i, p := range patch {
		if p >= 0 && off[p] && !f.facets[i].flat(tolerance) {
			patch[i] = -1
		}
	}
}

// countColumns takes the facets that are not flat out of patches which face
// fewer than three directions.
func (f *surface) countColumns(patch []int32, tolerance float64) {
	type column struct {
		patch  int32
		facing float64
	}
	var columns []column
	for i, p := range patch {
		if p >= 0 && !f.facets[i].flat(tolerance) {
			columns = append(columns, column{p, f.facets[i].facing})
		}
	}
	slices.SortFunc(columns, func(a, b column) int {
		return cmp.Or(cmp.Compare(a.patch, b.patch), cmp.Compare(a.facing, b.facing))
	})
	count := make(map[int32]int)
	for i, c := range columns {
		if i == 0 || columns[i-1].patch != c.patch || c.facing-columns[i-1].facing > samePlane {
			count[c.patch]++
		}
	}
	for i, p := range patch {
		if p >= 0 && count[p] < fewestColumns && !f.facets[i].flat(tolerance) {
			patch[i] = -1
		}
	}
}

// findSlack measures at every vertex of a turned facet how much nearer the axis
// it lies than the surface of revolution: one that was cut into the middle of a
// facet does by up to the sagitta, one at the end of the facet not at all. For
// active triangles beside it that is a slack along the profile's normal.
func (f *surface) findSlack(s *side, c *cylindrical) {
	f.dip = make([]float32, len(s.points))
	along := make([]float32, len(s.points))
	for t := range s.tris {
		b := &f.facets[f.facetOf[t]]
		if f.turned[t] < 0 || b.radial == 0 || b.half > widestHalfStep {
			continue
		}
		for _, v := range s.tris[t] {
			d := wrapHalf(c.azimuth[v] - b.facing)
			x := c.radius[v] * (math.Cos(d)/math.Cos(b.half) - 1)
			f.dip[v] = max(f.dip[v], float32(x))
			along[v] = max(along[v], float32(b.radial*x))
		}
	}
	f.slack = make([]float32, len(s.tris))
	for t, v := range s.tris {
		if f.turned[t] < 0 {
			f.slack[t] = max(along[v[0]], along[v[1]], along[v[2]])
		}
	}
}
