package sheet

import (
	"fmt"
	"math"

	"fyne.io/fyne/v2/container"

	"pintle/app/doc"
	"pintle/app/ui/figures"
	"pintle/app/ui/paper"
	"pintle/app/ui/style"
	"pintle/fit/mesh"
	"pintle/kinematics"
)

func kindText(k kinematics.Kind) string {
	switch k {
	case kinematics.Revolute:
		return "hinge"
	case kinematics.Prismatic:
		return "slider"
	case kinematics.Cylindric:
		return "sleeve"
	case kinematics.Universal:
		return "universal joint"
	case kinematics.Spherical:
		return "ball joint"
	case kinematics.Planar:
		return "flat slide"
	}
	return string(k)
}

// kindMeaning says in a line how a kind lets its child move.
func kindMeaning(k kinematics.Kind) string {
	switch k {
	case kinematics.Fixed:
		return "Nothing moves."
	case kinematics.Helical:
		return "Turns about the hinge and travels along it as it turns."
	case kinematics.Cylindric:
		return "Turns about the hinge and slides along it, each by itself."
	case kinematics.Universal:
		return "Turns about the hinge, and about the side that the first turn carries. The shafts lie along reach."
	case kinematics.Spherical:
		return "Swings about hinge and side and twists about reach, all through the origin."
	case kinematics.Planar:
		return "Slides along reach and side and turns about the hinge."
	}
	return ""
}

// kinds are what a picked axis can carry, the commonest first.
func kinds() []kinematics.Kind {
	return []kinematics.Kind{
		kinematics.Revolute, kinematics.Prismatic, kinematics.Helical, kinematics.Cylindric,
		kinematics.Universal, kinematics.Spherical, kinematics.Planar, kinematics.Fixed,
	}
}

func kindTexts() []string {
	var out []string
	for _, k := range kinds() {
		out = append(out, kindText(k))
	}
	return out
}

func kindOfText(text string) kinematics.Kind {
	for _, k := range kinds() {
		if kindText(k) == text {
			return k
		}
	}
	return kinematics.Revolute
}

// kind shows the joint's kind, what that means, and a screw's travel.
func (b *builder) kind(j doc.Joint, unit mesh.Unit) {
	b.labelled("kind", choice(kindTexts(), kindText(j.Kind), func(v string) { b.desk.SetKind(kindOfText(v)) }))
	if text := kindMeaning(j.Kind); text != "" {
		b.add(paper.Para(text, style.Faded))
	}
	if j.Kind == kinematics.Helical {
		b.labelled("travel a turn", entry(figures.Fixed(2*math.Pi*j.Pitch, figures.Places(unit)), func(v string) {
			if x, ok := figures.Parse(v); ok {
				b.desk.SetPitch(x / (2 * math.Pi))
			} else {
				b.desk.OnProblem(fmt.Errorf("the travel a turn %q is not a number of %s", v, unit))
			}
		}))
	}
}

// measure is how values of a freedom are shown and typed.
type measure struct {
	show  func(float64) string
	parse func(string) (float64, bool)
	what  string
}

func (b *builder) measureOf(f kinematics.Freedom) measure {
	if f.Turns {
		return measure{show: func(v float64) string { return figures.Degrees(v, 2) }, parse: figures.ParseAngle, what: "degrees"}
	}
	unit := b.desk.Session().Model.Unit
	return measure{show: func(v float64) string { return figures.Fixed(v, figures.Places(unit)) }, parse: figures.Parse, what: string(unit)}
}

// limits shows the joint's limits in fields, a pair for each freedom, and how
// far it may lean.
func (b *builder) limits(j doc.Joint) {
	for i, f := range j.Kind.FreedomList() {
		label := "limits"
		if j.Kind.Freedoms() > 1 {
			label = f.String()
		}
		b.limit(j, i, f, label)
	}
	if j.Kind.Leans() {
		b.lean(j)
		b.region(j)
	}
}

// limit shows the limits of value i in two fields: degrees, or model units of a
// slide.
func (b *builder) limit(j doc.Joint, i int, f kinematics.Freedom, label string) {
	m := b.measureOf(f)
	end := func(v float64) string {
		if math.IsInf(v, 0) {
			return ""
		}
		return m.show(v)
	}
	r, _ := j.Limit(i)
	set := func(lo, hi string) {
		l, okL := m.parse(lo)
		h, okH := m.parse(hi)
		switch {
		case lo == "" && hi == "":
			b.desk.SetLimit(i, nil)
		case lo == "" || hi == "": // the other end is still to come
		case !okL || !okH || l > h:
			b.desk.OnProblem(fmt.Errorf("the limits %q to %q are not two rising numbers of %s", lo, hi, m.what))
		default:
			b.desk.SetLimit(i, &kinematics.Range{Lower: l, Upper: h})
		}
	}
	var lo, hi *field
	lo = entry(end(r.Lower), func(v string) { set(v, hi.Text) })
	hi = entry(end(r.Upper), func(v string) { set(lo.Text, v) })
	lo.PlaceHolder, hi.PlaceHolder = "from", "to"
	b.labelled(label, container.NewGridWithColumns(2, lo, hi))
}

// lean shows how far the reach may lean to all sides.
func (b *builder) lean(j doc.Joint) {
	text := ""
	if j.Cone != nil {
		if len(j.Cone.Max) > 1 {
			b.row("leans up to", fmt.Sprintf("by azimuth, %d angles", len(j.Cone.Max)))
			return
		}
		text = figures.Degrees(j.Cone.Max[0], 2)
	}
	e := entry(text, func(v string) {
		most, ok := figures.ParseAngle(v)
		switch {
		case v == "":
			b.desk.SetCone(nil)
		case !ok || most < 0 || most > math.Pi:
			b.desk.OnProblem(fmt.Errorf("the lean %q is not a number of degrees from 0 to 180", v))
		default:
			b.desk.SetCone(&most)
		}
	})
	e.PlaceHolder = "any angle"
	b.labelled("leans up to", e)
}

// alone shows how far each freedom goes by contact, the others as modelled.
func (b *builder) alone(j doc.Joint, a *doc.Alone) {
	b.add(paper.Small("free by contact, each by itself:", style.Faded))
	for i, f := range j.Kind.FreedomList() {
		r := a.Range(i)
		end := func(v float64) string {
			if math.IsInf(v, 0) {
				return "free"
			}
			return b.valueText(f, v, 2)
		}
		text := end(r.Lower) + " … " + end(r.Upper)
		if math.IsInf(r.Lower, 0) && math.IsInf(r.Upper, 0) {
			text = "free"
		}
		b.row(f.String(), text)
	}
}
