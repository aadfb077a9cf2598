package offscreen

import (
	"context"
	"errors"
	"fmt"
	"image"
	"slices"
	"sync"

	"pintle/viewport/draft"
)

// Options says how a picture is made.
type Options struct {
	Samples int     // per pixel; 0 means 4, 1 none but one
	Scale   float64 // pixels per unit of pen width and text size; 0 means 1
}

// Stats counts what a renderer holds on the graphics card and has done.
type Stats struct {
	Vaos, Buffers int // alive on the card, as g3n counts them
	Meshes        int // prepared and kept
	Bytes         int // rough memory of these
	Shaded        int // pictures of the parts rendered so far
	Composed      int // pictures handed out so far
}

// Renderer makes pictures. It is safe for concurrent use: pictures are made
// one after the other.
type Renderer struct {
	thread Thread
	onMain func(func())

	mu       sync.Mutex // held while a picture is made
	gl       *glState   // nil after a loss or Close; used on the thread
	last     shaded
	compose  *compositor
	memo     draft.Memo
	shadings int
	composed int
	closed   bool

	// loseNext makes the next rendering fail as if the context were lost; tests
	// set it.
	loseNext bool
}

// shaded is the picture of the parts alone, with what it was made from.
type shaded struct {
	parts   []draft.PartView
	palette draft.Palette
	style   draft.Style
	view    draft.View
	samples int
	picture *image.RGBA
	depth   []float32
}

// maxPixels bounds a picture's size before memory is taken: 256 million
// samples are 1 GB of colour and as much of depth.
const maxPixels = 64 << 20

// New starts a renderer. The function onMain must run its argument on the
// process's main thread and return when it is done; see the package comment.
// Without OpenGL 3.3 the error is an *Unavailable, one sentence to show.
func New(onMain func(func())) (*Renderer, error) {
	c, err := newCompositor()
	if err != nil {
		return nil, err
	}
	r := &Renderer{thread: NewOSThread(), onMain: onMain, compose: c}
	if err := r.open(); err != nil {
		r.thread.Close()
		return nil, err
	}
	return r, nil
}

// open makes the context, on the thread.
func (r *Renderer) open() error {
	var err error
	r.thread.Call(func() { r.gl, err = newGLState(r.onMain) })
	return err
}

// Render makes a picture of the scene as the camera sees it, w x h pixels, in
// a fresh image that is never written again. If the parts, their style and
// the camera are as in the last picture, they are not rendered anew and only
// the marks are drawn. It fails for a size of nothing or beyond what the
// driver can do, for a camera with impossible numbers and when ctx is done
// before it begins; after a loss of the graphics context it makes a new one
// and tries once more.
func (r *Renderer) Render(ctx context.Context, s draft.Scene, cam draft.Camera, w, h int, o Options) (*image.RGBA, error) {
	if err := check(cam, w, h); err != nil {
		return nil, err
	}
	if s.Palette == (draft.Palette{}) {
		s.Palette = draft.Paper()
	}
	view := cam.View(w, h, o.Scale, s.Bounds())
	r.mu.Lock()
	defer r.mu.Unlock()
	if err := ctx.Err(); err != nil {
		return nil, fmt.Errorf("draw the picture: %w", err)
	}
	if r.closed {
		return nil, errors.New("draw the picture: the renderer is closed")
	}
	if err := r.shade(s, view, samplesOr(o.Samples)); err != nil {
		return nil, fmt.Errorf("draw the picture: %w", err)
	}
	drawing := draft.Draw(s, view, draft.Tools{
		Measurer: r.compose, Depths: depthField{r.last.depth, w, h}, Memo: &r.memo,
	})
	r.composed++
	return r.compose.over(r.last.picture, drawing, r.last.depth, view), nil
}

func check(cam draft.Camera, w, h int) error {
	switch {
	case w <= 0 || h <= 0:
		return fmt.Errorf("draw the picture: %d x %d pixels is no size for one", w, h)
	case w > maxPixels/h:
		return fmt.Errorf("draw the picture: %d x %d pixels is too large; the limit is %d million", w, h, maxPixels>>20)
	case !cam.Valid():
		return errors.New("draw the picture: the camera has numbers that are not finite or out of range")
	}
	return nil
}

func samplesOr(n int) int {
	if n <= 0 {
		return 4
	}
	return n
}

// shade makes r.last the picture of the scene's parts.
func (r *Renderer) shade(s draft.Scene, v draft.View, samples int) error {
	l := &r.last
	if l.picture != nil && l.view == v && l.samples == samples && l.style == s.Style &&
		l.palette == s.Palette && slices.Equal(l.parts, s.Parts) {
		return nil
	}
	next := shaded{
		parts: slices.Clone(s.Parts), palette: s.Palette, style: s.Style, view: v, samples: samples,
	}
	err := r.onThread(&next, s)
	if errors.Is(err, errLost) {
		if err = r.reopen(); err == nil {
			err = r.onThread(&next, s)
		}
	}
	if err != nil {
		return err
	}
	r.last = next
	r.shadings++
	return nil
}

func (r *Renderer) onThread(next *shaded, s draft.Scene) error {
	var err error
	r.thread.Call(func() {
		switch {
		case r.gl == nil:
			err = errLost
		case r.loseNext:
			r.loseNext = false
			err = errLost
		default:
			if err = r.gl.render(next, s); err != nil {
				r.gl.cache.clear() // some of it may not have reached the card
			}
		}
	})
	return err
}

// reopen replaces a lost context by a new one.
func (r *Renderer) reopen() error {
	r.thread.Call(func() {
		if r.gl != nil {
			r.gl.close(r.onMain)
			r.gl = nil
		}
	})
	return r.open()
}

// Stats returns what the renderer holds. It waits for a picture being made.
func (r *Renderer) Stats() Stats {
	r.mu.Lock()
	defer r.mu.Unlock()
	st := Stats{Shaded: r.shadings, Composed: r.composed}
	r.thread.Call(func() {
		if r.gl != nil {
			r.gl.stats(&st)
		}
	})
	return st
}

// Trim frees all prepared meshes: after a model has been closed. What is drawn
// next is prepared again.
func (r *Renderer) Trim() {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.last = shaded{}
	r.thread.Call(func() {
		if r.gl != nil {
			r.gl.cache.clear()
		}
	})
}

// Close frees everything and ends the thread. It waits for a picture being
// made, may be called more than once and on the main thread too; rendering
// fails afterwards.
func (r *Renderer) Close() {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.closed {
		return
	}
	r.closed = true
	r.last = shaded{}
	r.thread.Call(func() {
		if r.gl != nil {
			r.gl.close(r.onMain)
			r.gl = nil
		}
	})
	r.thread.Close()
}

// depthField reads a depth buffer whose first row is the top one.
type depthField struct {
	depth []float32
	w, h  int
}

// Depth implements draft.Depths.
func (d depthField) Depth(x, y int) float64 {
	if x < 0 || y < 0 || x >= d.w || y >= d.h || len(d.depth) == 0 {
		return 1
	}
	return float64(d.depth[y*d.w+x])
}
