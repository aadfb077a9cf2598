package region

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
	"pintle/kinematics"
	"pintle/kinematics/contact"
)

const degree = math.Pi / 180

// solid is a list of triangles.
type solid [][3]r3.Vec

func (s solid) mesh(t testing.TB) *mesh.Mesh {
	t.Helper()
	b := mesh.NewBuilder()
	for _, f := range s {
		b.Face(b.Vertex(f[0]), b.Vertex(f[1]), b.Vertex(f[2]))
	}
	m, _, err := b.Build(mesh.Options{Weld: mesh.DefaultWeld})
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func (s solid) moved(f func(r3.Vec) r3.Vec) solid {
	out := make(solid, len(s))
	for i, t := range s {
		out[i] = [3]r3.Vec{f(t[0]), f(t[1]), f(t[2])}
	}
	return out
}

func quad(a, b, c, d r3.Vec) solid { return solid{{a, b, c}, {a, c, d}} }

func tetra(a, b, c, d r3.Vec) solid { return solid{{a, b, c}, {a, c, d}, {a, d, b}, {b, d, c}} }

func box(x0, x1, y0, y1, z0, z1 float64) solid {
	v := func(x, y, z float64) r3.Vec { return r3.Vec{X: x, Y: y, Z: z} }
	var s solid
	s = append(s, quad(v(x0, y0, z0), v(x0, y1, z0), v(x1, y1, z0), v(x1, y0, z0))...)
	s = append(s, quad(v(x0, y0, z1), v(x1, y0, z1), v(x1, y1, z1), v(x0, y1, z1))...)
	s = append(s, quad(v(x0, y0, z0), v(x1, y0, z0), v(x1, y0, z1), v(x0, y0, z1))...)
	s = append(s, quad(v(x0, y1, z0), v(x0, y1, z1), v(x1, y1, z1), v(x1, y1, z0))...)
	s = append(s, quad(v(x0, y0, z0), v(x0, y0, z1), v(x0, y1, z1), v(x0, y1, z0))...)
	return append(s, quad(v(x1, y0, z0), v(x1, y1, z0), v(x1, y1, z1), v(x1, y0, z1))...)
}

// plain is a frame whose reach points along z, its side along x, its hinge
// along y.
func plain() kinematics.Frame {
	return kinematics.Frame{Hinge: r3.Vec{Y: 1}, Reach: r3.Vec{Z: 1}}
}

// needle is as good as the point at 10 along the reach: thinner than the usual
// tolerance, so that it takes none.
func needle() solid {
	const w = 1e-7
	return tetra(r3.Vec{Z: 10}, r3.Vec{X: w, Z: 9.99}, r3.Vec{X: -w, Y: w, Z: 9.99}, r3.Vec{X: -w, Y: -w, Z: 9.99})
}

// funnel is a band of a cone with n sides about z, apex at the origin: its
// edges are at the half angle, one of them over azimuth 0.
func funnel(half float64, n int) solid {
	at := func(i int, r float64) r3.Vec {
		s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		return r3.Vec{X: r * math.Sin(half) * c, Y: r * math.Sin(half) * s, Z: r * math.Cos(half)}
	}
	var f solid
	for i := range n {
		f = append(f, quad(at(i, 5), at(i+1, 5), at(i+1, 40), at(i, 40))...)
	}
	return f
}

func input(t testing.TB, moving, still solid, f kinematics.Frame) Input {
	t.Helper()
	return Input{
		Moving: []contact.Body{{Name: "stud", Mesh: moving.mesh(t)}},
		Still:  []contact.Body{{Name: "socket", Mesh: still.mesh(t)}}, Frame: f,
	}
}

func ball(t testing.TB, in Input, o Options) *Ball {
	t.Helper()
	b, err := FindBall(t.Context(), in, o)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func randomUnit(r *rand.Rand) r3.Vec {
	for {
		v := r3.Vec{X: 2*r.Float64() - 1, Y: 2*r.Float64() - 1, Z: 2*r.Float64() - 1}
		if n := r3.Norm(v); n > 0.1 && n <= 1 {
			return r3.Scale(1/n, v)
		}
	}
}

// rubble is a stud along z among random tetrahedra that it does not touch.
func rubble(t testing.TB, r *rand.Rand) (moving, still solid) {
	t.Helper()
	moving = tetra(r3.Vec{Z: 10}, r3.Vec{X: 1, Z: 2}, r3.Vec{X: -1, Y: 1, Z: 2}, r3.Vec{X: -1, Y: -1, Z: 2})
	for len(still) < 20 {
		d := randomUnit(r)
		if d.Z = math.Abs(d.Z); d.Z > 0.9 {
			continue
		}
		c := r3.Scale(4+6*r.Float64(), r3.Unit(d))
		var p [4]r3.Vec
		for i := range p {
			p[i] = r3.Add(c, r3.Scale(1.5, randomUnit(r)))
		}
		s := append(still[:len(still):len(still)], tetra(p[0], p[1], p[2], p[3])...)
		if gap(t, moving, s, kinematics.Identity()) > 0.1 {
			still = s
		}
	}
	return moving, still
}

// gap returns the distance of the parts with the moving one where x takes it.
func gap(t testing.TB, moving, still solid, x kinematics.Transform) float64 {
	t.Helper()
	g, ok := mesh.Distance(still.mesh(t).BVH(), moving.moved(x.Apply).mesh(t).BVH(), mesh.Identity(), math.Inf(1))
	if !ok {
		t.Fatal("no distance")
	}
	return g.Distance
}

// posed returns the motion of a joint with the frame.
func posed(k kinematics.Kind, f kinematics.Frame, values ...float64) kinematics.Transform {
	j := kinematics.Joint{Kind: k, Frame: f}
	return j.Motion(values...)
}
