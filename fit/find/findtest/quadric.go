package findtest

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// quadric is the sum of squared, weighted distances from planes as a function
// of a point: p'Ap + 2b'p + c (M. Garland, P. Heckbert, Surface Simplification
// Using Quadric Error Metrics, 1997).
type quadric struct {
	xx, xy, xz, yy, yz, zz float64
	b                      r3.Vec
	c                      float64
}

// plane adds the plane through p across unit n.
func (q *quadric) plane(p, n r3.Vec, weight float64) {
	d := -r3.Dot(n, p)
	q.xx += weight * n.X * n.X
	q.xy += weight * n.X * n.Y
	q.xz += weight * n.X * n.Z
	q.yy += weight * n.Y * n.Y
	q.yz += weight * n.Y * n.Z
	q.zz += weight * n.Z * n.Z
	q.b = r3.Add(q.b, r3.Scale(weight*d, n))
	q.c += weight * d * d
}

func (q *quadric) add(o *quadric) {
	q.xx, q.xy, q.xz = q.xx+o.xx, q.xy+o.xy, q.xz+o.xz
	q.yy, q.yz, q.zz = q.yy+o.yy, q.yz+o.yz, q.zz+o.zz
	q.b, q.c = r3.Add(q.b, o.b), q.c+o.c
}

// at is the sum at p, not less than 0.
func (q *quadric) at(p r3.Vec) float64 {
	x := q.xx*p.X*p.X + q.yy*p.Y*p.Y + q.zz*p.Z*p.Z + 2*(q.xy*p.X*p.Y+q.xz*p.X*p.Z+q.yz*p.Y*p.Z)
	return math.Max(x+2*r3.Dot(q.b, p)+q.c, 0)
}

// least is the point with the least sum; it is false where many have it.
func (q *quadric) least() (r3.Vec, bool) {
	cxx, cxy, cxz := q.yy*q.zz-q.yz*q.yz, q.xz*q.yz-q.xy*q.zz, q.xy*q.yz-q.xz*q.yy
	det := q.xx*cxx + q.xy*cxy + q.xz*cxz
	trace := q.xx + q.yy + q.zz
	if !(math.Abs(det) > 1e-6*trace*trace*trace) {
		return r3.Vec{}, false
	}
	cyy, cyz, czz := q.xx*q.zz-q.xz*q.xz, q.xy*q.xz-q.xx*q.yz, q.xx*q.yy-q.xy*q.xy
	return r3.Scale(-1/det, r3.Vec{
		X: cxx*q.b.X + cxy*q.b.Y + cxz*q.b.Z,
		Y: cxy*q.b.X + cyy*q.b.Y + cyz*q.b.Z,
		Z: cxz*q.b.X + cyz*q.b.Y + czz*q.b.Z,
	}), true
}
