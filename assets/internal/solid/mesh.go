package solid

// Mesh is one or more closed shells of polygons.
type Mesh struct {
	Vertices []Vec
	Faces    [][]int32 // counter-clockwise seen from outside
}

// Join adds the shells of o, whose coordinates are those of the frame at.
func (m *Mesh) Join(o Mesh, at Frame) {
	base := int32(len(m.Vertices))
	for _, v := range o.Vertices {
		m.Vertices = append(m.Vertices, at.At(v))
	}
	for _, f := range o.Faces {
		g := make([]int32, len(f))
		for i, v := range f {
			g[i] = base + v
		}
		m.Faces = append(m.Faces, g)
	}
}

func (m *Mesh) vertex(v Vec) int32 {
	m.Vertices = append(m.Vertices, v)
	return int32(len(m.Vertices) - 1)
}

func (m *Mesh) face(v ...int32) { m.Faces = append(m.Faces, v) }

// ring adds a closed loop of vertices and returns their indexes.
func (m *Mesh) ring(points []Vec) []int32 {
	r := make([]int32, len(points))
	for i, p := range points {
		r[i] = m.vertex(p)
	}
	return r
}

// band joins two loops of equal count by quads. Seen from outside, loop b lies
// to the left of the walk along a.
func (m *Mesh) band(a, b []int32) {
	for i := range a {
		j := (i + 1) % len(a)
		m.face(a[i], a[j], b[j], b[i])
	}
}

func reversed(r []int32) []int32 {
	out := make([]int32, len(r))
	for i, v := range r {
		out[len(r)-1-i] = v
	}
	return out
}

// Triangles returns the number of triangles the faces are cut into.
func (m *Mesh) Triangles() int {
	n := 0
	for _, f := range m.Faces {
		n += len(f) - 2
	}
	return n
}

// Area returns the surface in square millimetres, hidden parts included.
func (m *Mesh) Area() float64 {
	var sum float64
	for _, f := range m.Faces {
		sum += m.AreaVector(f).Norm()
	}
	return sum
}

// AreaVector returns the normal of a face with a length equal to its area.
func (m *Mesh) AreaVector(f []int32) Vec {
	var n Vec
	o := m.Vertices[f[0]]
	for i := 1; i+1 < len(f); i++ {
		n = n.Add(m.Vertices[f[i]].Sub(o).Cross(m.Vertices[f[i+1]].Sub(o)))
	}
	return n.Mul(0.5)
}

// Volume returns the enclosed volume in cubic millimetres; where shells
// overlap it counts twice.
func (m *Mesh) Volume() float64 {
	var sum float64
	for _, f := range m.Faces {
		sum += m.Vertices[f[0]].Dot(m.AreaVector(f)) / 3
	}
	return sum
}

// Bounds returns the corners of the box round all vertices.
func (m *Mesh) Bounds() (lo, hi Vec) {
	for i, v := range m.Vertices {
		if i == 0 {
			lo, hi = v, v
		}
		lo = Vec{min(lo.X, v.X), min(lo.Y, v.Y), min(lo.Z, v.Z)}
		hi = Vec{max(hi.X, v.X), max(hi.Y, v.Y), max(hi.Z, v.Z)}
	}
	return lo, hi
}
