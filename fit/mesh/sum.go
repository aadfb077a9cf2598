package mesh

import "math"

// Sum adds numbers in the order they come, with the rounding of each step
// carried along (A. Neumaier, Rundungsfehleranalyse einiger Verfahren zur
// Summation endlicher Summen, 1974). The zero value is an empty sum.
type Sum struct{ total, carry float64 }

// Add adds x.
func (s *Sum) Add(x float64) {
	t := s.total + x
	if math.Abs(s.total) >= math.Abs(x) {
		s.carry += (s.total - t) + x
	} else {
		s.carry += (x - t) + s.total
	}
	s.total = t
}

// Value returns the sum of what was added.
func (s *Sum) Value() float64 { return s.total + s.carry }
