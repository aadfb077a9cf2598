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
	return model{bias: -11.70, weight: features{
		1.16, 3.20, 1.62, 2.46, 4.63, 3.06, 2.02,
		4.22, 4.96, 1.15, 0.27, 1.46, 0.19, 0.00,
		1.69, 1.90, 1.49, 0.70, 2.24,
		5.05, 5.96, 3.55, 3.22, 0.00, 0.50,
	}}
}
