package fit

import (
	"fmt"
	"math"
	"math/rand"
	"testing"

	"gonum.org/v1/gonum/diff/fd"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
)

// checkJacobian compares the analytic Jacobian at the accepted state with
// central differences of the residuals over Try, and leaves the state alone.
func checkJacobian(t *testing.T, what string, p Problem) {
	t.Helper()
	rows, n := p.Size()
	r := make([]float64, rows)
	jac := make([][]float64, n)
	for j := range jac {
		jac[j] = make([]float64, rows)
	}
	zero := make([]float64, n)
	p.Try(zero)
	p.Eval(0, rows, r, jac)
	want := mat.NewDense(rows, n, nil)
	fd.Jacobian(want, func(y, x []float64) {
		p.Try(x)
		p.Eval(0, rows, y, nil)
	}, zero, &fd.JacobianSettings{Formula: fd.Central, Step: 1e-6})
	p.Try(zero)
	for j := range jac {
		for i := range r {
			got, w := jac[j][i], want.At(i, j)
			if !(math.Abs(got-w) <= 2e-8*(1+math.Abs(w))) {
				t.Errorf("%s: d r[%d] / d p[%d] = %.12g, differences give %.12g", what, i, j, got, w)
				return
			}
		}
	}
}

func randomCloud(r *rand.Rand, n int) *cloud {
	p := make([]r3.Vec, n)
	for i := range p {
		p[i] = r3.Vec{X: r.NormFloat64(), Y: r.NormFloat64(), Z: r.NormFloat64()}
	}
	c, err := newCloud(p, nil)
	if err != nil {
		panic(err)
	}
	return c
}

// randomRing is a ring in a random pose with the given curvature.
func randomRing(r *rand.Rand, k float64) ring {
	a := r3.Unit(r3.Vec{X: r.NormFloat64(), Y: r.NormFloat64(), Z: r.NormFloat64()})
	p := poseAlong(a, r3.Vec{X: r.NormFloat64(), Y: r.NormFloat64(), Z: r.NormFloat64()})
	p.s = r3.Vec{X: r.NormFloat64() / 3, Y: r.NormFloat64() / 3, Z: r.NormFloat64() / 3}
	return ring{pose: p, k: k}
}

func TestJacobians(t *testing.T) {
	r := rand.New(rand.NewSource(7))
	for _, k := range []float64{-3, -0.4, 0, 1e-9, 0.01, 0.7, 5} {
		for rep := 0; rep < 5; rep++ {
			c := randomCloud(r, 40)
			cyl := &cylinderModel{c: c, ring: randomRing(r, k)}
			checkJacobian(t, fmt.Sprintf("cylinder, curvature %g", k), cyl)
			circle := newCircleModel(c)
			circle.ring = randomRing(r, k)
			checkJacobian(t, fmt.Sprintf("circle, curvature %g", k), circle)
			sphere := &sphereModel{c: c, ball: ball(randomRing(r, k))}
			checkJacobian(t, fmt.Sprintf("sphere, curvature %g", k), sphere)
			cone := newConeModel(c)
			cone.cone = taper{ring: randomRing(r, k), psi: r.NormFloat64()}
			checkJacobian(t, fmt.Sprintf("cone, curvature %g", k), cone)
			torus := newTorusModel(c)
			torus.torus = hoop{ring: randomRing(r, k), psi: 3 * r.NormFloat64(), tube: 2 * r.NormFloat64()}
			checkJacobian(t, fmt.Sprintf("torus, curvature %g", k), torus)
		}
	}
}
