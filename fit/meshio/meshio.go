// Package meshio reads mesh files into mesh.Model: glTF 2.0 and GLB, OBJ,
// STL and PLY. It is where hostile bytes stop: every count that a file states
// is checked against the file's size and the Limits before memory is taken,
// no input makes it panic, and what cannot be read comes back as an *Error, one
// sentence that names the file, the place and the remedy.
//
// # Units and axes
//
// glTF states metres and Y up. The other formats state nothing: a comment
// in the head of an OBJ or PLY file may ("# units: m", "# all lengths in
// millimetres", "# Y up"), otherwise millimetres and Z up are assumed and a note
// says so. Options.Unit and Options.Up override both; an override names what
// the file's numbers mean, it never rescales or turns them.
//
// # Parts
//
// Part names come from the file and are made unique: the second "pin" becomes
// "pin.2". glTF: each node that shows a mesh is a part, named after the node,
// else the mesh. OBJ: each `o` is a part; a file without `o` is split by `g`. STL:
// each solid is a part. PLY: the file is one part. A part without a name takes
// the file's.
package meshio

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"strings"

	"pintle/fit/mesh"
)

// Options steer a reader. The zero value reads with each format's own
// conventions, the default weld distance and the default limits.
type Options struct {
	Unit mesh.Unit // what one unit of the file means; "": as the format or the file says
	Up   mesh.Up   // the file's up axis; "": as the format or the file says
	// Weld is the distance below which vertices of a part become one, relative
	// to the part's box diagonal. 0: mesh.DefaultWeld; negative: none are joined.
	Weld   float64
	Limits Limits
	// Progress is told how far the work is, in [0, 1] and never backwards, and
	// what is being done. It is called on the caller's goroutine. May be nil.
	Progress func(done float64, what string)
	// Name is the file name for messages and for parts without a name of their
	// own. Read sets it.
	Name string
	// Companions holds the files that a glTF document may name: the model's own
	// folder. Read sets it; nil refuses such documents.
	Companions fs.FS
}

// Read reads the model file at path; its content decides the format, its
// extension where the content leaves a choice. Cancelling ctx makes it return
// within 100 ms with an error that wraps ctx.Err(), whatever else is wrong.
func Read(ctx context.Context, path string, opt Options) (*mesh.Model, error) {
	return readFile(ctx, path, opt, &usage{})
}

func readFile(ctx context.Context, path string, opt Options, used *usage) (*mesh.Model, error) {
	opt.Name = filepath.Base(path)
	if err := checkRegular(path, opt.Name); err != nil {
		return nil, err
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, openError(opt.Name, err)
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return nil, openError(opt.Name, err)
	}
	root, err := os.OpenRoot(filepath.Dir(path))
	if err != nil {
		return nil, openError(opt.Name, err)
	}
	defer root.Close()
	opt.Companions = root.FS() // follows no link and no ".." out of the folder
	return decode(ctx, f, info.Size(), "", opt, used)
}

// Decode reads a model of size bytes from data. An empty format is found as
// Detect does. Options.Companions may be used while it runs, never after.
func Decode(ctx context.Context, data io.ReaderAt, size int64, format Format, opt Options) (*mesh.Model, error) {
	return decode(ctx, data, size, format, opt, &usage{})
}

func decode(ctx context.Context, data io.ReaderAt, size int64, format Format, opt Options, used *usage) (*mesh.Model, error) {
	if opt.Name == "" {
		opt.Name = "model"
	}
	if err := checkOptions(opt); err != nil {
		return nil, err
	}
	j := &job{ctx: ctx, opt: opt, limits: opt.Limits.withDefaults(), usage: used, data: data, size: size}
	if err := j.tick(0, "Reading"); err != nil {
		return nil, err
	}
	if size == 0 {
		return nil, j.fail("", "the file is empty", remedyExport)
	}
	if err := j.spend(size, ""); err != nil {
		return nil, err
	}
	if format == "" {
		head, err := j.head()
		if err != nil {
			return nil, err
		}
		if format = Detect(head, size, opt.Name); format == "" {
			return nil, j.unknown(head)
		}
	}
	return j.decode(format)
}

func (j *job) decode(format Format) (*mesh.Model, error) {
	switch format {
	case GLTF:
		return j.decodeGLTF()
	case OBJ:
		return j.decodeOBJ()
	case STL:
		return j.decodeSTL()
	case PLY:
		return j.decodePLY()
	}
	return nil, fmt.Errorf("reading %s: format %q is not one of glTF, OBJ, STL, PLY", j.opt.Name, format)
}

func checkOptions(opt Options) error {
	if opt.Unit != "" && opt.Unit.Millimetres() == 0 {
		return fmt.Errorf("reading %s: unit %q is not one of mm, cm, m, in", opt.Name, opt.Unit)
	}
	if opt.Up != "" && opt.Up != mesh.UpY && opt.Up != mesh.UpZ {
		return fmt.Errorf("reading %s: up axis %q is not one of Y, Z", opt.Name, opt.Up)
	}
	if math.IsNaN(opt.Weld) || math.IsInf(opt.Weld, 0) {
		return fmt.Errorf("reading %s: weld distance is %v, want a finite number", opt.Name, opt.Weld)
	}
	return nil
}

// checkRegular refuses what must not be opened: a folder, and a pipe or device,
// which could block for ever.
func checkRegular(path, name string) error {
	info, err := os.Stat(path)
	if err != nil {
		return openError(name, err)
	}
	if info.IsDir() {
		return &Error{File: name, What: "this is a folder, not a model file", Remedy: "choose a file in it"}
	}
	if !info.Mode().IsRegular() {
		return &Error{File: name, What: "this is not an ordinary file", Remedy: "copy the model into a file first"}
	}
	return nil
}

// openError turns what the system says into a sentence about the file.
func openError(name string, err error) error {
	e := &Error{File: name, What: "the file cannot be opened", Remedy: "check that it may be read", Err: err}
	switch {
	case errors.Is(err, fs.ErrNotExist):
		e.What, e.Remedy = "there is no such file", "check the path"
	case errors.Is(err, fs.ErrPermission):
		e.What = "reading the file is not permitted"
	}
	return e
}

// stem returns the file's name without its extension, to name parts by.
func stem(name string) string {
	base := filepath.Base(name)
	if s := strings.TrimSuffix(base, filepath.Ext(base)); s != "" {
		return s
	}
	return base
}
