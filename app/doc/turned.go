package doc

import (
	"context"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit"
	"pintle/fit/mesh"
	"pintle/kinematics"
)

// What makes a patch a turned surface about an axis (common practice, no
// published source): wide enough that a housing which is off its hinge, the
// case to be found, still counts as its housing.
const (
	turnedTilt   = 5 * math.Pi / 180  // between its own axis and the given one
	turnedOffset = 0.25               // of its own axis, relative to its radius
	turnedArc    = 90 * math.Pi / 180 // that it covers at least
	clusterArc   = 30 * math.Pi / 180 // of one piece of it
	turnedTrue   = 3e-4               // RMS relative to its radius
	turnedForm   = 0.05               // form error relative to its radius, where it is evenly tessellated
	turnedAround = 350 * math.Pi / 180
	faceTilt     = 5 * math.Pi / 180 // of an end face
	faceFlat     = 2 * math.Pi / 180 // bend inside an end face
	faceArc      = 180 * math.Pi / 180
	fewestFacets = 6
	fitSample    = 1000 // points that decide; the runout is measured on all

	// A facet may be part of a turned surface where its normal is square to the
	// axis within the tilt, and passes the axis at a distance that the offset and
	// half a facet of a twelve-sided round allow.
	facetSquare = 0.105 // sine
	facetMiss   = 0.55  // sine of the angle between normal and radius
)

// TurnedSurfaces finds the patches of a mesh that a hinge about the axis should
// run true to when nobody has picked them: faces that lie on a cylinder which
// covers 90 degrees or more, with its own axis within 5 degrees and a quarter
// of its radius of the given one, and the flat end faces, square to the axis
// within 5 degrees, that meet such a cylinder along half a turn or more. How
// the faces are cut into triangles does not matter. Each patch is triangle
// numbers in rising order; the cylinders come first, the largest in front. It
// fails only when ctx is done.
func TurnedSurfaces(ctx context.Context, m *mesh.Mesh, axis kinematics.Axis) ([][]int32, error) {
	f := turnedFinder{mesh: m, top: m.Topology(), axis: axis, open: make([]bool, len(m.Triangles())), taken: make([]bool, len(m.Triangles()))}
	for t := range f.open {
		f.open[t] = f.faces(t)
	}
	for range 4 { // what is left of a cluster may hold another surface
		found := 0
		for _, c := range f.clusters() {
			if err := ctx.Err(); err != nil {
				return nil, err
			}
			if f.take(c) {
				found++
			}
		}
		if found == 0 {
			break
		}
	}
	return append(f.out, f.endFaces()...), ctx.Err()
}

type turnedFinder struct {
	mesh  *mesh.Mesh
	top   *mesh.Topology
	axis  kinematics.Axis
	open  []bool // may be part of a surface not found yet
	taken []bool // is part of one
	out   [][]int32
}

// faces reports whether triangle t may lie on a surface turned about the axis.
func (f *turnedFinder) faces(t int) bool {
	n := f.mesh.AreaNormal(t)
	length := r3.Norm(n)
	if length == 0 || math.Abs(r3.Dot(n, f.axis.Dir)) > facetSquare*length {
		return false
	}
	a, b, c := f.mesh.Corners(t)
	out := f.axis.Offset(r3.Scale(1.0/3, r3.Add(r3.Add(a, b), c)))
	r := r3.Norm(out)
	return r > 0 && r3.Norm(r3.Cross(out, n)) <= facetMiss*r*length
}

// clusters returns the open triangles that hang together over edges that are
// not sharp, the largest area first, then the lowest triangle.
func (f *turnedFinder) clusters() [][]int32 {
	type cluster struct {
		tris []int32
		area float64
	}
	var list []cluster
	seen := make([]bool, len(f.open))
	for t := range f.open {
		if !f.open[t] || seen[t] {
			continue
		}
		seen[t] = true
		c := cluster{tris: []int32{int32(t)}}
		for i := 0; i < len(c.tris); i++ {
			c.area += r3.Norm(f.mesh.AreaNormal(int(c.tris[i])))
			for _, e := range f.top.TriEdges[c.tris[i]] {
				if bend := f.top.Dihedral(int(e)); !(math.Abs(bend) <= FeatureAngle+1e-6) {
					continue
				}
				for _, u := range f.top.EdgeFaces(int(e)) {
					if f.open[u] && !seen[u] {
						seen[u] = true
						c.tris = append(c.tris, u)
					}
				}
			}
		}
		list = append(list, c)
	}
	slices.SortStableFunc(list, func(a, b cluster) int {
		switch {
		case a.area > b.area:
			return -1
		case a.area < b.area:
			return 1
		}
		return 0
	})
	out := make([][]int32, len(list))
	for i, c := range list {
		out[i] = c.tris
	}
	return out
}

// take fits a cylinder to a cluster and, if it is a turned surface, takes all
// open triangles that lie on it, those of other clusters too: a bore that a
// slot cuts in two is one bore.
func (f *turnedFinder) take(cluster []int32) bool {
	cluster = slices.DeleteFunc(cluster, func(t int32) bool { return !f.open[t] })
	if len(cluster) < fewestFacets/2 || f.covers(cluster) < clusterArc {
		return false
	}
	d, ok := f.cylinder(cluster)
	if !ok || !f.near(d) {
		return false
	}
	tol := max(onSurface*d.Radius, onNoise*d.RMS)
	var tris []int32
	for t, open := range f.open {
		if open && liesOn(f.mesh, int32(t), d, tol) {
			tris = append(tris, int32(t))
		}
	}
	if len(tris) < fewestFacets {
		return false
	}
	if d, ok = f.cylinder(tris); !ok || !f.near(d) || d.Arc < turnedArc || !f.isSurface(tris, d) {
		return false
	}
	for _, t := range tris {
		f.open[t], f.taken[t] = false, true
	}
	f.out = append(f.out, tris)
	return true
}

// covers returns the arc about the axis within which the triangles lie.
func (f *turnedFinder) covers(tris []int32) float64 {
	u := kinematics.Perpendicular(f.axis.Dir)
	v := r3.Cross(f.axis.Dir, u)
	list := pickedVertices(f.mesh, Elements{Triangles: tris})
	angles := make([]float64, len(list))
	for i, at := range list {
		q := f.axis.Offset(f.mesh.Vertices()[at])
		angles[i] = math.Atan2(r3.Dot(q, v), r3.Dot(q, u))
	}
	slices.Sort(angles)
	gap := angles[0] + 2*math.Pi - angles[len(angles)-1]
	for i := 1; i < len(angles); i++ {
		gap = max(gap, angles[i]-angles[i-1])
	}
	return 2*math.Pi - gap
}

// isSurface reports whether triangles make a surface that was meant to be
// turned: their vertices lie on the cylinder closely, or at least by a few
// percent where it goes all the way round and even tessellation shows that it is
// one surface, such as a hub that is not quite round. A heap of blends and ribs
// is neither.
func (f *turnedFinder) isSurface(tris []int32, d fit.Datum) bool {
	if d.RMS <= turnedTrue*d.Radius {
		return true
	}
	if d.FormError > turnedForm*d.Radius || d.Arc < turnedAround {
		return false
	}
	even := f.top.EvenPatchFrom(int(tris[len(tris)/2]), FeatureAngle)
	shared := 0
	for _, t := range even {
		if _, found := slices.BinarySearch(tris, t); found {
			shared++
		}
	}
	return 10*shared >= 9*len(tris)
}

// cylinder fits a cylinder about the axis to triangles, leaving out those that
// a blend that runs into it has brought along.
func (f *turnedFinder) cylinder(tris []int32) (fit.Datum, bool) {
	points, normals := fit.FromPatch(f.mesh, tris)
	points, normals = thin(points, fitSample), thin(normals, fitSample)
	d, ok := f.trimmed(points)
	if ok && d.RMS <= turnedTrue*d.Radius {
		return d, true
	}
	points, normals = thin(points, seedSample), thin(normals, seedSample)
	r, err := fit.FitCylinder(points, fit.Options{Normals: normals, Robust: true})
	if err == nil && (!ok || r.RMS < d.RMS/2) {
		return r, true
	}
	return d, ok
}

// trimmed fits from the axis on and drops, round by round, the points that lie
// far off.
func (f *turnedFinder) trimmed(points []r3.Vec) (fit.Datum, bool) {
	all := len(points)
	start := fit.Datum{Kind: fit.Cylinder, Origin: f.axis.Point, Axis: f.axis.Dir}
	for _, p := range points {
		start.Radius += f.axis.Distance(p) / float64(all)
	}
	var d fit.Datum
	const rounds = 6
	for range rounds {
		var err error
		if d, err = fit.FitCylinder(points, fit.Options{Start: &start}); err != nil {
			return d, false
		}
		if d.FormError <= 2*onSurface*d.Radius {
			break
		}
		kept := closest(points, d)
		if len(kept) == len(points) || len(kept) < all/tightPart {
			break
		}
		points, start = kept, d
	}
	return d, true
}

// closest returns the points that are no further from the datum than one and a
// half times the median distance: a blend that runs into a surface shifts its
// fit, and only a sharp cut lets go of the blend's nearest rows.
func closest(points []r3.Vec, d fit.Datum) []r3.Vec {
	off := make([]float64, len(points))
	for i, p := range points {
		off[i] = math.Abs(d.Distance(p))
	}
	sorted := slices.Sorted(slices.Values(off))
	limit := max(1.5*sorted[len(sorted)/2], 1e-3*onSurface*d.Radius)
	var kept []r3.Vec
	for i, p := range points {
		if off[i] <= limit {
			kept = append(kept, p)
		}
	}
	return kept
}

// near reports whether the datum's axis is that of a housing of the hinge.
func (f *turnedFinder) near(d fit.Datum) bool {
	own := kinematics.Axis{Point: d.Origin, Dir: d.Axis}
	own.Point = own.At((d.Extent[0] + d.Extent[1]) / 2)
	off := kinematics.AxisErrorOf(f.axis, own)
	return off.Angle <= turnedTilt && off.Offset <= turnedOffset*d.Radius
}

// endFaces returns the flat faces square to the axis that meet the surfaces
// found along half a turn or more, in the order of their first triangles.
func (f *turnedFinder) endFaces() [][]int32 {
	var out [][]int32
	seen := make([]bool, len(f.taken))
	for t := range f.taken {
		if seen[t] || f.taken[t] || !f.square(int32(t)) {
			continue
		}
		seen[t] = true
		face := []int32{int32(t)}
		arc := 0.0
		for i := 0; i < len(face); i++ {
			for _, e := range f.top.TriEdges[face[i]] {
				other := f.top.Opposite(int(face[i]), int(e))
				switch {
				case other < 0:
				case f.taken[other]:
					arc += f.turn(e)
				case !seen[other] && f.square(int32(other)) && math.Abs(f.top.Dihedral(int(e))) <= faceFlat:
					seen[other] = true
					face = append(face, int32(other))
				}
			}
		}
		if arc >= faceArc {
			slices.Sort(face)
			out = append(out, face)
		}
	}
	return out
}

// square reports whether a triangle faces along the axis.
func (f *turnedFinder) square(t int32) bool {
	a := kinematics.Angle(f.mesh.AreaNormal(int(t)), f.axis.Dir)
	return min(a, math.Pi-a) <= faceTilt
}

// turn returns the angle that an edge covers about the axis.
func (f *turnedFinder) turn(e int32) float64 {
	v := f.top.EdgeVerts[e]
	a, b := f.axis.Offset(f.mesh.Vertices()[v[0]]), f.axis.Offset(f.mesh.Vertices()[v[1]])
	if r3.Norm(a) == 0 || r3.Norm(b) == 0 {
		return 0
	}
	return kinematics.Angle(a, b)
}
