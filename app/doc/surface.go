package doc

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit"
	"pintle/fit/mesh"
	"pintle/kinematics"
)

// Surface is a connected piece of a mesh that lies on one simple surface.
type Surface struct {
	Triangles []int32 // rising
	Datum     fit.Datum
}

// What lies on a surface. A vertex of a tessellated surface lies on it to the
// rounding of the file, so the tolerance can be far below the facets' sagitta,
// which is what tells a cylinder from the blend that runs into it.
const (
	onSurface    = 2e-4                // of the surface's size, for the distance of vertices
	onNoise      = 4                   // times the RMS of the fit, where that is more
	facetLean    = 25 * math.Pi / 180  // between a facet and the surface below it: 12 facets to the turn and more
	clearGain    = 1.5                 // a less simple surface must hold so much more area
	mostOfSeed   = 0.9                 // of the surroundings' area: that surface explains them
	flatSeed     = 0.1 * math.Pi / 180 // between the normals of a flat face
	seedSpread   = 75 * math.Pi / 180  // between the normals of a seed
	seedSample   = 200                 // points of a seed that are fitted
	leastRobust  = 12                  // points; fewer leave a robust fit nothing to decide by
	leastEven    = 8                   // triangles of an even patch that count
	evenGain     = 1.5                 // an even patch that fits only about must hold so much more area
	seedLargest  = 120                 // triangles
	seedMiddle   = 40
	seedSmallest = 12
	tightPart    = 5 // a tight surface has at least this part of the loose one's vertices
)

// SurfaceFrom returns the surface round a triangle: the plane, cylinder, cone,
// sphere or torus that the triangle and its surroundings lie on, with all that
// hangs together with it on that surface over edges that are not sharp. How
// the faces are cut does not matter, which makes it the right patch for a
// click on a mesh that is not tessellated evenly. A surface that is not quite
// of any shape, such as a hub with lobes, is taken as far as it is cut evenly.
// It is false where the triangle has no area.
func SurfaceFrom(m *mesh.Mesh, tri int) (Surface, bool) {
	if tri < 0 || tri >= len(m.Triangles()) || r3.Norm(m.AreaNormal(tri)) == 0 {
		return Surface{}, false
	}
	g := grower{mesh: m, top: m.Topology(), start: int32(tri), seen: map[int32]bool{}}
	best, ok := g.plane()
	seeds := g.seeds()
	around := g.areaOf(seeds[len(seeds)-1])
	for _, k := range curved() {
		// A surface that holds most of the surroundings leaves nothing for others
		// to explain.
		if ok && best.area >= mostOfSeed*around && len(best.Triangles) >= seedSmallest {
			break
		}
		if s, found := g.tight(k, seeds); found && s.area > clearGain*best.area {
			best, ok = s, true
		}
	}
	if s, even := g.even(); even && s.area > evenGain*best.area {
		return s.Surface, true
	}
	if best.Datum.Kind == fit.Plane && best.area < mostOfSeed*around {
		if s, found := g.loose(seeds); found && s.area > clearGain*best.area {
			return s.Surface, true
		}
	}
	return best.Surface, ok
}

func curved() [4]fit.Kind { return [4]fit.Kind{fit.Cylinder, fit.Cone, fit.Sphere, fit.Torus} }

// grower grows surfaces from one triangle.
type grower struct {
	mesh  *mesh.Mesh
	top   *mesh.Topology
	start int32
	seen  map[int32]bool // scratch of flood
}

type grown struct {
	Surface
	area float64
}

// plane returns the flat face round the start.
func (g *grower) plane() (grown, bool) {
	n := g.mesh.AreaNormal(int(g.start))
	flat := g.flood(math.MaxInt, func(t int32) bool { return kinematics.Angle(g.mesh.AreaNormal(int(t)), n) <= flatSeed })
	points, normals := fit.FromPatch(g.mesh, flat)
	d, err := fit.FitPlane(points, fit.Options{Normals: normals})
	if err != nil {
		return grown{}, false
	}
	return g.settle(d, points)
}

// seeds returns the triangles that surfaces are guessed from, the smallest
// neighbourhood last: the even patch, where the tessellation is regular, and
// what lies round the start.
func (g *grower) seeds() [][]int32 {
	var seeds [][]int32
	if even := g.top.EvenPatchFrom(int(g.start), FeatureAngle); len(even) >= leastEven {
		seeds = append(seeds, even)
	}
	n := g.mesh.AreaNormal(int(g.start))
	near := g.flood(seedLargest, func(t int32) bool { return kinematics.Angle(g.mesh.AreaNormal(int(t)), n) <= seedSpread })
	for _, size := range []int{seedLargest, seedMiddle, seedSmallest} {
		if size <= len(near) || size == seedSmallest {
			seeds = append(seeds, near[:min(size, len(near))])
		}
	}
	return seeds
}

// tight returns the surface of one kind whose vertices lie on it closely, from
// the first seed that leads to one as large as the seed, else the largest.
func (g *grower) tight(k fit.Kind, seeds [][]int32) (best grown, ok bool) {
	for _, robust := range []bool{false, true} {
		for _, seed := range seeds {
			s, found := g.grow(k, seed, robust)
			if !found {
				continue
			}
			if !s.isTight(g.mesh) {
				s = g.tighten(s)
			}
			if !s.isTight(g.mesh) || len(s.Triangles) < least(k) || s.area <= best.area {
				continue
			}
			best, ok = s, true
			if s.area >= g.areaOf(seed) {
				return best, true
			}
		}
		if ok || k != fit.Cylinder {
			break // only cylinders are worth a robust fit
		}
	}
	return best, ok
}

// loose returns the cylinder that holds the surroundings about, from the first
// seed that it holds half of.
func (g *grower) loose(seeds [][]int32) (grown, bool) {
	for _, robust := range []bool{false, true} {
		for _, seed := range seeds {
			if s, ok := g.grow(fit.Cylinder, seed, robust); ok && len(s.Triangles) >= least(fit.Cylinder) && s.area >= g.areaOf(seed)/2 {
				return s, true
			}
		}
	}
	return grown{}, false
}

// least is how many triangles make a surface: fewer lie on one by chance.
func least(k fit.Kind) int {
	if k == fit.Cylinder {
		return 8
	}
	return 12
}

// isTight reports whether the vertices lie on the surface closely.
func (s grown) isTight(m *mesh.Mesh) bool {
	points, _ := fit.FromPatch(m, s.Triangles)
	return s.Datum.RMS <= onSurface*surfaceSize(s.Datum, points)
}

// grow returns the surface that one seed leads to.
func (g *grower) grow(k fit.Kind, seed []int32, robust bool) (grown, bool) {
	points, normals := fit.FromPatch(g.mesh, seed)
	if robust && len(points) < leastRobust {
		return grown{}, false
	}
	points, normals = thin(points, seedSample), thin(normals, seedSample)
	d, err := fit.Fit(k, points, fit.Options{Normals: normals, Robust: robust})
	if err != nil || !robust && d.FormError > turnedForm*surfaceSize(d, points) {
		return grown{}, false
	}
	return g.settle(d, points)
}

// even returns the even patch with the first kind that it fits about.
func (g *grower) even() (grown, bool) {
	patch := g.top.EvenPatchFrom(int(g.start), FeatureAngle)
	if len(patch) < leastEven {
		return grown{}, false
	}
	points, normals := fit.FromPatch(g.mesh, patch)
	points, normals = thin(points, fitSample), thin(normals, fitSample)
	for _, k := range curved() {
		d, err := fit.Fit(k, points, fit.Options{Normals: normals})
		if err == nil && d.FormError <= turnedForm*surfaceSize(d, points) {
			return grown{Surface: Surface{Triangles: patch, Datum: d}, area: g.areaOf(patch)}, true
		}
	}
	return grown{}, false
}

// settle grows a surface from its guess, fits it to what it holds and grows it
// again. It is false where the start does not lie on it.
func (g *grower) settle(d fit.Datum, points []r3.Vec) (grown, bool) {
	var tris []int32
	const rounds = 4
	for range rounds {
		tol := max(onSurface*surfaceSize(d, points), onNoise*d.RMS)
		if !liesOn(g.mesh, g.start, d, tol) {
			return grown{}, false
		}
		next := g.flood(math.MaxInt, func(t int32) bool { return liesOn(g.mesh, t, d, tol) })
		slices.Sort(next)
		same := slices.Equal(next, tris)
		tris = next
		if same {
			break
		}
		var normals []r3.Vec
		points, normals = fit.FromPatch(g.mesh, tris)
		points, normals = thin(points, fitSample), thin(normals, fitSample)
		better, err := fit.Fit(d.Kind, points, fit.Options{Normals: normals, Start: &d})
		if err != nil {
			break
		}
		d = better
	}
	return grown{Surface: Surface{Triangles: tris, Datum: d}, area: g.areaOf(tris)}, true
}

// tighten drops what a surface holds of the blends that run into it: its
// vertices are fitted again without those far off, until the rest lie on the
// datum closely. A surface that is loose throughout stays as it is.
func (g *grower) tighten(s grown) grown {
	points, _ := fit.FromPatch(g.mesh, s.Triangles)
	points = thin(points, fitSample)
	all, d := len(points), s.Datum
	if d.RMS <= onSurface*surfaceSize(d, points) {
		return s
	}
	const rounds = 8
	for range rounds {
		kept := closest(points, d)
		if len(kept) == len(points) || len(kept) < all/tightPart {
			return s
		}
		points = kept
		better, err := fit.Fit(d.Kind, points, fit.Options{Start: &d})
		if err != nil {
			return s
		}
		if d = better; d.RMS <= onSurface*surfaceSize(d, points)/2 {
			break
		}
	}
	if t, ok := g.settle(d, points); ok && t.isTight(g.mesh) {
		return t
	}
	return s
}

// areaOf returns twice the area of triangles.
func (g *grower) areaOf(tris []int32) float64 {
	area := 0.0
	for _, t := range tris {
		area += r3.Norm(g.mesh.AreaNormal(int(t)))
	}
	return area
}

// flood returns up to n triangles that hang together with the start over edges
// that are not sharp, nearest first.
func (g *grower) flood(n int, join func(t int32) bool) []int32 {
	clear(g.seen)
	g.seen[g.start] = true
	list := []int32{g.start}
	for i := 0; i < len(list) && len(list) < n; i++ {
		for _, e := range g.top.TriEdges[list[i]] {
			if bend := g.top.Dihedral(int(e)); !(math.Abs(bend) <= FeatureAngle+1e-6) {
				continue
			}
			for _, u := range g.top.EdgeFaces(int(e)) {
				if !g.seen[u] && join(u) {
					g.seen[u] = true
					list = append(list, u)
				}
			}
		}
	}
	return list[:min(len(list), n)]
}

// surfaceSize is the length that tolerances on a surface are relative to.
func surfaceSize(d fit.Datum, points []r3.Vec) float64 {
	size := extentOf(points)
	switch d.Kind {
	case fit.Cylinder, fit.Sphere:
		return min(size, 2*d.Radius)
	case fit.Torus:
		return min(size, 2*d.Radius2)
	}
	return size
}

// liesOn reports whether a triangle lies on a surface: its corners within tol,
// its normal along the surface's.
func liesOn(m *mesh.Mesh, tri int32, d fit.Datum, tol float64) bool {
	a, b, c := m.Corners(int(tri))
	for _, p := range [3]r3.Vec{a, b, c} {
		if !(math.Abs(d.Distance(p)) <= tol) {
			return false
		}
	}
	mid := r3.Scale(1.0/3, r3.Add(r3.Add(a, b), c))
	lean := kinematics.Angle(m.AreaNormal(int(tri)), d.Normal(mid))
	return min(lean, math.Pi-lean) <= facetLean
}
