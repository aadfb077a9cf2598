package offscreen

import (
	"fmt"

	"github.com/g3n/engine/gls"
	"github.com/g3n/engine/renderer"
	"github.com/go-gl/gl/v3.3-core/gl"
	"github.com/go-gl/glfw/v3.3/glfw"

	"pintle/viewport/draft"
)

// meshBudget bounds the memory of prepared meshes: some ten million triangles.
const meshBudget = 1 << 30

// glState is a context with everything in it. It is used on one thread only.
type glState struct {
	window   *glfw.Window
	gs       *gls.GLS
	renderer *renderer.Renderer
	uniforms *uniforms
	cache    *cache
	target   *target
	most     int32 // samples the driver can do
	largest  int32 // side of a renderbuffer
}

// newGLState makes a context and makes it current on the calling thread.
func newGLState(onMain func(func())) (*glState, error) {
	s := &glState{uniforms: newUniforms(), cache: newCache(meshBudget)}
	var err error
	onMain(func() { s.window, err = openWindow() })
	if err != nil {
		return nil, err
	}
	if err := s.load(); err != nil {
		s.close(onMain)
		return nil, err
	}
	return s, nil
}

// load finds the OpenGL functions and sets g3n up.
func (s *glState) load() (err error) {
	defer func() {
		if p := recover(); p != nil {
			err = unavailable(fmt.Sprint(p))
		}
	}()
	s.window.MakeContextCurrent()
	if err := gl.Init(); err != nil {
		return unavailable(err.Error())
	}
	if s.gs, err = gls.New(); err != nil {
		return unavailable(err.Error())
	}
	// g3n's own check ends the process at the first error; see glError.
	s.gs.SetCheckErrors(false)
	s.renderer = renderer.NewRenderer(s.gs)
	if err := addPrograms(s.renderer); err != nil {
		return err
	}
	gl.GetIntegerv(gl.MAX_SAMPLES, &s.most)
	gl.GetIntegerv(gl.MAX_RENDERBUFFER_SIZE, &s.largest)
	_ = glError("") // what the set-up left behind is no picture's fault
	return nil
}

// render makes the picture of the scene's parts.
func (s *glState) render(next *shaded, scene draft.Scene) error {
	if err := s.aim(next.view.Width, next.view.Height, next.samples); err != nil {
		return err
	}
	s.cache.begin()
	a := newAssembly(scene, next.palette, next.view, s.cache, s.uniforms)
	a.build()
	defer s.cache.end()
	defer a.finish()

	paper := colorVec(next.palette.Color(draft.InkPaper))
	s.gs.Viewport(0, 0, int32(next.view.Width), int32(next.view.Height))
	s.gs.DepthMask(true)
	s.target.begin(paper[0], paper[1], paper[2])
	eye := eyeCamera{next.view}
	if err := s.renderer.Render(a.solid, eye); err != nil {
		return fmt.Errorf("render the parts: %w", err)
	}
	next.depth = s.target.depth()
	if err := s.renderer.Render(a.clear, eye); err != nil {
		return fmt.Errorf("render the translucent parts: %w", err)
	}
	next.picture = s.target.color()
	return glError("render the parts")
}

// aim makes the target one of the given size.
func (s *glState) aim(w, h, samples int) error {
	if int32(w) > s.largest || int32(h) > s.largest {
		return fmt.Errorf("a picture of %d x %d pixels is too large for this driver; its limit is %d", w, h, s.largest)
	}
	samples = min(samples, int(s.most))
	if t := s.target; t != nil {
		if t.w == w && t.h == h && t.samples == samples {
			return nil
		}
		t.free()
		s.target = nil
	}
	t, err := newTarget(w, h, samples)
	s.target = t
	return err
}

func (s *glState) stats(st *Stats) {
	var g gls.Stats
	s.gs.Stats(&g)
	st.Vaos, st.Buffers = g.Vaos, g.Buffers
	st.Meshes, st.Bytes = len(s.cache.entries), s.cache.total
}

// close frees everything, on the thread, and sends the window to the main one
// to be destroyed. It does not wait for that: the main thread may be the one
// that waits for us. A window that is too late for an event loop's end was
// destroyed with it, which GLFW calls misuse.
func (s *glState) close(onMain func(func())) {
	if s.gs != nil {
		s.cache.clear()
		if s.target != nil {
			s.target.free()
			s.target = nil
		}
	}
	glfw.DetachCurrentContext()
	go onMain(func() {
		defer func() { _ = recover() }()
		s.window.Destroy()
	})
}
