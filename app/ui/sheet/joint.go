package sheet

import (
	"fmt"
	"math"

	"fyne.io/fyne/v2/container"
	"gonum.org/v1/gonum/spatial/r3"

	"pintle/app/doc"
	"pintle/app/ui/desk"
	"pintle/app/ui/figures"
	"pintle/app/ui/paper"
	"pintle/app/ui/style"
	"pintle/fit/mesh"
	"pintle/kinematics"
)

// joint shows the selected joint: what it was fitted to, its frame, whether it
// runs true, its range, what was found.
func (b *builder) joint() {
	j, number, _ := b.desk.Joint()
	s := b.desk.Session()
	unit := s.Model.Unit
	b.heading(j, number)
	if number == 1 && !j.Accepted {
		b.guide(2)
	}
	b.section("JOINT")
	b.labelled("name", entry(j.Name, b.desk.RenameJoint))
	b.labelled("against", choice(append([]string{world}, others(s, j.Child)...), orWorld(j.Parent), func(v string) {
		if v == world {
			v = ""
		}
		b.desk.SetParent(v)
	}))
	b.kind(j, unit)
	b.section("DATUM")
	b.row("shape", string(j.Datum.Kind)+", "+recipeText(j.Recipe))
	if len(j.Picks) > 0 {
		b.row("picked", doc.PickText(j.Picks))
		b.quality(j.Datum, unit)
	}
	if j.Recipe.Method == doc.LeastSquares {
		robust := paper.NewButton("leave outliers out", paper.Toggle, func() { b.desk.SetRobust(!j.Recipe.Robust) })
		robust.SetOn(j.Recipe.Robust)
		b.add(container.NewHBox(robust))
	}
	b.frame(j, unit)
	p := b.desk.Proof(j.Name)
	b.runsTrue(j, p, unit)
	b.rangeRows(j, p)
	b.findings(p)
	b.endButtons(j)
}

const world = "the world"

func orWorld(parent string) string {
	if parent == "" {
		return world
	}
	return parent
}

func others(s *doc.Session, not string) []string {
	var out []string
	for _, p := range s.Parts {
		if p.Name != not {
			out = append(out, p.Name)
		}
	}
	return out
}

func recipeText(r doc.DatumRecipe) string {
	switch r.Method {
	case doc.TwoLoops:
		return "through two loops"
	case doc.TwoPoints:
		return "through two points"
	case doc.EdgeLine:
		return "along an edge"
	case "":
		return "found, nothing picked"
	}
	if r.Robust {
		return "robust"
	}
	return "least squares"
}

// heading names the joint with its balloon.
func (b *builder) heading(j doc.Joint, number int) {
	title := container.NewBorder(nil, nil, paper.NewBalloon(number), nil, container.NewVBox(
		paper.Title(j.Name), paper.Small(j.Child+" on "+orWorld(j.Parent)+", "+kindText(j.Kind), style.Faded)))
	b.add(title)
}

// frame shows the joint frame and what turns it.
func (b *builder) frame(j doc.Joint, unit mesh.Unit) {
	b.section("FRAME")
	f := j.Frame
	name := func(role string, l kinematics.Letter) string { return role + "  " + string(l) }
	b.add(
		paper.NewRow(name("hinge", j.Letters.Hinge), figures.Dir(f.Hinge), style.Ink).WithSwatch(style.Accent),
		paper.NewRow(name("reach", j.Letters.Reach), figures.Dir(f.Reach), style.Ink).WithSwatch(style.Reach),
		paper.NewRow(name("side", j.Letters.Side()), figures.Dir(f.Side()), style.Ink).WithSwatch(style.Side),
	)
	b.row("origin, "+string(unit), figures.Position(f.Origin, unit))
	b.labelled("reach aims at", b.reachChoice(j))
	b.labelled("roll aims at", b.rollChoice(j))
	b.labelled("turn and roll", container.NewGridWithColumns(2,
		entry(figures.Degrees(j.Spec.Reach.Angle, 2), func(v string) { b.angle(v, "the turn about the hinge", b.desk.SetTurn) }),
		entry(figures.Degrees(j.Spec.Roll.Angle, 2), func(v string) { b.angle(v, "the roll about reach", b.desk.SetRoll) })))
	slide := entry(figures.Fixed(j.Spec.Slide, figures.Places(unit)), func(v string) {
		if x, ok := figures.Parse(v); ok {
			b.desk.SetSlide(x)
		} else {
			b.desk.OnProblem(fmt.Errorf("the slide %q is not a number", v))
		}
	})
	b.labelled("slide, flip", container.NewGridWithColumns(2, slide, paper.NewButton("Flip hinge", paper.Outlined, b.desk.FlipHinge)))
	var letters []string
	for _, l := range kinematics.AllLetters() {
		letters = append(letters, l.String())
	}
	b.labelled("letters", choice(letters, j.Letters.String(), func(v string) {
		if l, err := kinematics.ParseLetters(v); err == nil {
			b.desk.SetLetters(l)
		}
	}))
	if a := b.desk.Aim(); a.Active {
		b.add(paper.Note("Click in the drawing what the "+string(a.Role)+" should aim at. Escape leaves it as it is.", style.Reach))
	}
}

func (b *builder) angle(text, what string, set func(float64)) {
	if v, ok := figures.ParseAngle(text); ok {
		set(v)
		return
	}
	b.desk.OnProblem(fmt.Errorf("%s %q is not a number of degrees", what, text))
}

// runsTrue shows runout, drift and how far the hinge is off its housing.
func (b *builder) runsTrue(j doc.Joint, p desk.Proof, unit mesh.Unit) {
	if p.Alone != nil || p.Motion == nil && b.told {
		return
	}
	if p.Motion != nil && p.Motion.Kind != kinematics.Revolute {
		return
	}
	b.section("RUNS TRUE?")
	if p.Motion == nil {
		b.waiting(p)
		return
	}
	radial, axial, sagitta := math.NaN(), math.NaN(), math.NaN()
	for _, r := range p.Motion.Runout {
		radial, axial, sagitta = larger(radial, r.TotalRadial), larger(axial, r.TotalAxial), larger(sagitta, r.Sagitta)
	}
	bad := map[doc.FindingKind]bool{}
	for _, f := range p.Findings {
		bad[f.Kind] = true
	}
	tone := func(k doc.FindingKind) style.Tone {
		if bad[k] {
			return style.Check
		}
		return style.Good
	}
	b.toned("runout, radial", figures.Length(radial, unit), tone(doc.RadialRunout))
	b.toned("runout, axial", figures.Length(axial, unit), tone(doc.AxialRunout))
	b.row("facets alone give", figures.Length(sagitta, unit))
	drift, state := housingDrift(j, p.Motion), tone(doc.OffHousing)
	if drift > sagitta {
		state = style.Check
	}
	b.toned("housing drifts", figures.Length(drift, unit), state)
	if bad[doc.RadialRunout] {
		b.add(paper.Para("The hinge is off the housing it turns. Truing up puts it on the housing's own axis.", style.Faded))
		b.buttons(paper.NewButton("True up the hinge", paper.Outlined, b.desk.TrueUp))
	}
}

// housingDrift is how far the middle of a housing of the joint wanders over
// the range: of the fitted one, and of those that were measured.
func housingDrift(j doc.Joint, m *doc.Motion) float64 {
	worst := math.NaN()
	if axis, ok := j.DatumAxis(); ok {
		worst = kinematics.DriftOf(axis.Point, j.Frame.Axis(), m.Shown()).Spread
	}
	for _, r := range m.Runout {
		for _, s := range r.Surfaces {
			if kinematics.Finite(s.Eccentricity) && s.Worst >= 0 {
				centre := r3.Add(j.Frame.Axis().Foot(s.Own.Point), s.Eccentricity)
				worst = larger(worst, kinematics.DriftOf(centre, j.Frame.Axis(), m.Shown()).Spread)
			}
		}
	}
	return worst
}

func larger(a, b float64) float64 {
	if math.IsNaN(a) || b > a {
		return b
	}
	return a
}

func (b *builder) waiting(p desk.Proof) {
	switch {
	case p.Err != nil:
		b.told = true
		b.add(paper.Note(p.Err.Error(), style.Check))
	default:
		b.row("being measured", "…")
	}
}

// rangeRows shows the free range and the limits, which can be typed.
func (b *builder) rangeRows(j doc.Joint, p desk.Proof) {
	b.section("RANGE")
	if m := p.Motion; m != nil {
		b.row("free by contact", b.rangeText(m))
		if now, asModelled := b.desk.Standing(); !asModelled {
			b.row("as the others stand", b.rangeText(now))
		}
	} else if p.Alone != nil {
		b.alone(j, p.Alone)
	} else if !b.told {
		b.waiting(p)
	}
	b.limits(j)
	b.follows(j)
	if p.Motion != nil {
		b.margin(p.Motion)
	}
	b.loop(j)
}

func (b *builder) rangeText(m *doc.Motion) string {
	r := m.FreeRange()
	end := func(v float64) string {
		if math.IsInf(v, 0) {
			return "free"
		}
		return b.valueText(m.Freedom(), v, 2)
	}
	if math.IsInf(r.Lower, -1) && math.IsInf(r.Upper, 1) {
		if !m.Freedom().Turns {
			return "any way"
		}
		return "all round"
	}
	return end(r.Lower) + " … " + end(r.Upper)
}

// findings lists what is worth acting on.
func (b *builder) findings(p desk.Proof) {
	shown := 0
	for _, f := range p.Findings {
		if f.Kind == doc.NotAccepted {
			continue
		}
		if shown == 0 {
			b.section("FINDINGS")
		}
		shown++
		b.add(paper.Note(string(f.Severity)+"  "+f.Text, toneOf(f.Severity)))
	}
}

func (b *builder) endButtons(j doc.Joint) {
	word := "Accept joint"
	weight := paper.Primary
	if j.Accepted {
		word, weight = "Take back", paper.Outlined
	}
	b.add(paper.Gap(6))
	b.buttons(paper.NewButton(word, weight, func() { b.desk.Accept(!j.Accepted) }),
		paper.NewButton("Remove", paper.Outlined, b.desk.DropJoint))
}
