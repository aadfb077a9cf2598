package fit

import "math"

// symmetric is a small symmetric matrix of which the leading n x n part is
// used; starts need thousands of decompositions, so it stays on the stack.
type symmetric struct {
	n int
	a [4][4]float64
}

// add adds w v v' to the matrix.
func (m *symmetric) add(w float64, v *[4]float64) {
	for i := 0; i < m.n; i++ {
		for j := 0; j <= i; j++ {
			m.a[i][j] += w * v[i] * v[j]
		}
	}
}

// add4 adds v v' of a vector of four; the part beyond n does not matter.
func (m *symmetric) add4(v0, v1, v2, v3 float64) {
	a := &m.a
	a[0][0] += v0 * v0
	a[1][0] += v1 * v0
	a[1][1] += v1 * v1
	a[2][0] += v2 * v0
	a[2][1] += v2 * v1
	a[2][2] += v2 * v2
	a[3][0] += v3 * v0
	a[3][1] += v3 * v1
	a[3][2] += v3 * v2
	a[3][3] += v3 * v3
}

// eigen returns the eigenvalues in rising order and their unit eigenvectors,
// by cyclic Jacobi rotations on the lower triangle. Source: Golub and Van
// Loan, Matrix Computations, 4th ed. (2013), section 8.5.
func (m *symmetric) eigen() (values [4]float64, vectors [4][4]float64) {
	n := m.n
	a := m.a
	for i := 0; i < n; i++ {
		vectors[i][i] = 1
		for j := 0; j < i; j++ {
			a[j][i] = a[i][j]
		}
	}
	for sweep := 0; sweep < 30 && !nearlyDiagonal(&a, n); sweep++ {
		for p := 0; p < n-1; p++ {
			for q := p + 1; q < n; q++ {
				jacobiTurn(&a, &vectors, n, p, q)
			}
		}
	}
	for i := 0; i < n; i++ {
		values[i] = a[i][i]
	}
	for i := 1; i < n; i++ { // insertion sort; row i of vectors is eigenvector i
		for j := i; j > 0 && values[j] < values[j-1]; j-- {
			values[j], values[j-1] = values[j-1], values[j]
			vectors[j], vectors[j-1] = vectors[j-1], vectors[j]
		}
	}
	return values, vectors
}

func nearlyDiagonal(a *[4][4]float64, n int) bool {
	off, diag := 0.0, 0.0
	for i := 0; i < n; i++ {
		diag += a[i][i] * a[i][i]
		for j := 0; j < i; j++ {
			off += a[i][j] * a[i][j]
		}
	}
	return !(off > 1e-32*diag)
}

// jacobiTurn makes a[p][q] zero and turns rows p and q of v alike.
func jacobiTurn(a, v *[4][4]float64, n, p, q int) {
	if a[p][q] == 0 {
		return
	}
	theta := (a[q][q] - a[p][p]) / (2 * a[p][q])
	t := 1 / (math.Abs(theta) + math.Sqrt(theta*theta+1))
	if theta < 0 {
		t = -t
	}
	c := 1 / math.Sqrt(t*t+1)
	s := t * c
	for k := 0; k < n; k++ {
		x, y := a[k][p], a[k][q]
		a[k][p], a[k][q] = c*x-s*y, s*x+c*y
	}
	for k := 0; k < n; k++ {
		x, y := a[p][k], a[q][k]
		a[p][k], a[q][k] = c*x-s*y, s*x+c*y
		x, y = v[p][k], v[q][k]
		v[p][k], v[q][k] = c*x-s*y, s*x+c*y
	}
}
