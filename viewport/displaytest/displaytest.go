// Package displaytest keeps tests that show windows out of one another's way.
// Packages are tested at the same time, often on one display, where a window
// of one would cover another's and take its clicks.
package displaytest

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
)

// Hold skips the test where there is no display, and otherwise waits until no
// other test holds it. It is given up when the test ends, however it ends.
func Hold(t testing.TB) {
	t.Helper()
	display := os.Getenv("DISPLAY")
	if display == "" {
		display = os.Getenv("WAYLAND_DISPLAY")
	}
	if display == "" {
		t.Skip("there is no display; make test brings a private one")
	}
	name := strings.NewReplacer("/", "_", ":", "_").Replace(display)
	path := filepath.Join(os.TempDir(), fmt.Sprintf("pintle-test-display-%d-%s.lock", os.Getuid(), name))
	f, err := os.OpenFile(path, os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		t.Fatalf("holding the display: %v", err)
	}
	t.Cleanup(func() { _ = f.Close() }) // the lock goes with it
	if err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX); err != nil {
		t.Fatalf("holding the display: %v", err)
	}
}
