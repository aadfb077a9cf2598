package fit

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"math/rand"
	"os"
	"testing"

	"gonum.org/v1/gonum/diff/fd"
	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"
)

// regression is a nonlinear regression y = f(x; b) with analytic derivatives.
type regression struct {
	x, y      []float64
	b, at     []float64
	f         func(x float64, b, grad []float64) float64
	evaluated int
}

func newRegression(f func(x float64, b, grad []float64) float64, data [][2]float64, b []float64) *regression {
	c := &regression{f: f, b: append([]float64(nil), b...), at: append([]float64(nil), b...)}
	for _, d := range data {
		c.x, c.y = append(c.x, d[0]), append(c.y, d[1])
	}
	return c
}

func (c *regression) Size() (int, int) { return len(c.x), len(c.b) }

func (c *regression) Eval(lo, hi int, r []float64, jac [][]float64) {
	g := make([]float64, len(c.b))
	for i := lo; i < hi; i++ {
		r[i-lo] = c.f(c.x[i], c.at, g) - c.y[i]
		for j := range jac {
			jac[j][i-lo] = g[j]
		}
	}
	c.evaluated++
}

func (c *regression) Try(d []float64) { floats.AddTo(c.at, c.b, d) }

func (c *regression) Accept() { copy(c.b, c.at) }

// models are the regression functions of the NIST sets with their gradients.
var models = map[string]func(x float64, b, g []float64) float64{
	"Misra1a": saturation,
	"BoxBOD":  saturation,
	"Rat42": func(x float64, b, g []float64) float64 {
		e := math.Exp(b[1] - b[2]*x)
		g[0] = 1 / (1 + e)
		g[1] = -b[0] * e * g[0] * g[0]
		g[2] = -g[1] * x
		return b[0] * g[0]
	},
	"Rat43": func(x float64, b, g []float64) float64 {
		e := math.Exp(b[1] - b[2]*x)
		g[0] = math.Pow(1+e, -1/b[3])
		y := b[0] * g[0]
		g[1] = -y / b[3] * e / (1 + e)
		g[2] = -g[1] * x
		g[3] = y * math.Log1p(e) / (b[3] * b[3])
		return y
	},
	"MGH09": func(x float64, b, g []float64) float64 {
		num, den := x*x+b[1]*x, x*x+b[2]*x+b[3]
		g[0] = num / den
		g[1] = b[0] * x / den
		g[3] = -b[0] * num / (den * den)
		g[2] = g[3] * x
		return b[0] * g[0]
	},
	"MGH10": func(x float64, b, g []float64) float64 {
		g[0] = math.Exp(b[1] / (x + b[2]))
		y := b[0] * g[0]
		g[1] = y / (x + b[2])
		g[2] = -y * b[1] / ((x + b[2]) * (x + b[2]))
		return y
	},
	"Thurber": func(x float64, b, g []float64) float64 {
		num := b[0] + x*(b[1]+x*(b[2]+x*b[3]))
		den := 1 + x*(b[4]+x*(b[5]+x*b[6]))
		p := 1.0
		for k := 0; k < 4; k++ {
			g[k] = p / den
			p *= x
			if k < 3 {
				g[4+k] = -num / den * p / den
			}
		}
		return num / den
	},
}

func saturation(x float64, b, g []float64) float64 {
	e := math.Exp(-b[1] * x)
	g[0] = 1 - e
	g[1] = b[0] * x * e
	return b[0] * g[0]
}

type nistSet struct {
	Name        string
	RSS         float64
	ResidualSD  float64 `json:"residual_sd"`
	Starts      [][]float64
	Certified   []float64
	CertifiedSD []float64 `json:"certified_sd"`
	Recomputed  []float64
	Data        [][2]float64
}

func nistSets(tb testing.TB) []nistSet {
	tb.Helper()
	raw, err := os.ReadFile("../testdata/fit/nist_strd.json")
	if err != nil {
		tb.Fatal(err)
	}
	var f struct{ Sets []nistSet }
	if err := json.Unmarshal(raw, &f); err != nil {
		tb.Fatal(err)
	}
	return f.Sets
}

// TestMinimizeNIST asks for 9 digits of every parameter from both of NIST's
// starts (MINPACK's lmdif fails on BoxBOD from the first), all 11 digits that
// certify the sum of squares, and the standard deviations.
func TestMinimizeNIST(t *testing.T) {
	sets := nistSets(t)
	if len(sets) != 7 {
		t.Fatalf("%d sets read, want 7", len(sets))
	}
	for _, set := range sets {
		for s, start := range set.Starts {
			t.Run(fmt.Sprintf("%s/start%d", set.Name, s+1), func(t *testing.T) {
				c := newRegression(models[set.Name], set.Data, start)
				got, err := Minimize(c, Settings{MaxIterations: 5000, Geodesic: true})
				if err != nil {
					t.Fatalf("%v; b = %v", err, c.b)
				}
				if got.Status != Converged {
					t.Errorf("status %v", got.Status)
				}
				wantRel(t, "residual sum of squares", got.SS, set.RSS, 6e-11)
				sd := math.Sqrt(got.SS / float64(len(set.Data)-len(c.b)))
				wantRel(t, "residual standard deviation", sd, set.ResidualSD, 6e-11)
				cov := got.Covariance()
				for j := range c.b {
					name := fmt.Sprintf("b%d", j+1)
					wantRel(t, name, c.b[j], set.Recomputed[j], 1e-9)
					wantRel(t, name, c.b[j], set.Certified[j], 1e-9)
					wantRel(t, "standard deviation of "+name, math.Sqrt(cov.At(j, j)), set.CertifiedSD[j], 1e-8)
				}
			})
		}
	}
}

// Without the second-order step the near starts must do.
func TestMinimizeNISTPlain(t *testing.T) {
	for _, set := range nistSets(t) {
		c := newRegression(models[set.Name], set.Data, set.Starts[1])
		if _, err := Minimize(c, Settings{MaxIterations: 1000}); err != nil {
			t.Fatalf("%s: %v", set.Name, err)
		}
		for j := range c.b {
			wantRel(t, fmt.Sprintf("%s b%d", set.Name, j+1), c.b[j], set.Recomputed[j], 1e-9)
		}
	}
}

func TestRegressionJacobians(t *testing.T) {
	for _, set := range nistSets(t) {
		c := newRegression(models[set.Name], set.Data, set.Certified)
		rows, n := c.Size()
		jac := make([][]float64, n)
		for j := range jac {
			jac[j] = make([]float64, rows)
		}
		r := make([]float64, rows)
		c.Eval(0, rows, r, jac)
		want := mat.NewDense(rows, n, nil)
		scale := set.Certified
		fd.Jacobian(want, func(y, x []float64) {
			d := make([]float64, n)
			for j := range d {
				d[j] = x[j] * scale[j]
			}
			c.Try(d)
			c.Eval(0, rows, y, nil)
		}, make([]float64, n), &fd.JacobianSettings{Formula: fd.Central, Step: 1e-5})
		for j := range jac {
			for i := range r {
				wantAbs(t, fmt.Sprintf("%s d r[%d]/d b%d", set.Name, i, j+1), jac[j][i]*scale[j], want.At(i, j), 1e-6*(1+math.Abs(want.At(i, j))))
			}
		}
	}
}

// A linear problem is solved in one step, to the answer of gonum's QR, for
// more rows than one block and whatever the columns' units.
func TestMinimizeLinear(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 5).Draw(t, "params")
		m := rapid.IntRange(n, 700).Draw(t, "rows")
		r := rand.New(rand.NewSource(rapid.Int64().Draw(t, "seed")))
		a := mat.NewDense(m, n, nil)
		b := mat.NewVecDense(m, nil)
		for i := range m {
			for j := range n {
				a.Set(i, j, r.NormFloat64()*math.Pow(10, float64(3*j)))
			}
			b.SetVec(i, r.NormFloat64())
		}
		var want mat.VecDense
		if err := want.SolveVec(a, b); err != nil {
			t.Skip("ill-conditioned draw")
		}
		p := &linearProblem{a: a, b: b, x: make([]float64, n), at: make([]float64, n)}
		got, err := Minimize(p, Settings{Damping: 1e-14})
		if err != nil {
			t.Fatal(err)
		}
		for j := range p.x {
			if e := math.Abs(p.x[j] - want.AtVec(j)); e > 1e-9*math.Abs(want.AtVec(j))+1e-9 {
				t.Fatalf("x[%d] = %g, want %g", j, p.x[j], want.AtVec(j))
			}
		}
		var res mat.VecDense
		res.MulVec(a, &want)
		res.SubVec(&res, b)
		if ss := mat.Dot(&res, &res); math.Abs(got.SS-ss) > 1e-11*ss+1e-20 {
			t.Fatalf("sum of squares %g, want %g", got.SS, ss)
		}
	})
}

type linearProblem struct {
	a     *mat.Dense
	b     *mat.VecDense
	x, at []float64
}

func (p *linearProblem) Size() (int, int) { return p.a.Dims() }

func (p *linearProblem) Eval(lo, hi int, r []float64, jac [][]float64) {
	for i := lo; i < hi; i++ {
		r[i-lo] = floats.Dot(p.a.RawRowView(i), p.at) - p.b.AtVec(i)
		for j := range jac {
			jac[j][i-lo] = p.a.At(i, j)
		}
	}
}

func (p *linearProblem) Try(d []float64) { floats.AddTo(p.at, p.x, d) }

func (p *linearProblem) Accept() { copy(p.x, p.at) }

// Residuals and parameters in other units give the same path and answer.
func TestMinimizeUnits(t *testing.T) {
	set := nistSets(t)[3] // Rat43
	base := newRegression(models[set.Name], set.Data, set.Starts[1])
	if _, err := Minimize(base, Settings{MaxIterations: 500}); err != nil {
		t.Fatal(err)
	}
	unit := []float64{1e6, 1e-3, 1e4, 10}
	f := func(x float64, b, g []float64) float64 {
		c := make([]float64, len(b))
		for j := range b {
			c[j] = b[j] / unit[j]
		}
		y := models[set.Name](x, c, g)
		for j := range g {
			g[j] /= unit[j]
		}
		return y
	}
	start := make([]float64, len(unit))
	for j := range start {
		start[j] = set.Starts[1][j] * unit[j]
	}
	c := newRegression(f, set.Data, start)
	if _, err := Minimize(c, Settings{MaxIterations: 500}); err != nil {
		t.Fatal(err)
	}
	if c.evaluated != base.evaluated {
		t.Errorf("%d evaluations in other units, %d before", c.evaluated, base.evaluated)
	}
	for j := range c.b {
		wantRel(t, fmt.Sprintf("b%d", j+1), c.b[j]/unit[j], base.b[j], 1e-10)
	}
}

func TestMinimizeBadInput(t *testing.T) {
	set := nistSets(t)[0]
	few := newRegression(models[set.Name], set.Data[:1], set.Starts[0])
	_, err := Minimize(few, Settings{})
	var count *CountError
	if !errors.As(err, &count) || count.Have != 1 || count.Need != 2 {
		t.Errorf("one residual for two parameters: got %v", err)
	}
	nan := newRegression(models[set.Name], set.Data, []float64{math.NaN(), 1})
	got, err := Minimize(nan, Settings{})
	var gave *ConvergeError
	if !errors.As(err, &gave) || got.Status != GaveUp {
		t.Errorf("a NaN start: got %v, %v", got, err)
	}
	short := newRegression(models[set.Name], set.Data, set.Starts[0])
	got, err = Minimize(short, Settings{MaxIterations: 3})
	if !errors.As(err, &gave) || got.Status != GaveUp || gave.Iterations != 3 {
		t.Errorf("three iterations: got %v, %v", got, err)
	}
	if got.Status.String() != "gave up" || Converged.String() != "converged" {
		t.Errorf("status texts %q, %q", got.Status, Converged)
	}
	// What was reached so far stays accepted.
	if b := short.b; b[0] == set.Starts[0][0] || math.IsNaN(b[0]) {
		t.Errorf("state after giving up: %v", b)
	}
}

// A parameter without influence leaves the others alone.
func TestMinimizeRankDeficient(t *testing.T) {
	set := nistSets(t)[0]
	f := func(x float64, b, g []float64) float64 {
		g[2] = 0
		return models[set.Name](x, b, g)
	}
	c := newRegression(f, set.Data, []float64{set.Starts[1][0], set.Starts[1][1], 7})
	got, err := Minimize(c, Settings{})
	if err != nil {
		t.Fatal(err)
	}
	wantRel(t, "b1", c.b[0], set.Recomputed[0], 1e-9)
	wantRel(t, "b2", c.b[1], set.Recomputed[1], 1e-9)
	wantAbs(t, "b3", c.b[2], 7, 0)
	if got.Covariance() != nil {
		t.Error("a singular problem has a covariance")
	}
}

func BenchmarkMinimizeNIST(b *testing.B) {
	for _, set := range nistSets(b) {
		b.Run(set.Name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				c := newRegression(models[set.Name], set.Data, set.Starts[1])
				if _, err := Minimize(c, Settings{MaxIterations: 1000}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
