package paper

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
)

// touch is what the pressable widgets share: the tint under the pointer, the
// focus ring, and pressing by Space or Return. A widget embeds it and hands in
// how it is drawn again and what a press does.
type touch struct {
	hovered, focused bool
	redraw, press    func()
}

// MouseIn tints the widget.
func (t *touch) MouseIn(*desktop.MouseEvent) { t.hovered = true; t.redraw() }

// MouseMoved does nothing; it completes desktop.Hoverable.
func (t *touch) MouseMoved(*desktop.MouseEvent) {}

// MouseOut ends the tint.
func (t *touch) MouseOut() { t.hovered = false; t.redraw() }

// FocusGained shows the focus ring.
func (t *touch) FocusGained() { t.focused = true; t.redraw() }

// FocusLost hides the focus ring.
func (t *touch) FocusLost() { t.focused = false; t.redraw() }

// Tapped presses the widget.
func (t *touch) Tapped(*fyne.PointEvent) { t.press() }

// TypedRune presses the widget on Space.
func (t *touch) TypedRune(r rune) {
	if r == ' ' {
		t.press()
	}
}

// TypedKey presses the widget on Return.
func (t *touch) TypedKey(e *fyne.KeyEvent) {
	if e.Name == fyne.KeyReturn || e.Name == fyne.KeyEnter {
		t.press()
	}
}
