package contact

import (
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
	"pintle/kinematics"
)

const degree = math.Pi / 180

var zAxis = kinematics.Axis{Dir: r3.Vec{Z: 1}}

// solid is a triangle list in the making.
type solid [][3]r3.Vec

func quad(a, b, c, d r3.Vec) solid { return solid{{a, b, c}, {a, c, d}} }

// box returns an axis-aligned box, outward oriented.
func box(x0, x1, y0, y1, z0, z1 float64) solid {
	p := func(i, j, k int) r3.Vec {
		return r3.Vec{X: [2]float64{x0, x1}[i], Y: [2]float64{y0, y1}[j], Z: [2]float64{z0, z1}[k]}
	}
	var s solid
	s = append(s, quad(p(0, 0, 0), p(0, 1, 0), p(1, 1, 0), p(1, 0, 0))...)
	s = append(s, quad(p(0, 0, 1), p(1, 0, 1), p(1, 1, 1), p(0, 1, 1))...)
	s = append(s, quad(p(0, 0, 0), p(1, 0, 0), p(1, 0, 1), p(0, 0, 1))...)
	s = append(s, quad(p(0, 1, 0), p(0, 1, 1), p(1, 1, 1), p(1, 1, 0))...)
	s = append(s, quad(p(0, 0, 0), p(0, 0, 1), p(0, 1, 1), p(0, 1, 0))...)
	return append(s, quad(p(1, 0, 0), p(1, 1, 0), p(1, 1, 1), p(1, 0, 1))...)
}

func tetra(a, b, c, d r3.Vec) solid { return solid{{a, b, c}, {a, c, d}, {a, d, b}, {b, d, c}} }

// prism extrudes a convex polygon, counter-clockwise seen from the tip of d.
func prism(base []r3.Vec, d r3.Vec) solid {
	var s solid
	n := len(base)
	top := make([]r3.Vec, n)
	for i := range base {
		top[i] = r3.Add(base[i], d)
	}
	for i := range n {
		j := (i + 1) % n
		s = append(s, quad(base[i], base[j], top[j], top[i])...)
	}
	for i := 1; i < n-1; i++ {
		s = append(s, [3]r3.Vec{base[0], base[i+1], base[i]}, [3]r3.Vec{top[0], top[i], top[i+1]})
	}
	return s
}

// lathe turns a convex profile of (r, z) points, counter-clockwise in the half
// plane, about z from angle a0 over arc in n steps; a full turn closes on
// itself, an arc gets end faces. Points with r = 0 lie on the axis.
func lathe(profile [][2]float64, n int, a0, arc float64) solid {
	full := arc >= turn-1e-12
	at := func(i, k int) r3.Vec {
		if full {
			i %= n
		}
		s, c := math.Sincos(a0 + arc*float64(i)/float64(n))
		r := profile[k][0]
		return r3.Vec{X: r * c, Y: r * s, Z: profile[k][1]}
	}
	var s solid
	m := len(profile)
	for i := range n {
		for k := range m {
			l := (k + 1) % m
			a, b, c, d := at(i, k), at(i+1, k), at(i+1, l), at(i, l)
			if profile[k][0] > 0 {
				s = append(s, [3]r3.Vec{a, b, c})
			}
			if profile[l][0] > 0 {
				s = append(s, [3]r3.Vec{a, c, d})
			}
		}
	}
	if !full {
		for k := 1; k < m-1; k++ {
			s = append(s, [3]r3.Vec{at(0, 0), at(0, k), at(0, k+1)}, [3]r3.Vec{at(n, 0), at(n, k+1), at(n, k)})
		}
	}
	return s
}

// pin is a solid cylinder about z, tube a hollow one.
func pin(r, z0, z1 float64, n int, phase float64) solid {
	return lathe([][2]float64{{0, z0}, {r, z0}, {r, z1}, {0, z1}}, n, phase, turn)
}

func tube(r0, r1, z0, z1 float64, n int, phase float64) solid {
	return lathe([][2]float64{{r0, z0}, {r1, z0}, {r1, z1}, {r0, z1}}, n, phase, turn)
}

func joined(parts ...solid) solid {
	var s solid
	for _, p := range parts {
		s = append(s, p...)
	}
	return s
}

func (s solid) moved(f func(r3.Vec) r3.Vec) solid {
	out := make(solid, len(s))
	for i, t := range s {
		out[i] = [3]r3.Vec{f(t[0]), f(t[1]), f(t[2])}
	}
	return out
}

func (s solid) shifted(x, y, z float64) solid {
	return s.moved(func(p r3.Vec) r3.Vec { return r3.Add(p, r3.Vec{X: x, Y: y, Z: z}) })
}

// turnedBy turns the solid about z by an angle in radians.
func (s solid) turnedBy(a float64) solid {
	sin, cos := math.Sincos(a)
	return s.moved(func(p r3.Vec) r3.Vec { return turned(p, cos, sin) })
}

// reversed turns the solid inside out, which mends a mirrored one.
func (s solid) reversed() solid {
	out := make(solid, len(s))
	for i, t := range s {
		out[i] = [3]r3.Vec{t[0], t[2], t[1]}
	}
	return out
}

// subdivided cuts every triangle into k*k equal ones: the same surface.
func (s solid) subdivided(k int) solid {
	var out solid
	for _, t := range s {
		at := func(i, j int) r3.Vec {
			u, v := float64(i)/float64(k), float64(j)/float64(k)
			return r3.Add(t[0], r3.Add(r3.Scale(u, r3.Sub(t[1], t[0])), r3.Scale(v, r3.Sub(t[2], t[0]))))
		}
		for i := range k {
			for j := range k - i {
				out = append(out, [3]r3.Vec{at(i, j), at(i+1, j), at(i, j+1)})
				if i+j < k-1 {
					out = append(out, [3]r3.Vec{at(i+1, j), at(i+1, j+1), at(i, j+1)})
				}
			}
		}
	}
	return out
}

// needled cuts a sliver off every triangle along its first edge, as wide as the
// given share of the triangle.
func (s solid) needled(share float64) solid {
	var out solid
	for _, t := range s {
		p := r3.Add(t[0], r3.Scale(share, r3.Sub(t[2], t[0])))
		out = append(out, [3]r3.Vec{t[0], t[1], p}, [3]r3.Vec{p, t[1], t[2]})
	}
	return out
}

// subdividedTo cuts the triangles so that there are about n.
func (s solid) subdividedTo(n int) solid {
	return s.subdivided(max(1, int(math.Round(math.Sqrt(float64(n)/float64(len(s)))))))
}

func (s solid) mesh(t testing.TB) *mesh.Mesh {
	t.Helper()
	b := mesh.NewBuilder()
	for _, f := range s {
		b.Face(b.Vertex(f[0]), b.Vertex(f[1]), b.Vertex(f[2]))
	}
	m, _, err := b.Build(mesh.Options{Weld: 1e-9})
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func (s solid) body(t testing.TB, name string) Body {
	t.Helper()
	return Body{Name: name, Mesh: s.mesh(t)}
}

// scene builds a scene of one moving and one still body.
func scene(t testing.TB, moving, still solid, axis kinematics.Axis, o Options) *Scene {
	t.Helper()
	s, err := NewScene(t.Context(), []Body{moving.body(t, "moving")}, []Body{still.body(t, "still")}, Hinge(axis), o)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func everywhere() kinematics.Range { return kinematics.Range{Lower: math.Inf(-1), Upper: math.Inf(1)} }

func freeRange(t testing.TB, s *Scene) Result {
	t.Helper()
	r, err := s.FreeRange(t.Context(), everywhere())
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// wantAngle checks an end of the range; NaN means that nothing stops it.
func wantAngle(t testing.TB, what string, e *Event, want, within float64) {
	t.Helper()
	switch {
	case math.IsNaN(want):
		if e != nil {
			t.Errorf("%s: contact at %.12g deg (%+v), want none", what, e.Value/degree, *e)
		}
	case e == nil:
		t.Errorf("%s: no contact, want one at %.12g deg", what, want/degree)
	case !(math.Abs(e.Value-want) <= within):
		t.Errorf("%s: contact at %.12g deg, want %.12g, off by %.3g rad, more than %.3g (%+v)",
			what, e.Value/degree, want/degree, e.Value-want, within, *e)
	}
}

// kinds lists the kinds at rest in their order.
func kinds(r []Rest) []RestKind {
	var k []RestKind
	for _, x := range r {
		k = append(k, x.Kind)
	}
	return k
}

func wantKinds(t testing.TB, r []Rest, want ...RestKind) {
	t.Helper()
	if d := cmp.Diff(want, kinds(r)); d != "" {
		t.Errorf("kinds at rest (-want +got):\n%s%+v", d, r)
	}
}

func sqrt(x float64) float64 { return math.Sqrt(x) }

// flapAndStops is a flap on the axis with a stop in either direction.
func flapAndStops() (flap, stops solid) {
	return box(5, 50, -2, 1, -15, 15), joined(box(20, 30, 18, 28, -10, 10), box(20, 60, -40, -30, -10, 10))
}
