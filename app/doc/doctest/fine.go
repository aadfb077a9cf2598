package doctest

import (
	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

// Fine returns the model with each triangle cut into n*n equal ones: more to
// measure, and the same answers. It panics where n is not positive.
func Fine(m *mesh.Model, n int) *mesh.Model {
	if n < 1 {
		panic("doctest: a triangle cut into none")
	}
	out := &mesh.Model{Unit: m.Unit, Up: m.Up}
	for _, p := range m.Parts {
		b := mesh.NewBuilder()
		for t := range p.Mesh.Triangles() {
			x, y, z := p.Mesh.Corners(t)
			cut(b, n, x, y, z)
		}
		built, _, err := b.Build(mesh.Options{Weld: mesh.DefaultWeld})
		if err != nil {
			panic(err) // its faces are sound
		}
		out.Parts = append(out.Parts, mesh.Part{Name: p.Name, Mesh: built})
	}
	return out
}

func cut(b *mesh.Builder, n int, x, y, z r3.Vec) {
	at := func(i, k int) int32 {
		u, v := float64(i)/float64(n), float64(k)/float64(n)
		return b.Vertex(r3.Add(r3.Scale(1-u-v, x), r3.Add(r3.Scale(u, y), r3.Scale(v, z))))
	}
	for i := range n {
		for k := range n - i {
			b.Face(at(i, k), at(i+1, k), at(i, k+1))
			if i+k < n-1 {
				b.Face(at(i+1, k), at(i+1, k+1), at(i, k+1))
			}
		}
	}
}
