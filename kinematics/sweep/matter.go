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

// ray is a direction, (x, y, 1). Models favour upright faces, so no ray is
// upright.
type ray struct{ x, y float64 }

// rays returns rays to ask about one point.
func rays() [3]ray { return [3]ray{{0.0173, 0.0297}, {-0.0311, 0.0139}, {0.0129, -0.0237}} }

// under returns where in the plane z = 0 the line along the ray through p goes.
func (r ray) under(p r3.Vec) r3.Vec {
	return r3.Vec{X: p.X - float64(r.x*p.Z), Y: p.Y - float64(r.y*p.Z), Z: p.Z}
}

// winding returns the winding number of the closed shells about p, that is, how
// often a ray from p upward leaves material more than it enters. Neighbours
// decide alike on their common edge, so the ray passes one of them, not both.
func (m *matter) winding(p r3.Vec, along ray) int {
	n := 0
	verts, tris := m.mesh.Vertices(), m.mesh.Triangles()
	q := along.under(p)
	var stack [mesh.MaxDepth]int32
	for top := 1; top > 0; {
		top--
		i := stack[top]
		node := &m.bvh.Nodes[i]
		b := &node.Box
		if p.Z > b.Max.Z || along.misses(p, b) {
			continue
		}
		if node.Count == 0 {
			stack[top], stack[top+1] = node.Right, i+1
			top += 2
			continue
		}
		for _, t := range m.bvh.Order[node.First : node.First+node.Count] {
			if m.sign[t] != 0 {
				n += int(m.sign[t]) * leaves(verts, tris[t], q, along)
			}
		}
	}
	return n
}

// misses tells that the ray from p surely passes beside a box that does not end
// below p.
func (r ray) misses(p r3.Vec, b *r3.Box) bool {
	lo, hi := max(0, b.Min.Z-p.Z), b.Max.Z-p.Z // the way up through the box
	x0, x1 := p.X+r.x*lo, p.X+r.x*hi
	y0, y1 := p.Y+r.y*lo, p.Y+r.y*hi
	// What rounding may hide is little next to the box and the way to it.
	slack := 1e-12 * (math.Abs(p.X) + math.Abs(p.Y) + hi + math.Abs(p.Z))
	return max(x0, x1) < b.Min.X-slack || min(x0, x1) > b.Max.X+slack || max(y0, y1) < b.Min.Y-slack || min(y0, y1) > b.Max.Y+slack
}

// inside tells whether p lies in material, by the majority of three rays: in
// models made of neat numbers one ray may well run along a face.
func (m *matter) inside(p r3.Vec) bool {
	r := rays()
	a, b := m.winding(p, r[0]) != 0, m.winding(p, r[1]) != 0
	return a && b || (a || b) && m.winding(p, r[2]) != 0
}

// leaves returns +1 where the ray leaves the material behind the triangle, -1
// where it enters, 0 where it passes by. p is its origin, moved under.
func leaves(verts []r3.Vec, v [3]int32, p r3.Vec, along ray) int {
	q := [3]r3.Vec{along.under(verts[v[0]]), along.under(verts[v[1]]), along.under(verts[v[2]])}
	var left int
	var area, weighted float64
	for k := range 3 {
		l := (k + 1) % 3
		e := sideOf(v[k], v[l], q[k], q[l], p)
		if e > 0 {
			left++
		}
		area += e
		weighted += e * (q[(k+2)%3].Z - p.Z)
	}
	switch {
	case left == 3 && weighted > 0:
		return 1
	case left == 0 && area < 0 && weighted < 0:
		return -1
	}
	return 0
}

// sideOf returns twice the signed area of p over the edge from vertex a at s to
// vertex b at t, seen from above, exactly opposite for the edge from b to a.
func sideOf(a, b int32, s, t, p r3.Vec) float64 {
	sign := 1.0
	if a > b {
		s, t, sign = t, s, -1
	}
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
	case m.inside(p):
		return -d
	case tri >= 0 && m.sign[tri] == 0:
		return d - thick/2
	}
	return d
}
