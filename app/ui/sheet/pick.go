package sheet

import (
	"math"
	"strconv"

	"pintle/app/doc"
	"pintle/app/ui/desk"
	"pintle/app/ui/figures"
	"pintle/app/ui/paper"
	"pintle/app/ui/style"
	"pintle/fit"
	"pintle/fit/mesh"
	"pintle/kinematics"
	"pintle/viewport"
)

// pick shows what a new hinge would be made of.
func (b *builder) pick() {
	live := b.desk.Live()
	n := len(b.desk.Picks())
	if n == 0 {
		b.findFirst()
		b.section("OR PICK ONE BY HAND")
		b.add(paper.Para(pickHint(b.desk.Mode(), n), style.Faded))
	} else {
		b.add(paper.Title("New "+newText(live)), paper.Para(pickHint(b.desk.Mode(), n), style.Faded))
	}
	b.guide(min(n, 1))
	if len(live.Answers) == 0 {
		return
	}
	title := "PICKED"
	if live.Hover {
		title = "UNDER THE POINTER"
		if n > 0 {
			title = "PICKED, WITH WHAT IS UNDER THE POINTER"
		}
	}
	b.section(title)
	b.add(paper.Para(live.Text, style.Ink))
	if d, ok := live.Datum(); ok {
		b.datum(d, b.desk.Session().Model.Unit)
	}
	b.answers(live)
	b.proposal(live, n)
}

// guide shows one step of the demo's guide, where there is one: it leads to the
// first hinge made by hand.
func (b *builder) guide(step int) {
	if g := b.desk.Guide(); step < len(g) && len(b.desk.Session().Doc.Joints) < 2 {
		b.add(paper.Note(strconv.Itoa(step+1)+" of "+strconv.Itoa(len(g))+"  "+g[step], style.Accent))
	}
}

func pickHint(m viewport.PickMode, picked int) string {
	if picked > 0 {
		return "Click more of the same housing, or click a picked element again to take it out. Escape starts over."
	}
	switch m {
	case viewport.PickPoint:
		return "Click two vertices: the poles of a cylinder, or two opposite points. A loop or a patch is surer."
	case viewport.PickEdge:
		return "Click an edge that lies along the hinge."
	case viewport.PickLoop:
		return "Click a loop round the housing. Two loops give an axis through both centres."
	case viewport.PickPatch:
		return "Point at the round face of a housing: its cylinder and axis show at once. Click to pick it."
	}
	return "Choose above what a click picks: patch is the surest way to a hinge."
}

// datum shows a datum's numbers.
func (b *builder) datum(d fit.Datum, unit mesh.Unit) {
	b.row("shape", string(d.Kind))
	if d.Radius > 0 {
		b.row("radius", figures.Length(d.Radius, unit))
	}
	if d.Radius2 > 0 {
		b.row("tube radius", figures.Length(d.Radius2, unit))
	}
	if d.HalfAngle != 0 {
		b.row("half angle", figures.Degrees(d.HalfAngle, 3))
	}
	b.quality(d, unit)
}

// quality shows how well a datum is known.
func (b *builder) quality(d fit.Datum, unit mesh.Unit) {
	count := figures.Plural(d.Count, "point", "points")
	if d.Rejected > 0 {
		count += ", " + figures.Count(d.Rejected) + " left out"
	}
	tone := style.Ink
	if d.Kind != fit.Plane && d.Kind != fit.Line && d.Kind != fit.Point {
		count += " over " + figures.Degrees(d.Arc, 0)
		if d.Arc < math.Pi/2 {
			tone = style.Check
		}
	}
	b.toned("fitted to", count, tone)
	b.row("RMS / form", figures.Fixed(d.RMS, figures.Places(unit))+" / "+figures.Length(d.FormError, unit))
	if !math.IsNaN(d.SigmaAxis) {
		b.row("axis known to", "± "+figures.Degrees(d.SigmaAxis, 3)+", ± "+figures.Length(d.SigmaOrigin, unit))
	}
}

// answers sets the ways to read the pick side by side.
func (b *builder) answers(live desk.Live) {
	if len(live.Answers) < 3 {
		return
	}
	unit := b.desk.Session().Model.Unit
	b.section("EACH BY ITSELF: CENTRE OFF BY, AXIS OFF BY")
	for _, a := range live.Answers {
		switch {
		case a.Err != nil:
			b.toned(a.Label, "no answer", style.Check)
		default:
			b.row(a.Label+", "+kindOf(a), figures.Length(a.Offset, unit)+"  "+figures.Degrees(a.Angle, 2))
		}
	}
}

// newText names what the pick would make.
func newText(live desk.Live) string {
	if live.Err != nil || live.Joint.Kind == "" {
		return kindText(kinematics.Revolute)
	}
	return kindText(live.Joint.Kind)
}

func kindOf(a doc.Answer) string {
	if a.Recipe.Method == doc.TwoPoints {
		return "midpoint"
	}
	return string(a.Datum.Kind)
}

// proposal shows the hinge that would be made, and makes it.
func (b *builder) proposal(live desk.Live, picked int) {
	make := paper.NewButton("Make "+newText(live), paper.Primary, b.desk.MakeHinge)
	make.SetEnabled(picked > 0 && live.Err == nil)
	if live.Err != nil && picked > 0 {
		b.add(paper.Note(live.Err.Error(), style.Check))
	}
	if live.Err == nil {
		b.section("WOULD BE")
		b.row("moves", live.Joint.Child)
		b.row("against", orWorld(live.Joint.Parent))
	}
	if picked > 0 {
		swap := paper.NewButton("Swap the two", paper.Outlined, b.desk.SwapParts)
		swap.SetEnabled(live.Err == nil && live.Joint.Parent != "")
		b.buttons(make)
		b.buttons(swap, paper.NewButton("Start over", paper.Outlined, b.desk.ClearPicks))
	}
}
