package meshio

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"pintle/fit/mesh"
)

// ReadFolder reads every model file that lies directly in dir, in the order
// of their names, as one model in one common frame: a file of one part becomes
// a part named after the file, a file of several becomes parts named
// "file/part". Hidden files and other kinds of files are passed over. The limits
// hold for all files together. It fails where one file fails and where files
// differ in unit or up axis, which Options.Unit and Options.Up settle.
func ReadFolder(ctx context.Context, dir string, opt Options) (*mesh.Model, error) {
	folder := filepath.Base(dir)
	files, err := modelFiles(dir)
	if err != nil {
		return nil, err
	}
	if len(files) == 0 {
		return nil, &Error{File: folder, What: "the folder holds no model file", Remedy: "choose a folder with glTF, GLB, OBJ, STL or PLY files"}
	}
	all := &mesh.Model{}
	var names []string
	used := &usage{}
	for i, file := range files {
		one := opt
		if opt.Progress != nil {
			one.Progress = func(done float64, _ string) {
				opt.Progress((float64(i)+done)/float64(len(files)), "Reading "+file)
			}
		}
		m, err := readFile(ctx, filepath.Join(dir, file), one, used)
		if err != nil {
			return nil, err
		}
		if i == 0 {
			all.Unit, all.Up = m.Unit, m.Up
		}
		if m.Unit != all.Unit || m.Up != all.Up {
			return nil, &Error{
				File: folder, Remedy: "state the unit and the up axis for all of them",
				What: fmt.Sprintf("%s is in %s with %s up, but %s is in %s with %s up", files[0], all.Unit, all.Up, file, m.Unit, m.Up),
			}
		}
		names = append(names, appendModel(all, m, file)...)
	}
	for i, n := range uniqueNames(names) {
		all.Parts[i].Name = n
	}
	uniqueNodes(all.Nodes)
	return all, nil
}

// modelFiles returns the names of the files to read, sorted.
func modelFiles(dir string) ([]string, error) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil, openError(filepath.Base(dir), err)
	}
	var files []string
	for _, e := range entries {
		if FormatOf(e.Name()) != "" && !strings.HasPrefix(e.Name(), ".") && !e.IsDir() {
			files = append(files, e.Name())
		}
	}
	return files, nil
}

// appendModel adds m, read from file, to all and returns its parts' names.
func appendModel(all, m *mesh.Model, file string) (names []string) {
	base := cleanName(stem(file))
	for _, p := range m.Parts {
		if len(m.Parts) == 1 {
			names = append(names, base)
		} else {
			names = append(names, base+"/"+p.Name)
		}
		all.Parts = append(all.Parts, p)
	}
	first := len(all.Nodes)
	for _, n := range m.Nodes {
		if n.Parent >= 0 {
			n.Parent += first
		}
		all.Nodes = append(all.Nodes, n)
	}
	for _, n := range m.Notes {
		if n != noteUnit {
			n = file + ": " + n
		} else if slices.Contains(all.Notes, n) {
			continue
		}
		all.Notes = append(all.Notes, n)
	}
	return names
}

// uniqueNodes makes the names of nodes unique.
func uniqueNodes(nodes []mesh.Node) {
	names := make([]string, len(nodes))
	for i, n := range nodes {
		names[i] = n.Name
	}
	for i, n := range uniqueNames(names) {
		nodes[i].Name = n
	}
}
