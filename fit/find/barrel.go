package find

import (
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
	gentleBend  = 35 * math.Pi / 180  // between facets of a fine surface
	coarseBend  = 66 * math.Pi / 180  // between those of a six-sided cylinder
	leastBarrel = 8                   // vertices
	leastSpread = 0.02                // of the normals across the axis
	mostAlong   = 0.15                // of the normals along it, relative to that
	barrelForm  = 0.5                 // what a cylinder weighs against a clean circle
	barrelTilt  = 1.5 * math.Pi / 180 // of an axis that is still of use
	barrelGap   = 100 * math.Pi / 180 // between vertices of a cylinder that goes all the way round
	barrelArc   = 100 * math.Pi / 180 // least, else it is a fillet
)

// grown adds a ring for each cylinder and gathers the balls.
func (k *looker) grown() error {
	g := newGrower(k)
	for _, bend := range [...]float64{gentleBend, coarseBend} {
		err := g.each(func(t int32) {
			near := g.around(t, bend)
			if bend == gentleBend && g.ball(near) {
				return
			}
			g.barrel(near, bend)
		})
		if err != nil {
			return err
		}
	}
	slices.SortStableFunc(k.balls, func(a, b sphere) int { return compare(b.area, a.area) })
	return nil
}

func (g *grower) barrel(near []int32, bend float64) {
	s, ok := g.from(near, bend, leastBarrel, g.barrelGuess)
	if !ok {
		return
	}
	if r, ok := g.barrelRing(s); ok {
		g.take(s)
		g.rings = append(g.rings, r)
	}
}

// barrelGuess reads a cylinder from the normals and the vertices of a few
// triangles: the normals all stand across its axis.
func (g *grower) barrelGuess(near []int32) (fit.Datum, bool) {
	v, axis, ok := g.spread(near)
	if !ok || v[1] < leastSpread*(v[0]+v[1]+v[2]) || v[0] > mostAlong*v[1] {
		return fit.Datum{}, false
	}
	o, r, ok := circleAcross(g.vertsOf(near), axis)
	return fit.Datum{Kind: fit.Cylinder, Origin: o, Axis: axis, Radius: r}, ok && r < g.size
}

// spread returns how the normals of triangles spread in three directions across
// one another, by area and rising, and the direction of the least.
func (g *grower) spread(tris []int32) (v []float64, least r3.Vec, ok bool) {
	sum := mat.NewSymDense(3, nil)
	for _, t := range tris {
		n := g.mesh.AreaNormal(int(t))
		if a := r3.Norm(n); a > 0 {
			sum.SymRankOne(sum, 1/a, mat.NewVecDense(3, []float64{n.X, n.Y, n.Z}))
		}
	}
	var e mat.EigenSym
	if !e.Factorize(sum, true) {
		return nil, least, false
	}
	var vec mat.Dense
	e.VectorsTo(&vec)
	v = e.Values(nil)
	return v, r3.Unit(r3.Vec{X: vec.At(0, 0), Y: vec.At(1, 0), Z: vec.At(2, 0)}), v[2] > 0
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

// barrelRing returns the ring that stands for a cylinder, halfway along it.
func (g *grower) barrelRing(d surface) (ring, bool) {
	verts := d.points
	if !(d.SigmaAxis < barrelTilt) {
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
	if arc < barrelArc {
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
