package find

import (
	"cmp"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// compare orders numbers that rounding may have touched: nearly equal ones are
// equal, so that a stable sort keeps the order of the mesh.
func compare(a, b float64) int {
	if math.Abs(a-b) <= 1e-9*max(math.Abs(a), math.Abs(b)) {
		return 0
	}
	return cmp.Compare(a, b)
}

// angle is the angle between two directions, 0 to pi.
func angle(a, b r3.Vec) float64 { return math.Atan2(math.Sqrt(r3.Norm2(r3.Cross(a, b))), r3.Dot(a, b)) }

// lineAngle is the angle between two lines without sense, 0 to pi/2.
func lineAngle(a, b r3.Vec) float64 {
	return math.Atan2(r3.Norm(r3.Cross(a, b)), math.Abs(r3.Dot(a, b)))
}

// fromLine is the distance of p from the line through o along unit a.
func fromLine(p, o, a r3.Vec) float64 { return r3.Norm(r3.Cross(r3.Sub(p, o), a)) }

// offCircle is the distance of p from a circle.
func offCircle(p, c, axis r3.Vec, r float64) float64 {
	d := r3.Sub(p, c)
	h := r3.Dot(d, axis)
	e := math.Sqrt(r3.Norm2(r3.Sub(d, r3.Scale(h, axis)))) - r
	return math.Sqrt(e*e + h*h)
}

// through returns the circle through three points; it is false for points that
// are nearly on a line.
func through(p, q, s r3.Vec) (c, axis r3.Vec, r float64, ok bool) {
	a, b := r3.Sub(q, p), r3.Sub(s, p)
	n := r3.Cross(a, b)
	n2 := r3.Norm2(n)
	aa, bb := r3.Norm2(a), r3.Norm2(b)
	if !(n2 > 1e-10*aa*bb) {
		return c, axis, 0, false
	}
	d := r3.Scale(1/(2*n2), r3.Cross(r3.Sub(r3.Scale(aa, b), r3.Scale(bb, a)), n))
	return r3.Add(p, d), r3.Scale(1/math.Sqrt(n2), n), r3.Norm(d), true
}

// thin returns at most n of the points, evenly spread over their order.
func thin(p []r3.Vec, n int) []r3.Vec {
	if len(p) <= n {
		return p
	}
	out := make([]r3.Vec, n)
	for i := range out {
		out[i] = p[i*len(p)/n]
	}
	return out
}

// across is a unit vector perpendicular to unit a, the same every time.
func across(a r3.Vec) r3.Vec {
	e := r3.Vec{X: 1}
	if math.Abs(a.X) > 0.6 {
		e = r3.Vec{Y: 1}
	}
	return r3.Unit(r3.Cross(a, e))
}

func compareExact(a, b float64) int { return cmp.Compare(a, b) }
