package sweep

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
	"pintle/kinematics"
)

// holds tells whether p lies inside a closed mesh, by the solid angle its
// triangles fill seen from p (A. van Oosterom, J. Strackee, The solid angle of
// a plane triangle, IEEE Trans. Biomed. Eng. 30, 1983).
func holds(m *mesh.Mesh, p r3.Vec) bool { return math.Abs(turns(m, p)) > 0.5 }

type oracleCase struct {
	name   string
	bodies []*mesh.Mesh
	axis   kinematics.Axis
	over   kinematics.Range
}

func oracleCases() []oracleCase {
	oblique := kinematics.Axis{Point: r3.Vec{X: 0.2, Y: -0.1, Z: 0.4}, Dir: r3.Unit(r3.Vec{X: 0.3, Y: -0.5, Z: 1})}
	arm := []*mesh.Mesh{
		meshtest.Cylinder(0.5, -0.4, 0.4, 20, 1, true),
		meshtest.Box(r3.Vec{X: 0.3, Y: -0.2, Z: -0.2}, r3.Vec{X: 2, Y: 0.2, Z: 0.3}),
	}
	return []oracleCase{
		{"arm, 70 deg", arm, upAxis(), degrees(-20, 50)},
		{"arm, oblique", arm, oblique, degrees(10, 95)},
		{"arm, oblique, at rest", arm, oblique, degrees(15, 15)},
		{"arm, oblique, nearly all round", arm, oblique, degrees(-150, 150)},
		{"ring through its own hole", []*mesh.Mesh{meshtest.Torus(1, 0.3, 20, 9, moved(r3.Vec{X: 0.7}))}, oblique, degrees(0, 40)},
	}
}

// A point lies in the envelope just when some position of the part holds it.
// Both answers are worked out without the columns, for points farther from the
// surface than a cell.
func TestEnvelopeAgainstStepping(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 11))
	for _, c := range oracleCases() {
		e := mustSweep(t, c.bodies, c.axis, c.over, 48)
		box := e.Mesh.Bounds()
		size := r3.Sub(box.Max, box.Min)
		cell := e.Mesh.Diagonal() / 48
		inside := 0
		for range 150 {
			p := r3.Add(box.Min, r3.Vec{X: rng.Float64() * size.X, Y: rng.Float64() * size.Y, Z: rng.Float64() * size.Z})
			if _, _, d := e.Mesh.BVH().Closest(p); d < cell {
				continue
			}
			passed := false
			for k := 0; k <= 100 && !passed; k++ {
				angle := c.over.Lower + c.over.Span()*float64(k)/100
				q := kinematics.Rotation(c.axis, -angle).Apply(p)
				for _, b := range c.bodies {
					passed = passed || holds(b, q)
				}
			}
			if got := holds(e.Mesh, p); got != passed {
				t.Errorf("%s: point %v inside envelope: %v, passed over: %v", c.name, p, got, passed)
			}
			if passed {
				inside++
			}
		}
		if inside < 3 {
			t.Errorf("%s: only %d of the tried points lie inside", c.name, inside)
		}
	}
}

// Every vertex of the part stays within the envelope at every angle, but for
// the share of a cell by which edges between the circles are cut.
func TestEnvelopeHoldsTheVerticesOnTheirWay(t *testing.T) {
	for _, c := range oracleCases() {
		e := mustSweep(t, c.bodies, c.axis, c.over, 48)
		cell := e.Mesh.Diagonal() / 48
		for _, b := range c.bodies {
			for k := 0; k <= 12; k++ {
				x := kinematics.Rotation(c.axis, c.over.Lower+c.over.Span()*float64(k)/12)
				for i := 0; i < len(b.Vertices()); i += 3 {
					p := x.Apply(b.Vertices()[i])
					if _, _, d := e.Mesh.BVH().Closest(p); d > cell && !holds(e.Mesh, p) {
						t.Errorf("%s: vertex %d at step %d is %.3g outside, more than a cell of %.3g", c.name, i, k, d, cell)
					}
				}
			}
		}
	}
}

// turnedBox is a box of random size, place and pose.
func turnedBox(rng *rand.Rand) *mesh.Mesh {
	at := r3.Vec{X: 4*rng.Float64() - 2, Y: 4*rng.Float64() - 2, Z: 4*rng.Float64() - 2}
	size := r3.Vec{X: 0.3 + 1.7*rng.Float64(), Y: 0.3 + 1.7*rng.Float64(), Z: 0.3 + 1.7*rng.Float64()}
	return meshtest.Box(at, r3.Add(at, size))
}

func turnedAxis(rng *rand.Rand) kinematics.Axis {
	u := func() float64 { return 2*rng.Float64() - 1 }
	return kinematics.Axis{Point: r3.Vec{X: u(), Y: u(), Z: u()}, Dir: r3.Unit(r3.Vec{X: u(), Y: u(), Z: u()})}
}

// The error of a coarse sweep covers its distance from a fine one, and at rest
// from the part's own volume, however the part stands.
func TestErrorIsHonest(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	for k := range 40 {
		body, axis := turnedBox(rng), turnedAxis(rng)
		over := kinematics.Range{Upper: []float64{0, 0.02, 0.3, 1.5, 4}[k%5]}
		want, slack := body.Volume(), 0.0
		if over.Upper > 0 {
			fine := mustSweep(t, []*mesh.Mesh{body}, axis, over, 160)
			want, slack = fine.Volume, fine.Error
		}
		for _, cells := range []int{20, 50} {
			e := mustSweep(t, []*mesh.Mesh{body}, axis, over, cells)
			if math.Abs(e.Volume-want) > e.Error+slack {
				t.Errorf("case %d, %d cells: volume %.9g and error %.3g, but it is %.9g within %.3g", k, cells, e.Volume, e.Error, want, slack)
			}
		}
	}
}

// turns is the winding number of a mesh about a point, by solid angles.
func turns(m *mesh.Mesh, p r3.Vec) float64 {
	var angle float64
	for t := range m.Triangles() {
		a, b, c := m.Corners(t)
		a, b, c = r3.Sub(a, p), r3.Sub(b, p), r3.Sub(c, p)
		la, lb, lc := r3.Norm(a), r3.Norm(b), r3.Norm(c)
		angle += 2 * math.Atan2(r3.Dot(a, r3.Cross(b, c)), la*lb*lc+r3.Dot(a, b)*lc+r3.Dot(b, c)*la+r3.Dot(c, a)*lb)
	}
	return angle / (4 * math.Pi)
}
