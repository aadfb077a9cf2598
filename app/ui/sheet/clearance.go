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
	b.section("CLEARANCE")
	zero := m.Curve.At(0)
	if math.IsInf(zero, 0) || math.IsNaN(zero) {
		b.row("as modelled", "nothing can meet")
		return
	}
	b.row("as modelled", figures.Length(zero, unit)+", ± "+roundedUp(m.Curve.Error))
	if least, ok := m.Narrowest(); ok {
		b.row("least clearance", figures.Length(least.Distance, unit)+" at "+b.valueText(m.Freedom(), least.Value, 1)+", ± "+roundedUp(m.Curve.Error))
		if least.Moving >= 0 {
			b.row(s.Parts[m.Moving[least.Moving]].Name, "past "+s.Parts[m.Still[least.Still]].Name)
		}
	}
	if note := m.CurveNote(); note != "" {
		b.add(paper.Note(note, style.Faded))
	}
}

// roundedUp sets a bound with two digits that count.
func roundedUp(v float64) string {
	if !(v > 0) || math.IsInf(v, 0) {
		return figures.Fixed(v, 0)
	}
	last := math.Floor(math.Log10(v)) - 1
	step := math.Pow(10, last)
	return figures.Fixed(step*math.Ceil(v/step-1e-9), int(max(-last, 0)))
}
