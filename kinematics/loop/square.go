package loop

import (
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
	"pintle/kinematics"
)

// squared is a body's mesh in axes of its own.
type squared struct {
	mesh *mesh.Mesh
	own  kinematics.Transform // from those axes to the model's, as modelled
}

// body returns a body in axes along which most of its surface lies: boxes round
// its faces then are small, however the model stands in the world.
func (x *meet) body(i int) *squared {
	if x.squared[i] == nil {
		x.squared[i] = square(x.bodies[i].Mesh)
	}
	return x.squared[i]
}

func square(m *mesh.Mesh) *squared {
	scatter := mat.NewSymDense(3, nil)
	for t := range m.Triangles() {
		n := m.AreaNormal(t)
		size := r3.Norm(n)
		if size == 0 {
			continue
		}
		v := [3]float64{n.X, n.Y, n.Z}
		for r := range 3 {
			for c := r; c < 3; c++ {
				scatter.SetSym(r, c, scatter.At(r, c)+v[r]*v[c]/size)
			}
		}
	}
	plain := &squared{mesh: m, own: kinematics.Identity()}
	var eigen mat.EigenSym
	if !eigen.Factorize(scatter, true) {
		return plain
	}
	var v mat.Dense
	eigen.VectorsTo(&v)
	col := func(c int) r3.Vec { return r3.Vec{X: v.At(0, c), Y: v.At(1, c), Z: v.At(2, c)} }
	own := kinematics.Transform{X: col(0), Y: col(1)}
	own.Z = r3.Cross(own.X, own.Y)
	b := m.Bounds()
	own.T = r3.Scale(0.5, r3.Add(b.Min, b.Max))
	back := own.Inverse()
	builder := mesh.NewBuilder()
	for _, p := range m.Vertices() {
		builder.Vertex(back.Apply(p))
	}
	for _, t := range m.Triangles() {
		builder.Face(t[0], t[1], t[2])
	}
	turned, _, err := builder.Build(mesh.Options{Weld: -1})
	if err != nil {
		return plain
	}
	return &squared{mesh: turned, own: own}
}
