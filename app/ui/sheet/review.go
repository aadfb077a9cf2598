package sheet

import (
	"fmt"
	"math"
	"strconv"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"pintle/app/doc"
	"pintle/app/ui/desk"
	"pintle/app/ui/figures"
	"pintle/app/ui/paper"
	"pintle/app/ui/style"
)

// review shows the proposed joint that is looked at: how sure it is and why,
// its other readings, what to do with it, and what to do with all.
func (b *builder) review() {
	r := b.desk.Review()
	row, ok := r.Current()
	if !ok {
		return
	}
	s := b.desk.Session()
	c := row.Choices[row.Choice]
	parts := s.Parts[row.Child].Name + " on " + s.Parts[row.Parent].Name
	b.add(container.NewBorder(nil, nil, paper.NewBalloon(row.Number), nil, container.NewVBox(
		paper.Title(row.Title()), paper.Small(parts+", "+kindText(c.Kind), style.Faded))))
	b.add(paper.NewGauge(row.Confidence, SureTone(row.Confidence)))
	b.triedBrief()
	b.standing(row)
	b.decide(r, row)
	b.why(row, c)
	b.readings(row)
	b.together(r)
	b.settings(r)
	b.nothing(r)
}

// SureTone is the tone of a confidence.
func SureTone(v float64) style.Tone {
	switch {
	case v >= 0.9:
		return style.Good
	case v >= 0.5:
		return style.Check
	}
	return style.Stop
}

// standing says what the document makes of the proposal.
func (b *builder) standing(row desk.ReviewRow) {
	unit := b.desk.Session().Model.Unit
	off := func() string {
		if math.IsNaN(row.Angle) {
			return "it joins other parts"
		}
		return figures.Degrees(row.Angle, 2) + " and " + figures.Length(row.Offset, unit)
	}
	switch {
	case row.Standing == doc.InPlace:
		b.add(paper.Note("Accepted as joint "+row.Joint+".", style.Good))
	case row.Standing == doc.Agrees:
		b.add(paper.Note("Agrees with your joint "+row.Joint+", which stays: "+off()+" apart.", style.Good))
	case row.Standing == doc.Differs:
		b.add(paper.Note("Differs from your joint "+row.Joint+", which stays: "+off()+" apart.", style.Check))
	case row.Rejected:
		b.add(paper.Note("Rejected. Accept takes it after all.", style.Faded))
	case row.Closes:
		b.add(paper.Note("Closes a loop: its joints then move together.", style.Faded))
	}
}

// decide holds the buttons for the one proposal.
func (b *builder) decide(r desk.Review, row desk.ReviewRow) {
	accept := paper.NewButton("Accept", paper.Primary, b.desk.AcceptFound)
	word := "Reject"
	if row.Rejected {
		word = "Take back"
	}
	reject := paper.NewButton(word, paper.Outlined, b.desk.RejectFound)
	accept.SetEnabled(row.Standing == doc.Undecided)
	reject.SetEnabled(row.Standing == doc.Undecided)
	b.buttons(accept, reject)
	b.buttons(
		paper.NewButton("Previous", paper.Outlined, func() { b.desk.LookOn(-1) }),
		paper.NewButton("Next", paper.Outlined, func() { b.desk.LookOn(1) }))
	b.add(paper.Gap(2), paper.Small(fmt.Sprintf("%d of %d, %s", r.At+1, len(r.Rows), leftText(r.Left)), style.Faded),
		paper.Small("Return accepts, Delete rejects, ↑ ↓ step, ← → other axes,", style.Faded),
		paper.Small("Home shows the swing again, Ctrl+Return accepts all below", style.Faded))
}

func leftText(n int) string {
	if n == 0 {
		return "all decided"
	}
	return strconv.Itoa(n) + " to decide"
}

// why gives the evidence in words and numbers.
func (b *builder) why(row desk.ReviewRow, c doc.Choice) {
	s := b.desk.Session()
	unit := s.Model.Unit
	b.section("WHY")
	b.add(paper.Para(sentence(c.Evidence.Words), style.Ink))
	b.tried()
	if c.Evidence.Radius > 0 {
		b.row("largest circle", "R "+figures.Length(c.Evidence.Radius, unit))
	}
	b.row("gap between them", figures.Length(c.Evidence.Gap, unit))
	if !math.IsNaN(c.Evidence.Slips) {
		b.row("contact kept", figures.Fixed(100*c.Evidence.Slips, 0)+" %")
	}
	if len(c.Picks) > 0 {
		b.row("held by", string(c.Datum.Kind)+" R "+figures.Length(c.Datum.Radius, unit))
		b.row("", doc.PickText(c.Picks))
	} else {
		b.row("held by", "its own line, nothing to pick")
	}
	b.row("origin, "+string(unit), figures.Position(c.Frame.Origin, unit))
	b.add(
		paper.NewRow("hinge", figures.Dir(c.Frame.Hinge), style.Ink).WithSwatch(style.Accent),
		paper.NewRow("reach", figures.Dir(c.Frame.Reach), style.Ink).WithSwatch(style.Reach),
	)
}

// sentence begins with a capital and ends with a full stop.
func sentence(s string) string {
	if s == "" {
		return ""
	}
	if s[0] >= 'a' && s[0] <= 'z' {
		s = string(s[0]-'a'+'A') + s[1:]
	}
	return s + "."
}

// readings lists the axes to choose among.
func (b *builder) readings(row desk.ReviewRow) {
	if len(row.Choices) < 2 {
		return
	}
	b.section("AXES TO CHOOSE FROM")
	list := container.NewVBox()
	for k, c := range row.Choices {
		text := kindText(c.Kind) + ", axis " + strconv.Itoa(k+1)
		note := figures.Plural(c.Evidence.InParent+c.Evidence.InChild, "circle", "circles")
		if c.Evidence.InParent+c.Evidence.InChild == 0 {
			note = "faces"
		}
		list.Add(paper.NewLine(paper.Item{Text: text, Note: note, Selected: k == row.Choice}, func() { b.desk.Choose(k) }))
	}
	b.add(paper.Inset(-18, 0, -18, 0, list))
}

// together accepts all that are sure enough.
func (b *builder) together(r desk.Review) {
	b.section("ALL TOGETHER")
	least := entry(figures.Fixed(r.Least, 2), func(v string) {
		if x, ok := figures.Parse(v); ok && x >= 0 && x <= 1 {
			b.desk.SetLeast(x)
			return
		}
		b.desk.OnProblem(fmt.Errorf("the confidence %q is not a number from 0 to 1", v))
	})
	b.labelled("as sure as", least)
	word := "None is as sure"
	switch {
	case r.Left == 0:
		word = "All are decided"
	case r.Above == 1:
		word = "Accept the one"
	case r.Above > 1:
		word = "Accept all " + strconv.Itoa(r.Above)
	}
	all := paper.NewButton(word, paper.Outlined, b.sheet.cb.AcceptAbove)
	all.SetEnabled(r.Above > 0)
	b.buttons(all)
}

// settings holds the order of the list, the ground, and the ways out.
func (b *builder) settings(r desk.Review) {
	b.section("THE LIST")
	tree := paper.NewButton("from the ground", paper.Toggle, func() { b.desk.SetBySure(false) })
	sure := paper.NewButton("surest first", paper.Toggle, func() { b.desk.SetBySure(true) })
	tree.SetOn(!r.BySure)
	sure.SetOn(r.BySure)
	b.add(container.NewHBox(tree, sure))
	var names []string
	for _, p := range b.desk.Session().Parts {
		names = append(names, p.Name)
	}
	b.labelled("stands still", choice(names, r.Ground, b.desk.SetGround))
	b.buttons(
		paper.NewButton("Leave the list", paper.Outlined, b.desk.EndReview),
		paper.NewButton("Look again", paper.Outlined, b.desk.FindAgain))
}

// nothing lists what the finder found nothing for.
func (b *builder) nothing(r desk.Review) {
	if len(r.Findings) == 0 {
		return
	}
	b.section("NOTHING FOUND")
	const most = 6
	for i, f := range r.Findings {
		if i == most {
			b.add(paper.Small(fmt.Sprintf("and %d more", len(r.Findings)-most), style.Faded))
			break
		}
		b.add(paper.Note(f.Text, toneOf(f.Severity)))
	}
}

// findFirst offers to look for joints where there is none selected.
func (b *builder) findFirst() {
	text := "Pintle looks for the round faces and rims that near parts share, and proposes every joint with its evidence. You see each one move and accept it or not."
	word := "Find joints"
	if b.desk.CanResume() {
		r := b.desk.Review()
		text = "The proposals are kept: " + figures.Plural(len(r.Rows), "joint", "joints") + ", " + strconv.Itoa(r.Left) + " to decide."
		word = "Back to the proposals"
	}
	b.add(paper.Title("Find joints"), paper.Para(text, style.Faded), b.wide(paper.NewButton(word, paper.Outlined, b.desk.FindJoints)))
}

func (b *builder) wide(o fyne.CanvasObject) fyne.CanvasObject {
	return container.NewGridWithColumns(1, o)
}
