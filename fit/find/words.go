package find

import (
	"fmt"
	"math"
)

// words says what an axis rests on.
func (w *work) words(x Axis, parent, child int) string {
	e := x.Evidence
	p, c := w.parts[parent].name, w.parts[child].name
	var text string
	switch {
	case x.Kind == Prismatic:
		text = fmt.Sprintf("the faces between %s and %s all stand along one direction and go round it", p, c)
	case e.InParent > 0 && e.InChild > 0:
		text = fmt.Sprintf("%s about the axis in %s, %d in %s", circles(e.InParent), p, e.InChild, c)
	case e.InParent > 0:
		text = fmt.Sprintf("%s about the axis in %s only", circles(e.InParent), p)
	case e.InChild > 0:
		text = fmt.Sprintf("%s about the axis in %s only", circles(e.InChild), c)
	default:
		text = fmt.Sprintf("no circles in %s or %s", p, c)
	}
	if e.Twins > 0 {
		text += "; two of a kind stand turned against each other about it"
	}
	switch {
	case x.Kind == Prismatic:
	case math.IsNaN(e.Slips):
		text += "; no faces lie against one another"
	default:
		text += fmt.Sprintf("; turning keeps %.0f %% of the mating faces in contact", 100*e.Slips)
	}
	return text
}

func circles(n int) string {
	if n == 1 {
		return "1 circle"
	}
	return fmt.Sprintf("%d circles", n)
}

// doubt says why a joint is not sure.
func (w *work) doubt(c Candidate) string {
	p, q := w.parts[c.Parent].name, w.parts[c.Child].name
	if len(c.RunnersUp) > 0 && c.RunnersUp[0].Score > 0.5*c.Confidence {
		return fmt.Sprintf("Two axes between %s and %s are about as likely.", p, q)
	}
	return fmt.Sprintf("No turned geometry between %s and %s.", p, q)
}
