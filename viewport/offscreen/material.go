package offscreen

import (
	"embed"
	"fmt"
	"image/color"

	"github.com/g3n/engine/core"
	"github.com/g3n/engine/geometry"
	"github.com/g3n/engine/gls"
	"github.com/g3n/engine/graphic"
	"github.com/g3n/engine/material"
	"github.com/g3n/engine/math32"
	"github.com/g3n/engine/renderer"
)

//go:embed shaders/*.glsl
var shaderFiles embed.FS

// The programs, by the names under which g3n's shader manager knows them.
const (
	faceProgram = "pintle_face"
	lineProgram = "pintle_line"
	wireProgram = "pintle_wire"
)

// addPrograms gives the renderer our shaders. None of them depends on g3n's
// lights, whose number would otherwise multiply the programs.
func addPrograms(r *renderer.Renderer) error {
	for _, p := range []struct{ name, vertex, fragment string }{
		{faceProgram, "face_vertex", "face_fragment"},
		{lineProgram, "line_vertex", "line_fragment"},
		{wireProgram, "wire_vertex", "flat_fragment"},
	} {
		for _, file := range []string{p.vertex, p.fragment} {
			src, err := shaderFiles.ReadFile("shaders/" + file + ".glsl")
			if err != nil {
				return fmt.Errorf("read shader %s: %w", file, err)
			}
			r.AddShader(file, string(src))
		}
		r.AddProgram(p.name, p.vertex, p.fragment)
	}
	return nil
}

// uniforms caches the places of our uniforms in the current program.
type uniforms struct {
	modelView, mvp, projection             gls.Uniform
	fill, shade, light, pen, screen, dash3 gls.Uniform
}

func newUniforms() *uniforms {
	u := &uniforms{}
	for name, at := range map[string]*gls.Uniform{
		"ModelViewMatrix": &u.modelView, "MVP": &u.mvp, "Projection": &u.projection,
		"Fill": &u.fill, "Shade": &u.shade, "Light": &u.light,
		"Pen": &u.pen, "Screen": &u.screen, "Dash": &u.dash3,
	} {
		at.Init(name)
	}
	return u
}

// vec4 is a uniform's value.
type vec4 [4]float32

func colorVec(c color.NRGBA) vec4 {
	return vec4{float32(c.R) / 255, float32(c.G) / 255, float32(c.B) / 255, float32(c.A) / 255}
}

// paint is the g3n material of everything we draw: a program and the values
// of its uniforms.
type paint struct {
	material.Material
	uniforms *uniforms
	fill     vec4
	shade    vec4 // faces
	light    [3]float32
	pen      vec4 // lines and wires
	screen   vec4 // lines
	dash     vec4 // lines
}

func newPaint(u *uniforms, program string, fill vec4) *paint {
	p := &paint{uniforms: u, fill: fill}
	p.Init()
	p.SetShader(program)
	p.SetShaderUnique(true)
	p.SetUseLights(material.UseLightNone)
	p.SetSide(material.SideDouble)
	// g3n draws opaque materials in falling and transparent ones in rising
	// render order; calling all transparent leaves one list in our order.
	p.SetTransparent(true)
	return p
}

// RenderSetup is called by g3n when the paint's program is current.
func (p *paint) RenderSetup(gs *gls.GLS) {
	p.Material.RenderSetup(gs)
	set := func(u *gls.Uniform, v vec4) { gs.Uniform4f(u.Location(gs), v[0], v[1], v[2], v[3]) }
	set(&p.uniforms.fill, p.fill)
	switch p.Shader() {
	case faceProgram:
		set(&p.uniforms.shade, p.shade)
		gs.Uniform3f(p.uniforms.light.Location(gs), p.light[0], p.light[1], p.light[2])
	case lineProgram:
		set(&p.uniforms.pen, p.pen)
		set(&p.uniforms.screen, p.screen)
		set(&p.uniforms.dash3, p.dash)
	case wireProgram:
		set(&p.uniforms.pen, p.pen)
	}
}

// GetMaterial implements material.IMaterial.
func (p *paint) GetMaterial() *material.Material { return &p.Material }

// node is the g3n graphic of one geometry in one paint.
type node struct {
	graphic.Graphic
	uniforms *uniforms
	paint    *paint
}

// newNode makes a node; count is the number of indices or vertices to draw, so
// that the geometry need not keep its data after the upload.
func newNode(g geometry.IGeometry, mode uint32, p *paint, count, order int, m math32.Matrix4) *node {
	n := &node{uniforms: p.uniforms, paint: p}
	n.Graphic.Init(n, g, mode)
	n.AddMaterial(n, p, 0, count)
	n.SetCullable(false) // g3n would walk all vertices for the box
	n.SetRenderOrder(order)
	n.SetMatrix(&m)
	return n
}

// RenderSetup is called by g3n before the geometry is drawn.
func (n *node) RenderSetup(gs *gls.GLS, info *core.RenderInfo) {
	mv := n.ModelViewMatrix()
	gs.UniformMatrix4fv(n.uniforms.modelView.Location(gs), 1, false, &mv[0])
	if n.paint.Shader() == faceProgram {
		mvp := n.ModelViewProjectionMatrix()
		gs.UniformMatrix4fv(n.uniforms.mvp.Location(gs), 1, false, &mvp[0])
		return
	}
	gs.UniformMatrix4fv(n.uniforms.projection.Location(gs), 1, false, &info.ProjMatrix[0])
}
