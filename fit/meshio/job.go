package meshio

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"

	"pintle/fit/mesh"
)

// readShare is the part of the progress bar that decoding takes; building the
// parts takes the rest.
const readShare = 0.6

// job is one reading of one file.
type job struct {
	ctx    context.Context
	opt    Options
	limits Limits
	*usage
	data  io.ReaderAt
	size  int64
	done  float64 // progress reported
	notes []string
}

// fail makes the *Error of this file.
func (j *job) fail(place, what, remedy string) error {
	return &Error{File: j.opt.Name, Place: place, What: what, Remedy: remedy}
}

// cut is the error for a file that ends before it should.
func (j *job) cut(place, what string) error { return j.fail(place, what, remedyCut) }

func (j *job) failAtByte(off int64, what, remedy string) error {
	return j.fail(fmt.Sprintf("byte %d", off), what, remedy)
}

func (j *job) note(format string, args ...any) {
	j.notes = append(j.notes, fmt.Sprintf(format, args...))
}

// tick looks for cancellation and reports progress.
func (j *job) tick(done float64, what string) error {
	if err := j.ctx.Err(); err != nil {
		return j.cancelled(err)
	}
	j.done = max(j.done, min(done, 1))
	if j.opt.Progress != nil {
		j.opt.Progress(j.done, what)
	}
	return nil
}

// chunks covers 0 to n in stretches between which it looks for cancellation.
func (j *job) chunks(n int, use func(from, to int)) error {
	const stretch = 1 << 16
	for from := 0; from < n; from += stretch {
		if err := j.ctx.Err(); err != nil {
			return j.cancelled(err)
		}
		use(from, min(from+stretch, n))
	}
	return nil
}

func (j *job) cancelled(err error) error { return fmt.Errorf("reading %s: %w", j.opt.Name, err) }

// ioError turns a failed ReadAt into an error: an early end is the file's
// fault, all else the system's.
func (j *job) ioError(off int64, err error) error {
	if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
		return j.cut(fmt.Sprintf("byte %d", off), "the file ends early")
	}
	return fmt.Errorf("reading %s: %w", j.opt.Name, err)
}

// head returns the first bytes of the file, for Detect.
func (j *job) head() ([]byte, error) {
	b := make([]byte, min(j.size, 1024))
	if n, err := j.data.ReadAt(b, 0); n < len(b) {
		return nil, j.ioError(int64(n), err)
	}
	return b, nil
}

// spend takes n bytes from the input budget.
func (j *job) spend(n int64, place string) error {
	if n > j.limits.MaxFileBytes-j.bytes {
		return j.fail(place, fmt.Sprintf("the model has more than %d bytes", j.limits.MaxFileBytes), remedyLimits)
	}
	j.bytes += n
	return nil
}

// addTriangles counts n more triangles against the limit, before memory is
// taken for them.
func (j *job) addTriangles(n int, place string) error {
	if n > j.limits.MaxTriangles-j.triangles {
		return j.fail(place, fmt.Sprintf("the model has more than %d triangles", j.limits.MaxTriangles), remedyLimits)
	}
	j.triangles += n
	return nil
}

// addVertices counts n more vertices against the limit, before memory is taken
// for them.
func (j *job) addVertices(n int, place string) error {
	if n > j.limits.MaxVertices-j.vertices {
		return j.fail(place, fmt.Sprintf("the model has more than %d vertices", j.limits.MaxVertices), remedyLimits)
	}
	j.vertices += n
	return nil
}

// checkPolygon counts the triangles of a polygon with three corners or more.
func (j *job) checkPolygon(corners int, place string) error {
	if corners > j.limits.MaxCorners {
		return j.fail(place, fmt.Sprintf("a polygon of %d corners is more than the limit of %d", corners, j.limits.MaxCorners), remedyLimits)
	}
	return j.addTriangles(corners-2, place)
}

// background runs f, which cannot be cancelled itself, beside the job. When
// the context ends first it returns at once and what f yields is thrown away,
// so f must own what it touches.
func background[T any](j *job, f func() (T, error)) (T, error) {
	type result struct {
		v   T
		err error
	}
	c := make(chan result, 1)
	go func() {
		v, err := f()
		c <- result{v, err}
	}()
	select {
	case r := <-c:
		return r.v, r.err
	case <-j.ctx.Done():
		var zero T
		return zero, j.cancelled(j.ctx.Err())
	}
}

// noteUnit tells the user that the unit is a guess.
const noteUnit = "The file does not state its unit: taken as millimetres."

// convention sets the model's unit and up axis: the override, else what the
// file states, else the default. It notes where it had to assume.
func (j *job) convention(m *mesh.Model, stated hints) {
	m.Unit, m.Up = stated.unit, stated.up
	if m.Unit == "" {
		m.Unit = mesh.Millimetre
		if j.opt.Unit == "" {
			j.notes = append(j.notes, noteUnit)
		}
	}
	if m.Up == "" {
		m.Up = mesh.UpZ
	}
	if j.opt.Unit != "" {
		m.Unit = j.opt.Unit
	}
	if j.opt.Up != "" {
		m.Up = j.opt.Up
	}
	m.Notes = slices.Clone(j.notes)
}
