package sheet

import (
	"math"
	"slices"
	"strings"

	"pintle/app/doc"
	"pintle/app/ui/figures"
	"pintle/app/ui/paper"
	"pintle/app/ui/style"
	"pintle/kinematics"
	"pintle/kinematics/loop"
)

// loop shows the closed loop that the joint is part of, and what drives it.
func (b *builder) loop(j doc.Joint) {
	n, ok := b.desk.LoopOf()
	if !ok {
		return
	}
	b.section("LOOP")
	if n.Solver == nil {
		b.add(paper.Note("It cannot be moved: "+n.Problem.Error()+".", style.Stop))
		return
	}
	var others, drivers []string
	for _, name := range n.Joints {
		if name != j.Name {
			others = append(others, name)
		}
	}
	for _, v := range n.Drivers {
		drivers = append(drivers, v.Joint)
	}
	b.add(paper.Small("moves with "+strings.Join(others, ", "), style.Faded))
	b.row("driven by", strings.Join(drivers, ", "))
	if r, ok := b.desk.LoopReach(); ok {
		b.loopEnd("goes down to", j, r.Lower, n)
		b.loopEnd("goes up to", j, r.Upper, n)
	}
	if m := b.desk.Proof(j.Name).Motion; m != nil && m.Loop != nil {
		for _, met := range []*doc.LoopMeeting{m.Loop.Lower, m.Loop.Upper} {
			if met != nil {
				b.row(met.Parts[0]+" meets "+met.Parts[1], b.amount(j, met.Value))
			}
		}
	}
	b.loopLimits(j)
	drive := paper.NewButton("Drive by this joint", paper.Outlined, b.desk.DriveLoop)
	drive.SetEnabled(!slices.Contains(n.Drivers, doc.ValueRef{Joint: j.Name, Freedom: b.desk.Freedom()}))
	b.buttons(drive)
}

// loopLimits offers the loop's reach as limits.
func (b *builder) loopLimits(j doc.Joint) {
	r, ok := b.desk.LoopReach()
	if !ok {
		return
	}
	turns, text := j.Kind.Freedom(b.desk.Freedom()).Turns, "Limits from the loop, 1 % short"
	if turns {
		text = "Limits from the loop, 2° short"
	}
	short, fits := shortOf(r.Range, turns)
	take := paper.NewButton(text, paper.Outlined, func() { b.desk.SetLimits(&short) })
	take.SetEnabled(fits)
	b.buttons(take)
}

// shortOf keeps two degrees clear of both ends, or a hundredth of the way of
// what slides; ok is false where an end is open or too near.
func shortOf(r kinematics.Range, turns bool) (short kinematics.Range, ok bool) {
	keep := 2 * math.Pi / 180
	if !turns {
		keep = r.Span() / 100
	}
	short = kinematics.Range{Lower: min(r.Lower+keep, 0), Upper: max(r.Upper-keep, 0)}
	return short, !math.IsInf(r.Span(), 0) && short.Lower < short.Upper
}

// loopEnd shows how far the joint goes one way in its loop and what stops it.
func (b *builder) loopEnd(label string, j doc.Joint, stop loop.Stop, n doc.Linkage) {
	if math.IsInf(stop.Drive, 0) {
		b.row(label, "no end, it turns fully")
		return
	}
	b.row(label, b.amount(j, stop.Drive))
	if why := stopText(stop, j.Name, n); why != "" {
		b.add(paper.Small(why, style.Faded))
	}
}

// amount words a value of the joint's chosen freedom.
func (b *builder) amount(j doc.Joint, v float64) string {
	if j.Kind.Freedom(b.desk.Freedom()).Turns {
		return figures.Degrees(v, 2)
	}
	return figures.Length(v, b.desk.Session().Model.Unit)
}

// stopText says what stops a loop.
func stopText(stop loop.Stop, own string, n doc.Linkage) string {
	name := n.Solver.Joint(n.Solver.JointOf(stop.Value)).Name
	switch {
	case stop.Reason == loop.DeadPoint:
		return "there the loop is at its dead point"
	case stop.Reason == loop.AtLimit && name != own:
		return "there " + name + " is at its limit or in contact"
	case stop.Reason == loop.AtLimit:
		return "its own limit or contact"
	case stop.Reason == loop.Lost:
		return "the loop could not be followed farther"
	}
	return ""
}
