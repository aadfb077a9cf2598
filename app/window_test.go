package main

import (
	"bytes"
	"errors"
	"image/color"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"pintle/viewport/displaytest"
)

// program builds Pintle once for the tests that run it.
func program(t *testing.T) string {
	t.Helper()
	bin := filepath.Join(t.TempDir(), "pintle")
	if out, err := exec.Command("go", "build", "-o", bin, ".").CombinedOutput(); err != nil {
		t.Fatalf("go build: %v\n%s", err, out)
	}
	return bin
}

// needs skips a test where a tool or the display is missing, and holds the
// display for it.
func needs(t *testing.T, tools ...string) {
	t.Helper()
	displaytest.Hold(t)
	for _, tool := range tools {
		if _, err := exec.LookPath(tool); err != nil {
			t.Skipf("%s is not installed; make test installs it", tool)
		}
	}
}

// TestWindowOpensDrawsAndCloses runs the real window on the demo: its title
// comes, the drawing has ink on it, a click on the Model step changes the
// picture, and Ctrl+Q ends the program with exit code 0.
func TestWindowOpensDrawsAndCloses(t *testing.T) {
	needs(t, "xdotool", "import")
	home := t.TempDir()
	cmd := exec.Command(program(t), "--demo", "tern-arm")
	cmd.Env = append(os.Environ(), "HOME="+home, "XDG_CONFIG_HOME="+home, "LANG=en_US.UTF-8")
	var log bytes.Buffer
	cmd.Stderr = &log
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	ended := make(chan error, 1)
	go func() { ended <- cmd.Wait() }()
	t.Cleanup(func() { _ = cmd.Process.Kill() }) // ended by then, unless the test failed

	run := func(args ...string) string {
		out, err := exec.Command(args[0], args[1:]...).Output()
		if err != nil {
			return ""
		}
		return strings.TrimSpace(string(out))
	}
	var window string
	eventually(t, "the window's title", func() bool {
		window, _, _ = strings.Cut(run("xdotool", "search", "--onlyvisible", "--name", "tern-arm.obj"), "\n")
		return window != ""
	})
	var first picture
	eventually(t, "the drawing", func() bool {
		first = photograph(t, window)
		return first.inked > 0.01 && first.tinted > 0.03
	})
	run("xdotool", "mousemove", "--window", window, "165", "23", "click", "1")
	eventually(t, "the Model step", func() bool { return !bytes.Equal(photograph(t, window).raw, first.raw) })
	run("xdotool", "key", "--window", window, "ctrl+q")
	select {
	case err := <-ended:
		if err != nil {
			t.Errorf("the program ended with %v\n%s", err, log.String())
		}
	case <-time.After(time.Minute): // only a hang takes as long
		t.Error("Ctrl+Q did not end the program")
	}
	if strings.Contains(log.String(), "call thread") {
		t.Errorf("the toolkit was called from a wrong thread:\n%s", log.String())
	}
}

func eventually(t *testing.T, what string, ok func() bool) {
	t.Helper()
	for range 240 {
		if ok() {
			return
		}
		time.Sleep(250 * time.Millisecond)
	}
	t.Fatalf("still waiting for %s", what)
}

// picture is a photograph of the window with the shares of its pixels that are
// dark (ink) and that are coloured (part fills, accents).
type picture struct {
	raw           []byte
	inked, tinted float64
}

func photograph(t *testing.T, window string) picture {
	t.Helper()
	raw, err := exec.Command("import", "-silent", "-window", window, "png:-").Output()
	if err != nil {
		return picture{}
	}
	img, err := png.Decode(bytes.NewReader(raw))
	if err != nil {
		t.Fatalf("reading the photograph: %v", err)
	}
	p := picture{raw: raw}
	b := img.Bounds()
	n := 0.0
	for y := b.Min.Y; y < b.Max.Y; y += 2 {
		for x := b.Min.X; x < b.Max.X; x += 2 {
			c := color.NRGBAModel.Convert(img.At(x, y)).(color.NRGBA)
			n++
			if c.R < 90 && c.G < 90 && c.B < 90 {
				p.inked++
			}
			if c.B > c.R { // paper and panels are warm
				p.tinted++
			}
		}
	}
	p.inked /= n
	p.tinted /= n
	return p
}

// TestWithoutADisplayTheProgramSaysSo: one sentence, exit code 2, and the
// commands still work.
func TestWithoutADisplayTheProgramSaysSo(t *testing.T) {
	if !displayNeeded() {
		t.Skip("windows need no display server here")
	}
	bin := program(t)
	for _, display := range []string{"", ":987"} {
		cmd := exec.Command(bin)
		cmd.Env = []string{"HOME=" + t.TempDir(), "LANG=en_US.UTF-8", "DISPLAY=" + display}
		out, err := cmd.CombinedOutput()
		var exit *exec.ExitError
		if !errors.As(err, &exit) || exit.ExitCode() != 2 {
			t.Errorf("display %q: ended with %v\n%s", display, err, out)
		}
		if !strings.Contains(string(out), "pintle --help") || strings.Contains(string(out), "goroutine") {
			t.Errorf("display %q: said %s", display, out)
		}
	}
	arm := filepath.Join("..", "assets", "demo", "tern-arm.obj")
	draw := exec.Command(bin, "draw", arm, "-o", filepath.Join(t.TempDir(), "arm.png"))
	draw.Env = []string{"HOME=" + t.TempDir(), "LANG=en_US.UTF-8"}
	out, err := draw.CombinedOutput()
	var exit *exec.ExitError
	if !errors.As(err, &exit) || exit.ExitCode() != 2 || strings.Count(string(out), "\n") != 1 || !strings.Contains(string(out), "xvfb-run") {
		t.Errorf("draw without a display: %v\n%s", err, out)
	}
	cmd := exec.Command(bin, "parts", arm)
	cmd.Env = []string{"HOME=" + t.TempDir(), "LANG=en_US.UTF-8"}
	if out, err := cmd.CombinedOutput(); err != nil || !strings.Contains(string(out), "forearm") {
		t.Errorf("parts without a display: %v\n%s", err, out)
	}
}
