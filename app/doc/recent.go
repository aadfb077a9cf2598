package doc

import (
	"encoding/json"
	"io"
	"os"
	"path/filepath"
	"slices"
)

// maxRecent is how many files the list of recent files keeps.
const maxRecent = 12

// Recent is the list of files opened last, newest first, kept in one folder.
// A list that cannot be read counts as empty: it is a convenience, never a
// reason to fail.
type Recent struct{ dir string }

// NewRecent returns the list kept in the folder dir, which is made when the
// first file is added.
func NewRecent(dir string) Recent { return Recent{dir: dir} }

func (r Recent) file() string { return filepath.Join(r.dir, "recent.json") }

// List returns the absolute paths, newest first. Files that are gone stay
// listed: a drive may be away for a while.
func (r Recent) List() []string {
	data, err := readLimited(r.file(), "a list of recent files", 1<<20)
	if err != nil {
		return nil
	}
	var list []string
	if json.Unmarshal(data, &list) != nil {
		return nil
	}
	list = slices.DeleteFunc(list, func(p string) bool { return !filepath.IsAbs(p) })
	return list[:min(len(list), maxRecent)]
}

// Add puts path at the head of the list.
func (r Recent) Add(path string) error {
	path, err := filepath.Abs(path)
	if err != nil {
		return err
	}
	return r.write(append([]string{path}, r.without(path)...))
}

// Remove takes path off the list.
func (r Recent) Remove(path string) error {
	path, err := filepath.Abs(path)
	if err != nil {
		return err
	}
	return r.write(r.without(path))
}

func (r Recent) without(path string) []string {
	return slices.DeleteFunc(r.List(), func(p string) bool { return p == path })
}

func (r Recent) write(list []string) error {
	if err := os.MkdirAll(r.dir, 0o755); err != nil {
		return err
	}
	return WriteAtomic(r.file(), func(w io.Writer) error {
		e := json.NewEncoder(w)
		e.SetIndent("", "  ")
		return e.Encode(list[:min(len(list), maxRecent)])
	})
}
