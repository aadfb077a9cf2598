package viewport

import (
	"math"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/driver/desktop"

	"pintle/viewport/draft"
)

// Steps of the keyboard.
const (
	keyOrbit = math.Pi / 36
	keyPan   = 0.06 // of the picture's height
	keyZoom  = 1.25
)

// turnTime is how long a change of view takes to show.
const turnTime = 260 * time.Millisecond

// perspectiveAngle is the angle of view of the perspective projection: that of
// a long lens, so that a drawing stays calm.
const perspectiveAngle = 26 * math.Pi / 180

// FocusGained implements fyne.Focusable. The ring that shows the focus is for
// those who work with keys, so a click does not bring it out.
func (v *Viewport) FocusGained() {
	if !v.pressed {
		v.showRing()
	}
}

func (v *Viewport) showRing() {
	v.ring.StrokeColor = v.palette().Color(draft.InkHinge)
	v.ring.Show()
	canvas.Refresh(v.ring)
}

// FocusLost implements fyne.Focusable.
func (v *Viewport) FocusLost() {
	v.shift = false
	v.ring.Hide()
	canvas.Refresh(v.ring)
}

func (v *Viewport) palette() draft.Palette {
	if v.scene.Palette == (draft.Palette{}) {
		return draft.Paper()
	}
	return v.scene.Palette
}

// KeyDown implements desktop.Keyable; Fyne's key events carry no modifiers.
func (v *Viewport) KeyDown(e *fyne.KeyEvent) {
	if e.Name == desktop.KeyShiftLeft || e.Name == desktop.KeyShiftRight {
		v.shift = true
	}
}

// KeyUp implements desktop.Keyable.
func (v *Viewport) KeyUp(e *fyne.KeyEvent) {
	if e.Name == desktop.KeyShiftLeft || e.Name == desktop.KeyShiftRight {
		v.shift = false
	}
}

// TypedKey implements fyne.Focusable.
func (v *Viewport) TypedKey(e *fyne.KeyEvent) {
	v.showRing()
	if v.TakeKey != nil && v.TakeKey(e) {
		return
	}
	dx, dy := 0.0, 0.0
	switch e.Name {
	case fyne.KeyLeft:
		dx = -1
	case fyne.KeyRight:
		dx = 1
	case fyne.KeyUp:
		dy = -1
	case fyne.KeyDown:
		dy = 1
	default:
		if v.OnKey != nil {
			v.OnKey(e)
		}
		return
	}
	v.stopTurning()
	if v.shift {
		step := keyPan * float64(v.size.Y)
		v.move(v.camera.Pan(-dx*step, -dy*step, v.size.Y))
		return
	}
	v.move(v.camera.Orbit(v.pivot(), dx*keyOrbit, -dy*keyOrbit))
}

// TypedRune implements fyne.Focusable.
func (v *Viewport) TypedRune(r rune) {
	v.showRing()
	x, y := float64(v.size.X)/2, float64(v.size.Y)/2
	switch r {
	case '+', '=':
		v.zoom(keyZoom, x, y)
	case '-', '_':
		v.zoom(1/keyZoom, x, y)
	case 'f', 'F':
		v.Fit()
	case 'p', 'P':
		v.TogglePerspective()
	case '1', '2', '3', '4', '5', '6', '7':
		v.Straight(draft.Front + draft.Straight(r-'1'))
	}
}

// TogglePerspective changes between the parallel and the perspective projection.
func (v *Viewport) TogglePerspective() {
	c := v.camera
	if c.FOV > 0 {
		c.FOV = 0
	} else {
		c.FOV = perspectiveAngle
	}
	v.stopTurning()
	v.move(c)
}

// Go moves to another camera in a short movement, or at once where the user
// has turned animations off, and calls OnCamera on the way.
func (v *Viewport) Go(to draft.Camera) {
	if !to.Valid() {
		return
	}
	v.stopTurning()
	if !fyne.CurrentApp().Settings().ShowAnimations() || v.size.X <= 0 {
		v.move(to)
		return
	}
	from := v.camera
	v.turning = fyne.NewAnimation(turnTime, func(t float32) {
		v.move(from.Between(to, float64(t)))
	})
	v.turning.Curve = fyne.AnimationEaseInOut
	v.turning.Start()
}

func (v *Viewport) stopTurning() {
	if v.turning != nil {
		v.turning.Stop()
		v.turning = nil
	}
}
