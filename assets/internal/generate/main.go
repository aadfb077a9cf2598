// Command generate writes the demo mechanisms into the directory given as its
// argument: NAME.obj and NAME.truth.json for each.
package main

import (
	"fmt"
	"os"
	"path/filepath"

	"pintle/assets/internal/mechanism"
)

func main() {
	if len(os.Args) != 2 {
		fmt.Fprintln(os.Stderr, "usage: generate DIRECTORY")
		os.Exit(2)
	}
	if err := write(os.Args[1]); err != nil {
		fmt.Fprintln(os.Stderr, "generate:", err)
		os.Exit(1)
	}
}

func write(dir string) error {
	for _, m := range mechanism.All() {
		truth, err := m.Truth()
		if err != nil {
			return err
		}
		files := []struct {
			ending string
			data   []byte
		}{{".obj", m.OBJ()}, {".truth.json", truth}}
		for _, f := range files {
			if err := os.WriteFile(filepath.Join(dir, m.Name+f.ending), f.data, 0o644); err != nil {
				return fmt.Errorf("writing a demo: %w", err)
			}
		}
	}
	return nil
}
