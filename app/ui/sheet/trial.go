package sheet

import (
	"pintle/app/ui/paper"
	"pintle/app/ui/style"
)

// triedBrief says in one line below the confidence whether the reading looked at
// can move, so that nothing shifts when that is known.
func (b *builder) triedBrief() {
	t, ok := b.desk.FoundTrial()
	word, tone := "Seeing what it meets when it moves", style.Faded
	switch {
	case !ok || t.Err != nil:
		word = "Could not be moved to see what it meets"
	case t.Busy || t.Words == "":
	case t.Blocked:
		word, tone = "Blocked as modelled", style.Stop
	case len(t.Stops) > 0:
		word, tone = "Moves, and meets something on its way", style.Check
	default:
		word, tone = "Moves both ways without new contact", style.Good
	}
	b.add(paper.Small(word, tone))
}

// tried tells what moving the reading looked at a little either way meets.
func (b *builder) tried() {
	t, ok := b.desk.FoundTrial()
	switch {
	case !ok:
	case t.Err != nil:
		b.add(paper.Para(sentence(t.Err.Error()), style.Faded))
	case t.Words == "":
		b.add(paper.Para("Seeing what it meets when it moves.", style.Faded))
	default:
		b.add(paper.Para(sentence(t.Words), style.Ink))
	}
}
