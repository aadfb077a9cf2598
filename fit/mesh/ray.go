package mesh

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// Ray returns the first triangle that the ray from origin along dir meets and
// the distance to it in model units; dir need not be a unit vector. Both sides
// count. Of triangles met at the same distance it returns the lowest. Rays do
// not slip through between triangles that share an edge (S. Woop, C. Benthin
// and I. Wald, Watertight Ray/Triangle Intersection, 2013). Where dir has no
// direction there is no hit.
func (h *BVH) Ray(origin, dir r3.Vec) (tri int, dist float64, ok bool) {
	tri, dist = -1, math.Inf(1)
	r, ok := newRay(origin, dir)
	if !ok {
		return tri, dist, false
	}
	r.walk(h, math.Inf(1), func(t int32, d float64) float64 {
		if d < dist || d == dist && int(t) < tri {
			tri, dist = int(t), d
		}
		return dist
	})
	return tri, dist, tri >= 0
}

// RayAll calls visit for every triangle that the ray from origin along dir
// meets, with its distance in model units, until visit returns false. The order
// is the same every time, but not that of the distances. A ray through an edge
// or a vertex meets all the triangles there.
func (h *BVH) RayAll(origin, dir r3.Vec, visit func(tri int, dist float64) bool) {
	r, ok := newRay(origin, dir)
	if !ok {
		return
	}
	limit := math.Inf(1)
	r.walk(h, limit, func(t int32, d float64) float64 {
		if !visit(int(t), d) {
			limit = -1
		}
		return limit
	})
}

// ray is prepared for the watertight test: axes renamed so that the ray runs
// mainly along z, and sheared so that it runs exactly along z.
type ray struct {
	origin, dir r3.Vec
	at          [3]float64 // the origin, renamed
	kx, ky, kz  int
	sx, sy, sz  float64
	// In the coordinates of a rayTree: the end of a box that the ray enters by,
	// the origin moved forward for that end and back for the other by what is
	// rounding error, and the inverse of the direction.
	enters [3]int
	ahead  [3]float64
	behind [3]float64
	inv    [3]float64
}

func newRay(origin, dir r3.Vec) (ray, bool) {
	largest := max(math.Abs(dir.X), math.Abs(dir.Y), math.Abs(dir.Z))
	if !(largest > 0) || math.IsInf(largest, 0) || !isFinite(origin) {
		return ray{}, false
	}
	// Scaled twice: the square of a length may overflow, its inverse too.
	dir = r3.Vec{X: dir.X / largest, Y: dir.Y / largest, Z: dir.Z / largest}
	dir = r3.Scale(1/math.Sqrt(r3.Norm2(dir)), dir)
	r := ray{origin: origin, dir: dir}
	ax, ay, az := math.Abs(dir.X), math.Abs(dir.Y), math.Abs(dir.Z)
	switch {
	case ax >= ay && ax >= az:
		r.kz = 0
	case ay >= az:
		r.kz = 1
	default:
		r.kz = 2
	}
	r.kx, r.ky = (r.kz+1)%3, (r.kz+2)%3
	z := component(dir, r.kz)
	r.at = [3]float64{component(origin, r.kx), component(origin, r.ky), component(origin, r.kz)}
	r.sx, r.sy, r.sz = component(dir, r.kx)/z, component(dir, r.ky)/z, 1/z
	return r, true
}

// enter prepares the ray for a tree.
func (r *ray) enter(t *rayTree) {
	o := r3.Scale(1/t.scale, r3.Sub(r.origin, t.centre))
	pad := 0x1p-46 * (max(math.Abs(o.X), math.Abs(o.Y), math.Abs(o.Z)) + t.offset + 1)
	for k := range 3 {
		d, at := component(r.dir, k), component(o, k)
		r.inv[k] = 1 / d
		if !(math.Abs(d) > 1e-300) {
			r.inv[k] = 1e300 // finite, so that 0 times it is no NaN
			if d < 0 {
				r.inv[k] = -1e300 // to the side that enters says
			}
		}
		r.enters[k], r.ahead[k], r.behind[k] = 0, at+pad, at-pad
		if d < 0 {
			r.enters[k], r.ahead[k], r.behind[k] = 1, at-pad, at+pad
		}
	}
}

// meets returns where the ray enters a box, and whether it meets it before far.
// Distances are the bits of floats: those that are not negative compare like
// integers, which takes no branches, and a negative one is less.
func (r *ray) meets(b *[2][3]float32, far int64) (near int64, ok bool) {
	x, y, z := r.enters[0]&1, r.enters[1]&1, r.enters[2]&1
	near = max(0,
		int64(math.Float64bits((float64(b[x][0])-r.ahead[0])*r.inv[0])),
		int64(math.Float64bits((float64(b[y][1])-r.ahead[1])*r.inv[1])),
		int64(math.Float64bits((float64(b[z][2])-r.ahead[2])*r.inv[2])))
	far = min(far,
		int64(math.Float64bits((float64(b[1-x][0])-r.behind[0])*r.inv[0])),
		int64(math.Float64bits((float64(b[1-y][1])-r.behind[1])*r.inv[1])),
		int64(math.Float64bits((float64(b[1-z][2])-r.behind[2])*r.inv[2])))
	return near, near <= far
}

// hit returns the distance at which the ray meets the triangle.
func (r *ray) hit(t *corners) (float64, bool) {
	ox, oy, oz := r.at[0], r.at[1], r.at[2]
	kx, ky, kz := r.kx, r.ky, r.kz
	az, bz, cz := t[0][kz]-oz, t[1][kz]-oz, t[2][kz]-oz
	ax, ay := t[0][kx]-ox-float64(r.sx*az), t[0][ky]-oy-float64(r.sy*az)
	bx, by := t[1][kx]-ox-float64(r.sx*bz), t[1][ky]-oy-float64(r.sy*bz)
	cx, cy := t[2][kx]-ox-float64(r.sx*cz), t[2][ky]-oy-float64(r.sy*cz)
	// No fused products: u, v and w must be exactly opposite for the triangle
	// on the other side of the edge.
	u := float64(cx*by) - float64(cy*bx)
	v := float64(ax*cy) - float64(ay*cx)
	w := float64(bx*ay) - float64(by*ax)
	if (u < 0 || v < 0 || w < 0) && (u > 0 || v > 0 || w > 0) {
		return 0, false
	}
	det := u + v + w
	if det == 0 {
		return 0, false
	}
	d := (u*az + v*bz + w*cz) * r.sz / det
	return d, d >= 0
}

type walkItem struct {
	node int32
	near int64 // the bits of a distance, see meets
}

// walk calls visit for every triangle the ray meets within limit, near boxes
// first; visit returns the new limit.
func (r *ray) walk(h *BVH, limit float64, visit func(tri int32, d float64) float64) {
	if len(h.Nodes) == 0 {
		return
	}
	t := h.rays()
	r.enter(t)
	var stack [MaxDepth]walkItem
	stack[0] = walkItem{node: t.root}
	far := t.bits(limit)
	for n := 1; n > 0; {
		n--
		at := stack[n]
		if at.near > far {
			continue
		}
		for at.node >= 0 {
			node := &t.nodes[at.node]
			a, hitA := r.meets(&node.bounds[0], far)
			b, hitB := r.meets(&node.bounds[1], far)
			switch {
			case hitA && hitB:
				near, other := node.child[0], walkItem{node.child[1], b}
				if a > b {
					near, other = node.child[1], walkItem{node.child[0], a}
				}
				stack[n] = other
				n++
				at.node = near
			case hitA:
				at.node = node.child[0]
			case hitB:
				at.node = node.child[1]
			default:
				at.node = noNode
			}
		}
		leaf := ^at.node
		first := leaf / leafPlaces
		for i := first; i < first+leaf%leafPlaces; i++ {
			if d, ok := r.hit(&t.corners[i]); ok && d <= limit {
				limit = visit(h.Order[i], d)
				far = t.bits(limit)
			}
		}
	}
}
