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
// Analysis, 2004), or a principal axis, and from there the surface of
// revolution that its vertices lie on. It is false for planes and spheres, which
// many turns move along themselves, and for cylinders, which show their axis
// otherwise. sigma is the noise of the vertices.
func turned(m *mesh.Mesh, patch []int32, sigma float64) (ring, bool) {
	if len(patch) < leastTurned {
		return ring{}, false
	}
	faces, mid, size := facesOf(m, patch)
	if size == 0 {
		return ring{}, false
	}
	s, ok := slipOf(faces, mid, size)
	if !ok {
		return ring{}, false
	}
	points := make([]r3.Vec, len(faces))
	for i, f := range faces {
		points[i] = f.at
	}
	points = thin(points, profileSample)
	if isBall(points, sigma) {
		return ring{}, false
	}
	if s.pitch <= looseLean && s.rms <= looseLean {
		if r, ok := profiled(points, s.origin, s.axis, sigma); ok {
			return r, s.other > 1 // planes, spheres and cylinders slip along more
		}
	}
	if s.rms > turnedLean || s.pitch > turnedLean || s.other < turnedNext {
		return ring{}, false
	}
	return turnedRing(faces, s.origin, s.axis, s.rms)
}

// isBall reports whether points lie on a sphere.
func isBall(p []r3.Vec, sigma float64) bool {
	c, r, ok := sphereThrough(p)
	if !ok {
		return false
	}
	ss := 0.0
	for _, q := range p {
		d := r3.Norm(r3.Sub(q, c)) - r
		ss += d * d
	}
	return math.Sqrt(ss/float64(len(p))) < roundness*r+2*sigma
}

// looseLean is turnedLean for what the vertices decide.
const looseLean = 0.3

// slip is the turn that moves a patch along itself best.
type slipTurn struct {
	origin, axis r3.Vec
	rms          float64 // speed across the faces, of that of the turn at the patch's size
	pitch        float64 // along the axis, of the same
	other        float64 // that of the next best motion, in multiples of the larger of rms and 0.01
}

// slipOf returns the slip of vertices with normals, false where no turn is part
// of it.
func slipOf(faces []mate, mid r3.Vec, size float64) (slipTurn, bool) {
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
		return slipTurn{}, false
	}
	values := e.Values(nil)
	var vec mat.Dense
	e.VectorsTo(&vec)
	a := r3.Vec{X: vec.At(0, 0), Y: vec.At(1, 0), Z: vec.At(2, 0)}
	b := r3.Vec{X: vec.At(3, 0), Y: vec.At(4, 0), Z: vec.At(5, 0)}
	w := r3.Norm(a)
	if w < 0.2 {
		return slipTurn{}, false
	}
	axis := r3.Scale(1/w, a)
	rms := math.Sqrt(max(values[0], 0) / area)
	return slipTurn{
		// v = a x (p - o), so b = o x a and the nearest o is a x b / |a|^2.
		origin: r3.Add(mid, r3.Scale(size/(w*w), r3.Cross(a, b))), axis: axis,
		rms: rms / w, pitch: math.Abs(r3.Dot(axis, b)) / w, other: math.Sqrt(values[1]/area) / max(rms, 0.01),
	}, true
}

// profiled returns the ring of a surface of revolution with a free section.
func profiled(points []r3.Vec, origin, axis r3.Vec, sigma float64) (ring, bool) {
	f, ok := fitProfile(points, origin, axis, sigma)
	if !ok {
		return ring{}, false
	}
	r := ring{centre: f.origin, axis: f.axis, radius: f.radius, form: turnedForm * useful(f.tilt), points: f.on}
	r.tilt, r.shift = f.tilt, f.shift
	return r, r.spreadOut()
}

// spreadOut sets the arc of a turned surface from its vertices, of which it
// keeps some; it is false for less than half a turn.
func (r *ring) spreadOut() bool {
	// The points that stand for the ring stand round it, each for two bins
	// either side in what they cover.
	sortRound(r.points, r.centre, r.axis)
	r.arc = float64(len(r.points)) * 4 * 2 * math.Pi / coverBins
	l := line{origin: r.centre, axis: r.axis, rings: []ring{*r}}
	r.arc = 2 * math.Pi * l.covered()
	r.points = thin(r.points, 2*ringPoints)
	return r.arc >= math.Pi && r.radius > 0
}

func turnedRing(faces []mate, origin, axis r3.Vec, rms float64) (ring, bool) {
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
	n := math.Sqrt(float64(len(faces)))
	r.tilt, r.shift = turnedBlur*max(rms, 1e-3)/n, turnedBlur*max(rms, 1e-3)*r.radius/n
	return r, r.spreadOut()
}

// turnedBlur is how much more an axis read from normals is off than independent
// errors of them would make it: those of an uneven tessellation go together.
const turnedBlur = 2.5

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
