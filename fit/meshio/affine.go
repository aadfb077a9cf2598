package meshio

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// affine maps p to x*p.X + y*p.Y + z*p.Z + o: x, y, z are the images of the
// axes, o of the origin.
type affine struct{ x, y, z, o r3.Vec }

func identity() affine { return affine{x: r3.Vec{X: 1}, y: r3.Vec{Y: 1}, z: r3.Vec{Z: 1}} }

// vector maps a direction, without the offset.
func (a affine) vector(v r3.Vec) r3.Vec {
	return r3.Add(r3.Add(r3.Scale(v.X, a.x), r3.Scale(v.Y, a.y)), r3.Scale(v.Z, a.z))
}

// point maps a position.
func (a affine) point(p r3.Vec) r3.Vec { return r3.Add(a.vector(p), a.o) }

// after returns the map that applies b first, then a.
func (a affine) after(b affine) affine {
	return affine{a.vector(b.x), a.vector(b.y), a.vector(b.z), a.point(b.o)}
}

// det is negative for a mirroring map.
func (a affine) det() float64 { return r3.Dot(a.x, r3.Cross(a.y, a.z)) }

func (a affine) isFinite() bool {
	for _, v := range [...]r3.Vec{a.x, a.y, a.z, a.o} {
		if s := math.Abs(v.X) + math.Abs(v.Y) + math.Abs(v.Z); !(s <= math.MaxFloat64) {
			return false
		}
	}
	return true
}

// fromColumns reads a 4 x 4 matrix in column-major order; ok is false where the
// last row is not 0 0 0 1.
func fromColumns(m []float64) (a affine, ok bool) {
	const rounding = 1e-6 // of matrices stored as float32
	for i, want := range [4]float64{0, 0, 0, 1} {
		if !(math.Abs(m[4*i+3]-want) <= rounding) {
			return affine{}, false
		}
	}
	col := func(i int) r3.Vec { return r3.Vec{X: m[4*i], Y: m[4*i+1], Z: m[4*i+2]} }
	return affine{col(0), col(1), col(2), col(3)}, true
}

// fromTRS composes translation, unit quaternion x, y, z, w and scale as
// T R S. A quaternion that is not of length one is brought to it; ok is false
// where it has no length.
func fromTRS(t [3]float64, q [4]float64, s [3]float64) (a affine, ok bool) {
	n := math.Hypot(math.Hypot(q[0], q[1]), math.Hypot(q[2], q[3]))
	if !(n > 1e-12) || math.IsInf(n, 0) {
		return affine{}, false
	}
	x, y, z, w := q[0]/n, q[1]/n, q[2]/n, q[3]/n
	return affine{
		x: r3.Scale(s[0], r3.Vec{X: 1 - 2*(y*y+z*z), Y: 2 * (x*y + w*z), Z: 2 * (x*z - w*y)}),
		y: r3.Scale(s[1], r3.Vec{X: 2 * (x*y - w*z), Y: 1 - 2*(x*x+z*z), Z: 2 * (y*z + w*x)}),
		z: r3.Scale(s[2], r3.Vec{X: 2 * (x*z + w*y), Y: 2 * (y*z - w*x), Z: 1 - 2*(x*x+y*y)}),
		o: r3.Vec{X: t[0], Y: t[1], Z: t[2]},
	}, true
}

// axes returns the map's axes at unit length. One that was scaled to nothing
// is made perpendicular to the others, so that a frame always comes back.
func (a affine) axes() [3]r3.Vec {
	u := [3]r3.Vec{unit(a.x), unit(a.y), unit(a.z)}
	lost := 0
	for i := range u {
		if u[i] == (r3.Vec{}) {
			lost++
		}
	}
	if lost > 1 {
		return [3]r3.Vec{{X: 1}, {Y: 1}, {Z: 1}}
	}
	for i := range u {
		if u[i] == (r3.Vec{}) {
			u[i] = unit(r3.Cross(u[(i+1)%3], u[(i+2)%3]))
		}
	}
	return u
}

// unit returns v at length one, or zero where v has no length.
func unit(v r3.Vec) r3.Vec {
	m := max(math.Abs(v.X), math.Abs(v.Y), math.Abs(v.Z))
	if !(m > 0) || math.IsInf(m, 0) {
		return r3.Vec{}
	}
	v = r3.Vec{X: v.X / m, Y: v.Y / m, Z: v.Z / m}
	return r3.Scale(1/r3.Norm(v), v)
}
