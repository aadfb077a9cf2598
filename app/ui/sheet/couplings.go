package sheet

import (
	"fmt"
	"math"
	"strings"

	"fyne.io/fyne/v2/container"

	"pintle/app/doc"
	"pintle/app/ui/figures"
	"pintle/app/ui/style"
	"pintle/kinematics"
)

const nothing = "nothing"

// follows shows which other joint value the chosen one follows, and how.
func (b *builder) follows(j doc.Joint) {
	drivers, texts := b.drivers(j)
	if len(drivers) == 0 || j.Kind.Freedoms() < 1 {
		return
	}
	i := b.desk.Freedom()
	f := j.Kind.Freedom(i)
	label := "follows"
	if j.Kind.Freedoms() > 1 {
		label = f.Name + " follows"
	}
	c, coupled := b.desk.Follows(i)
	current := nothing
	for k, d := range drivers {
		if coupled && d == c.Driver {
			current = texts[k]
		}
	}
	b.labelled(label, choice(append([]string{nothing}, texts...), current, func(text string) {
		for k, t := range texts {
			if t == text {
				ratio := c.Law.Ratio
				if !coupled || ratio == 0 {
					ratio = 1
				}
				b.desk.Follow(i, drivers[k], ratio, c.Law.Offset)
				return
			}
		}
		b.desk.Unfollow(i)
	}))
	if coupled {
		b.law(i, f, c)
	}
}

// law shows a coupling's ratio and offset in fields, per degree where a turn
// drives a slide, or its curve as points.
func (b *builder) law(i int, f kinematics.Freedom, c doc.Coupling) {
	driver := b.desk.Session().Doc.FreedomOf(c.Driver)
	const straight, curved = "in a ratio", "by a curve"
	how := straight
	if c.Law.Kind == kinematics.LawCurve {
		how = curved
	}
	b.labelled("goes", choice([]string{straight, curved}, how, func(v string) {
		if v == curved {
			b.desk.FollowCurve(i, c.Driver, b.curveOf(c))
		} else {
			b.desk.Follow(i, c.Driver, 1, 0)
		}
	}))
	if how == curved {
		b.points(i, driver, f, c)
	} else {
		b.ratio(i, driver, f, c)
	}
	b.coupledRange(i, f)
}

func (b *builder) ratio(i int, driver, f kinematics.Freedom, c doc.Coupling) {
	m := b.measureOf(f)
	var ratio, offset *field
	set := func(r, o string) {
		x, okX := parseRatio(r)
		y, okY := m.parse(o)
		if !okX || !okY {
			b.desk.OnProblem(fmt.Errorf("the ratio %q and offset %q are not two numbers (a ratio may be two with a / between, such as -18/45 for gears)", r, o))
			return
		}
		b.desk.Follow(i, c.Driver, doc.RatioFromFile(x, driver, f), y)
	}
	ratio = entry(figures.Minus(fmt.Sprintf("%.10g", doc.RatioToFile(c.Law.Ratio, driver, f))), func(v string) { set(v, offset.Text) })
	offset = entry(m.show(c.Law.Offset), func(v string) { set(ratio.Text, v) })
	b.labelled("ratio, offset", container.NewGridWithColumns(2, ratio, offset))
}

// parseRatio reads a ratio: a number, or two with a slash between, as gears have
// them in teeth.
func parseRatio(s string) (float64, bool) {
	over, under, cut := strings.Cut(s, "/")
	x, ok := figures.Parse(strings.TrimSpace(over))
	if !cut || !ok {
		return x, ok
	}
	y, ok := figures.Parse(strings.TrimSpace(under))
	if !ok || y == 0 {
		return 0, false
	}
	return x / y, true
}

// curveOf returns a curve that starts out as the coupling's line, over the
// driver's limits.
func (b *builder) curveOf(c doc.Coupling) []kinematics.CurvePoint {
	d := b.desk.Session().Doc
	r := kinematics.Range{Lower: -1, Upper: 1}
	if d.FreedomOf(c.Driver).Turns {
		r = kinematics.Range{Lower: -math.Pi / 2, Upper: math.Pi / 2}
	}
	if limit, ok := d.Joints[d.JointIndex(c.Driver.Joint)].Limit(c.Driver.Freedom); ok && !math.IsInf(limit.Span(), 0) && limit.Span() > 0 {
		r = limit
	}
	var out []kinematics.CurvePoint
	for _, x := range []float64{r.Lower, (r.Lower + r.Upper) / 2, r.Upper} {
		out = append(out, kinematics.CurvePoint{Driver: x, Follower: c.Law.Ratio*x + c.Law.Offset})
	}
	return out
}

// points shows a curve's points as text, driver:follower with commas between.
func (b *builder) points(i int, driver, f kinematics.Freedom, c doc.Coupling) {
	from, to := b.measureOf(driver), b.measureOf(f)
	var text []string
	for _, p := range c.Law.Curve {
		text = append(text, from.show(p.Driver)+":"+to.show(p.Follower))
	}
	b.labelled("from:to, …", entry(strings.Join(text, ", "), func(v string) {
		var points []kinematics.CurvePoint
		for _, pair := range strings.Split(v, ",") {
			x, y, cut := strings.Cut(pair, ":")
			p, okP := from.parse(strings.TrimSpace(x))
			q, okQ := to.parse(strings.TrimSpace(y))
			if !cut || !okP || !okQ {
				b.desk.OnProblem(fmt.Errorf("the point %q is not driver:follower, such as 30:12", strings.TrimSpace(pair)))
				return
			}
			points = append(points, kinematics.CurvePoint{Driver: p, Follower: q})
		}
		b.desk.FollowCurve(i, c.Driver, points)
	}))
}

// coupledRange shows where all that the driver may do takes the value.
func (b *builder) coupledRange(i int, f kinematics.Freedom) {
	limits, err := b.desk.Session().CoupledLimits()
	if err != nil {
		return
	}
	j, _, _ := b.desk.Joint()
	k := b.desk.Session().Doc.CouplingOf(doc.ValueRef{Joint: j.Name, Freedom: i})
	if k < 0 || k >= len(limits) {
		return
	}
	m := b.measureOf(f)
	end := func(v float64) string {
		if math.IsInf(v, 0) {
			return "free"
		}
		return m.show(v)
	}
	tone := style.Ink
	if limits[k].Exceeds() {
		tone = style.Check
	}
	b.toned("is taken to", end(limits[k].Reach.Lower)+" … "+end(limits[k].Reach.Upper), tone)
}

// drivers lists the joint values that the chosen one can follow: those of other
// joints, and the joint's own others.
func (b *builder) drivers(j doc.Joint) (refs []doc.ValueRef, texts []string) {
	for _, k := range b.desk.Session().Doc.Joints {
		for i, f := range k.Kind.FreedomList() {
			if k.Name == j.Name && i == b.desk.Freedom() {
				continue
			}
			text := k.Name
			if k.Kind.Freedoms() > 1 {
				text += ", " + f.String()
			}
			refs, texts = append(refs, doc.ValueRef{Joint: k.Name, Freedom: i}), append(texts, text)
		}
	}
	return refs, texts
}
