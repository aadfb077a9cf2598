package offscreen

import (
	"fmt"
	"strings"

	"github.com/go-gl/glfw/v3.3/glfw"
)

// openWindow makes the hidden window that the context belongs to. It must run
// on the main thread. The window hints are those of the whole process, so they
// are reset before, lest a toolkit's remain, and after, lest ours reach its
// next window.
func openWindow() (w *glfw.Window, err error) {
	defer func() {
		if p := recover(); p != nil {
			err = unavailable(fmt.Sprint(p)) // glfw panics for what it calls misuse
		}
	}()
	if err := glfw.Init(); err != nil {
		return nil, unavailable(err.Error())
	}
	glfw.DefaultWindowHints()
	defer glfw.DefaultWindowHints()
	glfw.WindowHint(glfw.Visible, glfw.False)
	glfw.WindowHint(glfw.FocusOnShow, glfw.False)
	glfw.WindowHint(glfw.ContextVersionMajor, 3)
	glfw.WindowHint(glfw.ContextVersionMinor, 3)
	glfw.WindowHint(glfw.OpenGLProfile, glfw.OpenGLCoreProfile)
	glfw.WindowHint(glfw.OpenGLForwardCompatible, glfw.True)
	glfw.WindowHint(glfw.CocoaGraphicsSwitching, glfw.True)
	w, err = glfw.CreateWindow(16, 16, "pintle", nil, nil)
	if err != nil {
		return nil, unavailable(err.Error())
	}
	return w, nil
}

// Unavailable says in one sentence why there is no OpenGL to draw with.
type Unavailable struct {
	Reason string
}

// Error returns the sentence.
func (e *Unavailable) Error() string { return "OpenGL 3.3 is not available: " + e.Reason }

// unavailable makes the error from what a library said: the last part of a
// "Code: text" message, without a closing stop, on one line.
func unavailable(said string) error {
	if _, text, ok := strings.Cut(said, ": "); ok {
		said = text
	}
	said = strings.TrimRight(strings.Join(strings.Fields(said), " "), ".")
	if said == "" {
		said = "the driver gave no reason"
	}
	return &Unavailable{Reason: said}
}
