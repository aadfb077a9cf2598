package viewport

import (
	"bufio"
	"bytes"
	"fmt"
	"image"
	_ "image/png"
	"io"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/app"

	"pintle/fit/mesh/meshtest"
	"pintle/viewport/displaytest"
	"pintle/viewport/draft"
	"pintle/viewport/offscreen"
)

// childEnv makes the test binary open a real window instead of testing.
const childEnv = "PINTLE_TEST_WINDOW"

func TestMain(m *testing.M) {
	if os.Getenv(childEnv) != "" {
		realWindow()
		return
	}
	os.Exit(m.Run())
}

// realWindow runs an app with a viewport and an offscreen renderer, as the
// program does, until its input ends. It reports on its output.
func realWindow() {
	a := app.NewWithID("pintle.viewport.test")
	w := a.NewWindow("viewport")
	v := New()
	v.Reset(draft.Scene{
		Parts: []draft.PartView{{Mesh: meshtest.Torus(3, 1, 60, 24)}},
		Marks: []draft.Mark{draft.TitleBlock{Title: "torus", Rows: [][]string{{"unit mm", "up Z"}}}},
	}, "")
	v.OnProblem = func(err error) { fmt.Println("problem", err) }
	w.SetPadded(false)
	w.SetContent(v)
	w.Resize(fyne.NewSize(600, 400))
	a.Lifecycle().SetOnStarted(func() { go attend(v, w) })
	w.ShowAndRun()
}

// attend gives the window its renderer and serves the parent's questions.
func attend(v *Viewport, w fyne.Window) {
	r, err := offscreen.New(fyne.DoAndWait)
	if err != nil {
		fmt.Println("problem", err)
		fyne.Do(w.Close)
		return
	}
	fyne.DoAndWait(func() { v.SetPainter(r) })
	in := bufio.NewScanner(os.Stdin)
	for in.Scan() {
		v.frames.wait()
		var size image.Point
		fyne.DoAndWait(func() {
			size = v.size
			if in.Text() == "turn" {
				v.Straight(draft.Top)
			}
		})
		fmt.Println("shaded", r.Stats().Shaded, "size", size.X, size.Y)
	}
	fyne.Do(func() {
		w.SetOnClosed(r.Close)
		w.Close()
	})
}

// window is a child process with a real window.
type window struct {
	t    *testing.T
	cmd  *exec.Cmd
	in   io.WriteCloser
	out  *bufio.Scanner
	errs bytes.Buffer
}

func openWindow(t *testing.T, env ...string) *window {
	t.Helper()
	displaytest.Hold(t)
	w := &window{t: t, cmd: exec.Command(os.Args[0])}
	w.cmd.Env = append(append(os.Environ(), childEnv+"=1", "LANG=en_US.UTF-8"), env...)
	w.cmd.Stderr = &w.errs
	var err error
	if w.in, err = w.cmd.StdinPipe(); err != nil {
		t.Fatal(err)
	}
	out, err := w.cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	w.out = bufio.NewScanner(out)
	if err := w.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = w.cmd.Process.Kill() })
	return w
}

// ask sends a line and returns the number of pictures shaded and their size.
func (w *window) ask(what string) (shaded, x, y int) {
	w.t.Helper()
	fmt.Fprintln(w.in, what)
	for w.out.Scan() {
		line := w.out.Text()
		if strings.HasPrefix(line, "problem") {
			w.t.Fatal(line)
		}
		if n, _ := fmt.Sscanf(line, "shaded %d size %d %d", &shaded, &x, &y); n == 3 {
			return shaded, x, y
		}
	}
	w.t.Fatalf("the window said nothing: %s", w.errs.String())
	return 0, 0, 0
}

// calm waits until no more pictures are shaded, or gives up.
func (w *window) calm() (shaded, x, y int) {
	w.t.Helper()
	last := -1
	for range 100 {
		time.Sleep(300 * time.Millisecond)
		if shaded, x, y = w.ask("how many"); shaded == last && shaded > 0 {
			return shaded, x, y
		}
		last = shaded
	}
	w.t.Fatalf("pictures are shaded without end: %d so far", last)
	return 0, 0, 0
}

func (w *window) close() {
	w.t.Helper()
	w.in.Close()
	if err := w.cmd.Wait(); err != nil {
		w.t.Errorf("the window's process: %v\n%s", err, w.errs.String())
	}
	for _, bad := range []string{"Error in Fyne call thread", "panic", "GLFW"} {
		if strings.Contains(w.errs.String(), bad) {
			w.t.Errorf("the window complained:\n%s", w.errs.String())
		}
	}
}

// screen photographs the display.
func screen(t *testing.T) image.Image {
	t.Helper()
	if _, err := exec.LookPath("import"); err != nil {
		t.Skip("needs ImageMagick's import to photograph the display")
	}
	shot, err := exec.Command("import", "-window", "root", "png:-").Output()
	if err != nil {
		t.Fatalf("photograph the display: %v", err)
	}
	img, _, err := image.Decode(bytes.NewReader(shot))
	if err != nil {
		t.Fatalf("read the photograph: %v", err)
	}
	return img
}

// count returns how many pixels have about one of the palette's colours.
func count(img image.Image, inks ...draft.Ink) []int {
	n := make([]int, len(inks))
	b := img.Bounds()
	near := func(a uint32, c uint8) bool { d := int(a>>8) - int(c); return d > -3 && d < 3 }
	for y := b.Min.Y; y < b.Max.Y; y++ {
		for x := b.Min.X; x < b.Max.X; x++ {
			r, g, bl, _ := img.At(x, y).RGBA()
			for i, ink := range inks {
				if c := draft.Paper().Color(ink); near(r, c.R) && near(g, c.G) && near(bl, c.B) {
					n[i]++
				}
			}
		}
	}
	return n
}

// A real window shows the picture, at rest draws nothing, and draws again when
// the view changes.
func TestRealWindow(t *testing.T) {
	w := openWindow(t)
	shaded, x, y := w.calm()
	if x < 400 || y < 300 {
		t.Errorf("the picture has %d x %d pixels", x, y)
	}
	time.Sleep(time.Second)
	if again, _, _ := w.ask("how many"); again != shaded {
		t.Errorf("%d pictures shaded in an idle second", again-shaded)
	}
	w.ask("turn")
	if turned, _, _ := w.calm(); turned <= shaded {
		t.Error("a change of view shaded nothing")
	}
	n := count(screen(t), draft.InkPaper, draft.InkMain)
	if n[0] < x*y/4 || n[1] < 300 {
		t.Errorf("%d pixels of paper and %d of ink on a display with a picture of %d x %d", n[0], n[1], x, y)
	}
	w.close()
}

// On a display of double scale the picture has double the pixels.
func TestRealWindowHiDPI(t *testing.T) {
	w := openWindow(t, "FYNE_SCALE=2")
	if _, x, y := w.calm(); x < 1000 || y < 600 {
		t.Errorf("the picture has %d x %d pixels, want twice 600 x 400", x, y)
	}
	w.close()
}
