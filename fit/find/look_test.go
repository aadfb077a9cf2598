package find

import (
	"context"
	"errors"
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/fit/find/findtest"
	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
)

func linesOf(t interface{ Fatal(...any) }, m *mesh.Mesh) []line {
	p, err := newPart(ctxOf(), mesh.Part{Name: "part", Mesh: m}, func(float64, string) {})
	if err != nil {
		t.Fatal(err)
	}
	return p.lines
}

// hub is a flanged tube about z with a boss beside it about another axis.
func hub(n int, move ...func(r3.Vec) r3.Vec) *mesh.Mesh {
	tube := findtest.Lathe([]findtest.Point{{X: 6, Y: 0}, {X: 20, Y: 0}, {X: 20, Y: 4}, {X: 10, Y: 4}, {X: 10, Y: 25}, {X: 6, Y: 25}}, n, 0.1)
	boss := findtest.Lathe(findtest.Rod(3, 0, 9, 0.5, 1), n/2, 0)
	side := mesh.Rigid{X: r3.Vec{Y: 1}, Y: r3.Vec{Z: 1}, Z: r3.Vec{X: 1}, T: r3.Vec{X: 9, Z: 16}}
	b := mesh.NewBuilder()
	whole := mesh.Join(tube, mesh.Moved(boss, side))
	for _, p := range whole.Vertices() {
		for _, f := range move {
			p = f(p)
		}
		b.Vertex(p)
	}
	for i := range whole.NumPolygons() {
		b.Face(whole.Polygon(i)...)
	}
	m, _, err := b.Build(mesh.Options{Weld: -1})
	if err != nil {
		panic(err)
	}
	return m
}

// holdsLine reports whether one of the lines is the axis, and how it is known.
func holdsLine(lines []line, o, a r3.Vec, tilt, shift float64) bool {
	for _, l := range lines {
		if lineAngle(l.axis, a) <= tilt && fromLine(o, l.origin, l.axis) <= shift {
			return true
		}
	}
	return false
}

// A hub shows its axis first and the boss's second, moved, scaled and of any
// number of sides.
func TestHubShowsItsAxes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		move, axis, at, scale := drawMove(t)
		m := hub(rapid.SampledFrom([]int{16, 24, 50, 90}).Draw(t, "sides"), move)
		if rapid.Bool().Draw(t, "triangles") {
			m = meshtest.Triangulated(m)
		}
		l := linesOf(t, m)
		if len(l) < 2 || lineAngle(l[0].axis, axis) > 1e-6 || fromLine(at, l[0].origin, l[0].axis) > 1e-5*scale || l[0].cover < 0.85 {
			t.Fatalf("%d lines, the first off %g rad, %g, known to %g, %g, cover %g, %d rings", len(l), lineAngle(l[0].axis, axis), fromLine(at, l[0].origin, l[0].axis)/scale, l[0].tilt, l[0].shift/scale, l[0].cover, len(l[0].rings))
		}
		x := r3.Sub(move(r3.Vec{X: 1}), at)
		if !holdsLine(l[1:2], move(r3.Vec{Z: 16}), r3.Unit(x), 1e-6, 1e-5*scale) {
			t.Errorf("the second line is about %v", l[1].axis)
		}
	})
}

// Damage leaves the hub's axis among its lines, known as well as it says.
func TestHubDamaged(t *testing.T) {
	z := r3.Vec{Z: 1}
	whole := findtest.Mechanism{Parts: []mesh.Part{{Name: "hub", Mesh: hub(48)}}}
	for name, m := range map[string]findtest.Mechanism{
		"noise 1e-4": findtest.Noisy(whole, 1e-4, 1), "noise 5e-4": findtest.Noisy(whole, 5e-4, 2), "noise 1e-3": findtest.Noisy(whole, 1e-3, 3),
		"30 %": findtest.Decimated(whole, 0.3), "re-cut": findtest.Retriangulated(whole, 0.3, true, 1),
		"unwelded": findtest.Unwelded(whole), "rounded": findtest.Stored(whole, 1e-4),
	} {
		l := linesOf(t, m.Parts[0].Mesh)
		if !holdsLine(l, r3.Vec{}, z, 0.5*math.Pi/180, 0.2) {
			t.Errorf("%s: no line about the axis among %d", name, len(l))
			continue
		}
		if first := l[0]; lineAngle(first.axis, z) > 4*first.tilt+1e-4 || fromLine(r3.Vec{}, first.origin, first.axis) > 4*first.shift+1e-2 {
			t.Errorf("%s: %g rad and %g off, known to %g and %g", name, lineAngle(first.axis, z), fromLine(r3.Vec{}, first.origin, first.axis), first.tilt, first.shift)
		}
	}
}

// Boxes, also with rounded edges and corners, show nothing to trust.
func TestBoxesShowLittle(t *testing.T) {
	for name, m := range map[string]*mesh.Mesh{
		"box": meshtest.Box(r3.Vec{}, r3.Vec{X: 1, Y: 2, Z: 3}), "cube": meshtest.Box(r3.Vec{}, r3.Vec{X: 1, Y: 1, Z: 1}), "fine": bumpy(8),
		"rounded": findtest.Extrude(findtest.Rounded(-20, -10, 20, 10, 3, 6), nil, 0, 8),
	} {
		for _, l := range linesOf(t, m) {
			if l.weight > 0.02*m.Diagonal() {
				t.Errorf("%s: a line of weight %g, cover %g, radius %g", name, l.weight/m.Diagonal(), l.cover, l.rings[0].radius)
			}
		}
	}
}

// A plate's holes and its rounded end are lines of their own.
func TestPlateWithHoles(t *testing.T) {
	holes := []findtest.Hole{{X: -15, Y: 0, R: 3, N: 24}, {X: 15, Y: 0, R: 5, N: 24}}
	l := linesOf(t, findtest.Extrude(findtest.Rounded(-25, -10, 25, 10, 2, 4), holes, 0, 6))
	for _, h := range holes {
		if !holdsLine(l, r3.Vec{X: h.X, Y: h.Y}, r3.Vec{Z: 1}, 1e-9, 1e-9) {
			t.Errorf("no line through the hole at %g", h.X)
		}
	}
}

// Like holes excuse one another, and their circle shows its centre.
func TestFlangeShowsItsCentre(t *testing.T) {
	var holes []findtest.Hole
	for i := range 6 {
		s, c := math.Sincos(math.Pi / 3 * float64(i))
		holes = append(holes, findtest.Hole{X: 12 * c, Y: 12 * s, R: 1.5, N: 16})
	}
	l := linesOf(t, findtest.Extrude(findtest.Rounded(-20, -16, 20, 16, 2, 4), holes, 0, 4))
	found := false
	for _, x := range l {
		if lineAngle(x.axis, r3.Vec{Z: 1}) < 1e-6 && fromLine(r3.Vec{}, x.origin, x.axis) < 1e-6 {
			found = x.rings[0].bolts
		}
		if x.rings[0].radius < 1.6 && x.rings[0].radius > 1.4 && x.likes != 6 {
			t.Errorf("a hole is like %d", x.likes)
		}
	}
	if !found {
		t.Errorf("no line through the flange's centre among %d", len(l))
	}
}

// Loops are told apart whatever vertex they start at.
func TestLoopsOnce(t *testing.T) {
	k := newLooker(ctxOf(), meshtest.Cylinder(4, 0, 9, 20, 1, true))
	loops := k.top.FeatureLoops(featureAngle)
	for range 3 {
		for _, l := range loops {
			if round, any := k.add(l); !round || !any {
				t.Error("a rim is no circle")
			}
		}
	}
	if len(k.rings) != len(loops) || len(loops) != 2 {
		t.Errorf("%d rings of %d rims", len(k.rings), len(loops))
	}
}

// Every step stops when it is cancelled.
func TestStepsStop(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	m := hub(24)
	k := newLooker(ctx, m)
	k.order = k.byArea()
	if err := k.flat(); err != nil {
		t.Fatal(err)
	}
	k.rest = append(k.rest, outline{points: lugs(r3.Vec{}, r3.Vec{Z: 1}, 3, 9), normal: r3.Vec{Z: 1}})
	cancel()
	for name, step := range map[string]func() error{
		"sharp": k.sharp, "noisy": k.noisySharp, "even": k.even, "flat": k.flat, "levels": k.levels, "turned": k.turned, "grown": k.grown,
	} {
		if err := step(); !errors.Is(err, context.Canceled) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// Flat patches and bent ones, against the solid they are of.
func TestPatches(t *testing.T) {
	m := meshtest.Cylinder(4, 0, 9, 40, 2, true)
	top := m.Topology()
	if flat := patches(m, top.SmoothPatches, flatAngle, true); len(flat) < 2 {
		t.Errorf("%d flat faces", len(flat))
	}
	if bent := patches(m, top.SmoothPatches, evenAngle, false); len(bent) != 1 || len(bent[0]) != 160 {
		t.Errorf("%d bent faces", len(bent))
	}
}

// The outline of a flat face runs along bends; that of a strip of a finely cut
// cylinder, flat as it is, does not.
func TestIsEdge(t *testing.T) {
	k := newLooker(ctxOf(), meshtest.Cylinder(4, 0, 9, 4000, 1, true))
	flat, err := flats(t.Context(), k.mesh, flatRounding*k.size)
	if err != nil {
		t.Fatal(err)
	}
	ends, strips := 0, 0
	for _, set := range flat {
		for _, l := range k.top.Outline(set) {
			if k.isEdge(l) {
				ends++
			} else {
				strips++
			}
		}
	}
	if ends != 2 || strips < 100 {
		t.Errorf("%d ends, %d strips", ends, strips)
	}
}
