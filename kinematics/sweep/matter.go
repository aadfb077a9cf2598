package sweep

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

// matter tells for any point whether it lies in bodies and how far from their
// surface. Material is where the winding number of the closed shells is not
// zero; open shells have no inside.
type matter struct {
	mesh    *mesh.Mesh
	bvh     *mesh.BVH
	sign    []int8 // of each triangle: -1 in bodies turned inside out, 0 in open shells
	numOpen int    // open shells
	shells  int
}

func newMatter(bodies []*mesh.Mesh) (*matter, error) {
	m := &matter{}
	for i, b := range bodies {
		if b == nil {
			return nil, fmt.Errorf("body %d is missing", i)
		}
		sign := int8(1)
		if b.Volume() < 0 {
			sign = -1
		}
		label, n := b.Topology().Shells()
		open := openShells(b, label, n)
		m.shells += n
		for _, o := range open {
			if o {
				m.numOpen++
			}
		}
		for _, l := range label {
			if open[l] {
				m.sign = append(m.sign, 0)
			} else {
				m.sign = append(m.sign, sign)
			}
		}
	}
	if len(m.sign) == 0 {
		return nil, fmt.Errorf("the moving part has no faces")
	}
	m.mesh = bodies[0]
	if len(bodies) > 1 {
		m.mesh = mesh.Join(bodies...)
	}
	m.bvh = m.mesh.BVH()
	return m, nil
}

// winding returns the winding number of the closed shells about p, that is, how
// often the ray from p upward leaves material more than it enters. Neighbours
// decide alike on their common edge, so the ray passes one of them, not both.
func (m *matter) winding(p r3.Vec) int {
	n := 0
	verts, tris := m.mesh.Vertices(), m.mesh.Triangles()
	var stack [mesh.MaxDepth]int32
	for top := 1; top > 0; {
		top--
		i := stack[top]
		node := &m.bvh.Nodes[i]
		b := &node.Box
		if p.Z > b.Max.Z || p.X < b.Min.X || p.X > b.Max.X || p.Y < b.Min.Y || p.Y > b.Max.Y {
			continue
		}
		if node.Count == 0 {
			stack[top], stack[top+1] = node.Right, i+1
			top += 2
			continue
		}
		for _, t := range m.bvh.Order[node.First : node.First+node.Count] {
			if m.sign[t] != 0 {
				n += int(m.sign[t]) * leaves(verts, tris[t], p)
			}
		}
	}
	return n
}

// leaves returns +1 where the ray from p upward leaves the material behind the
// triangle, -1 where it enters, 0 where it passes by.
func leaves(verts []r3.Vec, v [3]int32, p r3.Vec) int {
	var left int
	var area, weighted float64
	for k := range 3 {
		e := sideOf(verts, v[k], v[(k+1)%3], p)
		if e > 0 {
			left++
		}
		area += e
		weighted += e * (verts[v[(k+2)%3]].Z - p.Z)
	}
	switch {
	case left == 3 && weighted > 0:
		return 1
	case left == 0 && area < 0 && weighted < 0:
		return -1
	}
	return 0
}

// sideOf returns twice the signed area of p over the edge from a to b, seen
// from above, exactly opposite for the edge from b to a.
func sideOf(verts []r3.Vec, a, b int32, p r3.Vec) float64 {
	sign := 1.0
	if a > b {
		a, b, sign = b, a, -1
	}
	s, t := verts[a], verts[b]
	e := float64((t.X-s.X)*(p.Y-s.Y)) - float64((t.Y-s.Y)*(p.X-s.X))
	if e == 0 {
		e = -math.SmallestNonzeroFloat64 // on the line counts as right of the edge from the lower vertex
	}
	return sign * e
}

// signed returns the distance of p from the surface, negative within material.
// Sheets are as thick as given, half to each side.
func (m *matter) signed(p r3.Vec, thick float64) float64 {
	tri, _, d := m.bvh.Closest(p)
	switch {
	case m.winding(p) != 0:
		return -d
	case tri >= 0 && m.sign[tri] == 0:
		return d - thick/2
	}
	return d
}
