package draft

import (
	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
	"pintle/kinematics"
)

// EdgeSet is a set of mesh edges that stands out: a picked loop, a finding.
// Hidden edges are drawn in a lighter tone.
type EdgeSet struct {
	Mesh   *mesh.Mesh
	Motion kinematics.Transform // the zero value is no motion
	Edges  []int32              // edge indexes of Mesh.Topology; others are ignored
	Ink    Ink
}

func (m EdgeSet) draw(c *canvas) {
	if m.Mesh == nil {
		return
	}
	x := orIdentity(m.Motion)
	ends, vertices := m.Mesh.Topology().EdgeVerts, m.Mesh.Vertices()
	var paths []path
	var joints []Pixel
	for _, e := range m.Edges {
		if e < 0 || int(e) >= len(ends) {
			continue
		}
		a, b := x.Apply(vertices[ends[e][0]]), x.Apply(vertices[ends[e][1]])
		p, q, ok := c.view.Segment(a, b)
		if !ok {
			continue
		}
		paths = append(paths, newPath([]Pixel{p, q}))
		joints = append(joints, p, q)
	}
	pn := c.pen(m.Ink, true, Continuous, Faded)
	pn.width = c.px(emphasisPen)
	c.stroke(layerLine, pn, paths...)
	c.roundJoints(joints, pn)
}

// emphasisPen is the width of picked edges, wider than any outline.
const emphasisPen = 2.6

// roundJoints closes the notches between edges that meet at an angle.
func (c *canvas) roundJoints(joints []Pixel, pn pen) {
	dots := &strip{}
	seen := make(map[[2]float64]bool, len(joints))
	for _, p := range joints {
		key := [2]float64{p.X, p.Y}
		if seen[key] || !c.near(p) || c.hidden(p) {
			continue
		}
		seen[key] = true
		dots.disc(p, pn.width/2)
	}
	if len(dots.tris) > 0 {
		c.add(layerLine, Item{Color: pn.color, Tris: dots.tris})
	}
}

// Patch is a set of triangles that stands out by a wash of colour, drawn where
// it can be seen.
type Patch struct {
	Mesh      *mesh.Mesh
	Motion    kinematics.Transform // the zero value is no motion
	Triangles []int32              // indexes; others are ignored
	Ink       Ink
	Strong    bool // a denser wash: what is picked, not what is hovered
}

func (m Patch) draw(c *canvas) {
	if m.Mesh == nil {
		return
	}
	x := orIdentity(m.Motion)
	var tris []Pixel
	for _, t := range m.Triangles {
		if t < 0 || int(t) >= len(m.Mesh.Triangles()) {
			continue
		}
		p0, p1, p2 := m.Mesh.Corners(int(t))
		tris = c.triangle(tris, x.Apply(p0), x.Apply(p1), x.Apply(p2))
	}
	opacity := 0.26
	if m.Strong {
		opacity = 0.42
	}
	c.add(layerWash, Item{Color: fade(c.palette.Color(m.Ink), opacity), Tris: tris, Test: !c.seeThrough})
}

// Border returns the edges that belong to just one of the given triangles, in
// the triangles' order: what to ink round a Patch.
func Border(m *mesh.Mesh, triangles []int32) []int32 {
	top := m.Topology()
	in := make([]bool, len(m.Triangles()))
	for _, t := range triangles {
		in[t] = true
	}
	var out []int32
	for _, t := range triangles {
		for _, e := range top.TriEdges[t] {
			n := 0
			for _, f := range top.EdgeFaces(int(e)) {
				if in[f] {
					n++
				}
			}
			if n == 1 {
				out = append(out, e)
			}
		}
	}
	return out
}

// Vertices is a set of model points drawn as dots: picked vertices.
type Vertices struct {
	At  []r3.Vec
	Ink Ink
}

func (m Vertices) draw(c *canvas) {
	halo, dots := &strip{}, &strip{}
	for _, v := range m.At {
		p, ok := c.view.Project(v)
		if !ok || !c.near(p) {
			continue
		}
		halo.disc(p, c.px(4.2))
		dots.disc(p, c.px(3))
	}
	if len(dots.tris) == 0 {
		return
	}
	c.add(layerSymbol, Item{Color: c.palette.Color(InkPaper), Tris: halo.tris})
	c.add(layerSymbol, Item{Color: c.palette.Color(m.Ink), Tris: dots.tris})
}
