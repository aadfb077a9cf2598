package fit_test

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit"
)

// The first circle of Gander, Golub and Strebel (1994).
func ExampleFitCircle() {
	points := []r3.Vec{{X: 1, Y: 7}, {X: 2, Y: 6}, {X: 5, Y: 8}, {X: 7, Y: 7}, {X: 9, Y: 5}, {X: 3, Y: 7}}
	d, err := fit.FitCircle(points, fit.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("centre (%.4f, %.4f), radius %.4f\n", d.Origin.X, d.Origin.Y, d.Radius)
	fmt.Printf("RMS %.4f, form error %.4f, arc %.0f deg\n", d.RMS, d.FormError, d.Arc*180/math.Pi)
	// Output:
	// centre (4.7398, 2.9835), radius 4.7142
	// RMS 0.4523, form error 1.4130, arc 108 deg
}

// A tessellated bore of 24 segments with two stray points.
func ExampleFitCylinder_robust() {
	var points []r3.Vec
	for i := range 24 {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / 24)
		for _, z := range []float64{0, 5, 12} {
			points = append(points, r3.Vec{X: 3 + 8*cos, Y: 1 + 8*sin, Z: z})
		}
	}
	points = append(points, r3.Vec{X: 40}, r3.Vec{Y: -25, Z: 3})
	d, err := fit.FitCylinder(points, fit.Options{Robust: true})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("radius %.3f about (%.3f, %.3f), %d points kept, %d rejected\n", d.Radius, d.Origin.X, d.Origin.Y, d.Count, d.Rejected)
	fmt.Printf("sagitta %.3f\n", d.Sagitta)
	// Output:
	// radius 8.000 about (3.000, 1.000), 72 points kept, 2 rejected
	// sagitta 0.068
}

// Points on one ring do not determine a cylinder, and the fit says so.
func ExampleDegenerateError() {
	var ring []r3.Vec
	for i := range 12 {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / 12)
		ring = append(ring, r3.Vec{X: cos, Y: sin})
	}
	_, err := fit.FitCylinder(ring, fit.Options{})
	var e *fit.DegenerateError
	if errors.As(err, &e) {
		fmt.Println(e.Kind, e.Measure)
	}
	fmt.Println(err)
	// Output:
	// cylinder 0
	// the points do not determine a cylinder: all points lie in one plane, on one ring or on one or two generators; ratio of the least extent to the largest (0)
}

// Vertices 0 and 8 of a 17-gon are not opposite.
func ExampleCompare() {
	var loop []r3.Vec
	for i := range 17 {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / 17)
		loop = append(loop, r3.Vec{X: 20 * cos, Y: 20 * sin})
	}
	c, err := fit.Compare(fit.Pick{Loop: loop})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, d := range c.Differences {
		fmt.Printf("%s to %s: %.3f\n", c.Alternatives[d.A].Name, c.Alternatives[d.B].Name, d.Offset)
	}
	// Output:
	// midpoint of opposite vertices to loop centre: 1.845
	// midpoint of opposite vertices to area centroid: 1.845
	// loop centre to area centroid: 0.000
}

// The points say what they are.
func ExampleBest() {
	var points []r3.Vec
	for i := range 40 {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / 40)
		points = append(points, r3.Vec{X: 5 * cos, Y: 5 * sin, Z: 2})
	}
	d, err := fit.Best(points, fit.Options{})
	fmt.Printf("%s of radius %.1f, %v\n", d.Kind, d.Radius, err)
	// Output: circle of radius 5.0, <nil>
}

// A line through two poles carries no uncertainty of its own.
func ExampleLineThrough() {
	d, err := fit.LineThrough(r3.Vec{Z: -3}, r3.Vec{Z: 5})
	fmt.Println(d.Origin, d.Axis, d.Extent, d.SigmaAxis, err)
	// Output: {0 0 1} {0 0 1} [-4 4] NaN <nil>
}

// exponential is y = b exp(-t) with one unknown.
type exponential struct {
	t, y  []float64
	b, at float64
}

func (e *exponential) Size() (residuals, params int) { return len(e.t), 1 }

func (e *exponential) Eval(lo, hi int, r []float64, jac [][]float64) {
	for i := lo; i < hi; i++ {
		g := math.Exp(-e.t[i])
		r[i-lo] = e.at*g - e.y[i]
		if jac != nil {
			jac[0][i-lo] = g
		}
	}
}

func (e *exponential) Try(delta []float64) { e.at = e.b + delta[0] }

func (e *exponential) Accept() { e.b = e.at }

func ExampleMinimize() {
	p := &exponential{t: []float64{0, 1, 2}, y: []float64{3, 1.1, 0.4}}
	m, err := fit.Minimize(p, fit.Settings{})
	fmt.Printf("b = %.4f, %v, %v\n", p.b, m.Status, err)
	// Output: b = 2.9981, converged, <nil>
}
