package fit

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

// published is one data set of testdata/fit/datums.json, where its source
// stands.
type published struct {
	Name, Source string
	Kind         Kind
	Points       [][3]float64
	Origin       *[3]float64
	Axis         *[3]float64
	Radius       *float64
	Radius2      *float64
	HalfAngle    *float64 `json:"half_angle_deg"`
	SS           *float64
	RMS          *float64
	FormError    *float64 `json:"form_error"`
	SigmaAxis    *float64 `json:"sigma_axis_deg"`
	SigmaOrigin  *float64 `json:"sigma_origin"`
	SigmaRadius  *float64 `json:"sigma_radius"`
	Extent       *[2]float64
}

func (p published) points() []r3.Vec {
	out := make([]r3.Vec, len(p.Points))
	for i, v := range p.Points {
		out[i] = r3.Vec{X: v[0], Y: v[1], Z: v[2]}
	}
	return out
}

func publishedCases(tb testing.TB) []published {
	tb.Helper()
	raw, err := os.ReadFile("../testdata/fit/datums.json")
	if err != nil {
		tb.Fatal(err)
	}
	var f struct{ Cases []published }
	if err := json.Unmarshal(raw, &f); err != nil {
		tb.Fatal(err)
	}
	return f.Cases
}

func TestPublishedDatums(t *testing.T) {
	cases := publishedCases(t)
	if len(cases) < 16 {
		t.Fatalf("only %d cases read", len(cases))
	}
	for _, c := range cases {
		t.Run(c.Name, func(t *testing.T) {
			d, err := Fit(c.Kind, c.points(), Options{})
			if err != nil {
				t.Fatal(err)
			}
			c.check(t, d)
		})
	}
}

// check compares with the printed digits: 1e-11 for the geometry, the digits
// given for sums and standard deviations.
func (p published) check(t *testing.T, d Datum) {
	t.Helper()
	if p.Origin != nil {
		want := r3.Vec{X: p.Origin[0], Y: p.Origin[1], Z: p.Origin[2]}
		if e := r3.Norm(r3.Sub(d.Origin, want)); e > 2e-12*(1+r3.Norm(want)) {
			t.Errorf("origin %v, want %v: off by %.3g", d.Origin, want, e)
		}
	}
	if p.Axis != nil {
		want := r3.Vec{X: p.Axis[0], Y: p.Axis[1], Z: p.Axis[2]}
		if e := lineAngle(d.Axis, want); e > 1e-12 {
			t.Errorf("axis %v, want %v: off by %.3g rad", d.Axis, want, e)
		}
		if signed(d.Axis) != d.Axis && p.Kind != Cone {
			t.Errorf("axis %v: the largest component is not positive", d.Axis)
		}
	}
	for _, q := range []struct {
		what string
		got  float64
		want *float64
		tol  float64
	}{
		{"radius", d.Radius, p.Radius, 1e-12},
		{"tube radius", d.Radius2, p.Radius2, 1e-12},
		{"half angle (deg)", d.HalfAngle * 180 / math.Pi, p.HalfAngle, 1e-12},
		{"sum of squares", d.RMS * d.RMS * float64(d.Count), p.SS, 1e-12},
		{"RMS", d.RMS, p.RMS, 1e-12},
		{"form error", d.FormError, p.FormError, 2e-12},
		{"sigma axis (deg)", d.SigmaAxis * 180 / math.Pi, p.SigmaAxis, 5e-10},
		{"sigma origin", d.SigmaOrigin, p.SigmaOrigin, 5e-10},
		{"sigma radius", d.SigmaRadius, p.SigmaRadius, 2e-9},
	} {
		if q.want != nil {
			wantRel(t, q.what, q.got, *q.want, q.tol)
		}
	}
	if p.Extent != nil {
		wantAbs(t, "extent from", d.Extent[0], p.Extent[0], 1e-12)
		wantAbs(t, "extent to", d.Extent[1], p.Extent[1], 1e-12)
	}
	if d.Count != len(p.Points) || d.Rejected != 0 {
		t.Errorf("count %d, rejected %d, want %d and 0", d.Count, d.Rejected, len(p.Points))
	}
}

// TestGanderResiduals checks Distance with the residuals of the circle of
// Gander, Golub and Strebel (1994), recomputed: |p - c| - r in point order.
func TestGanderResiduals(t *testing.T) {
	c := publishedCases(t)[0]
	d, err := FitCircle(c.points(), Options{})
	if err != nil {
		t.Fatal(err)
	}
	want := []float64{0.77375920805, -0.639243505885, 0.308985820446, -0.105474240645, -0.000883881609519, -0.337143400355}
	for i, p := range c.points() {
		wantAbs(t, "residual", r3.Norm(r3.Sub(p, d.Origin))-d.Radius, want[i], 6e-13)
		wantAbs(t, "distance", d.Distance(p), math.Abs(want[i]), 6e-13)
	}
}
