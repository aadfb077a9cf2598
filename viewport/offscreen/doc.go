// Package offscreen makes pictures of a draft.Scene without a visible window.
//
// A Renderer owns one goroutine that is locked to its OS thread, and on it an
// OpenGL 3.3 core context that belongs to a hidden window. There a g3n scene
// of the parts is rendered into a multisampled framebuffer object and read
// back; the drawing of package draft is then laid over it on the caller's
// goroutine. A window and a picture file get the same pixels from the same
// code.
//
// # Threads
//
// GLFW creates and destroys windows on the process's main thread only, so New
// takes a function that runs another one there and returns when it is done:
//
//   - with a running Fyne app, call New from any goroutine but the UI's and
//     pass fyne.DoAndWait;
//   - in a program without a running app, call RunMain on the main goroutine
//     (which Fyne's driver locks to the main thread when it is linked in) and
//     pass the function that it hands to its argument.
//
// Everything else may be called from any goroutine. Close the renderer before
// the app's event loop ends, for instance in the window's OnClosed: the loop's
// end destroys all of the process's windows, and none may then be drawn with.
//
// # Race builds
//
// g3n 0.2.0 converts pointers in ways that the checks of a race build refuse;
// test with -race -gcflags='github.com/g3n/engine/...=-d=checkptr=0'.
package offscreen
