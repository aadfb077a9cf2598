//go:build unix

package meshio_test

import (
	"os"
	"path/filepath"
	"syscall"
	"testing"

	"pintle/fit/meshio"
)

// Opening a pipe that no one writes to would wait for ever.
func TestPipes(t *testing.T) {
	dir := write(t, map[string][]byte{"m.gltf": good().json("pipe.bin")})
	for _, name := range []string{"pipe.bin", "pipe.obj"} {
		if err := syscall.Mkfifo(filepath.Join(dir, name), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	_, err := meshio.Read(t.Context(), filepath.Join(dir, "m.gltf"), meshio.Options{})
	checkRefusal(t, err, "m.gltf", "buffers[0]", "not an ordinary file")
	_, err = meshio.Read(t.Context(), filepath.Join(dir, "pipe.obj"), meshio.Options{})
	checkRefusal(t, err, "pipe.obj", "not an ordinary file")
	// A folder's model that is a pipe is refused too.
	if err := os.Remove(filepath.Join(dir, "m.gltf")); err != nil {
		t.Fatal(err)
	}
	_, err = meshio.ReadFolder(t.Context(), dir, meshio.Options{})
	checkRefusal(t, err, "not an ordinary file")
}
