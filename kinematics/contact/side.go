package contact

import (
	"context"
	"math"
	"sync"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

// The features of a triangle that can newly come into contact by turning:
// bits 0-2 its corners, 3-5 its edges, 6 its face.
const (
	cornerBit = 1 << 0
	edgeBit   = 1 << 3
	faceBit   = 1 << 6
)

// side is one body in the axis frame, with bounds about the axis over the
// nodes of the mesh's own hierarchy. It does not change once built.
type side struct {
	body      int // index into the caller's slice
	mesh      *mesh.Mesh
	frame     *axisFrame // in the coordinates of the mesh
	motion    motion
	points    []r3.Vec
	whole     crate // round all points
	tris      [][3]int32
	normal    []r3.Vec // unit, outward; zero for a triangle too thin to have one
	closed    bool     // every edge has two triangles that agree about outside
	insideOut bool     // closed, but with outside and inside the wrong way round

	nodes  []mesh.BVHNode
	order  []int32
	box    []sector  // of each triangle, in the order of order
	bounds []sector  // of each node
	live   []bool    // of each node: holds a triangle with active features
	sag    []float32 // of each node: the largest sagitta inside
	round  []int32   // of each node: the turned patch it belongs to, or -1

	active []uint8 // per triangle, the feature bits above
	surface

	// Worked out when first needed:
	patches func() []int32   // per triangle
	extents func() *extents  // of the patches
	crates  func() []crate   // per node
	shells  func() [][]int32 // triangles of the connected pieces
	bows    func() []float32 // per facet
}

// newSide transforms a body and bounds its triangles; tolerance is in
// axis-frame units. It returns ctx.Err() as soon as ctx is done.
func newSide(
	ctx context.Context, body int, m *mesh.Mesh, f *axisFrame, by motion, tolerance float64,
) (*side, error) {
	s := &side{body: body, mesh: m, frame: f, motion: by, tris: m.Triangles()}
	s.bows = sync.OnceValue(func() []float32 { return findBows(s) })
	s.crates = sync.OnceValue(func() []crate { return findCrates(s) })
	s.shells = sync.OnceValue(func() [][]int32 { return findShells(m) })
	s.patches = sync.OnceValue(func() []int32 { return growPatches(s) })
	c := &cylindrical{}
	s.extents = sync.OnceValue(func() *extents { return findExtents(s) })
	for _, step := range []func(){
		func() { m.Topology() },
		func() { m.BVH() },
		func() { s.place(c) },
		s.orient,
		s.findNormals,
		func() { c.findSectors(s) },
		func() { s.findCarried(c, tolerance) },
		func() { s.active = activeFeatures(s, c, tolerance) },
		func() { s.bound(c) },
	} {
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		step()
	}
	return s, nil
}

// vertexIn returns vertex v in the coordinates of b's mesh.
func (s *side) vertexIn(b *side, v int32) r3.Vec {
	if s.frame == b.frame {
		return s.mesh.Vertices()[v]
	}
	return b.frame.model(s.points[v])
}

// place expresses the vertices in the axis frame.
func (s *side) place(c *cylindrical) {
	vertices := s.mesh.Vertices()
	s.points = make([]r3.Vec, len(vertices))
	c.radius, c.azimuth = make([]float64, len(vertices)), make([]float64, len(vertices))
	inf := math.Inf(1)
	lo, hi := r3.Vec{X: inf, Y: inf, Z: inf}, r3.Vec{X: -inf, Y: -inf, Z: -inf}
	for i, v := range vertices {
		p := s.frame.local(v)
		lo = r3.Vec{X: min(lo.X, p.X), Y: min(lo.Y, p.Y), Z: min(lo.Z, p.Z)}
		hi = r3.Vec{X: max(hi.X, p.X), Y: max(hi.Y, p.Y), Z: max(hi.Z, p.Z)}
		s.points[i] = p
		c.radius[i], c.azimuth[i] = radius(p), math.Atan2(p.Y, p.X)
	}
	s.whole = crateBetween(lo, hi)
}

// radius returns the distance of p from the axis. Lengths are about 1, so the
// squares neither overflow nor vanish.
func radius(p r3.Vec) float64 { return math.Sqrt(p.X*p.X + p.Y*p.Y) }

// cylindrical holds the vertices' distances from the axis and azimuths, and
// the triangles' sectors.
type cylindrical struct {
	radius, azimuth []float64
	sectors         []sector
}

func (c *cylindrical) findSectors(s *side) {
	c.sectors = make([]sector, len(s.tris))
	for t, v := range s.tris {
		p := s.corners(int32(t))
		if s.motion.slides() {
			c.sectors[t] = triangleBox(&p)
			continue
		}
		r := [3]float64{c.radius[v[0]], c.radius[v[1]], c.radius[v[2]]}
		a := [3]float64{c.azimuth[v[0]], c.azimuth[v[1]], c.azimuth[v[2]]}
		c.sectors[t] = triangleSector(&p, &r, &a)
	}
}

// orient finds out whether the body is closed and which way round it is: a
// solid with a negative volume is inside out.
func (s *side) orient() {
	top := s.mesh.Topology()
	s.closed = true
	for e := range top.EdgeVerts {
		if !top.Consistent(e) {
			s.closed = false
			return
		}
	}
	volume := 0.0
	for t := range s.tris {
		p := s.corners(int32(t))
		volume += r3.Dot(p[0], r3.Cross(p[1], p[2]))
	}
	s.insideOut = volume < 0
}

// findNormals computes unit normals. A triangle lower than 1e-12 has none: its
// face adds nothing to its edges.
func (s *side) findNormals() {
	const lowest = 1e-12
	s.normal = make([]r3.Vec, len(s.tris))
	for t := range s.tris {
		p := s.corners(int32(t))
		u, v, w := r3.Sub(p[1], p[0]), r3.Sub(p[2], p[1]), r3.Sub(p[0], p[2])
		n := r3.Cross(u, v)
		length := r3.Norm(n)
		longest := math.Sqrt(max(r3.Norm2(u), r3.Norm2(v), r3.Norm2(w)))
		if length > lowest*longest {
			s.normal[t] = r3.Scale(1/length, n)
			if s.insideOut {
				s.normal[t] = r3.Scale(-1, s.normal[t])
			}
		}
	}
}

// corners returns the corners of triangle t in the axis frame.
func (s *side) corners(t int32) [3]r3.Vec {
	v := &s.tris[t]
	return [3]r3.Vec{s.points[v[0]], s.points[v[1]], s.points[v[2]]}
}

// bound fits the triangles' sectors and joins them up the hierarchy.
func (s *side) bound(c *cylindrical) {
	h := s.mesh.BVH()
	s.nodes, s.order = h.Nodes, h.Order
	s.box = make([]sector, len(s.order))
	for i, t := range s.order {
		s.box[i] = c.sectors[t]
	}
	s.bounds = make([]sector, len(s.nodes))
	s.live = make([]bool, len(s.nodes))
	s.sag = make([]float32, len(s.nodes))
	s.round = make([]int32, len(s.nodes))
	for i := len(s.nodes) - 1; i >= 0; i-- {
		n := &s.nodes[i]
		if n.Count == 0 {
			l, r := i+1, int(n.Right)
			s.bounds[i] = s.motion.union(&s.bounds[l], &s.bounds[r])
			s.live[i] = s.live[l] || s.live[r]
			s.sag[i] = max(s.sag[l], s.sag[r])
			s.round[i] = common(s.round[l], s.round[r])
			continue
		}
		s.boundLeaf(i, n)
	}
}

func (s *side) boundLeaf(i int, n *mesh.BVHNode) {
	b := s.box[n.First]
	s.round[i] = s.turned[s.order[n.First]]
	for k := n.First; k < n.First+n.Count; k++ {
		t := s.order[k]
		if k > n.First {
			b = s.motion.union(&b, &s.box[k])
		}
		s.live[i] = s.live[i] || s.active[t] != 0
		s.sag[i] = max(s.sag[i], s.sagitta[t])
		s.round[i] = common(s.round[i], s.turned[t])
	}
	s.bounds[i] = b
}

func common(a, b int32) int32 {
	if a == b {
		return a
	}
	return -1
}
