package loop

import (
	"math"

	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/lapack"
	"gonum.org/v1/gonum/lapack/lapack64"
)

// spectrum is a singular value decomposition m = u diag(s) vt with its scratch:
// that of gonum's mat.SVD without its copies, since a walk takes one at every
// step.
type spectrum struct {
	m      blas64.General // to be filled by the caller, row by row; left as it is
	spent  []float64      // the copy that the decomposition uses up
	u, vt  blas64.General
	s      []float64
	work   []float64
	blocks [2]int // the size that work was made for
}

// size makes room for a matrix of that size, filled with zeros.
func (d *spectrum) size(rows, cols int) blas64.General {
	n := min(rows, cols)
	d.m = general(d.m.Data, rows, cols)
	d.u = general(d.u.Data, rows, n)
	d.vt = general(d.vt.Data, n, cols)
	d.s = room(d.s, n)
	d.spent = room(d.spent, rows*cols)
	if d.blocks != [2]int{rows, cols} {
		d.blocks = [2]int{rows, cols}
		ask := []float64{0}
		lapack64.Gesvd(lapack.SVDStore, lapack.SVDStore, d.m, d.u, d.vt, d.s, ask, -1)
		d.work = room(d.work, int(ask[0]))
	}
	clear(d.m.Data)
	return d.m
}

func general(data []float64, rows, cols int) blas64.General {
	return blas64.General{Rows: rows, Cols: cols, Stride: cols, Data: room(data, rows*cols)}
}

// room returns a slice of length n, the given one where it holds as many.
func room(data []float64, n int) []float64 {
	if cap(data) < n {
		return make([]float64, n)
	}
	return data[:n]
}

// factorize decomposes m. It reports false where that does not succeed.
func (d *spectrum) factorize() bool {
	for _, x := range d.m.Data {
		if !finite(x) {
			return false
		}
	}
	copy(d.spent, d.m.Data)
	a := d.m
	a.Data = d.spent
	return lapack64.Gesvd(lapack.SVDStore, lapack.SVDStore, a, d.u, d.vt, d.s, d.work, len(d.work))
}

// value returns the singular value of that number, counted from 1; 0 behind
// the last.
func (d *spectrum) value(i int) float64 {
	if i < 1 || i > len(d.s) {
		return 0
	}
	return d.s[i-1]
}

// rank returns how many singular values are above tol.
func (d *spectrum) rank(tol float64) int {
	n := 0
	for _, s := range d.s {
		if s > tol {
			n++
		}
	}
	return n
}

// solve puts into dst the least x, in the space of the first rank singular
// vectors, that minimises |m x - b|^2 + (damp |x|)^2.
func (d *spectrum) solve(dst, b []float64, rank int, damp float64) {
	clear(dst[:d.vt.Cols])
	u, v := d.u, d.vt
	for k := range min(rank, len(d.s)) {
		s := d.s[k]
		if s == 0 {
			break
		}
		dot := 0.0
		for i := range u.Rows {
			dot += u.Data[i*u.Stride+k] * b[i]
		}
		dot *= s / (s*s + damp*damp)
		for i, x := range v.Data[k*v.Stride : (k+1)*v.Stride] {
			dst[i] += dot * x
		}
	}
}

// project takes out of t what the first rank singular vectors see of it: what
// is left changes nothing to first order. It returns the length left.
func (d *spectrum) project(t []float64, rank int) float64 {
	t = t[:d.vt.Cols]
	for range 2 { // twice, so that a small rest is not noise
		for k := range min(rank, len(d.s)) {
			v := d.vt.Data[k*d.vt.Stride : (k+1)*d.vt.Stride]
			dot := 0.0
			for i, x := range v {
				dot += x * t[i]
			}
			for i, x := range v {
				t[i] -= dot * x
			}
		}
	}
	return norm(t)
}

func norm(v []float64) float64 {
	s := 0.0
	for _, x := range v {
		s += x * x
	}
	return math.Sqrt(s)
}
