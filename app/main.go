// Command pintle measures mechanical models, makes and proves their joints and
// hands them over. Without a command it opens the window.
package main

import (
	"context"
	"errors"
	"fmt"
	"image"
	"os"
	"path/filepath"
	"runtime/debug"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/app"

	"pintle/app/batch"
	"pintle/app/ui"
	"pintle/assets"
	"pintle/viewport/draft"
	"pintle/viewport/offscreen"
)

const version = "0.1.0"

func main() { os.Exit(run(os.Args[1:])) }

// run does a command, or opens the window.
func run(args []string) int {
	var out batch.Outcome
	streams := batch.Streams{In: os.Stdin, Out: os.Stdout, Err: os.Stderr}
	// Pictures want the process's main thread, which this goroutine has until
	// the window takes it over.
	offscreen.RunMain(func(onMain func(func())) {
		out = batch.Main(context.Background(), args, streams, batch.Deps{
			Version:  version,
			Renderer: func() (batch.Renderer, error) { return newRenderer(onMain) },
		})
	})
	if !out.Window {
		return out.Code
	}
	return window(out)
}

// renderer fits the offscreen renderer to what commands ask for.
type renderer struct{ *offscreen.Renderer }

func newRenderer(onMain func(func())) (batch.Renderer, error) {
	if !hasDisplay() {
		return nil, errors.New("there is no display to draw with; a virtual one will do: xvfb-run pintle draw")
	}
	r, err := offscreen.New(onMain)
	if err != nil {
		return nil, err
	}
	return renderer{r}, nil
}

// Render makes one picture, finely sampled: nobody waits for the next one.
func (r renderer) Render(ctx context.Context, s draft.Scene, c draft.Camera, w, h int) (*image.RGBA, error) {
	return r.Renderer.Render(ctx, s, c, w, h, offscreen.Options{Samples: 8})
}

// window opens the window and returns when it is closed.
func window(o batch.Outcome) int {
	if !hasDisplay() {
		fmt.Fprintln(os.Stderr, "pintle: there is no display to open the window on; the commands work without one, see pintle --help")
		return batch.ExitBadInput
	}
	data := dataDir()
	keepCrashLog(data)
	a := app.NewWithID("pintle.desktop")
	app.SetMetadata(fyne.AppMetadata{ID: "pintle.desktop", Name: "Pintle", Version: version})
	a.SetIcon(fyne.NewStaticResource("pintle.svg", assets.Icon()))
	s, err := openShell(a, ui.Options{Path: o.File, Demo: o.Demo, DataDir: data})
	if err != nil {
		fmt.Fprintf(os.Stderr, "pintle: %v; the commands work without a display, see pintle --help\n", err)
		return batch.ExitBadInput
	}
	var r *offscreen.Renderer
	a.Lifecycle().SetOnStarted(func() {
		go func() { // the renderer asks the window's thread, which must not wait for it
			made, err := offscreen.New(fyne.DoAndWait)
			fyne.Do(func() {
				r = made
				s.SetPainter(made, err)
				s.Start()
			})
		}()
	})
	s.Window().SetOnClosed(func() {
		s.Close()
		if r != nil {
			r.Close()
		}
	})
	s.Window().ShowAndRun()
	return batch.ExitDone
}

// hasDisplay reports whether the environment names the display server that
// windows and OpenGL need here.
func hasDisplay() bool {
	return !displayNeeded() || os.Getenv("DISPLAY") != "" || os.Getenv("WAYLAND_DISPLAY") != ""
}

// openShell makes the window. The toolkit panics where the display cannot be
// reached or has no OpenGL.
func openShell(a fyne.App, o ui.Options) (s *ui.Shell, err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("the window could not be opened on display %q (%v)", os.Getenv("DISPLAY"), p)
		}
	}()
	return ui.NewShell(a, o), nil
}

// dataDir is where recent files, recovery copies and demo models are kept.
func dataDir() string {
	base, err := os.UserConfigDir()
	if err != nil {
		base = os.TempDir()
	}
	return filepath.Join(base, "pintle")
}

// keepCrashLog has a crash write its stack beside the other data.
func keepCrashLog(dir string) {
	if os.MkdirAll(dir, 0o700) != nil {
		return
	}
	f, err := os.OpenFile(filepath.Join(dir, "crash.log"), os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o600)
	if err != nil {
		return
	}
	_ = debug.SetCrashOutput(f, debug.CrashOptions{}) // without a log a crash still prints
	_ = f.Close()
}
