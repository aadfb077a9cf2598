package viewport

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
	"pintle/kinematics"
	"pintle/viewport/draft"
)

// pickRadius is how far, in units of View.Scale, the pointer may be from a
// vertex or an edge to mean it.
const pickRadius = 9.0

// Pick finds what is under the pixel x, y: the nearest part that the ray of
// sight meets, and on it, as mode asks, the nearest visible vertex or edge
// within reach of the pointer, the loop through that edge, or the smooth patch.
// Parts with NoPick are looked through. Without a hit Part is -1. The first
// pick of a mesh builds its hierarchy and adjacency, which for a million
// triangles takes seconds: do not call it on the UI thread.
func Pick(s draft.Scene, v draft.View, x, y float64, mode PickMode) Hit {
	return pick(s, v, x, y, mode, func(m *mesh.Mesh, tri int) []int32 {
		return m.Topology().PatchFrom(tri, s.Style.FeatureAngle())
	})
}

// pick is Pick with the owner's idea of a patch.
func pick(s draft.Scene, v draft.View, x, y float64, mode PickMode, patch func(m *mesh.Mesh, tri int) []int32) Hit {
	switch mode {
	case PickPoint, PickEdge, PickLoop:
		return pickNear(s, v, x, y, mode)
	}
	h, ok := cast(s, v, x, y)
	if !ok {
		return nothing(mode)
	}
	h.Mode = mode
	if mode == PickPatch {
		h.Patch = patch(s.Parts[h.Part].Mesh, h.Triangle)
	}
	return h
}

// cast follows the ray of sight through a pixel to the first part.
func cast(s draft.Scene, v draft.View, x, y float64) (Hit, bool) {
	o, d := v.Ray(x, y)
	part, tri, dist := first3(s, o, d)
	if part < 0 {
		return nothing(PickPart), false
	}
	p := s.Parts[part]
	m := p.MotionOrIdentity()
	h := nothing(PickPart)
	h.Part, h.Triangle = part, tri
	h.Point = r3.Add(o, r3.Scale(dist, d))
	h.Modelled = unmove(m, h.Point)
	h.Normal = m.Turn(r3.Unit(p.Mesh.AreaNormal(tri)))
	return h, true
}

// first3 returns the part and triangle that a ray meets first, part -1 for
// none, and the distance along the unit direction.
func first3(s draft.Scene, o, d r3.Vec) (part, tri int, dist float64) {
	part, tri, dist = -1, -1, math.Inf(1)
	for i, p := range s.Parts {
		if !p.Drawn() || p.NoPick || len(p.Mesh.Triangles()) == 0 {
			continue
		}
		m := p.MotionOrIdentity()
		if t, at, ok := p.Mesh.BVH().Ray(unmove(m, o), unturn(m, d)); ok && at < dist {
			part, tri, dist = i, t, at
		}
	}
	return part, tri, dist
}

// unmove takes a posed point back to where it is as modelled.
func unmove(m kinematics.Transform, p r3.Vec) r3.Vec { return unturn(m, r3.Sub(p, m.T)) }

func unturn(m kinematics.Transform, d r3.Vec) r3.Vec {
	return r3.Vec{X: r3.Dot(m.X, d), Y: r3.Dot(m.Y, d), Z: r3.Dot(m.Z, d)}
}

// pickNear finds vertices and edges. The pointer may be just beside the part,
// so rays on two circles round it are tried as well.
func pickNear(s draft.Scene, v draft.View, x, y float64, mode PickMode) Hit {
	n := &nearest{scene: s, view: v, x: x, y: y, mode: mode, seen: make(map[[2]int]bool)}
	n.reach = pickRadius * v.Scale
	n.best = n.reach
	n.hit = nothing(mode)
	n.look(x, y)
	if n.hit.OK() && n.best < n.reach/2 {
		return n.finish()
	}
	for _, r := range []float64{n.reach / 2, n.reach} {
		for k := range 8 {
			sin, cos := math.Sincos(math.Pi / 4 * float64(k))
			n.look(x+r*cos, y+r*sin)
		}
	}
	return n.finish()
}

// nearest is a search for the vertex or edge that the pointer means.
type nearest struct {
	scene draft.Scene
	view  draft.View
	x, y  float64
	mode  PickMode
	reach float64
	best  float64 // distance of hit in the picture, pixels
	hit   Hit
	seen  map[[2]int]bool // polygons done, by part
}

// look casts a ray through a pixel and considers what it meets.
func (n *nearest) look(x, y float64) {
	h, ok := cast(n.scene, n.view, x, y)
	if !ok {
		return
	}
	m := n.scene.Parts[h.Part].Mesh
	key := [2]int{h.Part, m.PolygonOf(h.Triangle)}
	if n.seen[key] {
		return
	}
	n.seen[key] = true
	ring := m.Polygon(key[1])
	if n.mode == PickPoint {
		for _, v := range ring {
			n.vertex(h, int(v))
		}
		return
	}
	for i, v := range ring {
		w := ring[(i+1)%len(ring)]
		if e, ok := m.Topology().EdgeBetween(int(v), int(w)); ok {
			n.edge(h, e)
		}
	}
}

// vertex considers a vertex near the hit h.
func (n *nearest) vertex(h Hit, v int) {
	p := n.scene.Parts[h.Part]
	at := p.Mesh.Vertices()[v]
	posed := p.MotionOrIdentity().Apply(at)
	if d := n.distance(posed); d < n.best && n.visible(posed) {
		n.best = d
		h.Mode, h.Vertex, h.Modelled, h.Point = n.mode, v, at, posed
		n.hit = h
	}
}

// edge considers an edge near the hit h.
func (n *nearest) edge(h Hit, e int) {
	p := n.scene.Parts[h.Part]
	top, motion := p.Mesh.Topology(), p.MotionOrIdentity()
	ends, vertices := top.EdgeVerts[e], p.Mesh.Vertices()
	a, b := motion.Apply(vertices[ends[0]]), motion.Apply(vertices[ends[1]])
	q, d, ok := n.onSegment(a, b)
	// Features win over the facets beside them: a rim is what is meant.
	if n.mode == PickLoop && !isFeature(top, e, n.scene.Style.FeatureAngle()) {
		d += n.reach / 3
	}
	if ok && d < n.best && n.visible(q) {
		n.best = d
		h.Mode, h.Edge, h.Point, h.Modelled = n.mode, e, q, unmove(motion, q)
		n.hit = h
	}
}

func isFeature(t *mesh.Topology, e int, angle float64) bool {
	return !(math.Abs(t.Dihedral(e)) <= angle)
}

// distance returns how far p appears from the pointer, in pixels.
func (n *nearest) distance(p r3.Vec) float64 {
	q, ok := n.view.Project(p)
	if !ok {
		return math.Inf(1)
	}
	return math.Hypot(q.X-n.x, q.Y-n.y)
}

// onSegment returns the point of the segment that appears nearest the pointer,
// and how near.
func (n *nearest) onSegment(a, b r3.Vec) (q r3.Vec, d float64, ok bool) {
	p0, p1, ok := n.view.Segment(a, b)
	if !ok {
		return q, 0, false
	}
	dx, dy := p1.X-p0.X, p1.Y-p0.Y
	t := 0.0
	if l := dx*dx + dy*dy; l > 0 {
		t = math.Max(0, math.Min(1, ((n.x-p0.X)*dx+(n.y-p0.Y)*dy)/l))
	}
	at := draft.Pixel{X: p0.X + t*dx, Y: p0.Y + t*dy}
	o, dir := n.view.Ray(at.X, at.Y)
	return closestToRay(a, b, o, dir), math.Hypot(at.X-n.x, at.Y-n.y), true
}

// closestToRay returns the point of the segment a b nearest the ray.
func closestToRay(a, b, o, d r3.Vec) r3.Vec {
	u, w := r3.Sub(b, a), r3.Sub(a, o)
	uu, ud, uw, dw := r3.Norm2(u), r3.Dot(u, d), r3.Dot(u, w), r3.Dot(d, w)
	t := 0.0
	if det := uu - ud*ud; det > 1e-14*uu { // d is a unit vector
		t = math.Max(0, math.Min(1, (ud*dw-uw)/det))
	}
	return r3.Add(a, r3.Scale(t, u))
}

// visible reports whether nothing stands before p; the surface p lies on does
// not count.
func (n *nearest) visible(p r3.Vec) bool {
	if n.scene.Style.SeeThrough {
		return true
	}
	q, ok := n.view.Project(p)
	if !ok {
		return false
	}
	o, d := n.view.Ray(q.X, q.Y)
	_, _, dist := first3(n.scene, o, d)
	slack := 1.5*n.view.UnitsPerPixel(p) + 1e-9*r3.Norm(r3.Sub(p, o))
	return dist > r3.Dot(r3.Sub(p, o), d)-slack
}

// finish adds what the mode asks for beyond the nearest element.
func (n *nearest) finish() Hit {
	if !n.hit.OK() || n.mode != PickLoop {
		return n.hit
	}
	top := n.scene.Parts[n.hit.Part].Mesh.Topology()
	loop, ok := top.LoopThrough(n.hit.Edge, n.scene.Style.FeatureAngle())
	if !ok {
		loop = top.QuadLoop(n.hit.Edge)
	}
	if len(loop.Edges) == 0 {
		loop = mesh.Loop{Edges: []int32{int32(n.hit.Edge)}, Vertices: top.EdgeVerts[n.hit.Edge][:]}
	}
	n.hit.Loop = loop
	return n.hit
}
