package fit

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"testing"

	"gonum.org/v1/gonum/floats"
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

func TestMinimizeNIST(t *testing.T) {
	for _, set := range nistSets(t) {
		for s, start := range set.Starts {
			t.Run(fmt.Sprintf("%s/start%d", set.Name, s+1), func(t *testing.T) {
				c := newRegression(models[set.Name], set.Data, start)
				got, err := Minimize(c, Settings{MaxIterations: 2000, Geodesic: true})
				if err != nil {
					t.Fatalf("%v; b = %v", err, c.b)
				}
				t.Logf("%d iterations, RSS %.11g", got.Iterations, got.SS)
				for j := range c.b {
					wantRel(t, fmt.Sprintf("b%d", j+1), c.b[j], set.Recomputed[j], 1e-9)
				}
			})
		}
	}
}
