package sheet

import (
	"fmt"
	"math"

	"fyne.io/fyne/v2/container"

	"pintle/app/doc"
	"pintle/app/ui/figures"
	"pintle/app/ui/paper"
	"pintle/app/ui/style"
	"pintle/kinematics/contact"
)

const byClearance = "clearance"

// margin says which limits hold and why, and offers those that keep a margin
// from contact: of the joint's value, or of the parts' clearance.
func (b *builder) margin(m *doc.Motion) {
	unit := b.desk.Session().Model.Unit
	byValue := "distance"
	if m.Freedom().Turns {
		byValue = "angle"
	}
	now, way := b.desk.Margin(), byValue
	measure := b.measureOf(m.Freedom())
	text := measure.show(now.Value)
	if now.Clearance > 0 {
		way, text = byClearance, figures.Fixed(now.Clearance, figures.Places(unit))
	}
	kind := choice([]string{byValue, byClearance}, way, func(v string) {
		if v == byClearance {
			b.desk.SetMargin(contact.Margin{Clearance: usualClearance(m)})
		} else {
			b.desk.SetMargin(m.DefaultMargin())
		}
	})
	amount := entry(text, func(v string) {
		x, ok := measure.parse(v)
		if way == byClearance {
			x, ok = figures.Parse(v)
		}
		switch {
		case !ok || !(x >= 0) || math.IsInf(x, 0) || way == byClearance && x == 0:
			b.desk.OnProblem(fmt.Errorf("the margin %q is not a positive number", v))
		case way == byClearance:
			b.desk.SetMargin(contact.Margin{Clearance: x})
		default:
			b.desk.SetMargin(contact.Margin{Value: x})
		}
	})
	b.labelled("keep clear by", container.NewBorder(nil, nil, nil, paper.Fixed(64, amount), kind))
	j, _, _ := b.desk.Joint()
	_, limited := j.Limit(0)
	h := b.desk.Holding()
	take := paper.NewButton("Limits from contact", paper.Outlined, func() { b.desk.TakeLimits() })
	ok := false
	if h != nil {
		_, ok = h.Range()
	}
	take.SetEnabled(ok)
	b.buttons(take)
	if h != nil {
		b.holding(m, h, limited)
	}
}

// holding says for each end which limit holds and why, of a joint that is not
// limited which one would.
func (b *builder) holding(m *doc.Motion, h *doc.Holding, limited bool) {
	below, above := "would hold below", "would hold above"
	if limited {
		below, above = "holds below", "holds above"
	}
	for _, e := range []struct {
		name string
		l    contact.Limit
	}{{below, h.Active.Lower}, {above, h.Active.Upper}} {
		b.row(e.name, b.holdText(m, e.l)+", "+reasonText(e.l.Reason))
		b.add(paper.Para(e.l.Why, style.Faded))
	}
}

func (b *builder) holdText(m *doc.Motion, l contact.Limit) string {
	if math.IsInf(l.Value, 0) {
		return "free"
	}
	return b.valueText(m.Freedom(), l.Value, 2)
}

func reasonText(r contact.Reason) string {
	return map[contact.Reason]string{
		contact.ByUser: "by you", contact.ByContact: "by contact", contact.ByMargin: "by the margin", contact.ByKind: "by its kind",
	}[r]
}

// usualClearance is the clearance that is kept at first: a hundredth of the
// moving parts' size, or half of what there is as modelled, rounded down to one
// digit.
func usualClearance(m *doc.Motion) float64 {
	v := 0.01 * m.Size
	if m.Curve != nil {
		if zero := m.Curve.At(0); zero > 0 {
			v = min(v, zero/2)
		}
	}
	if !(v > 0) {
		return 1
	}
	step := math.Pow(10, math.Floor(math.Log10(v)))
	return step * max(1, math.Floor(v/step))
}
