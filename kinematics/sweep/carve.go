package sweep

import (
	"context"
	"fmt"
	"math"
	"sync/atomic"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

// CarveOptions guide Carve. The zero value is ready to use.
type CarveOptions struct {
	// Tolerance is how deep a still part may lie in the envelope without counting,
	// in model units; what tessellated rounds need comes on top. 0 means half the
	// envelope's deviation, but at least a millionth of its diagonal.
	Tolerance float64
	// Progress, if not nil, hears how far the work is, from 0 to 1.
	Progress func(done float64, what string)
}

// Carving is where still parts reach into an envelope: the place to carve.
type Carving struct {
	Parts     []Carved // of each still part, in order
	Mesh      *mesh.Mesh
	Area      float64 // of all parts
	Depth     float64 // largest of all parts
	Tolerance float64 // that was used
}

// Carved is where one still part reaches into an envelope.
type Carved struct {
	// Triangles are those of the part that lie inside, all or in part, in rising
	// order.
	Triangles []int32
	// Mesh is what of these lies inside, nil where nothing does.
	Mesh *mesh.Mesh
	Area float64 // of Mesh
	// Depth is how far the part's surface reaches into the envelope, to within
	// Resolution, and Deepest is where.
	Depth      float64
	Deepest    r3.Vec
	Resolution float64
	// AtRest is the part's area that touches or lies in the moving part as
	// modelled and needs no carving for it, as with pins in bores or overlapping
	// hubs, and RestDepth how deep it lies in that.
	AtRest    float64
	RestDepth float64
}

// Carve finds where the surfaces of still parts lie inside an envelope. What
// lies in the moving part as modelled, and what touches it and reaches no deeper
// into the envelope, is no place to carve: overlapping hubs, parts that are
// fastened through one another, flush faces, mating surfaces of revolution,
// however they are tessellated. It is told apart in AtRest. moving may be empty.
//
// A part that lies inside with its volume but with no face, because the
// envelope lies wholly inside the part, has nothing to show. It fails on
// missing meshes, on a tolerance that is no length, and when ctx ends.
func Carve(ctx context.Context, e Envelope, moving, still []*mesh.Mesh, o CarveOptions) (Carving, error) {
	c, err := newCarver(e, moving, o)
	if err != nil {
		return Carving{}, fmt.Errorf("seeking where to carve: %w", err)
	}
	out := Carving{Parts: make([]Carved, len(still)), Tolerance: c.tolerance}
	var patches []*mesh.Mesh
	for i, s := range still {
		if s == nil {
			return Carving{}, fmt.Errorf("seeking where to carve: still part %d is missing", i)
		}
		if out.Parts[i], err = c.part(ctx, s); err != nil {
			return Carving{}, fmt.Errorf("seeking where to carve: %w", err)
		}
		p := &out.Parts[i]
		out.Area += p.Area
		out.Depth = max(out.Depth, p.Depth)
		if p.Mesh != nil {
			patches = append(patches, p.Mesh)
		}
		if o.Progress != nil {
			o.Progress(float64(i+1)/float64(len(still)), "seeking where to carve")
		}
	}
	if len(patches) > 0 {
		out.Mesh = mesh.Join(patches...)
	}
	return out, nil
}

// carver finds what of still parts lies in an envelope.
type carver struct {
	swept     *matter
	rest      *matter // nil where nothing moves
	bounds    r3.Box
	tolerance float64
	fine      float64 // pieces of faces are divided down to this size
	sagittas  []float64
}

func newCarver(e Envelope, moving []*mesh.Mesh, o CarveOptions) (*carver, error) {
	if e.Mesh == nil || len(e.Mesh.Triangles()) == 0 {
		return nil, fmt.Errorf("the envelope has no mesh")
	}
	if !(o.Tolerance >= 0) || math.IsInf(o.Tolerance, 0) {
		return nil, fmt.Errorf("tolerance %g: give a length, or 0 for the default", o.Tolerance)
	}
	c := &carver{bounds: e.Mesh.Bounds(), tolerance: o.Tolerance}
	diagonal := e.Mesh.Diagonal()
	if c.tolerance == 0 {
		c.tolerance = max(e.Deviation/2, 1e-6*diagonal)
	}
	c.fine = max(e.Deviation/2, diagonal/1500)
	var err error
	if c.swept, err = newMatter([]*mesh.Mesh{e.Mesh}); err != nil {
		return nil, err
	}
	bodies := make([]*mesh.Mesh, 0, len(moving))
	for i, m := range moving {
		if m == nil {
			return nil, fmt.Errorf("moving part %d is missing", i)
		}
		if len(m.Triangles()) > 0 {
			bodies = append(bodies, m)
			c.sagittas = append(c.sagittas, sagittas(m)...)
		}
	}
	if len(bodies) > 0 {
		c.rest, err = newMatter(bodies)
	}
	return c, err
}

// smoothBend is the angle up to which two facets belong to one round.
const smoothBend = 40 * math.Pi / 180

// sagittas estimates how far each triangle lies inside the round that it is a
// facet of: (w/2) tan(b/4) for facets of width w that bend by b, 0 for others.
func sagittas(m *mesh.Mesh) []float64 {
	top := m.Topology()
	out := make([]float64, len(m.Triangles()))
	for t := range out {
		n := 2 * r3.Norm(m.AreaNormal(t)) // at least twice the area
		for k, e := range top.TriEdges[t] {
			bend := math.Abs(top.Dihedral(int(e)))
			if !(bend > 1e-6 && bend < smoothBend) {
				continue
			}
			v := m.Triangles()[t]
			long := r3.Norm(r3.Sub(m.Vertices()[v[(k+1)%3]], m.Vertices()[v[k]]))
			if long > 0 {
				out[t] = max(out[t], n/long/2*math.Tan(bend/4))
			}
		}
	}
	return out
}

// allowances returns for each triangle of a still part how deep it may lie in
// the envelope beyond its depth at rest: rounds that are tessellated otherwise
// than the moving part's reach into one another by the sagittas.
func (c *carver) allowances(s *mesh.Mesh) []float64 {
	own := sagittas(s)
	out := make([]float64, len(own))
	for t := range out {
		out[t] = c.tolerance + own[t]
	}
	if c.rest == nil {
		return out
	}
	most := 0.0
	for _, x := range c.sagittas {
		most = max(most, x)
	}
	for _, x := range own {
		most = max(most, x)
	}
	if most == 0 {
		return out
	}
	mesh.Pairs(c.rest.bvh, s.BVH(), c.tolerance+2*most, func(tm, ts int) bool {
		if x := c.tolerance + own[ts] + c.sagittas[tm]; x > out[ts] {
			if d, _, _ := mesh.TriangleDistance(corners(c.rest.mesh, tm), corners(s, ts)); d <= x {
				out[ts] = x
			}
		}
		return true
	})
	return out
}

func corners(m *mesh.Mesh, t int) [3]r3.Vec {
	a, b, c := m.Corners(t)
	return [3]r3.Vec{a, b, c}
}

// part carves one still part.
func (c *carver) part(ctx context.Context, s *mesh.Mesh) (Carved, error) {
	out := Carved{Resolution: c.fine}
	var near []int32
	for t := range s.Triangles() {
		if c.reaches(corners(s, t)) {
			near = append(near, int32(t))
		}
	}
	if len(near) == 0 {
		return out, nil
	}
	allowed := c.allowances(s)
	at, err := c.probeVertices(ctx, s, near, allowed)
	if err != nil {
		return out, err
	}
	const share = 64 // triangles that are worked through together
	chips := make([]chip, (len(near)+share-1)/share)
	var pool atomic.Int64 // pieces made by all, against runaway memory
	err = each(ctx, len(chips), nil, func(k int) {
		x := &chips[k]
		x.carver, x.ctx, x.made = c, ctx, &pool
		for _, t := range near[k*share : min((k+1)*share, len(near))] {
			v := s.Triangles()[t]
			x.face(t, [3]probe{at[v[0]], at[v[1]], at[v[2]]}, allowed[t])
		}
	})
	if err != nil {
		return out, err
	}
	if pool.Load() > mostPieces {
		return out, fmt.Errorf("the faces inside the envelope would take more than %d pieces at a size of %.3g; sweep at a lower resolution", int64(mostPieces), c.fine)
	}
	return gather(out, chips)
}

// probeVertices probes the corners of the given faces, of which a vertex belongs
// to several. Other vertices stay zero.
func (c *carver) probeVertices(ctx context.Context, s *mesh.Mesh, faces []int32, allowed []float64) ([]probe, error) {
	at := make([]probe, len(s.Vertices()))
	most := make([]float64, len(at)) // allowed at each vertex; 0 where no face is
	for _, t := range faces {
		for _, v := range s.Triangles()[t] {
			most[v] = max(most[v], allowed[t])
		}
	}
	const share = 512
	err := each(ctx, (len(at)+share-1)/share, nil, func(k int) {
		for v := k * share; v < min((k+1)*share, len(at)); v++ {
			if most[v] > 0 && ctx.Err() == nil {
				at[v] = c.probe(s.Vertices()[v], most[v])
			}
		}
	})
	return at, err
}

// mostPieces bounds the pieces that faces are cut into.
const mostPieces = 20_000_000

// reaches tells whether a triangle's box meets the envelope's.
func (c *carver) reaches(v [3]r3.Vec) bool {
	b := &c.bounds
	return min(v[0].X, v[1].X, v[2].X) <= b.Max.X && max(v[0].X, v[1].X, v[2].X) >= b.Min.X &&
		min(v[0].Y, v[1].Y, v[2].Y) <= b.Max.Y && max(v[0].Y, v[1].Y, v[2].Y) >= b.Min.Y &&
		min(v[0].Z, v[1].Z, v[2].Z) <= b.Max.Z && max(v[0].Z, v[1].Z, v[2].Z) >= b.Min.Z
}

// gather puts the pieces of all chips together, in order.
func gather(out Carved, chips []chip) (Carved, error) {
	b := mesh.NewBuilder()
	var area, rest mesh.Sum
	for k := range chips {
		x := &chips[k]
		out.Triangles = append(out.Triangles, x.triangles...)
		area.Add(x.area.Value())
		rest.Add(x.restArea.Value())
		out.RestDepth = max(out.RestDepth, x.restDepth)
		if x.depth > out.Depth {
			out.Depth, out.Deepest = x.depth, x.deepest
		}
		for _, p := range x.pieces {
			b.Face(b.Vertex(p[0]), b.Vertex(p[1]), b.Vertex(p[2]))
		}
	}
	out.Area, out.AtRest = area.Value(), rest.Value()
	if b.NumFaces() == 0 {
		return out, nil
	}
	m, _, err := b.Build(mesh.Options{})
	if len(m.Triangles()) > 0 {
		out.Mesh = m
	}
	return out, err
}
