package sheet

import (
	"slices"
	"strings"

	"pintle/app/doc"
	"pintle/app/ui/paper"
	"pintle/app/ui/style"
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
	drive := paper.NewButton("Drive by this joint", paper.Outlined, b.desk.DriveLoop)
	drive.SetEnabled(!slices.Contains(n.Drivers, doc.ValueRef{Joint: j.Name, Freedom: b.desk.Freedom()}))
	b.buttons(drive)
}
