package findtest

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

// Noisy moves every vertex by normal noise whose standard deviation is a share
// of its part's diagonal.
func Noisy(m Mechanism, share float64, seed uint64) Mechanism {
	return m.mapped(func(i int, x *mesh.Mesh) *mesh.Mesh {
		return noisy(x, share*x.Diagonal(), seed, i)
	})
}

// NoisyByRadius is Noisy with a share of the least radius of the part's joints,
// as a scanner's error of so much of the radius; parts without a known radius
// stay as they are.
func NoisyByRadius(m Mechanism, share float64, seed uint64) Mechanism {
	return m.mapped(func(i int, x *mesh.Mesh) *mesh.Mesh {
		least := math.Inf(1)
		for _, j := range m.Joints {
			if (j.Parent == i || j.Child == i) && j.Radius > 0 {
				least = min(least, j.Radius)
			}
		}
		if math.IsInf(least, 1) {
			return x
		}
		return noisy(x, share*least, seed, i)
	})
}

func noisy(x *mesh.Mesh, sigma float64, seed uint64, part int) *mesh.Mesh {
	if sigma == 0 {
		return x
	}
	r := source(seed, 1000+part)
	at := make([]r3.Vec, len(x.Vertices()))
	for i, p := range x.Vertices() {
		at[i] = r3.Add(p, r3.Scale(sigma, r3.Vec{X: r.NormFloat64(), Y: r.NormFloat64(), Z: r.NormFloat64()}))
	}
	return ofTriangles(at, x.Triangles())
}

// Moved moves the whole mechanism.
func Moved(m Mechanism, x mesh.Rigid) Mechanism {
	m.Joints = append([]Joint(nil), m.Joints...)
	for i, j := range m.Joints {
		m.Joints[i].Origin, m.Joints[i].Axis = x.Apply(j.Origin), x.Turn(j.Axis)
	}
	return m.mapped(func(_ int, p *mesh.Mesh) *mesh.Mesh { return mesh.Moved(p, x) })
}

// Tumbled is Moved by a random turn and a shift of about the given length.
func Tumbled(m Mechanism, length float64, seed uint64) Mechanism {
	r := source(seed, 2)
	x := About(r3.Vec{}, direction(r), math.Pi*(2*r.Float64()-1))
	x.T = r3.Scale(length, direction(r))
	return Moved(m, x)
}

// Scaled makes the mechanism that many times as large.
func Scaled(m Mechanism, scale float64) Mechanism {
	m.Joints = append([]Joint(nil), m.Joints...)
	for i, j := range m.Joints {
		m.Joints[i].Origin, m.Joints[i].Radius, m.Joints[i].Pitch = r3.Scale(scale, j.Origin), scale*j.Radius, scale*j.Pitch
		if j.Kind == "prismatic" {
			m.Joints[i].Lower, m.Joints[i].Upper = scale*j.Lower, scale*j.Upper
		}
	}
	return m.mapped(func(_ int, p *mesh.Mesh) *mesh.Mesh {
		return mesh.Moved(p, mesh.Rigid{X: r3.Vec{X: scale}, Y: r3.Vec{Y: scale}, Z: r3.Vec{Z: scale}})
	})
}

// Shuffled puts the parts into a random order.
func Shuffled(m Mechanism, seed uint64) Mechanism {
	at := source(seed, 3).Perm(len(m.Parts)) // new place of each part
	parts := make([]mesh.Part, len(m.Parts))
	for i, p := range m.Parts {
		parts[at[i]] = p
	}
	m.Parts = parts
	m.Joints = append([]Joint(nil), m.Joints...)
	for i, j := range m.Joints {
		m.Joints[i].Parent, m.Joints[i].Child = at[j.Parent], at[j.Child]
	}
	m.Fixed, m.Ignore = renumbered(m.Fixed, at), renumbered(m.Ignore, at)
	return m
}

func renumbered(pairs [][2]int, at []int) [][2]int {
	out := make([][2]int, len(pairs))
	for i, p := range pairs {
		out[i] = [2]int{at[p[0]], at[p[1]]}
	}
	return out
}

// Renamed gives every part a name that tells nothing.
func Renamed(m Mechanism) Mechanism {
	parts := make([]mesh.Part, len(m.Parts))
	for i, p := range m.Parts {
		parts[i] = mesh.Part{Name: fmt.Sprintf("solid%03d", i), Mesh: p.Mesh}
	}
	m.Parts = parts
	return m
}

// Stored rounds every coordinate to a multiple of step, a share of the model's
// diagonal, as files of few digits do.
func Stored(m Mechanism, step float64) Mechanism {
	model := mesh.Model{Parts: m.Parts}
	b := model.Bounds()
	step *= r3.Norm(r3.Sub(b.Max, b.Min))
	return m.mapped(func(_ int, x *mesh.Mesh) *mesh.Mesh {
		at := make([]r3.Vec, len(x.Vertices()))
		for i, p := range x.Vertices() {
			at[i] = r3.Vec{X: step * math.Round(p.X/step), Y: step * math.Round(p.Y/step), Z: step * math.Round(p.Z/step)}
		}
		return ofTriangles(at, x.Triangles())
	})
}

// Unwelded gives every triangle vertices of its own, as some formats store
// them, and welds them again as a reader does.
func Unwelded(m Mechanism) Mechanism {
	return m.mapped(func(_ int, x *mesh.Mesh) *mesh.Mesh {
		b := mesh.NewBuilder()
		for t := range x.Triangles() {
			p, q, s := x.Corners(t)
			b.Face(b.Vertex(p), b.Vertex(q), b.Vertex(s))
		}
		out, _, err := b.Build(mesh.Options{Weld: mesh.DefaultWeld})
		if err != nil {
			panic(fmt.Sprintf("findtest: %v", err))
		}
		return out
	})
}
