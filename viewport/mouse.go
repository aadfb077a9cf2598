package viewport

import (
	"math"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"gonum.org/v1/gonum/spatial/r3"

	"pintle/viewport/draft"
)

// How far things move for a movement of the pointer or the wheel.
const (
	orbitPerUnit = 0.0085 // radians per unit of the canvas
	zoomPerUnit  = 0.012  // logarithm of the factor per unit of scrolling
	clickSlack   = 4      // units that a click may wander
)

// gesture is what a held button does.
type gesture uint8

const (
	noGesture gesture = iota
	orbiting
	panning
	grabbing
)

// drag is the gesture under way. Fyne's drag events carry neither button nor
// modifiers, and none come for the right button, so both are kept from the
// press.
type drag struct {
	gesture  gesture
	button   desktop.MouseButton
	modifier fyne.KeyModifier
	from     fyne.Position // of the press
	last     fyne.Position
	moved    bool
	pivot    r3.Vec
	on       Hit                                 // what the press was on
	grab     func(origin, dir r3.Vec, done bool) // while grabbing
}

// active reports whether the camera is being moved by hand.
func (d drag) active() bool { return d.gesture != noGesture && d.moved }

// MouseDown implements desktop.Mouseable.
func (v *Viewport) MouseDown(e *desktop.MouseEvent) {
	if c := fyne.CurrentApp().Driver().CanvasForObject(v); c != nil {
		v.pressed = true
		c.Focus(v)
		v.pressed = false
	}
	v.stopTurning()
	v.drag = drag{button: e.Button, modifier: e.Modifier, from: e.Position, last: e.Position, pivot: v.pivot(), on: v.hover}
	switch {
	case e.Button == desktop.MouseButtonPrimary && e.Modifier&fyne.KeyModifierShift == 0:
		v.drag.gesture = orbiting
	default:
		v.drag.gesture = panning
	}
}

// pivot is the point to orbit round: what the pointer is on, else the middle
// of everything.
func (v *Viewport) pivot() r3.Vec {
	if v.hover.OK() {
		return v.hover.Point
	}
	if len(v.scene.Corners()) == 0 {
		return v.camera.Target
	}
	b := v.scene.Bounds()
	return r3.Scale(0.5, r3.Add(b.Min, b.Max))
}

// MouseUp implements desktop.Mouseable: a press that did not wander is a click.
func (v *Viewport) MouseUp(e *desktop.MouseEvent) {
	d := v.drag
	v.endDrag()
	if d.gesture == noGesture || d.moved || e.Button != d.button {
		return
	}
	switch e.Button {
	case desktop.MouseButtonPrimary:
		v.ask(e.Position, true, func(h Hit) {
			if v.OnPick != nil {
				v.OnPick(h, d.modifier)
			}
		})
	case desktop.MouseButtonSecondary:
		at := e.AbsolutePosition
		v.ask(e.Position, true, func(h Hit) {
			if v.OnContext != nil {
				v.OnContext(h, at)
			}
		})
	}
}

func (v *Viewport) endDrag() {
	was, d := v.drag.active(), v.drag
	v.drag = drag{}
	if d.gesture == grabbing && d.moved {
		o, dir := v.rayAt(d.last)
		d.grab(o, dir, true)
	}
	if was {
		v.redraw(false)
		v.lookAgain()
	}
}

// MouseIn implements desktop.Hoverable.
func (v *Viewport) MouseIn(e *desktop.MouseEvent) {
	v.within = true
	v.MouseMoved(e)
}

// MouseMoved implements desktop.Hoverable. It is how the right button drags.
func (v *Viewport) MouseMoved(e *desktop.MouseEvent) {
	v.pointer = e.Position
	switch {
	case v.drag.gesture == noGesture:
		v.hoverAt(e.Position)
	case e.Button&v.drag.button == 0:
		v.endDrag() // released outside, where nobody told us
	default:
		v.dragTo(e.Position)
	}
}

// MouseOut implements desktop.Hoverable.
func (v *Viewport) MouseOut() {
	v.within = false
	v.setHover(nothing(v.mode))
}

// Dragged implements fyne.Draggable.
func (v *Viewport) Dragged(e *fyne.DragEvent) {
	v.pointer = e.Position
	v.dragTo(e.Position)
}

// DragEnd implements fyne.Draggable.
func (v *Viewport) DragEnd() { v.endDrag() }

// dragTo continues the gesture to a position.
func (v *Viewport) dragTo(at fyne.Position) {
	d := &v.drag
	if d.gesture == noGesture {
		return
	}
	if !d.moved {
		if math.Hypot(float64(at.X-d.from.X), float64(at.Y-d.from.Y)) < clickSlack {
			return
		}
		d.moved = true
		v.beginDrag(d)
	}
	dx, dy := float64(at.X-d.last.X), float64(at.Y-d.last.Y)
	d.last = at
	switch d.gesture {
	case orbiting:
		v.move(v.camera.Orbit(d.pivot, -dx*orbitPerUnit, dy*orbitPerUnit))
	case panning:
		v.move(v.camera.Pan(dx*v.scale, dy*v.scale, v.size.Y))
	case grabbing:
		origin, dir := v.rayAt(at)
		d.grab(origin, dir, false)
	}
}

// beginDrag offers a drag that begins on something to the owner.
func (v *Viewport) beginDrag(d *drag) {
	if d.gesture == orbiting && d.on.OK() && v.OnGrab != nil {
		if d.grab = v.OnGrab(d.on); d.grab != nil {
			d.gesture = grabbing
		}
	}
	v.setHover(nothing(v.mode))
}

// rayAt returns the ray of sight through a position of the widget.
func (v *Viewport) rayAt(at fyne.Position) (origin, dir r3.Vec) {
	return v.View().Ray(v.pixel(at))
}

// Scrolled implements fyne.Scrollable: zoom to the pointer.
func (v *Viewport) Scrolled(e *fyne.ScrollEvent) {
	v.stopTurning()
	x, y := v.pixel(e.Position)
	v.zoom(math.Exp(float64(e.Scrolled.DY)*zoomPerUnit), x, y)
}

// The picture's height stays between these multiples of the model's size.
const (
	closest  = 1e-5
	farthest = 60
)

// zoom changes the scale about a pixel, within what makes sense for the model.
func (v *Viewport) zoom(factor, x, y float64) {
	b := v.scene.Bounds()
	if size := r3.Norm(r3.Sub(b.Max, b.Min)); size > 0 {
		h := v.camera.Height
		factor = math.Max(h/(farthest*size), math.Min(factor, h/(closest*size)))
	}
	v.move(v.camera.Zoom(factor, x, y, v.size.X, v.size.Y))
}

// move takes a camera that the user has asked for.
func (v *Viewport) move(c draft.Camera) {
	if !c.Valid() || c == v.camera {
		return
	}
	v.camera, v.unfit = c, false
	v.redraw(true)
	if v.OnCamera != nil {
		v.OnCamera(c)
	}
}

// Cursor implements desktop.Cursorable.
func (v *Viewport) Cursor() desktop.Cursor {
	switch {
	case v.drag.active():
		return desktop.DefaultCursor
	case v.hover.OK():
		return desktop.PointerCursor
	case v.mode != PickPart:
		return desktop.CrosshairCursor
	}
	return desktop.DefaultCursor
}
