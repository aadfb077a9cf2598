package sheet

import (
	"fmt"
	"math"

	"pintle/app/doc"
	"pintle/app/ui/desk"
	"pintle/app/ui/figures"
	"pintle/app/ui/paper"
	"pintle/app/ui/style"
	"pintle/kinematics"
	"pintle/kinematics/contact"
)

// motion shows how the selected joint moves: contacts, what touches at rest,
// runout, the envelope.
func (b *builder) motion() {
	j, number, _ := b.desk.Joint()
	s := b.desk.Session()
	p := b.desk.Proof(j.Name)
	b.heading(j, number)
	b.rangeRows(j, p)
	if m := p.Motion; m != nil {
		b.section("FIRST CONTACTS")
		b.contact("lower", m.Free.Lower, m, s)
		b.contact("upper", m.Free.Upper, m, s)
		b.clearance(m)
		b.rest(m, s)
	}
	b.runsTrue(j, p, s.Model.Unit)
	b.envelope(p)
	b.findings(p)
}

func (b *builder) contact(end string, e *contact.Event, m *doc.Motion, s *doc.Session) {
	if e == nil {
		b.row(end, "nothing stops it")
		return
	}
	at := b.valueText(m.Freedom(), e.Value, 4)
	if e.AtRest {
		at += ", as modelled"
	}
	b.toned(end, at, style.Accent)
	b.row(s.Parts[m.Moving[e.Moving]].Name, "meets "+s.Parts[m.Still[e.Still]].Name)
	b.row("at, "+string(s.Model.Unit), figures.Position(e.Point, s.Model.Unit))
}

// valueText sets a joint value: degrees to so many places, or model units.
func (b *builder) valueText(f kinematics.Freedom, v float64, places int) string {
	if f.Turns {
		return figures.Degrees(v, places)
	}
	return figures.Length(v, b.desk.Session().Model.Unit)
}

// rest lists what meets in the pose as modelled.
func (b *builder) rest(m *doc.Motion, s *doc.Session) {
	if len(m.Free.Rest) == 0 {
		return
	}
	b.section("MEETING AS MODELLED")
	const most = 6
	for i, r := range m.Free.Rest {
		if i == most {
			b.add(paper.Small(fmt.Sprintf("and %d more", len(m.Free.Rest)-most), style.Faded))
			break
		}
		text := string(r.Kind)
		if r.Kind == contact.Overlap {
			text += " " + figures.Length(r.Depth, s.Model.Unit)
		}
		if r.Ignored {
			text += ", left out"
		}
		b.row(s.Parts[m.Moving[r.Moving]].Name+" – "+s.Parts[m.Still[r.Still]].Name, text)
	}
}

// envelope makes, shows and exports the solid that the moving parts sweep.
func (b *builder) envelope(p desk.Proof) {
	b.section("SWEEP ENVELOPE")
	s := b.desk.Session()
	if e := b.desk.Envelope(); e != nil {
		cube := " " + string(s.Model.Unit) + "³"
		for _, w := range e.Over {
			for i, r := range w.Over {
				if len(e.Over) > 1 { // a limb
					b.row(w.Joint, b.spanText(w.Kind.Freedom(i), r))
					continue
				}
				f := w.Kind.Freedom(i)
				b.row(f.String(), b.valueText(f, r.Lower, 2)+" … "+b.valueText(f, r.Upper, 2))
			}
		}
		b.row("volume", figures.Whole(e.Volume)+" ± "+figures.Whole(e.Error)+cube)
		b.row("surface", figures.Whole(e.Area)+" "+string(s.Model.Unit)+"²")
		b.carving(e)
		for _, n := range e.Notes {
			b.add(paper.Note(n, style.Faded))
		}
		b.buttons(paper.NewButton("Export envelope", paper.Outlined, b.sheet.cb.ExportEnvelope),
			paper.NewButton("Take away", paper.Outlined, b.desk.ClearEnvelope))
		return
	}
	b.add(paper.Para("The solid that the moving parts pass through: what must stay clear, or be carved away.", style.Faded))
	sweep := paper.NewButton("Sweep over the range", paper.Primary, b.desk.MakeEnvelope)
	_, ok := b.desk.EnvelopeRanges()
	sweep.SetEnabled(ok && !p.Busy)
	b.buttons(sweep)
	if b.desk.CarriesJoints() {
		limb := paper.NewButton("Sweep with the joints below", paper.Outlined, b.desk.MakeLimbEnvelope)
		limb.SetEnabled(ok && !p.Busy)
		b.buttons(limb)
	}
}

// spanText sets a range of joint values.
func (b *builder) spanText(f kinematics.Freedom, r kinematics.Range) string {
	if math.IsInf(r.Span(), 0) {
		return "all round"
	}
	return b.valueText(f, r.Lower, 2) + " … " + b.valueText(f, r.Upper, 2)
}

// carving says which still parts reach into the envelope.
func (b *builder) carving(e *desk.Envelope) {
	if e.Carving == nil {
		return
	}
	unit := b.desk.Session().Model.Unit
	if e.Carving.Area == 0 {
		b.row("to carve", "nothing deeper than "+figures.Length(e.Carving.Tolerance, unit))
		return
	}
	for i, p := range e.Carving.Parts {
		if p.Area > 0 {
			b.toned("carve "+b.desk.Session().Parts[e.Still[i]].Name,
				figures.Whole(p.Area)+" "+string(unit)+"², "+figures.Length(p.Depth, unit)+" deep", style.Accent)
		}
	}
}
