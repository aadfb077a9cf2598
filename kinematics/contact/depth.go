package contact

import (
	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

const (
	// maxInside is how many vertices inside the other body are measured for a
	// depth, and maxProbes how many are looked at to find them.
	maxInside = 512
	maxProbes = 8 * maxInside
)

// overlapDepth returns how deep the vertices of either body reach into the
// other around the overlapping triangles of a group, in model units: the
// largest distance from the other's surface of a vertex inside it. Vertices
// are followed over edges from the overlap on, up to a limit.
func (s *Scene) overlapDepth(g group) float64 {
	m, k := s.moving[g[0].pair.moving], s.still[g[0].pair.still]
	var movingTris, stillTris []int32
	for _, x := range g {
		for _, p := range x.seeds {
			movingTris, stillTris = append(movingTris, p[0]), append(stillTris, p[1])
		}
	}
	return max(floodDepth(m, movingTris, k), floodDepth(k, stillTris, m))
}

// floodDepth follows the vertices of a that lie inside b, from the corners of
// the given triangles on, and returns the largest distance from b's surface.
func floodDepth(sa *side, tris []int32, sb *side) float64 {
	if !sb.closed {
		return 0
	}
	a, b := sa.mesh, sb.mesh
	top := a.Topology()
	seen := make(map[int32]bool)
	var queue []int32
	push := func(v int32) {
		if !seen[v] && len(seen) < maxProbes {
			seen[v] = true
			if sb.holds(sa.vertexIn(sb, v)) {
				queue = append(queue, v)
			}
		}
	}
	for _, t := range tris {
		for _, v := range a.Triangles()[t] {
			push(v)
		}
	}
	deepest := 0.0
	for head := 0; head < len(queue) && head < maxInside; head++ {
		v := queue[head]
		_, _, d := b.BVH().Closest(sa.vertexIn(sb, v))
		deepest = max(deepest, d)
		for _, e := range top.VertexEdges(int(v)) {
			ends := top.EdgeVerts[e]
			push(ends[0] + ends[1] - v)
		}
	}
	return deepest
}

// findShells lists the triangles of the connected pieces of a mesh.
func findShells(m *mesh.Mesh) [][]int32 {
	label, n := m.Topology().Shells()
	tris := make([][]int32, n)
	for t, l := range label {
		tris[l] = append(tris[l], int32(t))
	}
	return tris
}

// holds reports whether p, in the coordinates of the mesh, lies inside the closed body: rays
// from it leave through the back of the first triangle they meet. The majority
// of three odd directions decides, should one run along an edge.
func (s *side) holds(p r3.Vec) bool {
	b := s.mesh.Bounds()
	if p.X < b.Min.X || p.Y < b.Min.Y || p.Z < b.Min.Z || p.X > b.Max.X || p.Y > b.Max.Y || p.Z > b.Max.Z {
		return false
	}
	votes := 0
	for _, d := range [3]r3.Vec{{X: 0.613, Y: 0.377, Z: 0.694}, {X: -0.441, Y: 0.829, Z: -0.345}, {X: 0.271, Y: -0.563, Z: 0.781}} {
		if t, _, ok := s.mesh.BVH().Ray(p, d); ok && r3.Dot(s.mesh.AreaNormal(t), d) > 0 != s.insideOut {
			votes++
		}
	}
	return votes >= 2
}

// findInside reports bodies, or shells of them, that lie wholly inside the
// other body without meeting its surface. Pairs that are known to overlap are
// left alone.
func (s *Scene) findInside(list []*meeting) []Rest {
	type bodies struct{ moving, still int32 }
	known := make(map[bodies]bool)
	for _, x := range list {
		if x.kind == Overlap {
			known[bodies{x.pair.moving, x.pair.still}] = true
		}
	}
	var found []Rest
	for i, m := range s.moving {
		for j, k := range s.still {
			if known[bodies{int32(i), int32(j)}] {
				continue
			}
			if r, ok := s.shellInside(m, k, false); ok {
				found = append(found, r)
			}
			if r, ok := s.shellInside(k, m, true); ok {
				found = append(found, r)
			}
		}
	}
	return found
}

// shellInside reports the shell of a that lies deepest inside b. Swapped means
// that a is the still side.
func (s *Scene) shellInside(a, b *side, swapped bool) (Rest, bool) {
	if !b.closed || crateGap(&a.whole, &b.whole) > 0 {
		return Rest{}, false
	}
	best, ok := Rest{Kind: Overlap, Ignored: true, Moving: a.body, Still: b.body}, false
	if swapped {
		best.Moving, best.Still = b.body, a.body
	}
	for _, tris := range a.shells() {
		depth, at, tri, in := s.allInside(a, tris, b)
		if !in || ok && depth <= best.Depth {
			continue
		}
		other, _, _ := b.mesh.BVH().Closest(at)
		best.Depth, best.Point, ok = depth, s.frame.model(b.frame.local(at)), true
		best.MovingTri, best.StillTri = int(tri), other
		if swapped {
			best.MovingTri, best.StillTri = other, int(tri)
		}
	}
	return best, ok
}

// allInside reports whether some corners spread over the triangles all lie
// inside b by more than the tolerance, and the deepest of them, in the
// coordinates of b's mesh.
func (s *Scene) allInside(a *side, tris []int32, b *side) (depth float64, at r3.Vec, tri int32, in bool) {
	const probes = 24
	step := max(1, len(tris)/probes)
	for i := 0; i < len(tris); i += step {
		p := a.vertexIn(b, a.tris[tris[i]][0])
		_, _, d := b.mesh.BVH().Closest(p)
		if d <= s.tolerance/s.frame.scale || !b.holds(p) {
			return 0, r3.Vec{}, 0, false
		}
		if d > depth {
			depth, at, tri = d, p, tris[i]
		}
	}
	return depth, at, tri, true
}
