package offscreen

import (
	"errors"
	"fmt"
	"image"
	"unsafe"

	"github.com/go-gl/gl/v3.3-core/gl"
)

// target is a framebuffer of one size: multisampled for drawing, with a plain
// twin that it is resolved into for reading. g3n 0.2.0 has no framebuffer
// calls, so this is plain OpenGL in the same context.
type target struct {
	w, h, samples int
	draw, read    uint32    // framebuffers; the same one without multisampling
	buffers       [4]uint32 // renderbuffers: colour and depth of draw, then of read
}

// newTarget makes a target of w x h pixels with up to samples samples.
func newTarget(w, h, samples int) (*target, error) {
	t := &target{w: w, h: h, samples: samples}
	gl.GenRenderbuffers(4, &t.buffers[0])
	gl.GenFramebuffers(1, &t.read)
	t.attach(t.read, t.buffers[2], t.buffers[3], 0)
	t.draw = t.read
	if samples > 1 {
		gl.GenFramebuffers(1, &t.draw)
		t.attach(t.draw, t.buffers[0], t.buffers[1], samples)
	}
	for _, f := range []uint32{t.draw, t.read} {
		gl.BindFramebuffer(gl.FRAMEBUFFER, f)
		if s := gl.CheckFramebufferStatus(gl.FRAMEBUFFER); s != gl.FRAMEBUFFER_COMPLETE {
			t.free()
			return nil, fmt.Errorf("make a picture of %d x %d pixels: framebuffer status 0x%x", w, h, s)
		}
	}
	if err := glError("make a framebuffer"); err != nil {
		t.free()
		return nil, err
	}
	return t, nil
}

func (t *target) attach(frame, color, depth uint32, samples int) {
	gl.BindFramebuffer(gl.FRAMEBUFFER, frame)
	for _, b := range []struct{ name, format, point uint32 }{
		{color, gl.RGBA8, gl.COLOR_ATTACHMENT0},
		{depth, gl.DEPTH_COMPONENT32F, gl.DEPTH_ATTACHMENT},
	} {
		gl.BindRenderbuffer(gl.RENDERBUFFER, b.name)
		if samples > 1 {
			gl.RenderbufferStorageMultisample(gl.RENDERBUFFER, int32(samples), b.format, int32(t.w), int32(t.h))
		} else {
			gl.RenderbufferStorage(gl.RENDERBUFFER, b.format, int32(t.w), int32(t.h))
		}
		gl.FramebufferRenderbuffer(gl.FRAMEBUFFER, b.point, gl.RENDERBUFFER, b.name)
	}
}

// begin makes the target current and clears it to the colour.
func (t *target) begin(r, g, b float32) {
	gl.BindFramebuffer(gl.FRAMEBUFFER, t.draw)
	gl.DepthMask(true)
	gl.ColorMask(true, true, true, true)
	gl.ClearColor(r, g, b, 1)
	gl.ClearDepth(1)
	gl.Clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT)
	// Blending must not thin the paper out: the picture stays opaque.
	gl.ColorMask(true, true, true, false)
}

// resolve copies the drawn samples of the given buffers into the readable twin.
func (t *target) resolve(mask uint32) {
	if t.draw != t.read {
		gl.BindFramebuffer(gl.READ_FRAMEBUFFER, t.draw)
		gl.BindFramebuffer(gl.DRAW_FRAMEBUFFER, t.read)
		w, h := int32(t.w), int32(t.h)
		gl.BlitFramebuffer(0, 0, w, h, 0, 0, w, h, mask, gl.NEAREST)
	}
	gl.BindFramebuffer(gl.READ_FRAMEBUFFER, t.read)
	gl.BindFramebuffer(gl.DRAW_FRAMEBUFFER, t.draw)
	gl.PixelStorei(gl.PACK_ALIGNMENT, 1)
}

// color reads the picture into a fresh image, top row first.
func (t *target) color() *image.RGBA {
	t.resolve(gl.COLOR_BUFFER_BIT)
	img := image.NewRGBA(image.Rect(0, 0, t.w, t.h))
	gl.ReadPixels(0, 0, int32(t.w), int32(t.h), gl.RGBA, gl.UNSIGNED_BYTE, unsafe.Pointer(&img.Pix[0]))
	flipRows(img.Pix, img.Stride)
	return img
}

// depth reads the depth buffer, top row first.
func (t *target) depth() []float32 {
	t.resolve(gl.DEPTH_BUFFER_BIT)
	d := make([]float32, t.w*t.h)
	gl.ReadPixels(0, 0, int32(t.w), int32(t.h), gl.DEPTH_COMPONENT, gl.FLOAT, unsafe.Pointer(&d[0]))
	flipRows(d, t.w)
	return d
}

// flipRows turns a picture of rows of the given length upside down.
func flipRows[T any](pix []T, row int) {
	spare := make([]T, row)
	for i, j := 0, len(pix)-row; i < j; i, j = i+row, j-row {
		copy(spare, pix[i:i+row])
		copy(pix[i:i+row], pix[j:j+row])
		copy(pix[j:j+row], spare)
	}
}

func (t *target) free() {
	gl.BindFramebuffer(gl.FRAMEBUFFER, 0)
	if t.draw != t.read {
		gl.DeleteFramebuffers(1, &t.draw)
	}
	gl.DeleteFramebuffers(1, &t.read)
	gl.DeleteRenderbuffers(4, &t.buffers[0])
}

// errLost marks errors after which a new context may help.
var errLost = errors.New("the graphics context was lost")

// glContextLost is GL_CONTEXT_LOST of OpenGL 4.5, which drivers report to
// older contexts too.
const glContextLost = 0x0507

// glError collects the errors since the last call; g3n's own check would end
// the process.
func glError(doing string) error {
	var err error
	for range 16 { // a lost context may report for ever
		switch e := gl.GetError(); e {
		case gl.NO_ERROR:
			return err
		case glContextLost, gl.OUT_OF_MEMORY:
			return fmt.Errorf("%s: %w (OpenGL error 0x%x)", doing, errLost, e)
		default:
			err = fmt.Errorf("%s: OpenGL error 0x%x", doing, e)
		}
	}
	return fmt.Errorf("%s: %w", doing, errLost)
}
