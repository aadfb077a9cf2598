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

// upFrame is the frame at the origin with its hinge up, its reach along x and
// its side along y.
func upFrame() kinematics.Frame {
	return kinematics.Frame{Hinge: r3.Vec{Z: 1}, Reach: r3.Vec{X: 1}}
}

func mustJoint(t interface {
	Fatalf(string, ...any)
	Helper()
}, bodies []*mesh.Mesh, j kinematics.Joint, over []kinematics.Range, cells int,
) Envelope {
	t.Helper()
	e, err := Joint(context.Background(), bodies, j, over, Options{Resolution: cells})
	if err != nil {
		t.Fatalf("Joint: %v", err)
	}
	if err := mesh.Validate(e.Mesh); err != nil {
		t.Fatalf("mesh of the envelope: %v", err)
	}
	return e
}

// swungBall is the volume of a ball of radius r on an arm R >= r that is swung
// within a cone of half angle a, a > asin(r/R), a + asin(r/R) < pi: a shell of the
// cone's solid angle, and round its rim half a disc of radius r, whose centroid
// lies 4r/3pi off the diameter, once round (Pappus).
func swungBall(r, arm, a float64) float64 {
	shell := 2 * math.Pi * (1 - math.Cos(a)) * (math.Pow(arm+r, 3) - math.Pow(arm-r, 3)) / 3
	return shell + math.Pi*r*r/2*2*math.Pi*(arm*math.Sin(a)+4*r/(3*math.Pi)*math.Cos(a))
}

// A row of joints whose envelope has a closed form.
type jointRow struct {
	name     string
	body     *mesh.Mesh
	joint    kinematics.Joint
	over     []kinematics.Range
	low, top float64
	cells    []int
	most     float64 // largest error times cells squared over the volume
}

func jointRows() []jointRow {
	deg := func(a float64) float64 { return a * math.Pi / 180 }
	span := func(lo, hi float64) kinematics.Range { return kinematics.Range{Lower: lo, Upper: hi} }
	box := func(lo, hi r3.Vec) *mesh.Mesh { return meshtest.Box(lo, hi) }
	facets := math.Pow(math.Cos(math.Pi/120), 2)
	ball := func(r float64, at r3.Vec) *mesh.Mesh { return meshtest.Sphere(r, 120, 60, moved(at)) }
	screw := func(r float64) float64 {
		p := 3 / (2 * math.Pi)
		return math.Pi*r*r*2*math.Pi*math.Hypot(5, p) + 4*math.Pi*r*r*r/3
	}
	j := func(k kinematics.Kind) kinematics.Joint { return kinematics.Joint{Kind: k, Frame: upFrame()} }
	helix := j(kinematics.Helical)
	helix.Pitch = 3 / (2 * math.Pi)
	cone := func(k kinematics.Kind, a float64, n int) kinematics.Joint {
		x := j(k)
		x.Cone = &kinematics.Cone{}
		for range n {
			x.Cone.Max = append(x.Cone.Max, deg(a))
		}
		return x
	}
	still := span(0, 0)
	arm := ball(1, r3.Vec{X: 4})
	bar := box(r3.Vec{X: 1, Y: -0.25}, r3.Vec{X: 3, Y: 0.25, Z: 1})
	nested, drifted := []int{40, 120}, []int{30, 56}
	return []jointRow{
		{"fixed", bar, j(kinematics.Fixed), nil, 1, 1, nested, 300},
		{"revolute", bar, j(kinematics.Revolute), []kinematics.Range{degrees(0, 90)}, 7.33574010638093, 7.33574010638093, nested, 300},
		{"prismatic", bar, j(kinematics.Prismatic), []kinematics.Range{span(-1, 4)}, 6, 6, nested, 300},
		// The cylinder of the bar's sector.
		{"cylindric", bar, j(kinematics.Cylindric), []kinematics.Range{degrees(0, 90), span(2, 5)}, 4 * 7.33574010638093, 4 * 7.33574010638093, nested, 600},
		// The bar's sector held at a height.
		{"cylindric, held", bar, j(kinematics.Cylindric), []kinematics.Range{degrees(0, 90), span(2, 2)}, 7.33574010638093, 7.33574010638093, nested, 600},
		// A square plate turned all round is a disc of its circumcircle; moved in
		// its plane it adds the width times the way and the square of ways.
		{
			"planar", box(r3.Vec{X: -1, Y: -1}, r3.Vec{X: 1, Y: 1, Z: 0.5}), j(kinematics.Planar),
			[]kinematics.Range{span(-1, 2), span(0, 4), kinematics.Unlimited()},
			0.5 * (2*math.Pi + 2*math.Sqrt2*(3+4) + 12), 0.5 * (2*math.Pi + 2*math.Sqrt2*(3+4) + 12), nested, 900,
		},
		{
			"planar, slides alone", bar, j(kinematics.Planar),
			[]kinematics.Range{span(-1, 2), span(0, 4), still},
			5 * 4.5, 5 * 4.5, nested, 900,
		},
		// The ball's centre covers all of a sphere's zone of latitudes.
		{
			"universal", arm, j(kinematics.Universal),
			[]kinematics.Range{kinematics.Unlimited(), degrees(-30, 30)},
			zoneOfBalls(facets, 4, deg(30)), zoneOfBalls(1, 4, deg(30)), nested, 900,
		},
		{
			"screw", ball(0.5, r3.Vec{X: 5}), helix,
			[]kinematics.Range{degrees(-90, 270)},
			screw(0.5 * facets), 25.3098544718128, drifted, 2000,
		},
		{
			"ball joint, twisting all round", arm, cone(kinematics.Spherical, 50, 1), nil,
			swungBall(facets, 4, deg(50)), swungBall(1, 4, deg(50)), nested, 900,
		},
		{
			"ball joint, no twist", arm, cone(kinematics.Spherical, 50, 1),
			[]kinematics.Range{kinematics.Unlimited(), kinematics.Unlimited(), still},
			swungBall(facets, 4, deg(50)), swungBall(1, 4, deg(50)), drifted, 2000,
		},
		{
			"ball joint, a cone of many angles", arm, cone(kinematics.Spherical, 50, 24),
			[]kinematics.Range{kinematics.Unlimited(), kinematics.Unlimited(), degrees(-20, 70)},
			swungBall(facets, 4, deg(50)), swungBall(1, 4, deg(50)), drifted, 2000,
		},
		{
			"universal in a cone", arm, cone(kinematics.Universal, 50, 1), nil,
			swungBall(facets, 4, deg(50)), swungBall(1, 4, deg(50)), drifted, 2000,
		},
		{
			"ball joint, free", arm, j(kinematics.Spherical), nil,
			4 * math.Pi / 3 * (math.Pow(4+facets, 3) - math.Pow(4-facets, 3)), 4 * math.Pi / 3 * (125 - 27), nested, 900,
		},
	}
}

// zoneOfBalls is what a ball of radius r passes through whose centre runs over
// the zone of the sphere of radius R between the latitudes -b and b: a shell of
// that solid angle and half a disc round each rim (Pappus).
func zoneOfBalls(r, arm, b float64) float64 {
	shell := 4 * math.Pi * math.Sin(b) * (math.Pow(arm+r, 3) - math.Pow(arm-r, 3)) / 3
	return shell + 2*math.Pi*r*r/2*2*math.Pi*(arm*math.Cos(b)-4*r/(3*math.Pi)*math.Sin(b))
}

func TestJointsAgreeWithClosedForms(t *testing.T) {
	for _, c := range jointRows() {
		for _, cells := range c.cells {
			e := mustJoint(t, []*mesh.Mesh{c.body}, c.joint, c.over, cells)
			if e.Volume < c.low-e.Error || e.Volume > c.top+e.Error {
				t.Errorf("%s, %d cells: volume %.9g, want %.9g to %.9g within %.3g", c.name, cells, e.Volume, c.low, c.top, e.Error)
			}
			if limit := c.most * c.top / float64(cells*cells); e.Error > limit {
				t.Errorf("%s, %d cells: error %.3g says nothing, want at most %.3g", c.name, cells, e.Error, limit)
			}
			if e.Deviation <= 0 || e.Deviation > 12*e.Mesh.Diagonal()/float64(cells) {
				t.Errorf("%s, %d cells: deviation %.3g says nothing", c.name, cells, e.Deviation)
			}
		}
	}
}
