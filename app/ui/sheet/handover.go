package sheet

import (
	"pintle/app/doc"
	"pintle/app/handover"
	"pintle/app/ui/desk"
	"pintle/app/ui/figures"
	"pintle/app/ui/paper"
	"pintle/app/ui/style"
)

// StateText words a joint's state, with its ink.
func StateText(s desk.State) (string, style.Tone) {
	switch s {
	case desk.Accepted:
		return "accepted", style.Good
	case desk.True:
		return "runs true", style.Good
	case desk.ToCheck:
		return "check", style.Check
	case desk.Stopped:
		return "stop", style.Stop
	case desk.Held:
		return "fixed", style.Good
	case desk.Unproven:
		return "each alone", style.Faded
	}
	return "measuring", style.Faded
}

// handover lists what would leave, and lets it.
func (b *builder) handover() {
	s := b.desk.Session()
	b.add(paper.Title("Handover"))
	b.section("JOINTS")
	if len(s.Doc.Joints) == 0 {
		b.add(paper.Para("There are no joints yet: make the first in Joints.", style.Faded))
	}
	stops := 0
	for _, j := range s.Doc.Joints {
		text, tone := StateText(b.desk.State(j))
		b.toned(j.Name+", "+kindText(j.Kind), text, tone)
		for _, f := range b.desk.Proof(j.Name).Findings {
			if f.Severity == doc.Stop {
				stops++
			}
		}
	}
	b.section("JOINT SPEC")
	b.add(paper.Para("JSON with every joint: parts, origin, axis, frame, limits, datum with residuals, findings. Positions in "+string(s.Model.Unit)+" and the model's own axes.", style.Faded))
	if stops > 0 {
		b.add(paper.Note(figures.Plural(stops, "finding says", "findings say")+" stop. The spec is written with them in it.", style.Stop))
	}
	write := paper.NewButton("Write joint spec", paper.Primary, b.sheet.cb.ExportSpec)
	write.SetEnabled(len(s.Doc.Joints) > 0)
	b.buttons(write, paper.NewButton("Save document", paper.Outlined, b.sheet.cb.SaveDocument))
	b.section("WHAT IT IS FOR")
	b.add(paper.Para(handover.Safety, style.Ink))
}
