package meshio_test

import (
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"pintle/fit/mesh"
	"pintle/fit/meshio"
)

// TestSharedMechanisms holds part names and triangle counts of real mechanisms
// against the counts stated beside them.
func TestSharedMechanisms(t *testing.T) {
	models, err := filepath.Glob("../../../shared/mechanisms/*/model.obj")
	if err != nil {
		t.Fatal(err)
	}
	posed, err := filepath.Glob("../../../shared/mechanisms/*/posed/model.obj")
	if err != nil {
		t.Fatal(err)
	}
	models = append(models, posed...)
	if len(models) == 0 {
		t.Skip("../shared/mechanisms is not beside the repository: no real mechanisms to read")
	}
	for _, path := range models {
		t.Run(path, func(t *testing.T) {
			var truth struct {
				Unit  mesh.Unit
				Parts []struct {
					Name                string
					Triangles, Vertices int
					Diag, Area          float64
				}
			}
			text, err := os.ReadFile(filepath.Join(filepath.Dir(path), "truth.json"))
			if err != nil {
				t.Fatal(err)
			}
			if err := json.Unmarshal(text, &truth); err != nil {
				t.Fatal(err)
			}
			m, err := meshio.Read(t.Context(), path, meshio.Options{})
			if err != nil {
				t.Fatal(err)
			}
			if m.Unit != truth.Unit {
				t.Errorf("unit %q, want %q", m.Unit, truth.Unit)
			}
			if len(m.Parts) != len(truth.Parts) {
				t.Fatalf("%d parts, want %d", len(m.Parts), len(truth.Parts))
			}
			for i, want := range truth.Parts {
				got := m.Parts[i]
				if got.Name != want.Name {
					t.Errorf("part %d is %q, want %q", i, got.Name, want.Name)
				}
				if n := len(got.Mesh.Triangles()); n != want.Triangles {
					t.Errorf("part %s has %d triangles, want %d", want.Name, n, want.Triangles)
				}
				if n := len(got.Mesh.Vertices()); n != want.Vertices {
					t.Errorf("part %s has %d vertices, want %d", want.Name, n, want.Vertices)
				}
				if d := got.Mesh.Diagonal() / want.Diag; !(d > 1-1e-6 && d < 1+1e-6) {
					t.Errorf("part %s has a diagonal of %v, want %v", want.Name, got.Mesh.Diagonal(), want.Diag)
				}
			}
			for _, n := range m.Notes {
				t.Log(n)
			}
		})
	}
}
