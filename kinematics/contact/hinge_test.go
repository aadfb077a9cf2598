package contact

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/kinematics"
)

// The answers here come from t = atan2(B, A) +- acos(-C/M) and, for edges and
// faces along the axis, from plane trigonometry: another way than the code's.

// angles returns the roots of A cos t + B sin t + C = 0 in -2 pi..2 pi.
func angles(a, b, c float64) []float64 {
	m := math.Hypot(a, b)
	if math.Abs(c) > m {
		return nil
	}
	var out []float64
	for _, s := range []float64{-1, 1} {
		for k := -2.0; k <= 2; k++ {
			if t := math.Atan2(b, a) + s*math.Acos(-c/m) + k*turn; math.Abs(t) < turn {
				out = append(out, t)
			}
		}
	}
	slices.Sort(out)
	return out
}

// ends returns the last negative and the first positive of the angles.
func ends(list []float64) (lower, upper float64) {
	lower, upper = math.NaN(), math.NaN()
	for _, t := range list {
		if t < 0 {
			lower = t
		} else if math.IsNaN(upper) {
			upper = t
		}
	}
	return lower, upper
}

// cornerAngles returns when a corner p turned about z meets the plane n.x = d.
func cornerAngles(p, n r3.Vec, d float64) []float64 {
	return angles(n.X*p.X+n.Y*p.Y, n.Y*p.X-n.X*p.Y, n.Z*p.Z-d)
}

// edgeAngles returns when the line (p, u) turned about z meets the line (q, w).
func edgeAngles(p, u, q, w r3.Vec) []float64 {
	g := func(t float64) float64 {
		s, c := math.Sincos(t)
		return r3.Dot(r3.Sub(q, turned(p, c, s)), r3.Cross(turned(u, c, s), w))
	}
	// Three values of A cos t + B sin t + C tell the coefficients.
	g0, g90, g180 := g(0), g(math.Pi/2), g(math.Pi)
	a, c := (g0-g180)/2, (g0+g180)/2
	return angles(a, g90-c, c)
}

// faceOnEdge returns when the face y = h of the moving part, which starts on
// the right of the axis, meets an edge along the axis at (x, y).
func faceOnEdge(x, y, h float64) float64 { return math.Atan2(y, x) - math.Asin(h/math.Hypot(x, y)) }

// edgeOnFace returns when an edge along the axis at (x, y) meets the face y = h.
func edgeOnFace(x, y, h float64) float64 { return math.Asin(h/math.Hypot(x, y)) - math.Atan2(y, x) }

// plate is a slab whose face with outward normal n has its middle at c.
func plate(c, n r3.Vec, half, thick float64) solid {
	n = r3.Unit(n)
	u := kinematics.Perpendicular(n)
	v := r3.Cross(n, u)
	at := func(i, j float64) r3.Vec { return r3.Add(c, r3.Add(r3.Scale(i*half, u), r3.Scale(j*half, v))) }
	return prism([]r3.Vec{at(-1, -1), at(-1, 1), at(1, 1), at(1, -1)}, r3.Scale(-thick, n))
}

type hingeCase struct {
	name          string
	moving, still solid
	lower, upper  float64
	corner        r3.Vec // if not zero, the corner of the moving part that hits
	normal        r3.Vec // the face with this normal when turned to upper
}

// hingeCases are free ranges with closed forms about z, parts apart at rest.
func hingeCases() []hingeCase {
	tip := r3.Vec{X: 36, Y: 4, Z: 2}
	spike := tetra(tip, r3.Vec{X: 5, Y: -3, Z: -4}, r3.Vec{X: 5, Y: 5, Z: -4}, r3.Vec{X: 5, Y: 1, Z: 7})
	n1, c1 := r3.Unit(r3.Vec{X: 0.2, Y: -0.95, Z: 0.25}), r3.Vec{X: 22, Y: 28, Z: 4}
	n2, c2 := r3.Unit(r3.Vec{X: 0.3, Y: 0.75, Z: -0.3}), r3.Vec{X: 25, Y: -24, Z: 3}
	lower2, _ := ends(cornerAngles(tip, n2, r3.Dot(n2, c2)))
	_, upper1 := ends(cornerAngles(tip, n1, r3.Dot(n1, c1)))

	along := r3.Vec{X: 42, Y: 3, Z: 6}
	left, right := r3.Vec{X: 6, Y: 2, Z: -1}, r3.Vec{X: 6, Y: -2.5, Z: 1}
	bar := prism([]r3.Vec{left, {X: 6, Y: -0.5, Z: -4}, right, {X: 6, Y: 0.2, Z: 4}}, along)
	q1, w1 := r3.Vec{X: 26, Y: 21, Z: -22}, r3.Vec{X: 4, Y: 3, Z: 45}
	q2, w2 := r3.Vec{X: 27, Y: -24, Z: -20}, r3.Vec{X: -4, Y: 2, Z: 46}
	post := func(q, w r3.Vec, a float64) solid { // a sharp edge that faces the bar, at azimuth a
		away := func(r, side float64) r3.Vec {
			return r3.Add(q, r3.Vec{X: r*math.Cos(a) - side*math.Sin(a), Y: r*math.Sin(a) + side*math.Cos(a)})
		}
		return prism([]r3.Vec{q, away(8, -5), away(16, 0), away(8, 5)}, w)
	}
	lowerE, _ := ends(edgeAngles(right, along, q2, w2))
	_, upperE := ends(edgeAngles(left, along, q1, w1))

	flap, stops := flapAndStops()
	const h = 0.005
	at := 40.05 * degree
	blade := box(20, 60, -h, h, -5, 5).turnedBy(at)
	barrel, pin := walled(4.1, 6, -15, 15, 64, 2), joined(walled(3, 4, -20, 20, 48, 2), walled(4, 6, 15.05, 20, 64, 1))
	return []hingeCase{
		{name: "corner on face", moving: spike, still: joined(plate(c1, n1, 18, 6), plate(c2, n2, 18, 6)), lower: lower2, upper: upper1, corner: tip, normal: n1},
		{name: "edge on edge", moving: bar, still: joined(post(q1, w1, 130*degree), post(q2, w2, -130*degree)), lower: lowerE, upper: upperE},
		{name: "face on edge", moving: flap, still: stops, lower: edgeOnFace(50, -2, -30), upper: faceOnEdge(30, 18, 1)},
		{
			name: "blades of 0.01", moving: box(10, 50, -h, h, -5, 5), still: joined(blade, box(20, 30, -28, -18, -10, 10)),
			lower: -faceOnEdge(30, 18, h), upper: at + math.Atan2(-h, 20) - math.Asin(h/math.Hypot(20, h)),
		},
		{
			name: "bar across the axis", moving: box(-45, 50, -2, 1, -15, 15), still: joined(stops, box(-40, -30, -24, -20, -9, 9)),
			// The left half comes down on the edge (-40, -20) with its face y = -2.
			lower: edgeOnFace(50, -2, -30), upper: faceOnEdge(40, 20, 2),
		},
		{name: "pin in barrel", moving: joined(flap, barrel), still: joined(stops, pin), lower: edgeOnFace(50, -2, -30), upper: faceOnEdge(30, 18, 1)},
	}
}

// oblique turns and shifts the z axis to the returned one.
func oblique(shift, dir r3.Vec) (move func(r3.Vec) r3.Vec, axis kinematics.Axis) {
	d := r3.Unit(dir)
	u := kinematics.Perpendicular(d)
	v := r3.Cross(d, u)
	return func(p r3.Vec) r3.Vec {
		return r3.Add(shift, r3.Add(r3.Scale(p.X, u), r3.Add(r3.Scale(p.Y, v), r3.Scale(p.Z, d))))
	}, kinematics.Axis{Point: shift, Dir: d}
}

func TestClosedFormHinges(t *testing.T) {
	same := func(p r3.Vec) r3.Vec { return p }
	move, axis := oblique(r3.Vec{X: 12, Y: -7, Z: 30}, r3.Vec{X: 1, Y: 2, Z: 3})
	variants := []struct {
		name string
		cut  int
		move func(r3.Vec) r3.Vec
		axis kinematics.Axis
	}{
		{"as is", 1, same, zAxis},
		{"oblique", 1, move, axis},
		{"cut into 20000, oblique", 20_000, move, axis},
		{"cut into 100000", 100_000, same, zAxis},
	}
	for _, c := range hingeCases() {
		if !(c.lower < -0.1 && c.upper > 0.1) {
			t.Fatalf("%s: no closed form: %g..%g", c.name, c.lower, c.upper)
		}
		for _, v := range variants {
			t.Run(fmt.Sprintf("%s/%s", c.name, v.name), func(t *testing.T) {
				if testing.Short() && v.cut > 1 {
					t.Skip("large mesh")
				}
				s := scene(t, c.moving.subdividedTo(v.cut).moved(v.move), c.still.subdividedTo(v.cut).moved(v.move), v.axis, Options{})
				r := freeRange(t, s)
				wantAngle(t, "lower", r.Lower, c.lower, 1e-12)
				wantAngle(t, "upper", r.Upper, c.upper, 1e-12)
				wantKinds(t, r.Rest)
				if c.corner == (r3.Vec{}) || r.Upper == nil {
					return
				}
				sin, cos := math.Sincos(c.upper)
				if want := v.move(turned(c.corner, cos, sin)); r3.Norm(r3.Sub(r.Upper.Point, want)) > 1e-11 {
					t.Errorf("point %v, want %v", r.Upper.Point, want)
				}
				if want := r3.Sub(v.move(c.normal), v.move(r3.Vec{})); r3.Norm(r3.Sub(r.Upper.Normal, want)) > 1e-11 {
					t.Errorf("normal %v, want %v", r.Upper.Normal, want)
				}
			})
		}
	}
}

// The points and planes of the root table as spikes and plates: the first
// contacts either way are its smallest root and its largest less a turn.
func TestTableAsMeshes(t *testing.T) {
	for _, c := range planeCases {
		foot := c.axis.Foot(c.p)
		arm := r3.Sub(c.p, foot)
		side := r3.Scale(0.1, r3.Cross(c.axis.Dir, arm))
		up := r3.Scale(0.2, c.axis.Dir)
		in := r3.Add(foot, r3.Scale(0.2, arm))
		spike := tetra(c.p, r3.Add(in, r3.Sub(side, up)), r3.Add(in, r3.Add(side, up)), r3.Sub(r3.Add(in, up), side))
		wall := plate(r3.Add(foot, r3.Scale(c.d-r3.Dot(c.n, foot), c.n)), r3.Scale(-1, c.n), 9, 2)
		for _, tolerance := range []float64{0, -1} {
			r := freeRange(t, scene(t, spike, wall, c.axis, Options{Tolerance: tolerance}))
			lower, upper := math.NaN(), math.NaN()
			// A graze has no depth and counts only where no tolerance is given.
			if n := len(c.roots); n > 1 || n == 1 && tolerance < 0 {
				lower, upper = c.roots[n-1]*degree-turn, c.roots[0]*degree
			}
			within := 1e-12
			if len(c.roots) == 1 {
				within = 1e-9
			}
			what := fmt.Sprintf("%s, tolerance %g", c.name, tolerance)
			wantAngle(t, what+", lower", r.Lower, lower, within)
			wantAngle(t, what+", upper", r.Upper, upper, within)
		}
	}
}
