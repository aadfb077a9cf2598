package desk

import (
	"strings"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/app/doc"
	"pintle/fit/mesh"
)

// whoMoves decides which of a new hinge's two parts moves. A part that a joint
// carries already cannot be carried twice, so it is the one that stays. Else
// the part farther from the ground moves: limbs grow away from it. It returns
// the options with which the hinge is proposed again, and whether that changes
// anything.
func whoMoves(s *doc.Session, j doc.Joint) (doc.JointOptions, bool) {
	swapped := doc.JointOptions{Child: j.Parent, Parent: j.Child}
	if j.Parent == "" {
		return doc.JointOptions{}, false
	}
	child, parent := s.Doc.JointOf(j.Child) >= 0, s.Doc.JointOf(j.Parent) >= 0
	switch {
	case child && !parent:
		return swapped, true
	case child || parent:
		return doc.JointOptions{}, false
	}
	ground := groundOf(s)
	a, b := s.Doc.PartIndex(j.Child), s.Doc.PartIndex(j.Parent)
	if a == ground || b != ground && from(s, ground, a) < from(s, ground, b) {
		return swapped, true
	}
	return doc.JointOptions{}, false
}

// groundOf returns the part that most likely stays: by its name, or else the
// one that stands lowest.
func groundOf(s *doc.Session) int {
	for _, word := range doc.GroundWords() {
		for i, p := range s.Parts {
			if strings.Contains(strings.ToLower(p.Name), word) {
				return i
			}
		}
	}
	return lowest(s)
}

// lowest returns the part that stands lowest, the first of several.
func lowest(s *doc.Session) int {
	height := func(p mesh.Part) float64 {
		if s.Model.Up == mesh.UpY {
			return p.Mesh.Bounds().Min.Y
		}
		return p.Mesh.Bounds().Min.Z
	}
	best := 0
	for i, p := range s.Parts {
		if height(p) < height(s.Parts[best]) {
			best = i
		}
	}
	return best
}

// from returns how far the middles of two parts' boxes are apart.
func from(s *doc.Session, a, b int) float64 {
	middle := func(i int) r3.Vec {
		box := s.Parts[i].Mesh.Bounds()
		return r3.Scale(0.5, r3.Add(box.Min, box.Max))
	}
	return r3.Norm(r3.Sub(middle(a), middle(b)))
}
