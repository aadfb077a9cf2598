package find

import (
	"slices"
	"testing"

	"pintle/fit/find/findtest"
	"pintle/fit/mesh"
)

// The bridge's loop is cut at a pin, its strut left whole, its parts as near to
// the ground as they can hang, in whatever order the parts stand.
func TestLoopIsCutAtAPin(t *testing.T) {
	whole := findtest.Demo(t, "drawbridge").Parts
	for turn := range len(whole) {
		parts := append(slices.Clone(whole[turn:]), whole[:turn]...)
		res := mustFind(t, parts)
		loops := 0
		for _, c := range res.Joints {
			if c.Loop {
				loops++
				if c.Kind != Revolute || !joins(parts, c, "leaf", "strut rod") {
					t.Errorf("turn %d: a %s between %s and %s closes the loop", turn, c.Kind, parts[c.Parent].Name, parts[c.Child].Name)
				}
			}
		}
		if loops != 1 || len(res.Joints) != 4 {
			t.Errorf("turn %d: %d joints, %d close loops", turn, len(res.Joints), loops)
		}
	}
}

func joins(parts []mesh.Part, c Candidate, a, b string) bool {
	x, y := parts[c.Parent].Name, parts[c.Child].Name
	return x == a && y == b || x == b && y == a
}
