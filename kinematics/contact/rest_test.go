package contact

import (
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/kinematics"
)

// framed is a way to put a scene about z elsewhere.
type framed struct {
	name   string
	cut    int // parts that edges are cut into
	move   func(r3.Vec) r3.Vec
	axis   kinematics.Axis
	scale  float64
	within float64 // how exact values may be expected to be there
}

// frames returns a scene about z as it is, where values are exact to within,
// about an oblique axis, a thousandth of the size, cut fine, and 10 km away.
func frames(within float64) []framed {
	move, axis := oblique(r3.Vec{X: 12, Y: -7, Z: 30}, r3.Vec{X: 1, Y: 2, Z: 3})
	small, smallAxis := oblique(r3.Vec{X: 1, Y: 1, Z: -2}, r3.Vec{X: -1, Y: 0.5, Z: 3})
	far, farAxis := oblique(r3.Vec{X: 6e6, Y: -7e6, Z: 4e6}, r3.Vec{X: 0.3, Y: -1, Z: 0.2})
	return []framed{
		{"as is", 1, func(p r3.Vec) r3.Vec { return p }, zAxis, 1, within},
		{"oblique", 1, move, axis, 1, 10 * within},
		{"cut fine, oblique", 3, move, axis, 1, 10 * within},
		{"in thousandths", 1, func(p r3.Vec) r3.Vec { return small(r3.Scale(1e-3, p)) }, smallAxis, 1e-3, 10 * within},
		{"10 km away", 1, far, farAxis, 1, 1e5 * within},
	}
}

// everyFrame runs a test of a hinge about z in all frames.
func everyFrame(t *testing.T, moving, still solid, check func(t *testing.T, r Result, scale, within float64)) {
	t.Helper()
	for _, v := range frames(1e-12) {
		t.Run(v.name, func(t *testing.T) {
			s := scene(t, moving.subdivided(v.cut).moved(v.move), still.subdivided(v.cut).moved(v.move), v.axis, Options{})
			check(t, freeRange(t, s), v.scale, v.within)
		})
	}
}

// deepest returns the largest depth of the kind, -1 if there is none.
func deepest(r []Rest, k RestKind) float64 {
	d := -1.0
	for _, x := range r {
		if x.Kind == k {
			d = max(d, x.Depth)
		}
	}
	return d
}

func has(r []Rest, k RestKind) bool { return deepest(r, k) >= 0 }

func wantIgnored(t *testing.T, r []Rest) {
	t.Helper()
	for _, x := range r {
		if !x.Ignored {
			t.Errorf("counts for the range: %+v", x)
		}
	}
}
