package meshtest_test

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
)

// TestSolids checks that every solid is sound, has its vertices on the ideal
// surface and has the volume that its segments leave of the ideal one.
func TestSolids(t *testing.T) {
	shift := r3.Vec{X: 10, Y: -20, Z: 30}
	move := func(p r3.Vec) r3.Vec { return r3.Add(p, shift) }
	polar := func(p r3.Vec) float64 { return math.Hypot(p.X, p.Y) }
	tests := []struct {
		name   string
		m      *mesh.Mesh
		off    func(p r3.Vec) float64
		volume float64
	}{
		{"box", meshtest.Box(r3.Vec{X: -1, Y: -1, Z: -1}, r3.Vec{X: 1, Y: 1, Z: 1}, move), func(p r3.Vec) float64 { return r3.Norm(p) - math.Sqrt(3) }, 8},
		{"cylinder", meshtest.Cylinder(2, -1, 3, 200, 2, true, move), func(p r3.Vec) float64 { return polar(p) - 2 }, 16 * math.Pi},
		{"frustum", meshtest.Frustum(2, 1, 0, 3, 200, 4, true, move), func(p r3.Vec) float64 { return polar(p) - 2 + p.Z/3 }, 7 * math.Pi},
		{"cone", meshtest.Cone(2, 0, 3, 200, 4, true, move), func(p r3.Vec) float64 { return polar(p) - 2 + 2*p.Z/3 }, 4 * math.Pi},
		{"sphere", meshtest.Sphere(2, 200, 100, move), func(p r3.Vec) float64 { return r3.Norm(p) - 2 }, 32. / 3 * math.Pi},
		{"torus", meshtest.Torus(3, 1, 200, 100, move), func(p r3.Vec) float64 { return math.Hypot(polar(p)-3, p.Z) - 1 }, 6 * math.Pi * math.Pi},
	}
	for _, test := range tests {
		for _, m := range []*mesh.Mesh{test.m, meshtest.Triangulated(test.m)} {
			if err := mesh.Validate(m); err != nil {
				t.Errorf("%s: %v", test.name, err)
			}
			for i, p := range m.Vertices() {
				if d := test.off(r3.Sub(p, shift)); math.Abs(d) > 1e-14*r3.Norm(shift) {
					t.Fatalf("%s: vertex %d is off by %v", test.name, i, d)
				}
			}
			if v := m.Volume(); v > test.volume*(1+1e-12) || v < test.volume*(1-2e-3) {
				t.Errorf("%s: volume %v, want a little less than %v", test.name, v, test.volume)
			}
		}
		if test.m.NumPolygons() >= len(test.m.Triangles()) {
			t.Errorf("%s: no polygons kept", test.name)
		}
	}
}

func TestGrid(t *testing.T) {
	m := meshtest.Grid(4, 2, 8, 2)
	if got := m.Vertices()[8+9*2]; got != (r3.Vec{X: 4, Y: 2}) {
		t.Errorf("last vertex %v", got)
	}
	if n := m.AreaNormal(0); n.Z <= 0 || n.X != 0 || n.Y != 0 {
		t.Errorf("normal %v, want +z", n)
	}
	if a := m.Area(); math.Abs(a-8) > 1e-14 {
		t.Errorf("area %v, want 8", a)
	}
}

func TestBadSizesPanic(t *testing.T) {
	for name, f := range map[string]func(){
		"box":      func() { meshtest.Box(r3.Vec{}, r3.Vec{X: 1, Y: 1}) },
		"grid":     func() { meshtest.Grid(1, 1, 0, 1) },
		"cylinder": func() { meshtest.Cylinder(1, 0, 1, 2, 1, true) },
		"cone":     func() { meshtest.Cone(1, 1, 0, 9, 1, true) },
		"sphere":   func() { meshtest.Sphere(1, 9, 1) },
		"torus":    func() { meshtest.Torus(1, 1, 9, 9) },
	} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%s: no panic", name)
				}
			}()
			f()
		}()
	}
}
