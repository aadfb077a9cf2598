package find

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit"
	"pintle/fit/mesh"
)

const (
	leastTurned = 24   // triangles of a turned surface
	turnedLean  = 0.06 // of the speed, across the faces, root mean square
	turnedNext  = 4    // times that, for any other motion
	turnedForm  = 0.3  // what such a surface weighs against a clean circle
)

// turned returns the axis of a patch that a turn moves along itself, as a ring
// of its mean radius: the turn whose speed n.(a x p + b) across the faces is
// least (N. Gelfand and L. Guibas, Shape Segmentation Using Local Slippage
// Analysis, 2004). It is false for planes and spheres, which many turns move
// along themselves, and for cylinders, which show their axis by circles.
func turned(m *mesh.Mesh, patch []int32) (ring, bool) {
	if len(patch) < leastTurned {
		return ring{}, false
	}
	faces, mid, size := facesOf(m, patch)
	if size == 0 {
		return ring{}, false
	}
	sum := mat.NewSymDense(6, nil)
	area := 0.0
	for _, f := range faces {
		p := r3.Scale(1/size, r3.Sub(f.at, mid))
		c := r3.Cross(p, f.normal)
		v := mat.NewVecDense(6, []float64{c.X, c.Y, c.Z, f.normal.X, f.normal.Y, f.normal.Z})
		sum.SymRankOne(sum, f.area, v)
		area += f.area
	}
	var e mat.EigenSym
	if !e.Factorize(sum, true) {
		return ring{}, false
	}
	values := e.Values(nil)
	var vec mat.Dense
	e.VectorsTo(&vec)
	a := r3.Vec{X: vec.At(0, 0), Y: vec.At(1, 0), Z: vec.At(2, 0)}
	b := r3.Vec{X: vec.At(3, 0), Y: vec.At(4, 0), Z: vec.At(5, 0)}
	w := r3.Norm(a)
	if w < 0.2 {
		return ring{}, false
	}
	axis := r3.Scale(1/w, a)
	if pitch := math.Abs(r3.Dot(axis, b)) / w; pitch > turnedLean {
		return ring{}, false
	}
	// v = a x (p - o), so b = o x a and the nearest o is a x b / |a|^2.
	origin := r3.Add(mid, r3.Scale(size/(w*w), r3.Cross(a, b)))
	rms := math.Sqrt(max(values[0], 0) / area)
	if next := math.Sqrt(values[1] / area); rms > turnedLean*w || next < turnedNext*max(rms, 0.01) {
		return ring{}, false
	}
	return turnedRing(m, patch, faces, origin, axis, rms/w)
}

func turnedRing(m *mesh.Mesh, patch []int32, faces []mate, origin, axis r3.Vec, rms float64) (ring, bool) {
	r := ring{centre: origin, axis: axis, form: turnedForm}
	total, side, high := 0.0, 0.0, 0.0
	for _, f := range faces {
		d := r3.Sub(f.at, origin)
		rho := r3.Norm(r3.Cross(d, axis))
		v := r3.Cross(axis, d)
		side += f.area * math.Abs(r3.Dot(v, f.normal)) / max(rho, 1e-300)
		r.radius += f.area * rho
		high += f.area * r3.Dot(d, axis)
		total += f.area
		r.points = append(r.points, f.at)
	}
	if side/total > turnedLean {
		return r, false
	}
	r.radius /= total
	r.centre = r3.Add(origin, r3.Scale(high/total, axis))
	// Spread the points that stand for the ring round it, each for two bins
	// either side in what they cover.
	sortRound(r.points, r.centre, axis)
	r.arc = float64(len(r.points)) * 4 * 2 * math.Pi / coverBins
	l := line{origin: r.centre, axis: axis, rings: []ring{r}}
	r.arc = 2 * math.Pi * l.covered()
	if r.arc < math.Pi {
		return r, false
	}
	r.points = thin(r.points, 2*ringPoints)
	n := math.Sqrt(float64(len(faces)))
	r.tilt, r.shift = max(rms, 1e-3)/n, max(rms, 1e-3)*r.radius/n
	return r, r.radius > 0
}

// sortRound sorts points by their direction about a line.
func sortRound(p []r3.Vec, o, axis r3.Vec) {
	x := across(axis)
	y := r3.Cross(axis, x)
	at := func(p r3.Vec) float64 { return math.Atan2(r3.Dot(r3.Sub(p, o), y), r3.Dot(r3.Sub(p, o), x)) }
	slices.SortStableFunc(p, func(p, q r3.Vec) int { return cmp.Compare(at(p), at(q)) })
}

// facesOf returns the patch's vertices with their normals, their centroid and
// their size. Vertices lie on a tessellated surface, the middles of its facets
// do not.
func facesOf(m *mesh.Mesh, patch []int32) (at []mate, mid r3.Vec, size float64) {
	points, normals := fit.FromPatch(m, patch)
	for i, p := range points {
		l := r3.Norm(normals[i])
		if l == 0 {
			continue
		}
		at = append(at, mate{at: p, normal: r3.Scale(1/l, normals[i]), area: 1})
		mid = r3.Add(mid, p)
	}
	if len(at) == 0 {
		return nil, mid, 0
	}
	mid = r3.Scale(1/float64(len(at)), mid)
	for _, f := range at {
		size = max(size, r3.Norm(r3.Sub(f.at, mid)))
	}
	return at, mid, size
}
