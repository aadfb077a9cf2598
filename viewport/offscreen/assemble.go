package offscreen

import (
	"image/color"
	"math"

	"github.com/g3n/engine/core"
	"github.com/g3n/engine/geometry"
	"github.com/g3n/engine/gls"
	"github.com/g3n/engine/math32"
	"gonum.org/v1/gonum/spatial/r3"

	"pintle/kinematics"
	"pintle/viewport/draft"
)

// Pen widths of the shaded picture, in units of View.Scale: contours wide,
// creases narrow.
const (
	contourPen = 1.9
	creasePen  = 1.15
	ghostPen   = 0.9
	pressPen   = 2.6 // contours of an emphasised part
	hiddenDash = 7.0 // period of hidden edges

	coincident = 4 // depth steps between parts
)

// assembly builds the g3n scene of one picture. What hides other things goes
// into solid and is drawn first, so that the depth buffer can be read before
// the translucent rest is laid over it.
type assembly struct {
	scene    draft.Scene
	palette  draft.Palette
	view     draft.View
	cache    *cache
	uniforms *uniforms
	solid    *core.Node
	clear    *core.Node
	order    int
	fresh    []*geometry.Geometry // contours of this picture, freed after it
	drawn    []*geometry.Geometry // everything in this picture
}

func newAssembly(s draft.Scene, p draft.Palette, v draft.View, c *cache, u *uniforms) *assembly {
	return &assembly{
		scene: s, palette: p, view: v, cache: c, uniforms: u,
		solid: core.NewNode(), clear: core.NewNode(),
	}
}

// build adds all parts in drawing order.
func (a *assembly) build() {
	var solids, ghosts, washes []int
	for i, p := range a.scene.Parts {
		switch {
		case !p.Drawn() || len(p.Mesh.Triangles()) == 0:
		case p.Look == draft.Wash:
			washes = append(washes, i)
		case p.Look == draft.Ghost:
			ghosts = append(ghosts, i)
		default:
			solids = append(solids, i)
		}
	}
	if a.scene.Style.SeeThrough {
		a.seeThrough(append(solids, ghosts...))
	} else {
		a.opaque(solids)
		a.layers(ghosts)
	}
	a.layers(washes)
}

// opaque adds parts that hide what is behind them, with their ink.
func (a *assembly) opaque(parts []int) {
	for _, i := range parts {
		a.fill(a.solid, i, a.partFill(i), nil)
	}
	if a.scene.Style.Wire {
		for _, i := range parts {
			a.wire(a.solid, i)
		}
	}
	a.ink(a.solid, parts, contourPen, creasePen, 1)
}

// layers adds translucent parts, each as one even layer: its depth first,
// without colour, then its nearest faces only.
func (a *assembly) layers(parts []int) {
	for _, i := range parts {
		a.fill(a.clear, i, color.NRGBA{}, nil)
		c := a.partFill(i)
		if a.scene.Parts[i].Look == draft.Wash {
			c = a.palette.Color(draft.InkRange)
		}
		c.A = uint8(255 * a.palette.Wash)
		a.fill(a.clear, i, c, nil)
		if a.scene.Parts[i].Look == draft.Wash {
			ink := withAlpha(a.palette.Color(draft.InkRange), 0.9)
			a.creases(a.clear, i, ghostPen, 0, ink, nil)
			a.contours(a.clear, i, ghostPen, ink)
			continue
		}
		a.ink(a.clear, []int{i}, ghostPen, ghostPen*0.8, 0.55)
	}
}

// seeThrough adds parts whose fills hide nothing: washes over one another,
// visible edges drawn through and hidden ones dashed (ISO 128, 02).
func (a *assembly) seeThrough(parts []int) {
	for _, i := range parts {
		a.fill(a.solid, i, color.NRGBA{}, nil)
	}
	for _, i := range parts {
		c := a.partFill(i)
		c.A = 0x48
		a.fill(a.clear, i, c, func(p *paint) { p.SetDepthTest(false) })
	}
	if a.scene.Style.Wire {
		for _, i := range parts {
			a.wire(a.clear, i)
		}
	}
	for _, i := range parts {
		ink := withAlpha(a.palette.Color(draft.InkMain), 0.5)
		a.creases(a.clear, i, ghostPen, ghostPen, ink, func(p *paint) {
			p.SetDepthFunc(gls.GREATER)
			p.dash[0], p.dash[1] = float32(hiddenDash*a.view.Scale), float32(hiddenDash*a.view.Scale*0.62)
			p.screen[3] = 1
		})
	}
	a.ink(a.clear, parts, contourPen, creasePen, 1)
}

// ink adds creases and contours of parts; emphasised parts last, so that
// their outline lies over their neighbours'.
func (a *assembly) ink(to *core.Node, parts []int, contour, crease, alpha float64) {
	if a.scene.Style.NoEdges {
		return
	}
	for _, level := range []draft.Emphasis{draft.Plain, draft.Hovered, draft.Selected} {
		for _, i := range parts {
			p := a.scene.Parts[i]
			if p.Emphasis != level {
				continue
			}
			ink, wide := a.palette.Color(draft.InkMain), contour
			switch level {
			case draft.Hovered:
				ink, wide = a.palette.Color(draft.InkHover), math.Max(contour, pressPen)
			case draft.Selected:
				ink, wide = a.palette.Color(draft.InkSelected), math.Max(contour, pressPen)
			}
			ink = withAlpha(ink, alpha)
			a.creases(to, i, wide, crease, ink, nil)
			a.contours(to, i, wide, ink)
		}
	}
}

// partFill returns the colour of a part's faces.
func (a *assembly) partFill(i int) color.NRGBA {
	p := a.scene.Parts[i]
	c := a.palette.Tint(p.Tint)
	switch p.Emphasis {
	case draft.Hovered:
		c = mix(c, a.palette.Color(draft.InkHover), 0.1)
	case draft.Selected:
		c = mix(c, a.palette.Color(draft.InkSelected), 0.14)
	}
	return c
}

// prepared returns part i's mesh on the card.
func (a *assembly) prepared(i int) *solid {
	return a.cache.get(solidKey{a.scene.Parts[i].Mesh, a.scene.Style.FeatureAngle()})
}

// add puts a geometry into the picture, drawn after everything added before.
func (a *assembly) add(to *core.Node, i int, s *solid, g *geometry.Geometry, mode uint32, p *paint, count int) {
	if g == nil || count == 0 {
		return
	}
	a.order++
	a.drawn = append(a.drawn, g)
	to.Add(newNode(g, mode, p, count, a.order, a.place(i, s.centre)))
}

func (a *assembly) fill(to *core.Node, i int, c color.NRGBA, change func(*paint)) {
	s := a.prepared(i)
	p := newPaint(a.uniforms, faceProgram, colorVec(c))
	p.shade = colorVec(a.palette.Shade)
	p.light = lightDir()
	// Back the faces off by their slope, so that ink on their edges stays whole,
	// and a few steps of depth more for each part: where faces of two parts
	// coincide, the first one shows instead of a pattern of both.
	p.SetPolygonOffset(1, float32(1+coincident*i))
	if change != nil {
		change(p)
	}
	a.add(to, i, s, s.faces, gls.TRIANGLES, p, s.indices)
}

// lightDir is the direction to the light in view space: over the viewer's
// left shoulder, as drawing practice has it.
func lightDir() [3]float32 {
	v := r3.Unit(r3.Vec{X: -0.45, Y: 0.62, Z: 0.65})
	return [3]float32{float32(v.X), float32(v.Y), float32(v.Z)}
}

func (a *assembly) linePaint(contour, crease float64, ink color.NRGBA) *paint {
	p := newPaint(a.uniforms, lineProgram, colorVec(ink))
	near, _, eye := a.view.Planes()
	perPixel := a.view.UnitsPerPixel(a.view.Camera.Target)
	scale := a.view.Scale
	p.pen = vec4{
		float32(contour * scale / 2), float32(crease * scale / 2),
		float32(1.2 * perPixel), perspective32(eye),
	}
	p.screen = vec4{float32(a.view.Width), float32(a.view.Height), float32(near), 0}
	p.dash = vec4{0, 0, float32(1 / perPixel), 0}
	p.SetDepthMask(false)
	return p
}

func perspective32(eye float64) float32 {
	if eye > 0 {
		return 1
	}
	return 0
}

func (a *assembly) creases(to *core.Node, i int, contour, crease float64, ink color.NRGBA, change func(*paint)) {
	s := a.prepared(i)
	p := a.linePaint(contour, crease, ink)
	if change != nil {
		change(p)
	}
	a.add(to, i, s, s.creases, gls.TRIANGLES, p, s.corners)
}

// contours adds the smooth edges at which the part turns from the viewer.
func (a *assembly) contours(to *core.Node, i int, width float64, ink color.NRGBA) {
	s := a.prepared(i)
	x := a.scene.Parts[i].MotionOrIdentity()
	eye, perspective := a.view.Eye()
	if perspective {
		eye = turnBack(x, r3.Sub(eye, x.Apply(s.centre)))
	} else {
		eye = turnBack(x, eye)
	}
	var q quads
	s.contour.find(eye, perspective, func(p0, p1 r3.Vec) { q.add(inkEdge{a: p0, b: p1}) })
	if g := q.geometry(); g != nil {
		a.fresh = append(a.fresh, g)
		a.add(to, i, s, g, gls.TRIANGLES, a.linePaint(width, width, ink), len(q.index))
	}
}

func (a *assembly) wire(to *core.Node, i int) {
	s := a.prepared(i)
	s.wire(a.scene.Parts[i].Mesh)
	p := newPaint(a.uniforms, wireProgram, colorVec(withAlpha(a.palette.Color(draft.InkMain), 0.32)))
	p.pen = a.linePaint(0, 0, color.NRGBA{}).pen
	p.SetDepthMask(false)
	a.add(to, i, s, s.wires, gls.LINES, p, s.ends)
}

// place returns the model matrix of part i: its motion, from the mesh's centre
// to where the camera's target is the origin. The difference is taken in
// float64, so a far origin costs no precision.
func (a *assembly) place(i int, centre r3.Vec) math32.Matrix4 {
	x := a.scene.Parts[i].MotionOrIdentity()
	t := r3.Sub(x.Apply(centre), a.view.Camera.Target)
	return math32.Matrix4{
		float32(x.X.X), float32(x.X.Y), float32(x.X.Z), 0,
		float32(x.Y.X), float32(x.Y.Y), float32(x.Y.Z), 0,
		float32(x.Z.X), float32(x.Z.Y), float32(x.Z.Z), 0,
		float32(t.X), float32(t.Y), float32(t.Z), 1,
	}
}

// finish frees what was made for this picture alone, and the host copies of
// vertices that are on the card now.
func (a *assembly) finish() {
	for _, g := range a.drawn {
		for _, v := range g.VBOs() {
			v.SetBuffer(nil)
		}
	}
	for _, g := range a.fresh {
		g.Dispose()
	}
	a.solid.RemoveAll(true)
	a.clear.RemoveAll(true)
}

// turnBack returns the direction d, given in model axes, in the axes of a mesh
// moved by x.
func turnBack(x kinematics.Transform, d r3.Vec) r3.Vec {
	return r3.Vec{X: r3.Dot(x.X, d), Y: r3.Dot(x.Y, d), Z: r3.Dot(x.Z, d)}
}

// eyeCamera gives g3n the matrices of a draft.View. The origin is the camera's
// target.
type eyeCamera struct {
	view draft.View
}

// ViewMatrix implements camera.ICamera.
func (c eyeCamera) ViewMatrix(m *math32.Matrix4) {
	right, up, back := c.view.Basis()
	_, _, eye := c.view.Planes()
	*m = math32.Matrix4{
		float32(right.X), float32(up.X), float32(back.X), 0,
		float32(right.Y), float32(up.Y), float32(back.Y), 0,
		float32(right.Z), float32(up.Z), float32(back.Z), 0,
		0, 0, float32(-eye), 1,
	}
}

// ProjMatrix implements camera.ICamera. Depth comes out as in draft.Pixel.
func (c eyeCamera) ProjMatrix(m *math32.Matrix4) {
	near, far, eye := c.view.Planes()
	h := c.view.Camera.Height / 2
	w := h * float64(c.view.Width) / float64(c.view.Height)
	*m = math32.Matrix4{}
	if eye > 0 {
		m[0], m[5] = float32(eye/w), float32(eye/h)
		m[10], m[14] = float32(-(far+near)/(far-near)), float32(-2*far*near/(far-near))
		m[11] = -1
		return
	}
	m[0], m[5] = float32(1/w), float32(1/h)
	m[10], m[14] = float32(-2/(far-near)), float32(-(far+near)/(far-near))
	m[15] = 1
}

func withAlpha(c color.NRGBA, a float64) color.NRGBA {
	c.A = uint8(255*a + 0.5)
	return c
}

// mix returns a with the part t of b in it.
func mix(a, b color.NRGBA, t float64) color.NRGBA {
	f := func(x, y uint8) uint8 { return uint8(float64(x)*(1-t) + float64(y)*t + 0.5) }
	return color.NRGBA{R: f(a.R, b.R), G: f(a.G, b.G), B: f(a.B, b.B), A: a.A}
}
