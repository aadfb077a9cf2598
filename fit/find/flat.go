package find

import (
	"cmp"
	"context"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

const (
	flatSigmas = 3.5                // standard deviations that a vertex may be off its plane
	flatLean   = 35 * math.Pi / 180 // of a triangle from its plane, beyond what noise does to it
	flatSeeds  = 4                  // standard deviations that a triangle must be high to start a plane
	flatPasses = 3                  // over a face, each with the plane of the last
	lookStride = 1 << 12            // triangles between two looks at the context
)

// flats returns the flat faces of a part whose vertices have noise sigma,
// as sets of triangles: grown over neighbours by the distance of their vertices
// from the plane so far, from the triangles whose normals are known best. The
// normal of a small triangle may point anywhere and counts for little.
func flats(ctx context.Context, m *mesh.Mesh, sigma float64) ([][]int32, error) {
	g := newFlatGrower(m, sigma)
	var out [][]int32
	for i, t := range g.seeds() {
		if i%lookStride == 0 && ctx.Err() != nil {
			return nil, ctx.Err()
		}
		if g.taken[t] || !(g.height[t] > flatSeeds*sigma) {
			continue
		}
		if set := g.grow(t); len(set) >= leastRun-1 {
			out = append(out, set)
		}
	}
	return out, nil
}

type flatGrower struct {
	mesh   *mesh.Mesh
	top    *mesh.Topology
	sigma  float64
	height []float64 // least altitude of each triangle
	taken  []bool    // by a plane
	stamp  []int32   // of each vertex: the last plane that has it
	planes int32
}

func newFlatGrower(m *mesh.Mesh, sigma float64) *flatGrower {
	n := len(m.Triangles())
	g := &flatGrower{mesh: m, top: m.Topology(), sigma: sigma, height: altitudes(m), taken: make([]bool, n), stamp: make([]int32, len(m.Vertices()))}
	return g
}

// altitudes returns the least altitude of each triangle.
func altitudes(m *mesh.Mesh) []float64 {
	out := make([]float64, len(m.Triangles()))
	for t := range out {
		a, b, c := m.Corners(t)
		longest := math.Sqrt(max(r3.Norm2(r3.Sub(b, a)), r3.Norm2(r3.Sub(c, b)), r3.Norm2(r3.Sub(a, c))))
		if longest > 0 {
			out[t] = r3.Norm(m.AreaNormal(t)) / longest
		}
	}
	return out
}

// seeds lists the triangles, those with the best known normals first.
func (g *flatGrower) seeds() []int32 {
	order := make([]int32, len(g.height))
	for i := range order {
		order[i] = int32(i)
	}
	slices.SortStableFunc(order, func(a, b int32) int { return cmp.Compare(g.height[b], g.height[a]) })
	return order
}

// grow returns the triangles round t that lie in one plane.
func (g *flatGrower) grow(t int32) []int32 {
	g.planes++
	p := planeSum{}
	normal := r3.Unit(g.mesh.AreaNormal(int(t)))
	at, _, _ := g.mesh.Corners(int(t))
	set := []int32{t}
	g.taken[t] = true
	g.count(&p, t)
	refit := 8
	for range flatPasses {
		before := len(set)
		for i := 0; i < len(set); i++ {
			for _, e := range g.top.TriEdges[set[i]] {
				u := int32(g.top.Opposite(int(set[i]), int(e)))
				if u < 0 || g.taken[u] || !g.fits(u, at, normal) {
					continue
				}
				g.taken[u] = true
				set = append(set, u)
				g.count(&p, u)
				if p.n >= refit {
					refit = 2 * p.n
					at, normal = p.near(at, normal)
				}
			}
		}
		if len(set) == before || p.n < 4 {
			break
		}
		at, normal = p.near(at, normal)
	}
	slices.Sort(set)
	return set
}

// count adds the vertices of t that the plane does not have yet.
func (g *flatGrower) count(p *planeSum, t int32) {
	for _, v := range g.mesh.Triangles()[t] {
		if g.stamp[v] != g.planes {
			g.stamp[v] = g.planes
			p.add(g.mesh.Vertices()[v])
		}
	}
}

func (g *flatGrower) fits(t int32, at, normal r3.Vec) bool {
	a, b, c := g.mesh.Corners(int(t))
	limit := flatSigmas * g.sigma
	for _, q := range [3]r3.Vec{a, b, c} {
		if !(math.Abs(r3.Dot(normal, r3.Sub(q, at))) <= limit) {
			return false
		}
	}
	lean := flatLean + math.Atan2(3*g.sigma, g.height[t])
	return angle(normal, g.mesh.AreaNormal(int(t))) < lean
}

// planeSum gathers points for the plane that fits them best.
type planeSum struct {
	n                      int
	base                   r3.Vec // the first point, so that sums stay small
	sum                    r3.Vec
	xx, xy, xz, yy, yz, zz float64
}

func (s *planeSum) add(p r3.Vec) {
	if s.n == 0 {
		s.base = p
	}
	s.n++
	d := r3.Sub(p, s.base)
	s.sum = r3.Add(s.sum, d)
	s.xx, s.xy, s.xz = s.xx+d.X*d.X, s.xy+d.X*d.Y, s.xz+d.X*d.Z
	s.yy, s.yz, s.zz = s.yy+d.Y*d.Y, s.yz+d.Y*d.Z, s.zz+d.Z*d.Z
}

// near returns the plane of the points, or the one given where they have none.
func (s *planeSum) near(at, normal r3.Vec) (r3.Vec, r3.Vec) {
	if c, n, ok := s.plane(normal); ok {
		return c, n
	}
	return at, normal
}

// plane returns the centroid and the normal of the plane, to the side of like.
func (s *planeSum) plane(like r3.Vec) (at, normal r3.Vec, ok bool) {
	w := 1 / float64(s.n)
	c := r3.Scale(w, s.sum)
	sym := mat.NewSymDense(3, []float64{
		s.xx*w - c.X*c.X, s.xy*w - c.X*c.Y, s.xz*w - c.X*c.Z,
		0, s.yy*w - c.Y*c.Y, s.yz*w - c.Y*c.Z,
		0, 0, s.zz*w - c.Z*c.Z,
	})
	var e mat.EigenSym
	if !e.Factorize(sym, true) {
		return at, normal, false
	}
	var v mat.Dense
	e.VectorsTo(&v)
	n := r3.Vec{X: v.At(0, 0), Y: v.At(1, 0), Z: v.At(2, 0)}
	if r3.Dot(n, like) < 0 {
		n = r3.Scale(-1, n)
	}
	return r3.Add(s.base, c), n, e.Values(nil)[1] > 0
}
