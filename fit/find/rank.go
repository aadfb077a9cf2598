package find

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// model weighs features: a hypothesis is worth exp(bias + sum of weight times
// feature) against the part that hangs on nothing we see.
type model struct {
	bias   float64
	weight features
}

// worth is the exponential of the value.
func (m model) worth(f features) float64 { return math.Exp(min(m.value(f), mostValue)) }

const mostValue = 14 // beyond it rounding would tell

func (m model) value(f features) float64 {
	u := m.bias
	for i, w := range m.weight {
		u += w * f[i]
	}
	return u
}

// rank sets the probability of every hypothesis. All trees that join parts, or
// leave some hanging on nothing, are weighed by the product of their joints'
// worths; the probability of a joint is the share of the trees that have it.
// The sum over trees is a determinant (G. Kirchhoff, 1847; T. Koo et al.,
// Structured Prediction Models via the Matrix-Tree Theorem, 2007).
func rank(n int, links []link, m model) {
	marginals(n, links, m)
	claim(links)
	marginals(n, links, m)
}

// marginals sets p of every hypothesis and returns the logarithm of the sum
// over all trees. It is false where rounding leaves nothing.
func marginals(n int, links []link, m model) (logSum float64, ok bool) {
	if n == 0 {
		return 0, true
	}
	worth := make([]float64, len(links))
	top := 0.0 // parts hanging on nothing are worth exp(0)
	for i, l := range links {
		for k := range l.axes {
			worth[i] += m.worth(l.axes[k].feats)
		}
		top = max(top, worth[i])
	}
	lap := mat.NewSymDense(n, nil)
	for i := range n {
		lap.SetSym(i, i, 1)
	}
	for i, l := range links {
		lap.SetSym(l.a, l.a, lap.At(l.a, l.a)+worth[i])
		lap.SetSym(l.b, l.b, lap.At(l.b, l.b)+worth[i])
		lap.SetSym(l.a, l.b, lap.At(l.a, l.b)-worth[i])
	}
	var c mat.Cholesky
	if !c.Factorize(lap) {
		return 0, false
	}
	var inv mat.SymDense
	if err := c.InverseTo(&inv); err != nil && math.IsNaN(inv.At(0, 0)) {
		return 0, false
	}
	for _, l := range links {
		r := inv.At(l.a, l.a) + inv.At(l.b, l.b) - 2*inv.At(l.a, l.b)
		for k := range l.axes {
			l.axes[k].p = min(max(m.worth(l.axes[k].feats)*r, 0), 1)
		}
	}
	return c.LogDet(), true
}

// claim sets how likely the line of a hypothesis is another pair's.
func claim(links []link) {
	type use struct {
		link int
		axis *hypothesis
	}
	uses := map[*line][]use{}
	for i := range links {
		for k := range links[i].axes {
			h := &links[i].axes[k]
			for _, x := range []*line{h.a, h.b} {
				if x != nil {
					uses[x] = append(uses[x], use{i, h})
				}
			}
		}
	}
	for i := range links {
		for k := range links[i].axes {
			h := &links[i].axes[k]
			free := 1.0
			for _, x := range []*line{h.a, h.b} {
				if x == nil {
					continue
				}
				for _, u := range uses[x] {
					if u.link != i {
						free = min(free, 1-u.axis.p)
					}
				}
			}
			h.feats[fFree] = free
		}
	}
}

// weights is the model that makes the joints of the development set likeliest.
func weights() model {
	return model{bias: -11.81, weight: features{
		1.16, 3.34, 1.72, 2.45, 4.79, 3.13, 2.11,
		4.37, 5.05, 1.04, 0.23, 1.41, 0.04, 0.00,
		1.65, 1.88, 1.47, 0.69, 2.18,
		5.01, 5.95, 3.52, 3.23, 0.00, 0.49,
	}}
}
