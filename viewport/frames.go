package viewport

import (
	"context"
	"image"
	"time"

	"fyne.io/fyne/v2"

	"pintle/viewport/draft"
	"pintle/viewport/offscreen"
)

// frameRequest is everything a picture needs, taken on the UI thread.
type frameRequest struct {
	painter Painter
	scene   draft.Scene
	camera  draft.Camera
	size    image.Point
	options offscreen.Options
	quick   bool
}

// settleTime is how long after the last movement the crisp picture is made.
const settleTime = 140 * time.Millisecond

// The time that a picture may take while something moves before less effort is
// made, and that below which more is.
const (
	slowFrame = 45 * time.Millisecond
	fastFrame = 14 * time.Millisecond
)

// effort says how much is spent on pictures while something moves: 0 all
// samples, 1 one sample, 2 half the pixels each way.
type effort struct {
	level int
}

// learn adjusts the effort to what a quick picture took.
func (e *effort) learn(took time.Duration) {
	switch {
	case took > slowFrame && e.level < 2:
		e.level++
	case took < fastFrame && e.level > 0:
		e.level--
	}
}

// redraw asks for a picture of the present state. A quick one is followed by
// a crisp one when no other has been asked for in a while.
func (v *Viewport) redraw(quick bool) {
	if v.painter == nil || v.size.X <= 0 || v.size.Y <= 0 {
		return
	}
	r := frameRequest{
		painter: v.painter, scene: v.scene, camera: v.camera, size: v.size, quick: quick,
		options: offscreen.Options{Samples: 4, Scale: v.scale},
	}
	if quick {
		if v.effort.level >= 1 {
			r.options.Samples = 1
		}
		if v.effort.level >= 2 {
			r.size = image.Pt(max(1, r.size.X/2), max(1, r.size.Y/2))
			r.options.Scale /= 2
		}
		v.settleLater()
	}
	v.frames.put(r, false)
}

// settleLater starts or restarts the wait for the crisp picture.
func (v *Viewport) settleLater() {
	if v.unsettle != nil {
		v.unsettle()
	}
	v.unsettle = v.later(settleTime, func() {
		v.do(func() { v.redraw(false) })
	})
}

// after runs f in a while, unless the function it returns is called first.
func after(d time.Duration, f func()) (stop func()) {
	t := time.AfterFunc(d, f)
	return func() { t.Stop() }
}

// makeFrame makes a picture, on the frames goroutine.
func (v *Viewport) makeFrame(r frameRequest) {
	begin := time.Now()
	img, err := r.painter.Render(context.Background(), r.scene, r.camera, r.size.X, r.size.Y, r.options)
	took := time.Since(begin)
	if err != nil {
		v.do(func() {
			if v.OnProblem != nil {
				v.OnProblem(err)
			}
		})
		return
	}
	v.frame.Store(img)
	if v.pending.Swap(true) {
		return // the refresh on its way will show this one
	}
	v.do(func() {
		v.pending.Store(false)
		if r.quick {
			v.effort.learn(took)
		}
		v.raster.Refresh()
	})
}

// image is the raster's generator: it hands out the newest picture and takes
// note of the size, in pixels, that the canvas wants.
func (v *Viewport) image(w, h int) image.Image {
	if size := image.Pt(w, h); size != v.size && w > 0 && h > 0 {
		v.size = size
		if width := v.Size().Width; width > 0 {
			v.scale = float64(w) / float64(width)
		}
		if v.unfit {
			v.fitNow()
		}
		v.redraw(false)
	}
	if img := v.frame.Load(); img != nil {
		return img
	}
	return image.NewRGBA(image.Rect(0, 0, 1, 1))
}

// pixel converts a position in the widget to pixels of the picture.
func (v *Viewport) pixel(p fyne.Position) (x, y float64) {
	size := v.Size()
	if size.Width <= 0 || size.Height <= 0 {
		return 0, 0
	}
	return float64(p.X) * float64(v.size.X) / float64(size.Width),
		float64(p.Y) * float64(v.size.Y) / float64(size.Height)
}
