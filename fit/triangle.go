package fit

import (
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// blockRows is the number of rows that one reduction step takes in: enough to
// hide the loop overhead, few enough to stay in the first-level cache.
const blockRows = 256

// triangle is the upper triangular factor R (n x n) of a tall matrix J,
// together with the rotated right-hand side Q'r. It takes in J block by block
// (tall-skinny QR), so no more than one block is ever held and the condition
// number is not squared as normal equations would.
type triangle struct {
	n    int
	a    []float64 // n x (n+1) by rows, the last column is Q'r
	ss   float64   // sum of squares of the right-hand side
	rows int
}

func newTriangle(n int) *triangle { return &triangle{n: n, a: make([]float64, n*(n+1))} }

func (t *triangle) reset() {
	clear(t.a)
	t.ss, t.rows = 0, 0
}

func (t *triangle) copyFrom(s *triangle) {
	copy(t.a, s.a)
	t.n, t.ss, t.rows = s.n, s.ss, s.rows
}

func (t *triangle) at(i, j int) float64 { return t.a[i*(t.n+1)+j] }

// rhs returns element i of Q'r.
func (t *triangle) rhs(i int) float64 { return t.a[i*(t.n+1)+t.n] }

// absorb reduces a block of rows, given as n columns of J and then the
// right-hand side, into the triangle by Householder reflections; a right-hand
// side of nil is left out. It destroys the block. Source: Golub and Van Loan,
// Matrix Computations, 4th ed. (2013), section 5.2; the reflections touch one
// row of R and the block only.
func (t *triangle) absorb(cols [][]float64) {
	n, w := t.n, t.n+1
	rhs := cols[n]
	last := n
	if rhs == nil {
		last = n - 1 // columns of J only
	}
	t.ss += floats.Dot(rhs, rhs)
	t.rows += len(rhs)
	for j := 0; j < n; j++ {
		v := cols[j]
		below := floats.Dot(v, v)
		if below < 1e-290 {
			continue // zero, or about to underflow
		}
		row := t.a[j*w : j*w+w]
		alpha := row[j]
		beta := -math.Copysign(math.Sqrt(alpha*alpha+below), alpha)
		v0 := alpha - beta
		f := 1 / (beta * v0) // minus 2 / (v0^2 + v'v)
		row[j] = beta
		for c := j + 1; c <= last; c++ {
			s := f * (v0*row[c] + floats.Dot(v, cols[c]))
			row[c] += s * v0
			floats.AddScaled(cols[c], s, v)
		}
	}
}

// columnNorm is the Euclidean length of column j of J.
func (t *triangle) columnNorm(j int) float64 {
	s := 0.0
	for i := 0; i <= j; i++ {
		s += t.at(i, j) * t.at(i, j)
	}
	return math.Sqrt(s)
}

// change is the length of J delta.
func (t *triangle) change(delta []float64) float64 {
	s := 0.0
	for i := 0; i < t.n; i++ {
		d := 0.0
		for j := i; j < t.n; j++ {
			d += t.at(i, j) * delta[j]
		}
		s += d * d
	}
	return math.Sqrt(s)
}

// solve writes the x that minimises |R x + Q'r| into x. A zero pivot leaves
// its unknown at zero.
func (t *triangle) solve(x []float64) {
	for i := t.n - 1; i >= 0; i-- {
		s := -t.rhs(i)
		for j := i + 1; j < t.n; j++ {
			s -= t.at(i, j) * x[j]
		}
		if p := t.at(i, i); p != 0 {
			x[i] = s / p
		} else {
			x[i] = 0
		}
	}
}

// condition returns the ratio of the smallest to the largest singular value of
// J with its columns scaled to unit length: 0 for a rank-deficient J, 1 for
// orthogonal columns.
func (t *triangle) condition() float64 {
	d := mat.NewDense(t.n, t.n, nil)
	for j := 0; j < t.n; j++ {
		s := t.columnNorm(j)
		if s == 0 || math.IsNaN(s) || math.IsInf(s, 0) {
			return 0
		}
		for i := 0; i <= j; i++ {
			d.Set(i, j, t.at(i, j)/s)
		}
	}
	var svd mat.SVD
	if !svd.Factorize(d, mat.SVDNone) {
		return 0
	}
	v := svd.Values(nil)
	return v[t.n-1] / v[0]
}

// inverse returns R^-1 (n x n), so that (J'J)^-1 = R^-1 R^-T, or nil if R is
// singular.
func (t *triangle) inverse() *mat.Dense {
	n := t.n
	inv := mat.NewDense(n, n, nil)
	for c := 0; c < n; c++ {
		for i := c; i >= 0; i-- {
			s := 0.0
			if i == c {
				s = 1
			}
			for j := i + 1; j <= c; j++ {
				s -= t.at(i, j) * inv.At(j, c)
			}
			p := t.at(i, i)
			if p == 0 {
				return nil
			}
			inv.Set(i, c, s/p)
		}
	}
	return inv
}
