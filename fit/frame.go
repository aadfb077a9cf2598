package fit

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// chord returns the signed distance of a point from a circle (or sphere) of
// curvature k that passes through the origin with the unit normal n pointing
// to its centre, and the length s of the centre-to-point vector times k. dot
// is q.n and sq is |q|^2 of the point q. The sign is positive away from the
// centre for k > 0. Unlike |q - n/k| - 1/k this form stays exact as k goes
// through zero, where the circle is a straight line, so a short arc can be
// iterated on without its centre running away. Source: V. Karimäki, Effective
// circle fitting for particle trajectories (1991), for the form.
func chord(dot, sq, k, s float64) float64 { return (k*sq - 2*dot) / (1 + s) }

// pose is a right-handed orthonormal frame in unit space that turns with a
// surface of revolution: a along its axis, n from the surface point s
// towards the axis. s is held in (n, t, a) coordinates.
type pose struct {
	n, t, a r3.Vec
	s       r3.Vec
}

// poseAlong returns a pose with the given unit axis whose n is as near as
// possible to the given direction; any n if that is parallel to the axis.
func poseAlong(a, toward r3.Vec) pose {
	n := r3.Sub(toward, r3.Scale(r3.Dot(toward, a), a))
	l := r3.Norm(n)
	if !(l > 1e-12) {
		n, l = anyNormal(a), 1
	}
	n = r3.Scale(1/l, n)
	// Once more: if little was left of toward, most of its digits went too.
	n = r3.Unit(r3.Sub(n, r3.Scale(r3.Dot(n, a), a)))
	return pose{n: n, t: r3.Cross(a, n), a: a}
}

// anyNormal returns a unit vector perpendicular to the unit vector a.
func anyNormal(a r3.Vec) r3.Vec {
	e := r3.Vec{X: 1}
	if math.Abs(a.X) > 0.6 {
		e = r3.Vec{Y: 1}
	}
	return r3.Unit(r3.Cross(a, e))
}

// moved returns the pose after the point has been shifted by d (in n, t, a
// coordinates), the frame then turned by alpha about a through the point, and
// everything then turned by the rotation vector wn n + wt t about the origin.
func (p pose) moved(d r3.Vec, alpha, wn, wt float64) pose {
	w := r3.Add(r3.Scale(wn, p.n), r3.Scale(wt, p.t))
	sin, cos := math.Sincos(alpha)
	s := r3.Add(p.s, d)
	q := pose{a: turned(p.a, w)}
	n := turned(r3.Add(r3.Scale(cos, p.n), r3.Scale(sin, p.t)), w)
	q.a = r3.Unit(q.a)
	q.n = r3.Unit(r3.Sub(n, r3.Scale(r3.Dot(n, q.a), q.a)))
	q.t = r3.Cross(q.a, q.n)
	q.s = r3.Vec{X: cos*s.X + sin*s.Y, Y: cos*s.Y - sin*s.X, Z: s.Z}
	return q
}

// turned rotates v by the rotation vector w (Rodrigues).
func turned(v, w r3.Vec) r3.Vec {
	angle := r3.Norm(w)
	if angle == 0 {
		return v
	}
	sin, cos := math.Sincos(angle)
	half := math.Sin(angle / 2)
	u := r3.Scale(1/angle, w)
	r := r3.Add(r3.Scale(cos, v), r3.Scale(sin, r3.Cross(u, v)))
	return r3.Add(r, r3.Scale(2*half*half*r3.Dot(u, v), u))
}

// world turns (n, t, a) coordinates into unit-space coordinates.
func (p pose) world(v r3.Vec) r3.Vec {
	return r3.Add(r3.Add(r3.Scale(v.X, p.n), r3.Scale(v.Y, p.t)), r3.Scale(v.Z, p.a))
}

// aboutAxis turns the pose by half a turn about its axis.
func (p pose) aboutAxis() pose {
	return pose{n: r3.Scale(-1, p.n), t: r3.Scale(-1, p.t), a: p.a, s: r3.Vec{X: -p.s.X, Y: -p.s.Y, Z: p.s.Z}}
}

// reversed turns the pose's axis round, keeping n.
func (p pose) reversed() pose {
	return pose{n: p.n, t: r3.Scale(-1, p.t), a: r3.Scale(-1, p.a), s: r3.Vec{X: p.s.X, Y: -p.s.Y, Z: -p.s.Z}}
}

// angleBetween is the angle between two directions, exact for small angles.
func angleBetween(a, b r3.Vec) float64 {
	return math.Atan2(r3.Norm(r3.Cross(a, b)), r3.Dot(a, b))
}

// lineAngle is the angle between two undirected lines, at most pi/2.
func lineAngle(a, b r3.Vec) float64 {
	return math.Atan2(r3.Norm(r3.Cross(a, b)), math.Abs(r3.Dot(a, b)))
}

// signed returns the axis with its largest component positive; components
// within a millionth of the largest count as equal, and the first of them
// decides, so that rounding does not flip a diagonal axis.
func signed(a r3.Vec) r3.Vec {
	big := max(math.Abs(a.X), math.Abs(a.Y), math.Abs(a.Z)) * (1 - 1e-6)
	for _, v := range [3]float64{a.X, a.Y, a.Z} {
		if math.Abs(v) >= big {
			if v < 0 {
				return r3.Scale(-1, a)
			}
			return a
		}
	}
	return a
}
