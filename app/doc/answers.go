package doc

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit"
	"pintle/kinematics"
)

// Answer is one way to read a pick, beside the others.
type Answer struct {
	Label  string // what it is made from: "2 vertices", "loop 1", "faces"
	Recipe DatumRecipe
	Datum  fit.Datum
	Err    error // why there is none
	// Offset and Angle say how far it is from the first answer that has an axis:
	// of its point from that axis in model units, and between the axes in radians.
	// NaN where one of them has no axis.
	Offset, Angle float64
}

// Answers returns what each group of picked elements says by itself, and all
// together, so that a centre by two vertices, by a loop and by a surface can be
// compared before one is taken.
func (s *Session) Answers(picks []Pick) []Answer {
	picks = mergePicks(picks)
	var out []Answer
	add := func(label string, only ...Pick) {
		r, err := s.Suggest(only)
		a := Answer{Label: label, Recipe: r, Err: err, Offset: math.NaN(), Angle: math.NaN()}
		if err == nil {
			a.Datum, a.Err = s.FitPicks(only, r)
		}
		out = append(out, a)
	}
	groups := 0
	group := func(what func(Elements) Elements, label func(Elements) string) {
		var only []Pick
		var all Elements
		for _, p := range picks {
			if e := what(p.Elements); !e.Empty() {
				only = append(only, Pick{Source: p.Source, Elements: e})
				all.Vertices, all.Edges = append(all.Vertices, e.Vertices...), append(all.Edges, e.Edges...)
				all.Loops, all.Triangles = append(all.Loops, e.Loops...), append(all.Triangles, e.Triangles...)
			}
		}
		if len(only) > 0 {
			groups++
			add(label(all), only...)
		}
	}
	group(func(e Elements) Elements { return Elements{Triangles: e.Triangles} }, func(Elements) string { return "faces" })
	group(func(e Elements) Elements { return Elements{Loops: e.Loops} }, func(e Elements) string { return count(len(e.Loops), "loop") })
	n := 0
	for _, p := range picks {
		for _, l := range s.answerLoops(p) {
			n++
			add(fmt.Sprintf("loop %d alone", n), Pick{Source: p.Source, Elements: Elements{Loops: []Loop{l}}})
		}
	}
	group(func(e Elements) Elements { return Elements{Edges: e.Edges} }, func(e Elements) string { return count(len(e.Edges), "edge") })
	group(func(e Elements) Elements { return Elements{Vertices: e.Vertices} }, func(e Elements) string { return count(len(e.Vertices), "vertex") })
	if m, ok := s.midpoint(picks); ok {
		out = append(out, m)
	}
	if groups > 1 {
		add("everything picked", picks...)
	}
	compareAnswers(out)
	return out
}

// midpoint returns the answer of two vertices as a centre.
func (s *Session) midpoint(picks []Pick) (Answer, bool) {
	var only []Pick
	n := 0
	for _, p := range picks {
		if len(p.Vertices) > 0 {
			only = append(only, Pick{Source: p.Source, Elements: Elements{Vertices: p.Vertices}})
			n += len(p.Vertices)
		}
	}
	if n != 2 {
		return Answer{}, false
	}
	a := Answer{Label: "midpoint of 2 vertices", Recipe: DatumRecipe{Method: LeastSquares, Shape: fit.Point}, Offset: math.NaN(), Angle: math.NaN()}
	a.Datum, a.Err = s.FitPicks(only, a.Recipe)
	return a, true
}

// answerLoops returns the loops that speak for themselves: picked ones where
// there are several, else the rims of a patch.
func (s *Session) answerLoops(p Pick) []Loop {
	if len(p.Loops) > 1 || len(p.Loops) == 1 && len(p.Triangles) > 0 {
		return p.Loops
	}
	if _, err := s.checkPick(p); err != nil || len(p.Triangles) == 0 {
		return nil
	}
	const rims = 6 // more are holes and slots, not what the pick is about
	if loops := s.loopsOf(Pick{Source: p.Source, Elements: Elements{Triangles: p.Triangles}}); len(loops) <= rims {
		return loops
	}
	return nil
}

func count(n int, one string) string {
	switch {
	case n == 1:
		return "1 " + one
	case one == "vertex":
		return fmt.Sprintf("%d vertices", n)
	}
	return fmt.Sprintf("%d %ss", n, one)
}

func compareAnswers(list []Answer) {
	first := slices.IndexFunc(list, func(a Answer) bool { return a.Err == nil && a.Datum.Axis != r3.Vec{} })
	if first < 0 {
		return
	}
	ref, err := HingeAxis(list[first].Datum)
	if err != nil {
		return
	}
	for i := range list {
		a := &list[i]
		if a.Err != nil {
			continue
		}
		off := kinematics.AxisErrorOf(ref, kinematics.Axis{Point: a.Datum.Origin, Dir: a.Datum.Axis})
		a.Offset = off.Offset
		if a.Datum.Axis != (r3.Vec{}) {
			a.Angle = off.Angle
		}
	}
}
