package sweep

import (
	"context"
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
	"pintle/kinematics"
)

// upAxis is the z axis.
func upAxis() kinematics.Axis { return kinematics.Axis{Dir: r3.Vec{Z: 1}} }

func degrees(lower, upper float64) kinematics.Range {
	return kinematics.Range{Lower: lower * math.Pi / 180, Upper: upper * math.Pi / 180}
}

func moved(v r3.Vec) func(r3.Vec) r3.Vec { return func(p r3.Vec) r3.Vec { return r3.Add(p, v) } }

// sheet returns one polygon, given by its corners, that encloses nothing.
func sheet(corners ...r3.Vec) *mesh.Mesh {
	b := mesh.NewBuilder()
	var ids []int32
	for _, p := range corners {
		ids = append(ids, b.Vertex(p))
	}
	b.Face(ids...)
	m, _, err := b.Build(mesh.Options{})
	if err != nil {
		panic(err)
	}
	return m
}

func mustSweep(t *testing.T, bodies []*mesh.Mesh, axis kinematics.Axis, over kinematics.Range, cells int) Envelope {
	t.Helper()
	e, err := Hinge(context.Background(), bodies, axis, over, Options{Resolution: cells})
	if err != nil {
		t.Fatalf("Hinge: %v", err)
	}
	if err := mesh.Validate(e.Mesh); err != nil {
		t.Errorf("mesh of the envelope: %v", err)
	}
	return e
}

// boxSwept is the volume of the box r1 <= x <= r2, |y| <= w/2, height h, turned
// by theta about z, where the turn is wide enough for the outer corners to meet
// and does not close. Closed form: two sectors and a rectangle.
func boxSwept(r1, r2, w, h, theta float64) float64 {
	ro2 := r2*r2 + w*w/4
	return h * (w*(r2-r1) + ro2*math.Atan(w/(2*r2)) - r2*w/2 + theta*(ro2-r1*r1)/2)
}

// turnedSphere is the volume of a sphere of radius r on an arm R turned by
// theta, which does not close: half a sphere at both ends of a torus's part
// (Pappus).
func turnedSphere(r, arm, theta float64) float64 {
	return math.Pi*r*r*arm*theta + 4*math.Pi*r*r*r/3
}

// known is a sweep whose volume is known in closed form. A body that stands in
// for a round one lies between two of them, so its volume lies between two
// values; else both are the same.
type known struct {
	name     string
	body     *mesh.Mesh
	over     kinematics.Range
	low, top float64
}

func exact(name string, body *mesh.Mesh, over kinematics.Range, value float64) known {
	return known{name, body, over, value, value}
}

// sphereRow sweeps a sphere of n by n/2 facets inside the true one. Its facets
// keep at least r cos(pi/n) cos(pi/n) from the centre.
func sphereRow(name string, r, arm float64, n int, over kinematics.Range, value func(r float64) float64) known {
	inner := r * math.Pow(math.Cos(math.Pi/float64(n)), 2)
	body := meshtest.Sphere(r, n, n/2, moved(r3.Vec{X: arm}))
	return known{name, body, over, value(inner), value(r)}
}

func closedRows() []known {
	box := func(r1, r2, w, h float64) *mesh.Mesh {
		return meshtest.Box(r3.Vec{X: r1, Y: -w / 2}, r3.Vec{X: r2, Y: w / 2, Z: h})
	}
	cube := meshtest.Box(r3.Vec{X: -1, Y: -1, Z: -1}, r3.Vec{X: 1, Y: 1, Z: 1})
	plate := sheet(r3.Vec{X: 1}, r3.Vec{X: 3}, r3.Vec{X: 3, Z: 2}, r3.Vec{X: 1, Z: 2})
	return []known{
		// Closed forms with their numbers, two of which are repeated from the
		// formula above as a check on it.
		exact("box 90", box(1, 3, 0.5, 1), degrees(0, 90), 7.33574010638093),
		exact("box 75", box(2, 5, 1, 1), degrees(-30, 45), 16.9247259522317),
		exact("box 180", box(0.5, 2, 0.8, 1), degrees(-180, 0), 7.36297916674355),
		exact("box 40", box(1, 3, 0.5, 1), degrees(100, 140), boxSwept(1, 3, 0.5, 1, 40*math.Pi/180)),
		exact("box, full turn", box(1, 3, 0.5, 1), degrees(0, 360), 25.3290907695677),
		exact("box, more than a turn", box(1, 3, 0.5, 1), degrees(-400, 400), 25.3290907695677),
		exact("box, endless", box(1, 3, 0.5, 1), kinematics.Range{Lower: math.Inf(-1), Upper: math.Inf(1)}, 25.3290907695677),
		exact("box at rest", box(1, 3, 0.5, 1), degrees(70, 70), 1),
		exact("cube about its middle, 90", cube, degrees(0, 90), 4*math.Pi),
		exact("cube about its middle at rest", cube, degrees(0, 0), 8),
		exact("thin plate", plate, degrees(0, 90), 12.5663706143592),
		exact("thin plate, full turn", plate, degrees(0, 360), 2*math.Pi*8),
		exact("triangle, full turn (Pappus)", sheet(r3.Vec{X: 2}, r3.Vec{X: 5}, r3.Vec{X: 2, Z: 3}), degrees(0, 360), 84.8230016469244),
		sphereRow("sphere 90", 1, 4, 120, degrees(0, 90), func(r float64) float64 { return turnedSphere(r, 4, math.Pi/2) }),
		sphereRow("sphere 120", 2, 10, 120, degrees(0, 120), func(r float64) float64 { return turnedSphere(r, 10, 2*math.Pi/3) }),
		sphereRow("torus", 1, 4, 120, degrees(0, 360), func(r float64) float64 { return 2 * math.Pi * math.Pi * 4 * r * r }),
		sphereRow("sphere at rest", 1, 4, 120, degrees(0, 0), func(r float64) float64 { return 4 * math.Pi * r * r * r / 3 }),
		sphereRow("sphere about its middle", 1, 0, 120, degrees(0, 33), func(r float64) float64 { return 4 * math.Pi * r * r * r / 3 }),
	}
}

func TestClosedFormsHaveTheirPublishedNumbers(t *testing.T) {
	for _, c := range []struct{ got, want float64 }{
		{boxSwept(1, 3, 0.5, 1, math.Pi/2), 7.33574010638093},
		{boxSwept(2, 5, 1, 1, 75*math.Pi/180), 16.9247259522317},
		{boxSwept(0.5, 2, 0.8, 1, math.Pi), 7.36297916674355},
		{turnedSphere(1, 4, math.Pi/2), 23.9279990069651},
		{turnedSphere(2, 10, 2*math.Pi/3), 296.699772334007},
		{2 * math.Pi * math.Pi * 4, 78.9568352087149},
	} {
		if math.Abs(c.got-c.want) > 1e-13*c.want {
			t.Errorf("closed form gives %.15g, want %.15g", c.got, c.want)
		}
	}
}

func TestVolumeAgreesWithClosedFormWithinItsError(t *testing.T) {
	for _, c := range closedRows() {
		for _, cells := range []int{32, 90, 240} {
			e := mustSweep(t, []*mesh.Mesh{c.body}, upAxis(), c.over, cells)
			if e.Volume < c.low-e.Error || e.Volume > c.top+e.Error {
				t.Errorf("%s, %d cells: volume %.9g, want %.9g to %.9g within %.3g", c.name, cells, e.Volume, c.low, c.top, e.Error)
			}
			if limit := 300 * c.top / float64(cells*cells); e.Error > limit {
				t.Errorf("%s, %d cells: error %.3g says nothing, want at most %.3g", c.name, cells, e.Error, limit)
			}
			if v := e.Mesh.Volume(); math.Abs(v-e.Volume) > e.Error+0.4*e.Volume/float64(cells) {
				t.Errorf("%s, %d cells: mesh holds %.9g, volume is %.9g", c.name, cells, v, e.Volume)
			}
		}
	}
}

// A box with its inner edge a hair from the hinge, one that the hinge goes
// through off its middle, and one that the hinge touches along an edge. A
// convex figure turned about a point inside by more than the angle between its
// corners covers the circle through the farthest of them.
func TestBodiesNearTheHinge(t *testing.T) {
	for _, c := range []struct {
		name string
		box  *mesh.Mesh
		over kinematics.Range
		want float64
	}{
		{"hair off", meshtest.Box(r3.Vec{X: 1e-3, Y: -0.1}, r3.Vec{X: 2, Y: 0.1, Z: 1}), degrees(0, 360), math.Pi * (4.01 - 1e-6)},
		{"through", meshtest.Box(r3.Vec{X: -0.5, Y: -0.25}, r3.Vec{X: 1, Y: 0.5, Z: 1}), degrees(0, 360), math.Pi * 1.25},
		{"edge on the hinge", meshtest.Box(r3.Vec{}, r3.Vec{X: 1, Y: 1, Z: 1}), degrees(0, 360), math.Pi * 2},
		{"edge on the hinge at rest", meshtest.Box(r3.Vec{}, r3.Vec{X: 1, Y: 1, Z: 1}), degrees(10, 10), 1},
		// The far corner's quarter disc of radius sqrt 2 and half a square on
		// either side of it.
		{"edge on the hinge, 90", meshtest.Box(r3.Vec{}, r3.Vec{X: 1, Y: 1, Z: 1}), degrees(0, 90), 1 + math.Pi/2},
	} {
		e := mustSweep(t, []*mesh.Mesh{c.box}, upAxis(), c.over, 200)
		if math.Abs(e.Volume-c.want) > e.Error {
			t.Errorf("%s: volume %.9g, want %.9g within %.3g", c.name, e.Volume, c.want, e.Error)
		}
		if e.Error > 0.01*c.want {
			t.Errorf("%s: error %.3g says nothing", c.name, e.Error)
		}
	}
}

// The surface of the swept box: top and bottom, inner and outer wall with the
// outer corners' arcs, and the two end faces.
func TestAreaOfSweptBox(t *testing.T) {
	r1, r2, w, h, theta := 1.0, 3.0, 0.5, 1.0, math.Pi/2
	body := meshtest.Box(r3.Vec{X: r1, Y: -w / 2}, r3.Vec{X: r2, Y: w / 2, Z: h})
	e := mustSweep(t, []*mesh.Mesh{body}, upAxis(), degrees(0, 90), 400)
	ro := math.Hypot(r2, w/2)
	// The outer wall runs along both end faces' outer edges to the corners'
	// arc, which spans theta plus twice the corner's angle; so do the inner
	// edges to the arc of the foot.
	rim := ro*(theta+2*math.Atan(w/(2*r2))) + r1*theta
	ends := 2*(r2-r1) + w/2*2
	want := 2*boxSwept(r1, r2, w, h, theta)/h + h*(rim+ends)
	if math.Abs(e.Area-want) > 2e-3*want {
		t.Errorf("area is %.6g, want %.6g", e.Area, want)
	}
}

func TestTwoBodiesCountOnceWhereTheyOverlap(t *testing.T) {
	a := meshtest.Box(r3.Vec{X: 1, Y: -0.25}, r3.Vec{X: 2.2, Y: 0.25, Z: 1})
	b := meshtest.Box(r3.Vec{X: 1.8, Y: -0.25}, r3.Vec{X: 3, Y: 0.25, Z: 1})
	e := mustSweep(t, []*mesh.Mesh{a, b}, upAxis(), degrees(0, 90), 200)
	if want := 7.33574010638093; math.Abs(e.Volume-want) > e.Error {
		t.Errorf("volume is %.9g, want %.9g within %.3g", e.Volume, want, e.Error)
	}
}

// A ball with a hollow, at rest: the inner shell is turned inside out.
func TestHollowsStay(t *testing.T) {
	outer := meshtest.Box(r3.Vec{X: 1, Y: -1}, r3.Vec{X: 3, Y: 1, Z: 2})
	mirror := func(p r3.Vec) r3.Vec { return r3.Vec{X: 4 - p.X, Y: p.Y, Z: p.Z} }
	inner := meshtest.Box(r3.Vec{X: 1.5, Y: -0.5, Z: 0.5}, r3.Vec{X: 2.5, Y: 0.5, Z: 1.5}, mirror)
	both := mesh.Join(outer, inner)
	e := mustSweep(t, []*mesh.Mesh{both}, upAxis(), degrees(0, 0), 200)
	if want := 7.0; math.Abs(e.Volume-want) > e.Error {
		t.Errorf("volume at rest is %.9g, want %.9g within %.3g", e.Volume, want, e.Error)
	}
	if e.Error > 0.03 {
		t.Errorf("error %.3g says nothing", e.Error)
	}
}
