package mesh

import "fmt"

// Report counts what Build found and mended.
type Report struct {
	Welded      int // vertices merged into an earlier one
	Unused      int // vertices that no triangle uses, left out
	NonFinite   int // faces with a coordinate that is not finite, left out
	ZeroArea    int // faces without area, left out
	Duplicate   int // faces with the same vertices as an earlier face, left out
	Crossing    int // faces that cross themselves, cut as well as possible
	Boundary    int // edges with one triangle
	NonManifold int // edges with three or more triangles
	Misoriented int // edges whose two triangles disagree about inside and outside
}

// Notes says in one sentence each what a user should know; merged vertices and
// boundary edges are everyday and are not among them.
func (r Report) Notes() []string {
	var notes []string
	add := func(n int, one, many string) {
		switch {
		case n == 1:
			notes = append(notes, one)
		case n > 1:
			notes = append(notes, fmt.Sprintf(many, n))
		}
	}
	add(r.NonFinite,
		"1 face has a coordinate that is not a finite number and was left out.",
		"%d faces have a coordinate that is not a finite number and were left out.")
	add(r.ZeroArea, "1 face has no area and was left out.", "%d faces have no area and were left out.")
	add(r.Duplicate, "1 face repeats another and was left out.", "%d faces repeat others and were left out.")
	add(r.Crossing,
		"1 face crosses itself and was cut into triangles as well as possible.",
		"%d faces cross themselves and were cut into triangles as well as possible.")
	add(r.NonManifold,
		"1 edge has three or more faces; it counts as sharp.",
		"%d edges have three or more faces; they count as sharp.")
	add(r.Misoriented,
		"At 1 edge the two faces disagree about which side is outside.",
		"At %d edges the two faces disagree about which side is outside.")
	return notes
}

func (r *Report) countEdges(t *Topology) {
	for e := range t.EdgeVerts {
		switch n := len(t.EdgeFaces(e)); {
		case n == 1:
			r.Boundary++
		case n > 2:
			r.NonManifold++
		case !t.Consistent(e):
			r.Misoriented++
		}
	}
}
