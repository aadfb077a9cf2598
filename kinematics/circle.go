package kinematics

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/mat"
)

// circle is a circle in the plane of a section.
type circle struct{ x, y, r float64 }

// fitCircle returns the circle with the least sum of squared distances to the
// points, the LSCI of ISO 12181-1. It starts from the algebraic circle and
// improves by Gauss-Newton, whose normal equations are the first harmonic of
// the profile seen from the centre. It is false for fewer than three points and
// for points on a line. Source of the iteration: W. Gander, G. H. Golub, R.
// Strebel, BIT 34 (1994) 558-578.
func fitCircle(xs, ys []float64) (circle, bool) {
	n := float64(len(xs))
	if len(xs) < 3 {
		return circle{}, false
	}
	// Centred and of unit scale, so that the equations are well conditioned.
	var cx, cy, scale float64
	for i := range xs {
		cx, cy = cx+xs[i]/n, cy+ys[i]/n
	}
	for i := range xs {
		scale = max(scale, math.Abs(xs[i]-cx), math.Abs(ys[i]-cy))
	}
	if !(scale > 0) || math.IsInf(scale, 1) {
		return circle{}, false
	}
	px, py := make([]float64, len(xs)), make([]float64, len(xs))
	for i := range xs {
		px[i], py[i] = (xs[i]-cx)/scale, (ys[i]-cy)/scale
	}
	c, ok := algebraicCircle(px, py)
	if !ok {
		return circle{}, false
	}
	for range 50 {
		d, ok := circleStep(px, py, c)
		if !ok {
			return circle{}, false
		}
		c.x, c.y, c.r = c.x+d.x, c.y+d.y, c.r+d.r
		if math.Abs(d.x)+math.Abs(d.y)+math.Abs(d.r) <= 4*epsilon*(1+c.r) {
			break
		}
	}
	return circle{x: cx + scale*c.x, y: cy + scale*c.y, r: scale * c.r}, true
}

// algebraicCircle solves x^2 + y^2 = 2 a x + 2 b y + k in least squares.
func algebraicCircle(px, py []float64) (circle, bool) {
	var eq equations
	for i := range px {
		eq.add(2*px[i], 2*py[i], 1, px[i]*px[i]+py[i]*py[i])
	}
	v, ok := eq.solve()
	r2 := v[2] + v[0]*v[0] + v[1]*v[1]
	return circle{x: v[0], y: v[1], r: math.Sqrt(max(0, r2))}, ok && r2 > 0
}

// circleStep returns the Gauss-Newton step from c.
func circleStep(px, py []float64, c circle) (circle, bool) {
	var eq equations
	for i := range px {
		dx, dy := px[i]-c.x, py[i]-c.y
		d := math.Hypot(dx, dy)
		if d == 0 {
			return circle{}, false
		}
		eq.add(dx/d, dy/d, 1, d-c.r)
	}
	v, ok := eq.solve()
	return circle{x: v[0], y: v[1], r: v[2]}, ok
}

// equations are the normal equations of a least-squares problem with three
// unknowns of like size.
type equations struct {
	ata [9]float64
	atb [3]float64
}

// add adds the equation a v0 + b v1 + c v2 = rhs.
func (e *equations) add(a, b, c, rhs float64) {
	row := [3]float64{a, b, c}
	for i := range 3 {
		for j := range 3 {
			e.ata[3*i+j] += row[i] * row[j]
		}
		e.atb[i] += row[i] * rhs
	}
}

// solve returns the unknowns; false where the equations do not determine them.
func (e *equations) solve() ([3]float64, bool) {
	var chol mat.Cholesky
	if !chol.Factorize(mat.NewSymDense(3, e.ata[:])) || chol.Cond() > 1e14 {
		return [3]float64{}, false
	}
	var v mat.VecDense
	if err := chol.SolveVecTo(&v, mat.NewVecDense(3, e.atb[:])); err != nil {
		var bad mat.Condition
		if !errors.As(err, &bad) { // a poor condition is accepted up to the bound above
			return [3]float64{}, false
		}
	}
	return [3]float64{v.AtVec(0), v.AtVec(1), v.AtVec(2)}, true
}

// fitLine returns the least-squares line y = at + slope x. The slope is 0 where
// all x are alike.
func fitLine(x, y []float64) (at, slope float64) {
	n := float64(len(x))
	var mx, my, sxx, sxy float64
	for i := range x {
		mx, my = mx+x[i]/n, my+y[i]/n
	}
	for i := range x {
		sxx += (x[i] - mx) * (x[i] - mx)
		sxy += (x[i] - mx) * (y[i] - my)
	}
	if sxx > 0 {
		slope = sxy / sxx
	}
	return my - slope*mx, slope
}

// fitPlane returns the least-squares plane z = at + sx x + sy y; false for
// points on a line.
func fitPlane(x, y, z []float64) (at, sx, sy float64, ok bool) {
	if len(x) < 3 {
		return 0, 0, 0, false
	}
	scale := 0.0
	for i := range x {
		scale = max(scale, math.Abs(x[i]), math.Abs(y[i]))
	}
	var eq equations
	for i := range x {
		eq.add(x[i]/scale, y[i]/scale, 1, z[i])
	}
	v, ok := eq.solve()
	return v[2], v[0] / scale, v[1] / scale, ok
}
