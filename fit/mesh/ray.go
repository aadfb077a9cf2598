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
	origin, invDir r3.Vec
	kx, ky, kz     int
	sx, sy, sz     float64
	pad            float64 // distance that is rounding error
}

func newRay(origin, dir r3.Vec) (ray, bool) {
	length := r3.Norm(dir)
	if !(length > 0) || math.IsInf(length, 0) || !isFinite(origin) {
		return ray{}, false
	}
	// Scaled twice: 1/length may overflow.
	largest := max(math.Abs(dir.X), math.Abs(dir.Y), math.Abs(dir.Z))
	dir = r3.Vec{X: dir.X / largest, Y: dir.Y / largest, Z: dir.Z / largest}
	dir = r3.Scale(1/r3.Norm(dir), dir)
	r := ray{origin: origin, invDir: r3.Vec{X: 1 / dir.X, Y: 1 / dir.Y, Z: 1 / dir.Z}}
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
	r.sx, r.sy, r.sz = component(dir, r.kx)/z, component(dir, r.ky)/z, 1/z
	return r, true
}

// meets returns the distance at which the ray meets the box, +Inf if beyond
// limit or not at all.
func (r *ray) meets(b *r3.Box, limit float64) float64 {
	near, far := 0.0, limit
	near, far = slab(r.origin.X, r.invDir.X, b.Min.X, b.Max.X, near, far)
	near, far = slab(r.origin.Y, r.invDir.Y, b.Min.Y, b.Max.Y, near, far)
	near, far = slab(r.origin.Z, r.invDir.Z, b.Min.Z, b.Max.Z, near, far)
	if near <= far*raySlack+r.pad {
		return near
	}
	return math.Inf(1)
}

func slab(o, inv, lo, hi, near, far float64) (float64, float64) {
	if math.IsInf(inv, 0) {
		if o < lo || o > hi {
			return math.Inf(1), far
		}
		return near, far
	}
	t0, t1 := (lo-o)*inv, (hi-o)*inv
	if t0 > t1 {
		t0, t1 = t1, t0
	}
	return max(near, t0), min(far, t1)
}

// hit returns the distance at which the ray meets the triangle.
func (r *ray) hit(a, b, c r3.Vec) (float64, bool) {
	a, b, c = r3.Sub(a, r.origin), r3.Sub(b, r.origin), r3.Sub(c, r.origin)
	az, bz, cz := component(a, r.kz), component(b, r.kz), component(c, r.kz)
	ax, ay := component(a, r.kx)-float64(r.sx*az), component(a, r.ky)-float64(r.sy*az)
	bx, by := component(b, r.kx)-float64(r.sx*bz), component(b, r.ky)-float64(r.sy*bz)
	cx, cy := component(c, r.kx)-float64(r.sx*cz), component(c, r.ky)-float64(r.sy*cz)
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

// raySlack makes up for the rounding of box distances, which two ulps per bound
// would do (T. Ize, Robust BVH Ray Traversal, 2013), and for that of the
// distances of hits which they are compared with. ray.pad does it near 0.
const raySlack = 1 + 1e-9

type walkItem struct {
	node int32
	near float64
}

// walk calls visit for every triangle the ray meets within limit, near boxes
// first; visit returns the new limit.
func (r *ray) walk(h *BVH, limit float64, visit func(tri int32, d float64) float64) {
	if len(h.Nodes) == 0 {
		return
	}
	box := extend(h.mesh.bounds, r.origin)
	r.pad = 0x1p-46 * max(-box.Min.X, -box.Min.Y, -box.Min.Z, box.Max.X, box.Max.Y, box.Max.Z)
	var stack [MaxDepth]walkItem
	n := 0
	if near := r.meets(&h.Nodes[0].Box, limit); !math.IsInf(near, 1) {
		stack[0], n = walkItem{0, near}, 1
	}
	for n > 0 {
		n--
		at := stack[n]
		if at.near > limit*raySlack+r.pad {
			continue
		}
		node := &h.Nodes[at.node]
		if node.Count > 0 {
			for _, t := range h.Order[node.First : node.First+node.Count] {
				if d, ok := r.hit(h.mesh.Corners(int(t))); ok && d <= limit {
					limit = visit(t, d)
				}
			}
			continue
		}
		first := walkItem{at.node + 1, r.meets(&h.Nodes[at.node+1].Box, limit)}
		second := walkItem{node.Right, r.meets(&h.Nodes[node.Right].Box, limit)}
		if first.near > second.near {
			first, second = second, first
		}
		if !math.IsInf(second.near, 1) {
			stack[n] = second
			n++
		}
		if !math.IsInf(first.near, 1) {
			stack[n] = first
			n++
		}
	}
}
