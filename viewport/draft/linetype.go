package draft

import "math"

// LineType is a line of ISO 128-2, by its number without the width suffix.
type LineType uint8

// The line types used. Width is chosen apart (narrow .1, wide .2).
const (
	Continuous        LineType = iota // 01: outlines (wide); dimensions, leaders (narrow)
	Dashed                            // 02: hidden edges
	LongDashDot                       // 04: centre lines and axes
	LongDashDoubleDot                 // 05: extreme positions of movable parts
)

// Span is a stretch of a line from From to To, lengths along it.
type Span struct {
	From, To float64
}

// pattern describes a line type in multiples of the line width d (ISO 128-2):
// the nominal dash and what stands between two dashes.
type pattern struct {
	dash float64
	gaps float64 // total length between two dashes
	dots int
}

const (
	gapLength = 3   // multiples of d
	dotLength = 0.5 // multiples of d, the standard's upper limit
)

func (t LineType) pattern() pattern {
	switch t {
	case Dashed:
		return pattern{dash: 12, gaps: gapLength}
	case LongDashDot:
		return pattern{dash: 24, gaps: 2*gapLength + dotLength, dots: 1}
	case LongDashDoubleDot:
		return pattern{dash: 24, gaps: 3*gapLength + 2*dotLength, dots: 2}
	}
	return pattern{}
}

// Fit returns how a line of length l and width d (same unit) is divided: n
// interruptions between n+1 dashes that are stretched from their nominal
// length to dash, so that the line begins and ends with a full dash. A line
// shorter than one dash and one period is drawn through: n is 0. Source:
// ISO 128-21:1997, calculation of line elements (from memory).
func (t LineType) Fit(l, d float64) (n int, dash float64) {
	p := t.pattern()
	if p.dash == 0 || !(d > 0) || !(l > 0) || math.IsInf(l/d, 0) {
		return 0, math.Max(l, 0)
	}
	n = int(math.Max(0, math.Floor((l-p.dash*d)/((p.dash+p.gaps)*d))))
	return n, (l - float64(n)*p.gaps*d) / float64(n+1)
}

// Spans returns the dashes and dots of a line of length l and width d that
// reach into the stretch window, in order. Because the pattern is fixed to
// both ends of the whole line, a clipped or panned line shows the same dashes.
func (t LineType) Spans(l, d float64, window Span) []Span {
	n, dash := t.Fit(l, d)
	if n == 0 {
		return appendSpan(nil, Span{0, l}, window)
	}
	p := t.pattern()
	period := dash + p.gaps*d
	first := max(0, int(math.Floor(window.From/period))-1)
	last := min(n, int(math.Ceil(window.To/period))+1)
	var spans []Span
	for i := first; i <= last; i++ {
		s := float64(i) * period
		spans = appendSpan(spans, Span{s, s + dash}, window)
		if i == n {
			break
		}
		for k := range p.dots {
			// A dot of half a line width is less than a pixel: widen it about its
			// middle to a square, which is what a pen makes of it on paper.
			mid := s + dash + (gapLength*float64(k+1)+dotLength*(float64(k)+0.5))*d
			spans = appendSpan(spans, Span{mid - d/2, mid + d/2}, window)
		}
	}
	return spans
}

func appendSpan(spans []Span, s, window Span) []Span {
	s.From, s.To = math.Max(s.From, window.From), math.Min(s.To, window.To)
	if s.From < s.To {
		spans = append(spans, s)
	}
	return spans
}
