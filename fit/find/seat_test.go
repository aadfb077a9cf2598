package find

import (
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/find/findtest"
	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
)

// flanged is a plate with four loose bolts and a wheel on an axle pin.
func flanged() []mesh.Part {
	plate := mesh.Join(meshtest.Box(r3.Vec{X: -40, Y: -40, Z: -10}, r3.Vec{X: 40, Y: 40, Z: 0}), meshtest.Cylinder(5, -30, -9.9, 32, 2, true))
	parts := []mesh.Part{{Name: "plate", Mesh: plate}}
	for i, at := range []r3.Vec{{X: 30, Y: 30}, {X: -30, Y: 30}, {X: -30, Y: -30}, {X: 30, Y: -30}} {
		bolt := mesh.Join(meshtest.Cylinder(4, 0, 3, 24, 1, true), meshtest.Cylinder(2, -8, 0.1, 24, 1, true))
		parts = append(parts, mesh.Part{Name: "bolt " + string(rune('1'+i)), Mesh: mesh.Moved(bolt, findtest.Shift(at))})
	}
	wheel := findtest.Lathe(findtest.Tube(5.1, 25, -28, -14, 0.1, 2), 48, 0)
	return append(parts, mesh.Part{Name: "wheel", Mesh: wheel})
}

// Bolts are fixed to what they are screwed into; the wheel is not.
func TestBoltsAreFixed(t *testing.T) {
	parts := flanged()
	res := mustFind(t, parts)
	if len(res.Fixed) != 4 {
		t.Fatalf("fixed: %+v", res.Fixed)
	}
	for i, f := range res.Fixed {
		if f.Part != i+1 || f.To != 0 || f.Confidence < 0.5 || !strings.Contains(f.Words, parts[f.Part].Name) {
			t.Errorf("fixed %+v", f)
		}
	}
	if len(res.Joints) != 1 || res.Joints[0].Child != 5 || res.Joints[0].Confidence < 0.5 {
		t.Errorf("joints %+v", res.Joints)
	}
	for _, f := range res.Findings {
		if f.A > 0 && f.A < 5 {
			t.Errorf("a bolt is a finding too: %+v", f)
		}
	}
}

// A part that carries another joint does not sit, however small it is.
func TestCarriersAreNotFixed(t *testing.T) {
	parts, _ := chain(3, 24)
	for i := range parts {
		if i > 0 {
			continue
		}
		parts[i].Mesh = mesh.Join(parts[i].Mesh, meshtest.Box(r3.Vec{X: -900, Y: -200, Z: -7}, r3.Vec{X: 14, Y: 200, Z: 7}))
	}
	if res := mustFind(t, parts); len(res.Fixed) != 0 || len(res.Joints) != 2 {
		t.Errorf("fixed %+v, %d joints", res.Fixed, len(res.Joints))
	}
}

// The seat of a block half sunk in a plate: five faces, of which half of four
// and one whole are inside.
func TestSeatFeatures(t *testing.T) {
	a := meshtest.Box(r3.Vec{X: -100, Y: -100, Z: -50}, r3.Vec{X: 100, Y: 100, Z: 0})
	b := meshtest.Box(r3.Vec{X: -5, Y: -5, Z: -5}, r3.Vec{X: 5, Y: 5, Z: 5})
	w, l := pairOf(t, a, b)
	part, to, z := w.seated(l)
	if part != 1 || to != 0 {
		t.Fatalf("%d sits on %d", part, to)
	}
	f := w.seatFeatures(l, z, b.Area(), 3)
	if d := f[fDeep] - 0.5; d < -0.08 || d > 0.08 {
		t.Errorf("deep %g, want half", f[fDeep])
	}
	if f[fSeat] < 0.45 || f[fSmall] < 0.9 || f[fKin] < 0.6 || f[fFixed] != 1 {
		t.Errorf("features %v", f)
	}
	if p := w.plain(1); p != 0 {
		t.Errorf("a block is turned by %g", p)
	}
}
