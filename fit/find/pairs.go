package find

import (
	"context"
	"fmt"

	"pintle/fit/mesh"
)

// Pair is two parts that are near one another, with what could join them.
type Pair struct {
	A, B       int     // indexes of parts, A < B
	Gap        float64 // least distance, model units
	Axes       []Axis  // best first; InParent counts A's circles, InChild B's
	Confidence float64 // that the first axis is a joint's if the two are joined at all; 0 without axes
}

// Pairs returns every pair of near parts in the order of their indexes, without
// choosing among them as Joints does. It fails as Joints does.
func Pairs(ctx context.Context, parts []mesh.Part, o Options) ([]Pair, error) {
	if len(parts) > maxParts {
		return nil, fmt.Errorf("comparing parts: the model has %d parts, the limit is %d", len(parts), maxParts)
	}
	if !(o.Near > 0) {
		o.Near = defaultNear
	}
	w, err := survey(ctx, parts, o)
	if err != nil {
		return nil, fmt.Errorf("comparing parts: %w", err)
	}
	links, err := w.links(ctx)
	if err != nil {
		return nil, fmt.Errorf("comparing parts: %w", err)
	}
	rank(len(parts), links, weights())
	sortAxes(links)
	out := make([]Pair, len(links))
	for i, l := range links {
		out[i] = Pair{A: l.a, B: l.b, Gap: l.gap}
		for _, h := range l.axes {
			if h.Kind != FixedKind {
				h.Score = h.p
				out[i].Axes = append(out[i].Axes, h.Axis)
			}
		}
		if len(out[i].Axes) > 0 {
			out[i].Confidence = l.alone()
		}
	}
	return out, nil
}
