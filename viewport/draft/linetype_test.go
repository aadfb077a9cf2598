package draft

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// The example of a line of 60 mm drawn with a pen of 0.25 mm, by the formulas
// of ISO 128-21:1997 (from memory, arithmetic recomputed).
func TestFitPublished(t *testing.T) {
	for _, c := range []struct {
		kind LineType
		n    int
		dash float64
	}{
		{LongDashDot, 7, 6.078125},
		{LongDashDoubleDot, 6, 6.42857142857143},
		{Dashed, 15, 3.046875},
	} {
		n, dash := c.kind.Fit(60, 0.25)
		if n != c.n || math.Abs(dash-c.dash) > 1e-12 {
			t.Errorf("line type %d: %d interruptions, dash %.15g; want %d, %.15g", c.kind, n, dash, c.n, c.dash)
		}
	}
}

func TestSpansShape(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		kind := rapid.SampledFrom([]LineType{Continuous, Dashed, LongDashDot, LongDashDoubleDot}).Draw(t, "kind")
		d := rapid.Float64Range(0.1, 5).Draw(t, "d")
		l := rapid.Float64Range(0.1, 3000).Draw(t, "l")
		spans := kind.Spans(l, d, Span{0, l})
		if spans[0].From != 0 || math.Abs(spans[len(spans)-1].To-l) > 1e-9*l {
			t.Fatalf("begins at %g and ends at %g of %g: not on strokes", spans[0].From, spans[len(spans)-1].To, l)
		}
		n, dash := kind.Fit(l, d)
		if want := 1 + n*(1+kind.pattern().dots); len(spans) != want {
			t.Fatalf("%d strokes, want %d", len(spans), want)
		}
		if n > 0 && dash < kind.pattern().dash*d*(1-1e-12) {
			t.Fatalf("dash %g is shorter than nominal %g", dash, kind.pattern().dash*d)
		}
		for i := 1; i < len(spans); i++ {
			if gap := spans[i].From - spans[i-1].To; gap < 2*d || gap > 3.01*d {
				t.Fatalf("gap %g before stroke %d, pen %g", gap, i, d)
			}
		}
	})
}

// A clipped line shows the same strokes as the whole one.
func TestSpansWindow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		kind := rapid.SampledFrom([]LineType{Continuous, Dashed, LongDashDot, LongDashDoubleDot}).Draw(t, "kind")
		l := rapid.Float64Range(1, 5000).Draw(t, "l")
		w := Span{rapid.Float64Range(0, l).Draw(t, "from"), 0}
		w.To = rapid.Float64Range(w.From, l).Draw(t, "to")
		var want []Span
		for _, s := range kind.Spans(l, 1, Span{0, l}) {
			want = appendSpan(want, s, w)
		}
		got := kind.Spans(l, 1, w)
		if len(got) != len(want) {
			t.Fatalf("%d strokes in the window, want %d", len(got), len(want))
		}
		for i := range got {
			if got[i] != want[i] {
				t.Fatalf("stroke %d is %v, want %v", i, got[i], want[i])
			}
		}
	})
}

func TestSpansScale(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := rapid.Float64Range(1, 500).Draw(t, "l")
		k := rapid.SampledFrom([]float64{0.25, 2, 8}).Draw(t, "k") // powers of two: exact
		a, b := LongDashDot.Spans(l, 1, Span{0, l}), LongDashDot.Spans(l*k, k, Span{0, l * k})
		if len(a) != len(b) {
			t.Fatalf("%d strokes, %d at scale %g", len(a), len(b), k)
		}
		for i := range a {
			if math.Abs(a[i].From*k-b[i].From) > 1e-9*l*k {
				t.Fatalf("stroke %d at %g, scaled %g", i, a[i].From*k, b[i].From)
			}
		}
	})
}

func TestSpansBadInput(t *testing.T) {
	for _, l := range []float64{0, -1, math.NaN(), math.Inf(1)} {
		for _, d := range []float64{0, -1, math.NaN(), 1} {
			if n, _ := LongDashDot.Fit(l, d); n != 0 {
				t.Errorf("length %g, pen %g: %d interruptions, want none", l, d, n)
			}
		}
	}
}
