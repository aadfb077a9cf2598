package find

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

// spot is a sample of one part's surface near the other part.
type spot struct {
	at, normal r3.Vec // outward
	facing     r3.Vec // normal of the other part where that is nearest, unit or zero
	gap        float64
	inside     bool // behind the other part's surface
	area       float64
	near       float64 // 1 where the parts are nearest, falling to 0
}

const (
	zoneSpots = 400   // samples of either part
	zoneBand  = 0.12  // of the smaller part's diagonal, how far from the nearest the zone reaches
	zoneFall  = 0.008 // of the same, the distance that halves the nearness
	buried    = 0.25  // share of its depth that counts for a spot inside the other part
	deepest   = 4.0   // bands behind the other part's surface that still are inside it
)

// zone samples the surface of a within reach of b, evenly by area and in the
// order of the triangles.
func zone(a, b *mesh.Mesh, gap, size float64) []spot {
	band := gap + zoneBand*size
	box := b.Bounds()
	var tris []int32
	for t := range a.Triangles() {
		if boxes(triBox(a, t), box, band) {
			tris = append(tris, int32(t))
		}
	}
	var out []spot
	sample(a, tris, zoneSpots, func(p, n r3.Vec, area float64) {
		s := spot{at: p, normal: n, area: area}
		if !s.measure(b, band) {
			return
		}
		x := s.gap
		if s.inside {
			x *= buried
		}
		x = max(0, x-gap) / (zoneFall * size)
		s.near = 1 / (1 + x*x)
		out = append(out, s)
	})
	return out
}

// measure finds how far the spot is from the other part and whether it is
// within its reach.
func (s *spot) measure(b *mesh.Mesh, band float64) bool {
	tri, q, d := b.BVH().Closest(s.at)
	if tri < 0 {
		return false
	}
	s.gap = d
	f := b.AreaNormal(tri)
	if l := r3.Norm(f); l > 0 {
		s.facing = r3.Scale(1/l, f)
	}
	s.inside = r3.Dot(r3.Sub(s.at, q), s.facing) < 0
	return d <= band || s.inside && d < deepest*band
}

// onTriangle is the k-th of a sequence of points spread evenly over triangles
// (M. Roberts, The Unreasonable Effectiveness of Quasirandom Sequences, 2018).
func onTriangle(m *mesh.Mesh, t, k int) r3.Vec {
	a, b, c := m.Corners(t)
	frac := func(x float64) float64 { return x - math.Floor(x) }
	u, v := frac(0.5+float64(k)*0.7548776662466927), frac(0.5+float64(k)*0.5698402909980532)
	if u+v > 1 {
		u, v = 1-u, 1-v
	}
	return r3.Add(a, r3.Add(r3.Scale(u, r3.Sub(b, a)), r3.Scale(v, r3.Sub(c, a))))
}

func triBox(m *mesh.Mesh, t int) r3.Box {
	a, b, c := m.Corners(t)
	return r3.Box{
		Min: r3.Vec{X: min(a.X, b.X, c.X), Y: min(a.Y, b.Y, c.Y), Z: min(a.Z, b.Z, c.Z)},
		Max: r3.Vec{X: max(a.X, b.X, c.X), Y: max(a.Y, b.Y, c.Y), Z: max(a.Z, b.Z, c.Z)},
	}
}

// boxes reports whether two boxes are closer than by.
func boxes(a, b r3.Box, by float64) bool {
	return a.Min.X <= b.Max.X+by && b.Min.X <= a.Max.X+by && a.Min.Y <= b.Max.Y+by && b.Min.Y <= a.Max.Y+by && a.Min.Z <= b.Max.Z+by && b.Min.Z <= a.Max.Z+by
}

func inBox(b r3.Box, p r3.Vec, by float64) bool {
	return boxes(b, r3.Box{Min: p, Max: p}, by)
}

// centreOf returns the middle of the near surface and its root-mean-square
// radius, 0 for none.
func centreOf(sides ...[]spot) (c r3.Vec, radius float64) {
	all := 0.0
	for _, spots := range sides {
		for _, s := range spots {
			g := s.area * s.near
			c, all = r3.Add(c, r3.Scale(g, s.at)), all+g
		}
	}
	if all == 0 {
		return c, 0
	}
	c = r3.Scale(1/all, c)
	for _, spots := range sides {
		for _, s := range spots {
			radius += s.area * s.near * r3.Norm2(r3.Sub(s.at, c))
		}
	}
	return c, math.Sqrt(radius / all)
}

func centre(m *mesh.Mesh, t int) r3.Vec {
	a, b, c := m.Corners(t)
	return r3.Scale(1./3, r3.Add(a, r3.Add(b, c)))
}
