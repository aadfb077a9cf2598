package doc

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"time"

	"pintle/app/doc/wire"
)

// Recovery keeps a copy of a document that is not saved yet, in a folder that
// all runs of the program share. Each run claims a file of its own with a lock
// that the system lifts when the run ends, however it ends; a copy whose lock
// is free was left behind by a kill or a crash. Copies are written atomically,
// so whatever is found is a whole document.
//
// It belongs to one goroutine.
type Recovery struct {
	dir  string
	name string   // of the claimed file, without extension
	lock *os.File // held while the run lives
}

const (
	lockExtension = ".lock"
	copyExtension = ".recovery"
	copyVersion   = 1
)

// copyForm is the content of a recovery file: the document's own content with
// where it belongs.
type copyForm struct {
	Version  int             `json:"pintle_recovery"`
	Path     string          `json:"path,omitempty"` // of the document; none: never saved
	Document json.RawMessage `json:"document"`
}

// Leftover is a document that a run of the program did not come to save. It
// stays claimed until Discard or Release is called.
type Leftover struct {
	Document Document
	Path     string    // where the document was saved before, or ""
	When     time.Time // when the copy was made
	claim    Recovery
}

// OpenRecovery claims a file in the folder dir, which is made if need be.
func OpenRecovery(dir string) (*Recovery, error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, fmt.Errorf("opening the recovery folder: %w", err)
	}
	const attempts = 100
	for range attempts {
		f, err := os.CreateTemp(dir, "*"+lockExtension)
		if err != nil {
			return nil, fmt.Errorf("opening the recovery folder: %w", err)
		}
		// Another run that looks for leftovers may take the new file for one and
		// remove it before the lock is on: then try another.
		if tryLock(f) {
			return newRecovery(dir, f), nil
		}
		f.Close()
	}
	return nil, fmt.Errorf("opening the recovery folder: no file can be locked in %s", dir)
}

func newRecovery(dir string, lock *os.File) *Recovery {
	return &Recovery{dir: dir, lock: lock, name: strings.TrimSuffix(filepath.Base(lock.Name()), lockExtension)}
}

// tryLock locks f if nobody else holds it and it is still in its folder.
func tryLock(f *os.File) bool {
	if syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB) != nil {
		return false
	}
	open, err := f.Stat()
	if err != nil {
		return false
	}
	named, err := os.Stat(f.Name())
	return err == nil && os.SameFile(open, named)
}

func (r *Recovery) file() string { return filepath.Join(r.dir, r.name+copyExtension) }

// Write replaces the copy. path is where the document is saved, "" if nowhere
// yet. The model's path is kept absolute.
func (r *Recovery) Write(d Document, path string) error {
	content, err := Encode(d, "")
	if err != nil {
		return fmt.Errorf("keeping a recovery copy: %w", err)
	}
	data, err := wire.Marshal(copyForm{Version: copyVersion, Path: path, Document: content})
	if err != nil {
		return fmt.Errorf("keeping a recovery copy: %w", err)
	}
	err = WriteAtomic(r.file(), func(w io.Writer) error {
		_, err := w.Write(data)
		return err
	})
	if err != nil {
		return fmt.Errorf("keeping a recovery copy: %w", err)
	}
	return nil
}

// Clear removes the copy: the document is saved, or given up on purpose.
func (r *Recovery) Clear() error {
	if err := os.Remove(r.file()); err != nil && !errors.Is(err, os.ErrNotExist) {
		return fmt.Errorf("removing the recovery copy: %w", err)
	}
	return nil
}

// Close removes the copy and gives the claim up.
func (r *Recovery) Close() error {
	err := r.Clear()
	if e := os.Remove(r.lock.Name()); e != nil && !errors.Is(e, os.ErrNotExist) {
		err = errors.Join(err, e)
	}
	return errors.Join(err, r.lock.Close())
}

// Leftovers returns what runs that are over have left behind, the newest
// first, and claims it, so that two windows do not offer the same. A copy that
// cannot be read stays where it is and is told of in problems.
func (r *Recovery) Leftovers() (found []Leftover, problems []error) {
	locks, err := filepath.Glob(filepath.Join(escapeGlob(r.dir), "*"+lockExtension))
	if err != nil {
		return nil, []error{fmt.Errorf("looking for recovery copies: %w", err)}
	}
	for _, path := range locks {
		if path == r.lock.Name() {
			continue // flock would refuse it anyway
		}
		f, err := os.OpenFile(path, os.O_RDWR, 0)
		if err != nil {
			continue // just removed by its owner
		}
		if !tryLock(f) {
			f.Close()
			continue
		}
		left, err := readLeftover(newRecovery(r.dir, f))
		switch {
		case errors.Is(err, os.ErrNotExist):
			os.Remove(path) // a run that had nothing unsaved
			f.Close()
		case err != nil:
			problems = append(problems, err)
			f.Close()
		default:
			found = append(found, left)
		}
	}
	r.sweep()
	slices.SortStableFunc(found, func(a, b Leftover) int { return b.When.Compare(a.When) })
	return found, problems
}

// sweep removes half-written files that a kill left: hidden, a day old, which
// no write takes.
func (r *Recovery) sweep() {
	entries, err := os.ReadDir(r.dir)
	if err != nil {
		return
	}
	for _, e := range entries {
		info, err := e.Info()
		if err == nil && strings.HasPrefix(e.Name(), ".") && strings.Contains(e.Name(), copyExtension) &&
			time.Since(info.ModTime()) > 24*time.Hour {
			os.Remove(filepath.Join(r.dir, e.Name()))
		}
	}
}

// escapeGlob makes the characters that Glob gives a meaning stand for
// themselves.
func escapeGlob(path string) string {
	return strings.NewReplacer(`*`, `\*`, `?`, `\?`, `[`, `\[`, `\`, `\\`).Replace(path)
}

func readLeftover(claim *Recovery) (Leftover, error) {
	info, err := os.Stat(claim.file())
	if err != nil {
		return Leftover{}, err
	}
	data, err := readLimited(claim.file(), "a recovery copy", 2*maxFile)
	if err != nil {
		return Leftover{}, err
	}
	var f copyForm
	if err := wire.Unmarshal(data, &f); err != nil {
		return Leftover{}, fmt.Errorf("%s: %w", claim.file(), err)
	}
	if f.Version != copyVersion {
		return Leftover{}, fmt.Errorf("%s: the recovery copy has version %d, this program reads version %d", claim.file(), f.Version, copyVersion)
	}
	d, err := Decode(f.Document, "")
	if err != nil {
		return Leftover{}, fmt.Errorf("%s: %w", claim.file(), err)
	}
	return Leftover{Document: d, Path: f.Path, When: info.ModTime(), claim: *claim}, nil
}

// Discard deletes the copy: it was taken up and kept under another claim, or
// is not wanted.
func (l Leftover) Discard() error { return l.claim.Close() }

// Release leaves the copy for a later run.
func (l Leftover) Release() error { return l.claim.lock.Close() }
