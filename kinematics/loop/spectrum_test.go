package loop

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"
)

// genMatrix draws a matrix of a given rank with rows and columns of a loop's
// sizes, and its dense twin.
func genMatrix(t *rapid.T, d *spectrum) (m *mat.Dense, rank int) {
	rows := rapid.IntRange(1, 12).Draw(t, "rows")
	cols := rapid.IntRange(1, 9).Draw(t, "cols")
	rank = rapid.IntRange(1, min(rows, cols)).Draw(t, "rank")
	x := rapid.Float64Range(-1, 1)
	fill := func(r, c int) *mat.Dense {
		out := mat.NewDense(r, c, nil)
		for i := range r {
			for j := range c {
				out.Set(i, j, x.Draw(t, "x"))
			}
			if i < c {
				out.Set(i, i, out.At(i, i)+3) // so that the rank is what it is meant to be
			}
		}
		return out
	}
	m = mat.NewDense(rows, cols, nil)
	m.Mul(fill(rows, rank), fill(rank, cols))
	raw := d.size(rows, cols)
	for i := range rows {
		for j := range cols {
			raw.Data[i*raw.Stride+j] = m.At(i, j)
		}
	}
	return m, rank
}

// Oracle: gonum's own decomposition with its copies, and plain products.
func TestSpectrumEqualsThePlainDecomposition(t *testing.T) {
	var d spectrum // used again for every size
	rapid.Check(t, func(t *rapid.T) {
		m, rank := genMatrix(t, &d)
		rows, cols := m.Dims()
		if !d.factorize() {
			t.Fatal("no decomposition")
		}
		var plain mat.SVD
		if !plain.Factorize(m, mat.SVDThin) {
			t.Fatal("no plain decomposition")
		}
		want := plain.Values(nil)
		for i, s := range want {
			near(t, "singular value", d.value(i+1), s, 1e-12*want[0])
		}
		if d.value(0) != 0 || d.value(len(want)+1) != 0 {
			t.Error("there are singular values before the first and behind the last")
		}
		if got := d.rank(1e-9 * want[0]); got > rank {
			t.Errorf("rank %d, made with %d", got, rank)
		}
		rank = d.rank(1e-9 * want[0])

		b := make([]float64, rows)
		for i := range b {
			b[i] = rapid.Float64Range(-1, 1).Draw(t, "b")
		}
		x := make([]float64, cols)
		d.solve(x, b, rank, 0)
		var wantX mat.VecDense
		plain.SolveVecTo(&wantX, mat.NewVecDense(rows, b), rank)
		for i := range x {
			near(t, "solution", x[i], wantX.AtVec(i), 1e-8*(1+math.Abs(wantX.AtVec(i))))
		}

		// Damped: the normal equations (m' m + damp^2) x = m' b in that space.
		damp := rapid.Float64Range(0.1, 2).Draw(t, "damp")
		d.solve(x, b, min(rows, cols), damp)
		var normal, right mat.Dense
		normal.Mul(m.T(), m)
		for i := range cols {
			normal.Set(i, i, normal.At(i, i)+damp*damp)
		}
		right.Mul(m.T(), mat.NewVecDense(rows, b))
		for i := range cols {
			sum := 0.0
			for j := range cols {
				sum += normal.At(i, j) * x[j]
			}
			near(t, "normal equation", sum, right.At(i, 0), 1e-9*(1+want[0]*want[0]))
		}
	})
}

// What is projected moves nothing, and what moved nothing stays.
func TestProjectionLeavesTheNullSpace(t *testing.T) {
	var d spectrum
	rapid.Check(t, func(t *rapid.T) {
		m, _ := genMatrix(t, &d)
		rows, cols := m.Dims()
		if !d.factorize() {
			t.Fatal("no decomposition")
		}
		rank := d.rank(1e-9 * d.value(1))
		v := make([]float64, cols+1) // the last is none of its business
		for i := range v {
			v[i] = rapid.Float64Range(-1, 1).Draw(t, "v")
		}
		last := v[cols]
		size := d.project(v, rank)
		near(t, "length", size, norm(v[:cols]), 1e-14)
		for i := range rows {
			sum := 0.0
			for j := range cols {
				sum += m.At(i, j) * v[j]
			}
			near(t, "motion", sum, 0, 1e-11*(1+d.value(1)))
		}
		again := append([]float64(nil), v...)
		d.project(again, rank)
		for i := range v {
			near(t, "projected twice", again[i], v[i], 1e-13)
		}
		if v[cols] != last {
			t.Error("what lies behind the columns was changed")
		}
		if rank == cols && size > 1e-10 {
			t.Errorf("a matrix of full rank leaves %v", size)
		}
	})
}

func TestSpectrumRefusesNumbersThatAreNone(t *testing.T) {
	for _, bad := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		var d spectrum
		d.size(3, 2).Data[4] = bad
		if d.factorize() {
			t.Errorf("%v was decomposed", bad)
		}
	}
}

func BenchmarkSpectrum(b *testing.B) {
	var d spectrum
	x := 1.0
	b.ReportAllocs()
	for b.Loop() {
		m := d.size(6, 4)
		for i := range m.Data {
			x = math.Mod(1.7*x+0.3, 2)
			m.Data[i] = x - 1
		}
		if !d.factorize() {
			b.Fatal("no decomposition")
		}
	}
}
