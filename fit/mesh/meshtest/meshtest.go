// Package meshtest makes meshes of simple solids for tests: closed, outward
// oriented, with quads and cap polygons kept, their vertices on the ideal
// surface to rounding. Every maker takes maps that its points go through in
// turn, such as a rigid motion's Apply; one that mirrors turns the mesh inside
// out. Makers panic on sizes that make no solid.
package meshtest

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

type maker struct {
	mesh.Builder
	move []func(r3.Vec) r3.Vec
}

func (m *maker) at(x, y, z float64) int32 {
	p := r3.Vec{X: x, Y: y, Z: z}
	for _, f := range m.move {
		p = f(p)
	}
	return m.Vertex(p)
}

func (m *maker) done() *mesh.Mesh {
	out, _, err := m.Build(mesh.Options{Weld: -1})
	if err != nil {
		panic(err)
	}
	return out
}

func need(ok bool, what string, args ...any) {
	if !ok {
		panic("meshtest: " + fmt.Sprintf(what, args...))
	}
}

// ring adds n vertices on a circle about the z axis, the first at angle 0.
func (m *maker) ring(radius, z float64, n int) []int32 {
	v := make([]int32, n)
	for i := range v {
		s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		v[i] = m.at(radius*c, radius*s, z)
	}
	return v
}

// band adds the quads between two rings, outward if b is above a.
func (m *maker) band(a, b []int32) {
	for i := range a {
		j := (i + 1) % len(a)
		m.Face(a[i], a[j], b[j], b[i])
	}
}

// cap closes a ring with one polygon.
func (m *maker) cap(ring []int32, up bool) {
	f := append([]int32(nil), ring...)
	if !up {
		for i, j := 0, len(f)-1; i < j; i, j = i+1, j-1 {
			f[i], f[j] = f[j], f[i]
		}
	}
	m.Face(f...)
}

// Box returns an axis-aligned box with 8 vertices and 6 quads.
func Box(lo, hi r3.Vec, move ...func(r3.Vec) r3.Vec) *mesh.Mesh {
	need(lo.X < hi.X && lo.Y < hi.Y && lo.Z < hi.Z, "box from %v to %v", lo, hi)
	m := &maker{move: move}
	for _, z := range [2]float64{lo.Z, hi.Z} {
		m.at(lo.X, lo.Y, z)
		m.at(hi.X, lo.Y, z)
		m.at(hi.X, hi.Y, z)
		m.at(lo.X, hi.Y, z)
	}
	m.Face(3, 2, 1, 0)
	m.Face(4, 5, 6, 7)
	for i := range int32(4) {
		j := (i + 1) % 4
		m.Face(i, j, j+4, i+4)
	}
	return m.done()
}

// Grid returns the plane sheet 0..x, 0..y at z = 0, normal +z, of nx by ny
// quads. Vertex i + j*(nx+1) is at column i, row j.
func Grid(x, y float64, nx, ny int, move ...func(r3.Vec) r3.Vec) *mesh.Mesh {
	need(x > 0 && y > 0 && nx > 0 && ny > 0, "grid %v x %v with %d x %d quads", x, y, nx, ny)
	m := &maker{move: move}
	for j := range ny + 1 {
		for i := range nx + 1 {
			m.at(x*float64(i)/float64(nx), y*float64(j)/float64(ny), 0)
		}
	}
	for j := range ny {
		for i := range nx {
			a := int32(i + j*(nx+1))
			m.Face(a, a+1, a+int32(nx)+2, a+int32(nx)+1)
		}
	}
	return m.done()
}

// Cylinder returns a cylinder about the z axis from z0 up to z1 with n segments
// round and rings bands along. If capped, two n-gons close it. Vertex i + k*n
// is segment i of ring k, counted from z0.
func Cylinder(radius, z0, z1 float64, n, rings int, capped bool, move ...func(r3.Vec) r3.Vec) *mesh.Mesh {
	return Frustum(radius, radius, z0, z1, n, rings, capped, move...)
}

// Frustum is Cylinder with its own radius at either end.
func Frustum(r0, r1, z0, z1 float64, n, rings int, capped bool, move ...func(r3.Vec) r3.Vec) *mesh.Mesh {
	need(r0 > 0 && r1 > 0 && z0 < z1 && n > 2 && rings > 0, "frustum r %v, %v, z %v..%v, n %d, rings %d", r0, r1, z0, z1, n, rings)
	m := &maker{move: move}
	var below []int32
	for k := range rings + 1 {
		t := float64(k) / float64(rings)
		ring := m.ring(r0+t*(r1-r0), z0+t*(z1-z0), n)
		if k == 0 && capped {
			m.cap(ring, false)
		}
		if k > 0 {
			m.band(below, ring)
		}
		below = ring
	}
	if capped {
		m.cap(below, true)
	}
	return m.done()
}

// Cone returns a cone about the z axis: radius at z0, apex at z1 > z0, n
// segments, rings bands, the last of triangles. If capped, an n-gon closes the
// base.
func Cone(radius, z0, z1 float64, n, rings int, capped bool, move ...func(r3.Vec) r3.Vec) *mesh.Mesh {
	need(radius > 0 && z0 < z1 && n > 2 && rings > 0, "cone r %v, z %v..%v, n %d, rings %d", radius, z0, z1, n, rings)
	m := &maker{move: move}
	below := m.ring(radius, z0, n)
	if capped {
		m.cap(below, false)
	}
	for k := 1; k < rings; k++ {
		t := float64(k) / float64(rings)
		ring := m.ring(radius*(1-t), z0+t*(z1-z0), n)
		m.band(below, ring)
		below = ring
	}
	m.fan(below, m.at(0, 0, z1), true)
	return m.done()
}

// fan joins a ring to a pole above or below it.
func (m *maker) fan(ring []int32, pole int32, up bool) {
	for i := range ring {
		a, b := ring[i], ring[(i+1)%len(ring)]
		if !up {
			a, b = b, a
		}
		m.Face(a, b, pole)
	}
}

// Sphere returns a sphere about the origin with n meridians and bands bands
// between the poles on the z axis; the two outer bands are triangles.
func Sphere(radius float64, n, bands int, move ...func(r3.Vec) r3.Vec) *mesh.Mesh {
	need(radius > 0 && n > 2 && bands > 1, "sphere r %v, n %d, bands %d", radius, n, bands)
	m := &maker{move: move}
	var below []int32
	for k := 1; k < bands; k++ {
		s, c := math.Sincos(math.Pi * float64(k) / float64(bands))
		ring := m.ring(radius*s, -radius*c, n)
		if k > 1 {
			m.band(below, ring)
		} else {
			m.fan(ring, m.at(0, 0, -radius), false)
		}
		below = ring
	}
	m.fan(below, m.at(0, 0, radius), true)
	return m.done()
}

// Torus returns a torus about the z axis: centre circle of the given radius,
// tube of radius tube, n segments round the axis, k round the tube. Vertex i +
// j*n is at turn i round the axis and j round the tube.
func Torus(radius, tube float64, n, k int, move ...func(r3.Vec) r3.Vec) *mesh.Mesh {
	need(tube > 0 && radius > tube && n > 2 && k > 2, "torus r %v, tube %v, n %d, k %d", radius, tube, n, k)
	m := &maker{move: move}
	rings := make([][]int32, k)
	for j := range rings {
		s, c := math.Sincos(2 * math.Pi * float64(j) / float64(k))
		rings[j] = m.ring(radius+tube*c, tube*s, n)
	}
	for j := range rings {
		m.band(rings[j], rings[(j+1)%k])
	}
	return m.done()
}

// Triangulated returns the mesh with every triangle a polygon of its own, as a
// format that knows only triangles would deliver it.
func Triangulated(m *mesh.Mesh) *mesh.Mesh {
	b := mesh.NewBuilder()
	for _, p := range m.Vertices() {
		b.Vertex(p)
	}
	for _, t := range m.Triangles() {
		b.Face(t[0], t[1], t[2])
	}
	out, _, err := b.Build(mesh.Options{Weld: -1})
	if err != nil {
		panic(err)
	}
	return out
}
