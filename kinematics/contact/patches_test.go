package contact

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

func TestPatches(t *testing.T) {
	count := func(s solid) int {
		x, _, _ := sideOf(t, s, zAxis)
		seen := make(map[int32]bool)
		for _, l := range x.patches() {
			seen[l] = true
		}
		return len(seen)
	}
	for _, c := range []struct {
		name     string
		s        solid
		min, max int
	}{
		{"box", box(5, 9, -2, 2, -1, 1), 6, 6},
		{"box, cut fine", box(5, 9, -2, 2, -1, 1).subdivided(5), 6, 6},
		{"pin on the axis", pin(4, -5, 5, 24, 0), 3, 3},
		{"bolt off the axis", pin(4, -5, 5, 24, 0).shifted(20, 0, 0), 3, 3},
		{"bolt off the axis, cut fine", pin(4, -5, 5, 24, 0).shifted(20, 0, 0).subdivided(4), 3, 3},
		{"bolt with a coarse wall", pin(4, -5, 5, 6, 0).shifted(20, 0, 0), 8, 8},
		{"ball off the axis: no patch is most of it", icosphere(5, 10).shifted(20, 0, 0), 9, 60},
	} {
		if n := count(c.s); n < c.min || n > c.max {
			t.Errorf("%s: %d patches, want %d to %d", c.name, n, c.min, c.max)
		}
	}
}

// No patch of a ball bends further than its cone, or than a singly curved one.
func TestPatchesBendGently(t *testing.T) {
	x, _, _ := sideOf(t, icosphere(5, 10).shifted(20, 3, 0), zAxis)
	first := make(map[int32]r3.Vec)
	for i, l := range x.patches() {
		n, ok := first[l]
		if !ok {
			first[l] = x.normal[i]
			continue
		}
		if d := r3.Dot(n, x.normal[i]); d < patchCone-1e-12 {
			// Singly curved: then all normals lie in a plane.
			t.Errorf("patch %d bends by %g degrees", l, math.Acos(d)/degree)
		}
	}
}
