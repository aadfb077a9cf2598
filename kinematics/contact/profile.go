package contact

import (
	"math"
	"slices"
)

// sample is a vertex of a facet as the profile check sees it: a key along the
// profile, the height across it, and the slope there.
type sample struct {
	key, height, slope float64
	sagitta            float64
	facet, vertex      int32
}

// profile is the part of a patch in which a key has one height.
type profile struct {
	patch   int32
	class   int8
	samples []sample
}

// spots returns some of the profile's samples, evenly spread.
func (p *profile) spots() []sample {
	const most = 24
	var list []sample
	for i := range min(most, len(p.samples)) {
		list = append(list, p.samples[i*len(p.samples)/min(most, len(p.samples))])
	}
	return list
}

// sampleProfiles lists the outer vertices of the patches' facets. Steep facets
// are keyed by height and flat ones by radius, each in two classes by the
// sense of their normal, so that a key has one height.
func (f *surface) sampleProfiles(s *side, c *cylindrical, patch []int32, tolerance float64) []*profile {
	type key struct {
		patch int32
		class int8
	}
	var list []*profile
	at := make(map[key]*profile)
	last := make([]int32, len(s.points)) // patch + 1 that has the vertex
	for t := range s.tris {
		i := f.facetOf[t]
		b := &f.facets[i]
		if patch[i] < 0 || b.flat(tolerance) {
			continue
		}
		k := key{patch[i], b.class()}
		p := at[k]
		if p == nil {
			p = &profile{patch: k.patch, class: k.class}
			at[k] = p
			list = append(list, p)
		}
		for _, v := range s.tris[t] {
			if last[v] == p.patch+1 || math.Abs(wrapHalf(c.azimuth[v]-b.facing)) < 0.8*b.half {
				continue
			}
			last[v] = p.patch + 1
			x := sample{sagitta: b.chordHeight(b.width / 2), facet: i, vertex: v}
			x.key, x.height, x.slope = s.points[v].Z, c.radius[v], -b.normal.Z/b.outwardRadial()
			if k.class >= flatClass {
				x.key, x.height, x.slope = x.height, x.key, 1/x.slope
			}
			p.samples = append(p.samples, x)
		}
	}
	return list
}

const flatClass = 2

// class tells apart steep facets that face outward or inward, and flat ones
// that face up or down.
func (f *facet) class() int8 {
	if f.radial >= math.Abs(f.normal.Z) {
		return sense(f.outwardRadial())
	}
	return flatClass + sense(f.normal.Z)
}

// outwardRadial returns the component of the normal away from the axis.
func (f *facet) outwardRadial() float64 {
	if f.outward {
		return f.radial
	}
	return -f.radial
}

func sense(x float64) int8 {
	if x < 0 {
		return 0
	}
	return 1
}

// offProfile returns the facets of the samples, all at nearly the same key,
// that lie off the median height by more than their sagitta.
func offProfile(group []sample, tolerance float64) []int32 {
	if len(group) < 2 {
		return nil
	}
	height := make([]float64, len(group))
	for i, x := range group {
		height[i] = x.height - x.slope*(x.key-group[0].key)
	}
	sorted := slices.Clone(height)
	slices.Sort(sorted)
	median := sorted[len(sorted)/2]
	var off []int32
	for i, x := range group {
		if math.Abs(height[i]-median) > max(2*tolerance, x.sagitta) {
			off = append(off, x.facet)
		}
	}
	return off
}

// turnsOnItself reports whether vertices of a patch, turned to where others of
// them stand, come to lie on the mesh again: within the sagitta of the round,
// from which a facet may be off by another sagitta. A quarter of them may miss
// it, for holes and ends.
func (f *surface) turnsOnItself(s *side, c *cylindrical, spots []sample, tolerance float64) bool {
	h := s.mesh.BVH()
	hits, tries := 0, 0
	n := len(spots)
	for i, x := range spots {
		for _, step := range [4]int{n/5 + 1, n/3 + 1, n / 2, 2*n/3 + 1} {
			o := spots[(i+step)%n]
			sin, cos := math.Sincos(c.azimuth[o.vertex] - c.azimuth[x.vertex])
			t, _, d := h.Closest(s.frame.model(turned(s.points[x.vertex], cos, sin)))
			tries++
			if t < 0 {
				continue
			}
			b := &f.facets[f.facetOf[t]]
			if d*s.frame.scale <= 2*max(tolerance, x.sagitta, b.chordHeight(b.width/2)) {
				hits++
			}
		}
	}
	return 4*hits >= 3*tries
}
