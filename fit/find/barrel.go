package find

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit"
)

// Barrels are cylinders that a part shows by its surface, whole or in part,
// whether or not a clean circle bounds them: decimation and noise spoil the
// circles first.

const (
	barrelNear   = 24                  // triangles that a guess is read from
	barrelSeeds  = 1500                // guesses of a part at most
	gentleBend   = 35 * math.Pi / 180  // between facets of a fine cylinder
	coarseBend   = 66 * math.Pi / 180  // between those of a six-sided one
	barrelLean   = 60 * math.Pi / 180  // of a facet from the radius
	barrelOff    = 3e-3                // of the radius, of a vertex from the cylinder
	barrelSigmas = 4                   // the same, in standard deviations of the noise
	leastBarrel  = 8                   // vertices
	barrelRMS    = 0.4                 // of the most that a vertex may be off; vertices of another surface make 0.6
	leastSpread  = 0.02                // of the normals across the axis
	mostAlong    = 0.15                // of the normals along it, relative to that
	barrelSample = 240                 // vertices that are fitted
	barrelForm   = 0.5                 // what a cylinder weighs against a clean circle
	barrelTilt   = 1.5 * math.Pi / 180 // of an axis that is still of use
	barrelGap    = 100 * math.Pi / 180 // between vertices of a cylinder that goes all the way round
	barrelArc    = 100 * math.Pi / 180 // least, else it is a fillet
)

// barrels adds a ring for each cylinder.
func (k *looker) barrels() error {
	g := &barrelGrower{
		looker: k, taken: make([]bool, len(k.top.TriEdges)), tried: make([]bool, len(k.top.TriEdges)),
		triStamp: make([]int32, len(k.top.TriEdges)), vertStamp: make([]int32, len(k.mesh.Vertices())),
	}
	order := g.seeds()
	for _, bend := range [...]float64{gentleBend, coarseBend} {
		clear(g.tried)
		tries := 0
		for i, t := range order {
			if i%lookStride == 0 && k.ctx.Err() != nil {
				return k.ctx.Err()
			}
			if g.taken[t] || g.tried[t] || tries == barrelSeeds {
				continue
			}
			tries++
			if r, ok := g.from(t, bend); ok {
				k.rings = append(k.rings, r)
			}
			if err := k.ctx.Err(); err != nil {
				return err
			}
		}
	}
	return nil
}

type barrelGrower struct {
	*looker
	taken, tried        []bool // triangles of cylinders, and those looked at
	triStamp, vertStamp []int32
	stamp               int32
}

// seeds lists the triangles by falling area.
func (g *barrelGrower) seeds() []int32 {
	area := make([]float64, len(g.taken))
	order := make([]int32, len(g.taken))
	for t := range area {
		area[t], order[t] = r3.Norm2(g.mesh.AreaNormal(t)), int32(t)
	}
	slices.SortStableFunc(order, func(a, b int32) int { return cmp.Compare(area[b], area[a]) })
	return order
}

// from grows a cylinder from triangle t over edges bent by at most bend.
func (g *barrelGrower) from(t int32, bend float64) (ring, bool) {
	near := g.around(t, bend)
	for _, u := range near {
		g.tried[u] = true
	}
	d, ok := g.guess(near)
	if !ok || !g.likely(d, near) {
		return ring{}, false
	}
	var set []int32
	for pass := range 3 {
		set = g.grow(near, d, bend)
		verts := g.vertsOf(set)
		if len(verts) < leastBarrel {
			return ring{}, false
		}
		e, err := fit.FitCylinder(thin(verts, barrelSample), fit.Options{Start: &d})
		if err != nil || !(e.Radius < g.size) {
			return ring{}, false
		}
		done := lineAngle(d.Axis, e.Axis) < 1e-4 && math.Abs(d.Radius-e.Radius) < 1e-4*e.Radius
		d = e
		if done && pass > 0 {
			break
		}
	}
	set = g.grow(near, d, bend)
	for _, u := range set {
		g.tried[u] = true
	}
	verts := g.vertsOf(set)
	r, ok := g.barrelRing(d, verts)
	if ok {
		for _, u := range set {
			g.taken[u] = true
		}
	}
	return r, ok
}

// around returns up to barrelNear triangles round t.
func (g *barrelGrower) around(t int32, bend float64) []int32 {
	g.stamp++
	g.triStamp[t] = g.stamp
	near := []int32{t}
	for i := 0; i < len(near) && len(near) < barrelNear; i++ {
		for _, e := range g.top.TriEdges[near[i]] {
			u := g.top.Opposite(int(near[i]), int(e))
			if u < 0 || g.triStamp[u] == g.stamp || g.taken[u] || !(math.Abs(g.top.Dihedral(int(e))) <= bend) {
				continue
			}
			g.triStamp[u] = g.stamp
			near = append(near, int32(u))
		}
	}
	return near
}

// guess reads a cylinder from the normals and the vertices of a few triangles:
// the normals all stand across its axis.
func (g *barrelGrower) guess(near []int32) (fit.Datum, bool) {
	sum := mat.NewSymDense(3, nil)
	area := 0.0
	for _, t := range near {
		n := g.mesh.AreaNormal(int(t))
		a := r3.Norm(n)
		if a > 0 {
			sum.SymRankOne(sum, 1/a, mat.NewVecDense(3, []float64{n.X, n.Y, n.Z}))
			area += a
		}
	}
	var e mat.EigenSym
	if !(area > 0) || !e.Factorize(sum, true) {
		return fit.Datum{}, false
	}
	v := e.Values(nil)
	if v[1] < leastSpread*area || v[0] > mostAlong*v[1] {
		return fit.Datum{}, false
	}
	var vec mat.Dense
	e.VectorsTo(&vec)
	axis := r3.Unit(r3.Vec{X: vec.At(0, 0), Y: vec.At(1, 0), Z: vec.At(2, 0)})
	o, r, ok := circleAcross(g.vertsOf(near), axis)
	return fit.Datum{Kind: fit.Cylinder, Origin: o, Axis: axis, Radius: r}, ok && r < g.size
}

// circleAcross fits a circle to points seen along an axis, by the algebraic
// distance (I. Kasa, A curve fitting procedure and its error analysis, 1976).
func circleAcross(p []r3.Vec, axis r3.Vec) (o r3.Vec, radius float64, ok bool) {
	var mid r3.Vec
	for _, q := range p {
		mid = r3.Add(mid, q)
	}
	mid = r3.Scale(1/float64(len(p)), mid)
	x := across(axis)
	y := r3.Cross(axis, x)
	var xx, xy, yy, xz, yz, z float64
	for _, q := range p {
		d := r3.Sub(q, mid)
		u, v := r3.Dot(d, x), r3.Dot(d, y)
		w := u*u + v*v
		xx, xy, yy, xz, yz, z = xx+u*u, xy+u*v, yy+v*v, xz+u*w, yz+v*w, z+w
	}
	det := xx*yy - xy*xy
	if !(det > 1e-12*z*z) {
		return o, 0, false
	}
	a, b := (xz*yy-yz*xy)/(2*det), (yz*xx-xz*xy)/(2*det)
	radius = math.Sqrt(z/float64(len(p)) + a*a + b*b)
	return r3.Add(mid, r3.Add(r3.Scale(a, x), r3.Scale(b, y))), radius, true
}

// likely reports whether most vertices of the guess are about on it.
func (g *barrelGrower) likely(d fit.Datum, near []int32) bool {
	on, all := 0, 0
	for _, p := range g.vertsOf(near) {
		all++
		if math.Abs(d.Distance(p)) < likelyOff*d.Radius+barrelSigmas*g.sigma {
			on++
		}
	}
	return float64(on) > 0.7*float64(all)
}

const likelyOff = 0.03 // of the radius

// grow returns the triangles that lie on the cylinder, from those given on.
func (g *barrelGrower) grow(near []int32, d fit.Datum, bend float64) []int32 {
	g.stamp++
	limit := barrelOff*d.Radius + barrelSigmas*g.sigma
	side := 0.0 // outside or inside of the surface
	for _, t := range near {
		n := g.mesh.AreaNormal(int(t))
		side += r3.Dot(n, d.Normal(centre(g.mesh, int(t))))
	}
	on := func(t int32) bool {
		a, b, c := g.mesh.Corners(int(t))
		if !(math.Abs(d.Distance(a)) <= limit && math.Abs(d.Distance(b)) <= limit && math.Abs(d.Distance(c)) <= limit) {
			return false
		}
		n := d.Normal(centre(g.mesh, int(t)))
		return angle(g.mesh.AreaNormal(int(t)), r3.Scale(math.Copysign(1, side), n)) < barrelLean
	}
	var set []int32
	for _, t := range near {
		g.triStamp[t] = g.stamp
		if on(t) {
			set = append(set, t)
		}
	}
	for i := 0; i < len(set); i++ {
		for _, e := range g.top.TriEdges[set[i]] {
			u := g.top.Opposite(int(set[i]), int(e))
			if u < 0 || g.triStamp[u] == g.stamp || g.taken[u] || !(math.Abs(g.top.Dihedral(int(e))) <= bend+barrelLean/2) {
				continue
			}
			g.triStamp[u] = g.stamp
			if on(int32(u)) {
				set = append(set, int32(u))
			}
		}
	}
	return set
}

// vertsOf returns the vertices of triangles, each once.
func (g *barrelGrower) vertsOf(tris []int32) []r3.Vec {
	g.stamp++
	var out []r3.Vec
	for _, t := range tris {
		for _, v := range g.mesh.Triangles()[t] {
			if g.vertStamp[v] != g.stamp {
				g.vertStamp[v] = g.stamp
				out = append(out, g.mesh.Vertices()[v])
			}
		}
	}
	return out
}

// barrelRing returns the ring that stands for a cylinder, halfway along it.
func (g *barrelGrower) barrelRing(d fit.Datum, verts []r3.Vec) (ring, bool) {
	if len(verts) < leastBarrel || !(d.SigmaAxis < barrelTilt) || d.RMS > barrelRMS*(barrelOff*d.Radius+barrelSigmas*g.sigma) {
		return ring{}, false
	}
	sortRound(verts, d.Origin, d.Axis)
	arc, lo, hi := 0.0, math.Inf(1), math.Inf(-1)
	gap := 0.0
	for i, p := range verts {
		h := r3.Dot(r3.Sub(p, d.Origin), d.Axis)
		lo, hi = min(lo, h), max(hi, h)
		q := verts[(i+1)%len(verts)]
		a, b := r3.Sub(p, d.Origin), r3.Sub(q, d.Origin)
		step := math.Atan2(r3.Dot(d.Axis, r3.Cross(a, b)), r3.Dot(a, b)-h*r3.Dot(b, d.Axis))
		if step < -1e-6 {
			step += 2 * math.Pi
		}
		gap = max(gap, step)
	}
	arc = 2 * math.Pi
	if gap > barrelGap {
		arc -= gap
	}
	if arc < barrelArc || barrelSigmas*g.sigma > mostNoise*d.Radius {
		return ring{}, false
	}
	share := arc / (2 * math.Pi)
	least := fileRounding / (share * share)
	mid := r3.Add(d.Origin, r3.Scale((lo+hi)/2, d.Axis))
	return ring{
		centre: mid, axis: d.Axis, radius: d.Radius, arc: arc, form: barrelForm * useful(d.SigmaAxis),
		tilt: max(d.SigmaAxis, least), shift: max(d.SigmaOrigin, least*d.Radius), points: thin(verts, 2*ringPoints),
	}, true
}
