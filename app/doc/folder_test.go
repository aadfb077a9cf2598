package doc_test

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pintle/app/doc"
	"pintle/assets"
)

// scatter writes each part of a demo's model as a file of its own.
func scatter(t *testing.T, demo string) string {
	t.Helper()
	dir := t.TempDir()
	for _, d := range assets.Demos() {
		if d.Name != demo {
			continue
		}
		var head, vertices []string
		parts := map[string][]string{}
		name := ""
		for _, line := range strings.Split(string(d.OBJ), "\n") {
			switch {
			case strings.HasPrefix(line, "o "):
				name = strings.TrimSpace(line[2:])
			case strings.HasPrefix(line, "v "):
				vertices = append(vertices, line)
			case strings.HasPrefix(line, "f "):
				parts[name] = append(parts[name], line)
			case strings.HasPrefix(line, "#"):
				head = append(head, line)
			}
		}
		for name, faces := range parts {
			text := strings.Join(head, "\n") + "\n" + strings.Join(vertices, "\n") + "\n" + strings.Join(faces, "\n") + "\n"
			if err := os.WriteFile(filepath.Join(dir, name+".obj"), []byte(text), 0o600); err != nil {
				t.Fatal(err)
			}
		}
	}
	return dir
}

func TestAFolderIsAModelWithOnePartAFile(t *testing.T) {
	dir := scatter(t, "heron-leg")
	ctx := context.Background()
	s, err := doc.OpenModel(ctx, dir, doc.OpenOptions{})
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, p := range s.Parts {
		names = append(names, p.Name)
	}
	if !slices.IsSorted(names) || len(names) != 4 || !slices.Contains(names, "shank") {
		t.Errorf("parts %q", names)
	}
	// A document about it opens again, and says so when a file has changed.
	path := filepath.Join(t.TempDir(), "leg.pintle")
	if err := doc.Save(path, s.Doc); err != nil {
		t.Fatal(err)
	}
	again, err := doc.Open(ctx, path, doc.OpenOptions{})
	if err != nil || slices.ContainsFunc(again.Opening, changed) {
		t.Fatalf("error %v, findings %v", err, again.Opening)
	}
	file := filepath.Join(dir, "shank.obj")
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(file, append(text, "# edited\n"...), 0o600); err != nil {
		t.Fatal(err)
	}
	if again, err = doc.Open(ctx, path, doc.OpenOptions{}); err != nil || !slices.ContainsFunc(again.Opening, changed) {
		t.Errorf("error %v, findings %v", err, again.Opening)
	}
}

func changed(f doc.Finding) bool { return f.Kind == doc.ModelChanged }

func TestAFolderWithoutModelsIsRefused(t *testing.T) {
	if _, err := doc.OpenModel(context.Background(), t.TempDir(), doc.OpenOptions{}); err == nil || strings.Contains(err.Error(), "\n") {
		t.Errorf("error %v", err)
	}
}
