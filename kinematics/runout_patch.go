package kinematics

import (
	"context"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

const (
	// levelTolerance is how far a vertex may be from a station, relative to the
	// patch, to count as lying in it: the rounding of coordinates in float32.
	levelTolerance = 1e-6
	// mostlySine is the sine of 20 degrees, the lean of the normals (root mean
	// square) that still makes a surface radial or axial.
	mostlySine = 0.3420201433256687
	// ownMisfit is how far, relative to its radius, a surface may be from a cone
	// about its own axis for that axis to say how its edges bend.
	ownMisfit = 0.05
	// flatShare is the bend at an edge, relative to the angle that the edge turns
	// through about the surface's own axis, below which it lies in a flat facet. An
	// edge that the surface bends at has about 1.
	flatShare = 0.1
)

// runoutPatch is one patch in the coordinates of runoutFrame. Vertices and
// triangles are numbered within the patch.
type runoutPatch struct {
	frame     Transform // from those coordinates to model axes
	pts       []r3.Vec
	tris      []patchTriangle
	direction Direction
	level     []float64 // per vertex, what stations are cut at
	value     []float64 // per vertex, what is measured
	angle     []float64 // per vertex, about the joint axis
	tol       float64   // within which a vertex lies in a station
	own       *ownAxis  // nil where the patch has none or is axial
	inFacet   []bool    // per vertex: it lies on a chord and not on the round; nil for axial
}

// patchTriangle has the corners and says of each edge, from corner c to the next,
// whether it lies inside a flat facet.
type patchTriangle struct {
	v    [3]int32
	flat [3]bool
}

// ownAxis is a patch seen from its own axis, which says how its edges bend.
type ownAxis struct {
	u, v, w, centre   r3.Vec // w along the axis
	rho, theta, along []float64
}

// checkEvery is how many triangles are worked on between looks at the context.
const checkEvery = 1 << 16

func newRunoutPatch(ctx context.Context, m *mesh.Mesh, tris []int32, frame Transform) (*runoutPatch, error) {
	p := &runoutPatch{frame: frame}
	if err := p.collect(m, tris); err != nil {
		return nil, err
	}
	normals, area := p.normals()
	if !(area > 0) {
		return nil, fmt.Errorf("its %d triangles have no area: pick a surface", len(tris))
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	p.classify(normals, area)
	p.prepare()
	if p.direction != Axial {
		// The axis tells which vertices lie on chords, and those would pull it.
		p.own = p.findOwn(normals, area)
		p.findInFacet(normals)
		p.own = p.findOwn(normals, area)
		p.findFlat(m.Topology(), tris)
	}
	return p, nil
}

// collect numbers the patch's vertices and brings them into frame coordinates.
func (p *runoutPatch) collect(m *mesh.Mesh, tris []int32) error {
	all := m.Triangles()
	used := make([]int32, 0, 3*len(tris))
	for _, t := range tris {
		if t < 0 || int(t) >= len(all) {
			return fmt.Errorf("it has triangle %d, but the mesh has triangles 0 to %d", t, len(all)-1)
		}
		used = append(used, all[t][:]...)
	}
	slices.Sort(used)
	used = slices.Compact(used)
	toFrame := p.frame.Inverse()
	p.pts = make([]r3.Vec, len(used))
	for i, v := range used {
		p.pts[i] = toFrame.Turn(r3.Sub(m.Vertices()[v], p.frame.T))
	}
	p.tris = make([]patchTriangle, len(tris))
	for i, t := range tris {
		for c, v := range all[t] {
			k, _ := slices.BinarySearch(used, v)
			p.tris[i].v[c] = int32(k)
		}
	}
	return nil
}

// normals returns every triangle's normal with the length of twice its area,
// and the sum of those lengths.
func (p *runoutPatch) normals() ([]r3.Vec, float64) {
	out := make([]r3.Vec, len(p.tris))
	area := 0.0
	for i, t := range p.tris {
		a, b, c := p.pts[t.v[0]], p.pts[t.v[1]], p.pts[t.v[2]]
		out[i] = r3.Cross(r3.Sub(b, a), r3.Sub(c, a))
		area += r3.Norm(out[i])
	}
	return out, area
}

// classify says by the mean square lean of the normals which runout applies.
func (p *runoutPatch) classify(normals []r3.Vec, area float64) {
	lean := 0.0
	for _, n := range normals {
		if l := r3.Norm(n); l > 0 {
			lean += n.Z / l * n.Z
		}
	}
	switch lean /= area; {
	case lean <= mostlySine*mostlySine:
		p.direction = Radial
	case lean >= 1-mostlySine*mostlySine:
		p.direction = Axial
	default:
		p.direction = Slanted
	}
}

// prepare fills the per-vertex slices.
func (p *runoutPatch) prepare() {
	n := len(p.pts)
	p.level, p.value, p.angle = make([]float64, n), make([]float64, n), make([]float64, n)
	var far r3.Vec
	box := r3.Box{Min: p.pts[0], Max: p.pts[0]}
	for i, q := range p.pts {
		p.level[i], p.value[i] = q.Z, math.Hypot(q.X, q.Y)
		if p.direction == Axial {
			p.level[i], p.value[i] = p.value[i], p.level[i]
		}
		p.angle[i] = math.Atan2(q.Y, q.X)
		box.Min = r3.Vec{X: min(box.Min.X, q.X), Y: min(box.Min.Y, q.Y), Z: min(box.Min.Z, q.Z)}
		box.Max = r3.Vec{X: max(box.Max.X, q.X), Y: max(box.Max.Y, q.Y), Z: max(box.Max.Z, q.Z)}
		far = r3.Vec{X: max(far.X, math.Abs(q.X)), Y: max(far.Y, math.Abs(q.Y)), Z: max(far.Z, math.Abs(q.Z))}
	}
	// The model's coordinates, not only the frame's, carry rounding.
	p.tol = max(levelTolerance*r3.Norm(r3.Sub(box.Max, box.Min)), 16*epsilon*(r3.Norm(far)+r3.Norm(p.frame.T)))
}

// ownTheta returns the vertices' angles about the surface's own axis, or about
// the joint axis where that is not known.
func (p *runoutPatch) ownTheta() []float64 {
	if p.own != nil {
		return p.own.theta
	}
	return p.angle
}

// findInFacet marks the vertices that stand between the corners of a flat facet,
// as where another surface's edge ends on the rim of this one: they lie on the
// chord, below the round by up to the sagitta, and measuring them would take
// tessellation for runout.
func (p *runoutPatch) findInFacet(normals []r3.Vec) {
	type fan struct {
		normal    r3.Vec
		bend      float64 // largest angle between the normals round the vertex
		low, high float64 // where its neighbours are, about the surface's axis
	}
	theta := p.ownTheta()
	fans := make([]fan, len(p.pts))
	for i, t := range p.tris {
		for c, v := range t.v {
			f := &fans[v]
			if f.normal == (r3.Vec{}) {
				f.normal = normals[i]
			}
			f.bend = max(f.bend, Angle(f.normal, normals[i]))
			for k := 1; k < 3; k++ {
				turn := wrap(theta[t.v[(c+k)%3]] - theta[v])
				f.low, f.high = min(f.low, turn), max(f.high, turn)
			}
		}
	}
	p.inFacet = make([]bool, len(p.pts))
	for v, f := range fans {
		span := f.high - f.low
		p.inFacet[v] = f.bend < flatShare*span && min(-f.low, f.high) > 0.01*span
	}
}

// findFlat marks the edges that lie inside a flat facet, such as the diagonals
// of quads: they turn about the surface's own axis, but the surface does not
// bend at them.
func (p *runoutPatch) findFlat(topology *mesh.Topology, tris []int32) {
	theta := p.ownTheta()
	for i := range p.tris {
		t := &p.tris[i]
		for c, e := range topology.TriEdges[tris[i]] {
			a, b := t.v[c], t.v[(c+1)%3]
			turn := math.Abs(wrap(theta[a] - theta[b]))
			t.flat[c] = p.inFacet[a] || p.inFacet[b] || math.Abs(topology.Dihedral(int(e))) < flatShare*turn
		}
	}
}

// findOwn returns the patch seen from its own axis: the direction that its
// normals lean along least differently (the Gauss image of a cylinder or cone is
// a circle), through the centre of its vertices' circle. It is nil where the
// vertices are not near a cone about that axis.
func (p *runoutPatch) findOwn(normals []r3.Vec, area float64) *ownAxis {
	w := ownDirection(normals, area)
	u := Perpendicular(w)
	o := &ownAxis{u: u, v: r3.Cross(w, u), w: w}
	n := len(p.pts)
	o.rho, o.theta, o.along = make([]float64, n), make([]float64, n), make([]float64, n)
	var xs, ys []float64
	for i, q := range p.pts {
		if p.inFacet == nil || !p.inFacet[i] {
			xs, ys = append(xs, r3.Dot(q, o.u)), append(ys, r3.Dot(q, o.v))
		}
	}
	c, ok := fitCircle(xs, ys)
	if !ok {
		return nil
	}
	o.centre = r3.Add(r3.Scale(c.x, o.u), r3.Scale(c.y, o.v))
	for i, q := range p.pts {
		x, y := r3.Dot(q, o.u)-c.x, r3.Dot(q, o.v)-c.y
		o.rho[i], o.theta[i], o.along[i] = math.Hypot(x, y), math.Atan2(y, x), r3.Dot(q, w)
	}
	at, slope := fitLine(o.along, o.rho)
	misfit := 0.0
	for i := range o.rho {
		d := o.rho[i] - at - slope*o.along[i]
		misfit += d * d
	}
	if !(math.Sqrt(misfit/float64(n)) <= ownMisfit*c.r) {
		return nil
	}
	return o
}

// ownDirection returns the direction in which the unit normals vary least,
// weighted by area, or the joint axis where no direction stands out.
func ownDirection(normals []r3.Vec, area float64) r3.Vec {
	var mean r3.Vec
	for _, n := range normals {
		mean = r3.Add(mean, r3.Scale(1/area, n))
	}
	cov := mat.NewSymDense(3, nil)
	for _, n := range normals {
		l := r3.Norm(n)
		if l == 0 {
			continue
		}
		d := r3.Sub(r3.Scale(1/l, n), mean)
		c := [3]float64{d.X, d.Y, d.Z}
		for i := range 3 {
			for j := i; j < 3; j++ {
				cov.SetSym(i, j, cov.At(i, j)+l/area*c[i]*c[j])
			}
		}
	}
	var eig mat.EigenSym
	if !eig.Factorize(cov, true) {
		return r3.Vec{Z: 1}
	}
	values := eig.Values(nil)
	var v mat.Dense
	eig.VectorsTo(&v)
	w := r3.Vec{X: v.At(0, 0), Y: v.At(1, 0), Z: v.At(2, 0)}
	// A flat patch has one normal only, a crowned one varies both ways.
	if values[1] < 1e-8 || values[0] > 0.1*values[1] || math.Abs(w.Z) < 0.5 {
		return r3.Vec{Z: 1}
	}
	w = r3.Scale(math.Copysign(1, w.Z), w)
	return r3.Scale(1/r3.Norm(w), w)
}
