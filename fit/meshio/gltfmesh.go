package meshio

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"github.com/qmuntal/gltf"
	"gonum.org/v1/gonum/spatial/r3"
)

// shape is the geometry of a glTF mesh, all primitives together: triangles in
// the mesh's own axes, or in the model's where a skin placed them.
type shape struct {
	points  []r3.Vec
	corners []int32
}

// drafts returns a part for each node of the scene that shows a mesh.
func (g *gltfReader) drafts() ([]*draft, error) {
	var out []*draft
	for k, i := range g.scene {
		n := g.doc.Nodes[i]
		if n.Mesh == nil {
			continue
		}
		if err := g.j.tick(readShare*float64(k)/float64(len(g.scene)), "Reading"); err != nil {
			return nil, err
		}
		places, err := g.places(i)
		if err != nil {
			return nil, err
		}
		if err := g.j.checkParts(len(out)+len(places), place("nodes", i)); err != nil {
			return nil, err
		}
		name := n.Name
		if strings.TrimSpace(name) == "" {
			name = g.doc.Meshes[*n.Mesh].Name
		}
		for _, world := range places {
			d, err := g.draft(i, world)
			if err != nil {
				return nil, err
			}
			if d != nil {
				d.name = name
				out = append(out, d)
			}
		}
	}
	return out, nil
}

// draft places the mesh of node i; it is nil for a mesh without triangles.
func (g *gltfReader) draft(i int, world affine) (*draft, error) {
	n := g.doc.Nodes[i]
	if n.Skin != nil {
		skin, err := g.skinPose(*n.Skin)
		if err != nil {
			return nil, err
		}
		// The joints alone place a skinned mesh, its node does not.
		s, err := g.readMesh(*n.Mesh, n.Weights, skin)
		if err != nil || len(s.corners) == 0 {
			return nil, err
		}
		return g.placed(s, identity(), skin.mirrored, true)
	}
	s, known := g.shapes[*n.Mesh]
	if own := len(n.Weights) > 0; !known || own {
		var err error
		if s, err = g.readMesh(*n.Mesh, n.Weights, nil); err != nil {
			return nil, err
		}
		if !own {
			g.shapes[*n.Mesh] = s
		}
	} else if err := g.count(s, place("nodes", i)); err != nil {
		return nil, err
	}
	if len(s.corners) == 0 {
		return nil, nil
	}
	isLast := g.uses[*n.Mesh] == 1 && n.Extensions[extInstancing] == nil
	return g.placed(s, world, world.det() < 0, isLast)
}

// count counts one more copy of s against the limits.
func (g *gltfReader) count(s *shape, place string) error {
	if err := g.j.addTriangles(len(s.corners)/3, place); err != nil {
		return err
	}
	return g.j.addVertices(len(s.points), place)
}

// placed maps the shape by world and turns its triangles over where mirrored.
// It takes the shape's memory where the shape is not needed again.
func (g *gltfReader) placed(s *shape, world affine, mirrored, takes bool) (*draft, error) {
	d := &draft{points: s.points, corners: s.corners}
	if !takes {
		d.points = make([]r3.Vec, len(s.points))
		d.corners = slices.Clone(s.corners)
	}
	if world != identity() || !takes {
		err := g.j.chunks(len(s.points), func(from, to int) {
			for i := from; i < to; i++ {
				d.points[i] = world.point(s.points[i])
			}
		})
		if err != nil {
			return nil, err
		}
	}
	if !mirrored {
		return d, nil
	}
	return d, g.j.chunks(len(d.corners)/3, func(from, to int) {
		for i := 3 * from; i < 3*to; i += 3 {
			d.corners[i+1], d.corners[i+2] = d.corners[i+2], d.corners[i+1]
		}
	})
}

const extInstancing = "EXT_mesh_gpu_instancing"

type instancing struct {
	Attributes map[string]int `json:"attributes"`
}

// places returns where node i shows its mesh: at the node, or once for each
// instance of EXT_mesh_gpu_instancing.
func (g *gltfReader) places(i int) ([]affine, error) {
	ext, ok := g.doc.Nodes[i].Extensions[extInstancing]
	if !ok {
		return []affine{g.worlds[i]}, nil
	}
	at := place("nodes", i)
	raw, ok := ext.(json.RawMessage)
	if !ok {
		return nil, g.j.fail(at, "its instances are not sound glTF", remedyExport)
	}
	inst, err := background(g.j, func() (inst instancing, err error) {
		err = json.Unmarshal(raw, &inst)
		return inst, err
	})
	if cause := g.j.ctx.Err(); cause != nil {
		return nil, g.j.cancelled(cause)
	}
	if err != nil {
		return nil, &Error{File: g.j.opt.Name, Place: at, What: "its instances are not sound glTF", Remedy: remedyExport, Err: err}
	}
	var columns [3][]float64 // translation, rotation, scale
	n := -1
	for k, name := range [...]string{"TRANSLATION", "ROTATION", "SCALE"} {
		acc, ok := inst.Attributes[name]
		if !ok {
			continue
		}
		want := gltf.AccessorVec3
		if k == 1 {
			want = gltf.AccessorVec4
		}
		a, err := g.accessor(acc, want, g.j.limits.MaxParts)
		if err != nil {
			return nil, err
		}
		if n >= 0 && a.count != n {
			return nil, g.j.fail(at, fmt.Sprintf("its instances have %d and %d values", n, a.count), remedyExport)
		}
		n = a.count
		if columns[k], err = g.floats(a); err != nil {
			return nil, err
		}
	}
	return g.instancePlaces(i, n, columns)
}

func (g *gltfReader) instancePlaces(i, n int, columns [3][]float64) ([]affine, error) {
	out := make([]affine, 0, max(n, 0))
	for k := range n {
		t, q, s := gltf.DefaultTranslation, gltf.DefaultRotation, gltf.DefaultScale
		if columns[0] != nil {
			t = [3]float64(columns[0][3*k:])
		}
		if columns[1] != nil {
			q = [4]float64(columns[1][4*k:])
		}
		if columns[2] != nil {
			s = [3]float64(columns[2][3*k:])
		}
		local, ok := fromTRS(t, q, s)
		if !ok || !local.isFinite() {
			return nil, g.j.fail(place("nodes", i), fmt.Sprintf("instance %d has no sound transform", k), remedyExport)
		}
		out = append(out, g.worlds[i].after(local))
	}
	return out, nil
}

// readMesh reads the triangles of a mesh, with its morph targets at the given
// weights (nil: the mesh's own) and posed by skin unless that is nil.
func (g *gltfReader) readMesh(meshIndex int, weights []float64, skin *skinPose) (*shape, error) {
	m := g.doc.Meshes[meshIndex]
	if len(weights) == 0 {
		weights = m.Weights
	}
	s := &shape{}
	for k, p := range m.Primitives {
		if p == nil {
			return nil, g.j.fail(primitivePlace(meshIndex, k), "the primitive is null", remedyExport)
		}
		if err := g.checkMode(meshIndex, k, p); err != nil {
			return nil, err
		}
		switch p.Mode {
		case gltf.PrimitiveTriangles, gltf.PrimitiveTriangleStrip, gltf.PrimitiveTriangleFan:
		default:
			g.skipped++
			continue
		}
		if err := g.readPrimitive(s, primitivePlace(meshIndex, k), p, weights, skin); err != nil {
			return nil, err
		}
	}
	return s, nil
}

func (g *gltfReader) readPrimitive(s *shape, at string, p *gltf.Primitive, weights []float64, skin *skinPose) error {
	positions, err := g.positions(at, p, weights)
	if err != nil {
		return err
	}
	n := len(positions) / 3
	var order []uint32
	corners := n
	if p.Indices != nil {
		if order, err = g.indices(*p.Indices, n); err != nil {
			return err
		}
		corners = len(order)
	}
	triangles := corners / 3
	if p.Mode != gltf.PrimitiveTriangles {
		triangles = max(corners-2, 0)
	} else if corners%3 != 0 {
		g.odd++
	}
	if err := g.j.addTriangles(triangles, at); err != nil {
		return err
	}
	base := int32(len(s.points))
	s.points = slices.Grow(s.points, n)
	err = g.j.chunks(n, func(from, to int) {
		for i := 3 * from; i < 3*to; i += 3 {
			s.points = append(s.points, r3.Vec{X: positions[i], Y: positions[i+1], Z: positions[i+2]})
		}
	})
	if err != nil {
		return err
	}
	if skin != nil {
		if err := g.applySkin(s.points[base:], at, p, skin); err != nil {
			return err
		}
	}
	s.corners = slices.Grow(s.corners, 3*triangles)
	return g.j.chunks(triangles, func(from, to int) { s.appendTriangles(p.Mode, base, from, to, order) })
}

// appendTriangles adds triangles from to to of a primitive; a nil order is 0,
// 1, 2, ...
// Winding of strips and fans: glTF 2.0 specification, section 3.7.2.1.
func (s *shape) appendTriangles(mode gltf.PrimitiveMode, base int32, from, to int, order []uint32) {
	at := func(i int) int32 {
		if order != nil {
			return base + int32(order[i])
		}
		return base + int32(i)
	}
	for i := from; i < to; i++ {
		var a, b, c int32
		switch mode {
		case gltf.PrimitiveTriangleStrip:
			a, b, c = at(i), at(i+1+i%2), at(i+2-i%2)
		case gltf.PrimitiveTriangleFan:
			a, b, c = at(i+1), at(i+2), at(0)
		default:
			a, b, c = at(3*i), at(3*i+1), at(3*i+2)
		}
		if mode == gltf.PrimitiveTriangleStrip && (a == b || b == c || c == a) {
			continue // a stitch between two strips
		}
		s.corners = append(s.corners, a, b, c)
	}
}

// positions returns the vertex positions, x, y, z one after the other.
func (g *gltfReader) positions(at string, p *gltf.Primitive, weights []float64) ([]float64, error) {
	i, ok := p.Attributes[gltf.POSITION]
	if !ok {
		return nil, g.j.fail(at, "the primitive has no positions", remedyExport)
	}
	a, err := g.accessor(i, gltf.AccessorVec3, g.j.limits.MaxVertices)
	if err != nil {
		for e := range p.Extensions {
			if c := g.compressed(e, at); c != nil {
				return nil, c
			}
		}
		return nil, err
	}
	if err := g.j.addVertices(a.count, at); err != nil {
		return nil, err
	}
	out, err := g.floats(a)
	if err != nil {
		return nil, err
	}
	return out, g.morph(out, at, p, weights)
}

// morph adds the weighted displacements of the morph targets.
func (g *gltfReader) morph(positions []float64, at string, p *gltf.Primitive, weights []float64) error {
	for k, target := range p.Targets {
		if k >= len(weights) || weights[k] == 0 {
			continue
		}
		i, ok := target[gltf.POSITION]
		if !ok {
			continue
		}
		a, err := g.accessor(i, gltf.AccessorVec3, g.j.limits.MaxVertices)
		if err != nil {
			return err
		}
		if 3*a.count != len(positions) {
			return g.j.fail(at, fmt.Sprintf("morph target %d has %d positions for %d vertices", k, a.count, len(positions)/3), remedyExport)
		}
		d, err := g.floats(a)
		if err != nil {
			return err
		}
		for c := range positions {
			positions[c] += weights[k] * d[c]
		}
	}
	return nil
}
