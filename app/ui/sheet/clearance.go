package sheet

import (
	"math"

	"pintle/app/doc"
	"pintle/app/ui/figures"
	"pintle/app/ui/paper"
	"pintle/app/ui/style"
)

// clearance says where the moving parts come nearest to the others without
// meeting them, and how exact that is.
func (b *builder) clearance(m *doc.Motion) {
	if m.Curve == nil {
		return
	}
	s := b.desk.Session()
	unit := s.Model.Unit
	if least, ok := m.Narrowest(); ok {
		b.section("CLEARANCE")
		b.row("least clearance", figures.Length(least.Distance, unit)+" at "+b.valueText(m.Freedom(), least.Value, 1)+", ± "+roundedUp(m.Curve.Error))
		if least.Moving >= 0 {
			b.row(s.Parts[m.Moving[least.Moving]].Name, "past "+s.Parts[m.Still[least.Still]].Name)
		}
	}
	if note := m.CurveNote(); note != "" {
		b.add(paper.Note(note, style.Faded))
	}
}

// roundedUp sets a bound with one digit that counts.
func roundedUp(v float64) string {
	if !(v > 0) || math.IsInf(v, 0) {
		return figures.Fixed(v, 0)
	}
	exp := math.Floor(math.Log10(v))
	digit := math.Ceil(v/math.Pow(10, exp) - 1e-9)
	if digit >= 10 {
		digit, exp = 1, exp+1
	}
	return figures.Fixed(digit*math.Pow(10, exp), int(max(-exp, 0)))
}
