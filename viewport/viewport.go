package viewport

import (
	"context"
	"image"
	"image/color"
	"sync/atomic"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/widget"
	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
	"pintle/viewport/draft"
	"pintle/viewport/offscreen"
)

// Painter makes pictures; an offscreen.Renderer is one. The image it returns
// is never written again. It is called on one goroutine at a time.
type Painter interface {
	Render(ctx context.Context, s draft.Scene, c draft.Camera, w, h int, o offscreen.Options) (*image.RGBA, error)
}

// Viewport is the widget that shows a scene. Create it with New. Its methods
// and fields belong to the UI thread, where the callbacks are called too.
type Viewport struct {
	widget.BaseWidget

	// Patch, if set, says which faces a pick of a patch means that is made on
	// triangle tri of a part, in place of the smooth patch round it. It runs on
	// the picks goroutine.
	Patch func(m *mesh.Mesh, tri int) []int32
	// OnHover is called when the pointer comes to another element, or to none.
	OnHover func(Hit)
	// OnPick is called for a click with the left button, also on empty paper.
	OnPick func(Hit, fyne.KeyModifier)
	// OnContext is called for a click with the right button; the position is
	// absolute on the canvas, where a menu would go.
	OnContext func(Hit, fyne.Position)
	// OnGrab, if set, is asked when a drag with the left button begins on
	// something. If it returns a function, that one gets the drag, as rays of
	// sight and at last with done, and the camera stays.
	OnGrab func(Hit) func(origin, dir r3.Vec, done bool)
	// OnCamera is called when the user has moved the camera.
	OnCamera func(draft.Camera)
	// TakeKey, if set, is offered every key before the viewport; true: taken.
	TakeKey func(*fyne.KeyEvent) bool
	// OnKey is offered the keys that the viewport has no use for itself.
	OnKey func(*fyne.KeyEvent)
	// OnProblem is called when a picture could not be made, with a sentence.
	OnProblem func(error)

	scene   draft.Scene
	camera  draft.Camera
	mode    PickMode
	painter Painter
	unfit   bool // the camera waits for a size to be fitted to

	raster  *canvas.Raster
	ring    *canvas.Rectangle
	problem *widget.Label

	size  image.Point // of the picture, pixels
	scale float64     // pixels per unit of the canvas

	frame   atomic.Pointer[image.RGBA]
	pending atomic.Bool // a refresh is on its way to the UI thread
	frames  *newest[frameRequest]
	picks   *newest[pickRequest]
	ready   *newest[draft.Scene]
	latest  []*mesh.Mesh // whose indexes have been asked for
	hover   Hit
	pointer fyne.Position
	within  bool // the pointer is over the widget
	drag    drag
	shift   bool
	pressed bool // the focus is being given by the mouse
	effort  effort
	turning *fyne.Animation

	do       func(func()) // runs a function on the UI thread, later
	later    func(time.Duration, func()) (stop func())
	unsettle func() // gives up waiting for the crisp picture
}

var (
	_ fyne.Widget        = (*Viewport)(nil)
	_ fyne.Draggable     = (*Viewport)(nil)
	_ fyne.Focusable     = (*Viewport)(nil)
	_ fyne.Scrollable    = (*Viewport)(nil)
	_ desktop.Mouseable  = (*Viewport)(nil)
	_ desktop.Hoverable  = (*Viewport)(nil)
	_ desktop.Keyable    = (*Viewport)(nil)
	_ desktop.Cursorable = (*Viewport)(nil)
)

// New returns an empty viewport. It shows nothing until it has a painter.
func New() *Viewport {
	v := &Viewport{do: fyne.Do, later: after, hover: nothing(PickPart), scale: 1, unfit: true}
	v.camera = draft.NewCamera(r3.Box{}, "", 1)
	v.frames = newNewest(v.makeFrame)
	v.picks = newNewest(v.makePick)
	v.ready = newNewest(buildIndexes)
	v.raster = canvas.NewRaster(v.image)
	v.ring = canvas.NewRectangle(color.Transparent)
	v.ring.StrokeWidth = 2
	v.ring.Hide()
	v.problem = widget.NewLabel("")
	v.problem.Wrapping = fyne.TextWrapWord
	v.problem.Alignment = fyne.TextAlignCenter
	v.problem.Hide()
	v.ExtendBaseWidget(v)
	return v
}

// SetPainter gives the viewport what makes its pictures. Nil leaves the last one.
func (v *Viewport) SetPainter(p Painter) {
	v.painter = p
	v.redraw(false)
}

// SetProblem shows a sentence in place of the picture; an empty one takes it away.
func (v *Viewport) SetProblem(text string) {
	v.problem.SetText(text)
	if text == "" {
		v.problem.Hide()
	} else {
		v.problem.Show()
	}
}

// SetScene shows another scene. The camera stays, except that the first scene
// with any parts is fitted into the picture.
func (v *Viewport) SetScene(s draft.Scene) { v.setScene(s, v.drag.active()) }

// MoveScene shows one of many scenes in quick succession, such as the poses
// of a motion: roughly if need be, and crisply once no other follows.
func (v *Viewport) MoveScene(s draft.Scene) { v.setScene(s, true) }

func (v *Viewport) setScene(s draft.Scene, quick bool) {
	v.scene = s
	if v.unfit {
		v.fitNow()
	}
	v.prepare(s)
	v.redraw(quick)
}

// Reset shows the scene of another model, fitted in the axonometric view with
// the given axis up.
func (v *Viewport) Reset(s draft.Scene, up mesh.Up) {
	v.stopTurning()
	fov := v.camera.FOV
	v.camera, v.unfit = draft.NewCamera(s.Bounds(), up, v.aspect()), true
	v.camera.FOV = fov
	v.SetScene(s)
}

// Scene returns the scene shown.
func (v *Viewport) Scene() draft.Scene { return v.scene }

// Camera returns the camera.
func (v *Viewport) Camera() draft.Camera { return v.camera }

// SetCamera shows the scene from another camera, at once. It does not call
// OnCamera.
func (v *Viewport) SetCamera(c draft.Camera) {
	if !c.Valid() {
		return
	}
	v.stopTurning()
	v.camera, v.unfit = c, false
	v.redraw(false)
}

// SetPickMode says what hovering and clicking look for from now on.
func (v *Viewport) SetPickMode(m PickMode) {
	if v.mode == m {
		return
	}
	v.mode = m
	v.lookAgain()
}

// Mode returns the pick mode.
func (v *Viewport) Mode() PickMode { return v.mode }

// Fit brings everything into the picture, keeping the direction of view.
func (v *Viewport) Fit() {
	v.Go(v.camera.Fit(v.scene.Corners(), v.aspect(), draft.DefaultMargin))
}

// FitTo brings the given model points into the picture.
func (v *Viewport) FitTo(points []r3.Vec) {
	v.Go(v.camera.Fit(points, v.aspect(), draft.DefaultMargin))
}

// Straight turns to a straight or the axonometric view and fits it.
func (v *Viewport) Straight(s draft.Straight) {
	c := v.camera.Straight(s)
	v.Go(c.Fit(v.scene.Corners(), v.aspect(), draft.DefaultMargin))
}

// Hover returns what the pointer is on.
func (v *Viewport) Hover() Hit { return v.hover }

// View returns the camera fixed to the picture's present size: what turns
// model points into pixels and pixels into rays.
func (v *Viewport) View() draft.View {
	return v.camera.View(v.size.X, v.size.Y, v.scale, v.scene.Bounds())
}

// MinSize returns the least useful size.
func (v *Viewport) MinSize() fyne.Size {
	v.ExtendBaseWidget(v)
	return fyne.NewSize(160, 120)
}

// CreateRenderer implements fyne.Widget. The renderer is only a cache: all
// state is the widget's.
func (v *Viewport) CreateRenderer() fyne.WidgetRenderer {
	v.ExtendBaseWidget(v)
	return &layout{v: v}
}

// layout is the widget's Fyne renderer.
type layout struct {
	v *Viewport
}

func (l *layout) Layout(size fyne.Size) {
	l.v.raster.Resize(size)
	l.v.ring.Resize(size)
	min := l.v.problem.MinSize()
	w := fyne.Min(size.Width, 520)
	l.v.problem.Resize(fyne.NewSize(w, min.Height))
	l.v.problem.Move(fyne.NewPos((size.Width-w)/2, size.Height/3))
}

func (l *layout) MinSize() fyne.Size { return l.v.MinSize() }

func (l *layout) Refresh() {
	l.v.redraw(false)
	l.v.raster.Refresh()
	canvas.Refresh(l.v.ring)
	l.v.problem.Refresh()
}

func (l *layout) Destroy() {}

func (l *layout) Objects() []fyne.CanvasObject {
	return []fyne.CanvasObject{l.v.raster, l.v.problem, l.v.ring}
}

func (v *Viewport) aspect() float64 {
	if v.size.X <= 0 || v.size.Y <= 0 {
		return 1.6
	}
	return float64(v.size.X) / float64(v.size.Y)
}

// fitNow fits the camera without a way there, once the size is known.
func (v *Viewport) fitNow() {
	corners := v.scene.Corners()
	if v.size.X <= 0 || len(corners) == 0 {
		return
	}
	v.camera = v.camera.Fit(corners, v.aspect(), draft.DefaultMargin)
	v.unfit = false
}
