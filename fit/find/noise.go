package find

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

const (
	noiseSample = 20000 // edges that are looked at
	noiseEdges  = 24    // too few to tell
	noiseLeast  = 20    // edges below a quantile that is relied on
	bothWays    = 0.2   // least share of the bends either way that are noise, not shape
)

// noiseOf estimates the standard deviation of the noise of a part's vertices,
// per coordinate, model units. Flat faces and the quads of turned ones are cut
// along edges that do not bend: there the height of four corners over their
// common plane, divided by how it answers a shift of each corner, is noise.
// That is taken to hold for the straightest quarter of all edges. Where the
// bends there nearly all go one way it is the shape that bends, and 0 is
// returned. File rounding counts as noise.
func noiseOf(m *mesh.Mesh) float64 {
	top := m.Topology()
	n := len(top.EdgeVerts)
	step := max(1, n/noiseSample)
	heights := make([]float64, 0, n/step+1)
	for e := 0; e < n; e += step {
		if h, ok := edgeHeight(m, top, e); ok {
			heights = append(heights, h)
		}
	}
	if len(heights) < noiseEdges {
		return 0
	}
	slices.SortFunc(heights, func(a, b float64) int { return compareExact(math.Abs(a), math.Abs(b)) })
	sigma := math.Inf(1)
	k := 0
	for _, share := range [...]float64{0.02, 0.05, 0.1, 0.25} {
		if k = int(share * float64(len(heights))); k < noiseLeast && share < 0.25 {
			continue
		}
		sigma = min(sigma, math.Abs(heights[k])/(math.Sqrt2*math.Erfinv(share)))
	}
	convex, concave := 0, 0
	for _, h := range heights[:2*k] {
		switch {
		case h > 0:
			convex++
		case h < 0:
			concave++
		}
	}
	if float64(min(convex, concave)) < bothWays*float64(convex+concave) {
		return 0
	}
	return sigma
}

// edgeHeight is the signed volume of the four corners at an edge over the root
// sum of squares of its derivatives by them: their distance from a common
// plane in units of one corner's noise. It is false without two faces.
func edgeHeight(m *mesh.Mesh, top *mesh.Topology, e int) (float64, bool) {
	f := top.EdgeFaces(e)
	if len(f) != 2 {
		return 0, false
	}
	a, b, c := m.Corners(int(f[0]))
	v := top.EdgeVerts[e]
	w := m.Triangles()[f[1]]
	d := m.Vertices()[w[0]+w[1]+w[2]-v[0]-v[1]]
	ab, ac, ad := r3.Sub(b, a), r3.Sub(c, a), r3.Sub(d, a)
	n := r3.Cross(ab, ac)
	bc, bd := r3.Sub(c, b), r3.Sub(d, b)
	s := r3.Norm2(n) + r3.Norm2(r3.Cross(ac, ad)) + r3.Norm2(r3.Cross(ab, ad)) + r3.Norm2(r3.Cross(bc, bd))
	if !(s > 0) {
		return 0, false
	}
	return -r3.Dot(n, ad) / math.Sqrt(s), true
}
