package doc

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/google/renameio/v2"
)

// WriteAtomic writes the file at path through write, so that at any instant,
// even a kill or a full disk, path holds its old content or the whole new one.
// The new content is on the disk before it takes the name. A symbolic link is
// followed, an existing file keeps its permissions. A kill may leave a hidden
// file ".NAME" with a number behind, never a harmed one.
func WriteAtomic(path string, write func(io.Writer) error) error {
	target, err := filepath.EvalSymlinks(path)
	if errors.Is(err, fs.ErrNotExist) {
		target, err = path, nil
	}
	if err != nil {
		return fmt.Errorf("writing %s: %w", path, cause(err))
	}
	if info, err := os.Stat(target); err == nil && !info.Mode().IsRegular() {
		return fmt.Errorf("writing %s: it is not an ordinary file; choose another name", path)
	}
	f, err := renameio.NewPendingFile(target,
		renameio.WithTempDir(filepath.Dir(target)),
		renameio.WithPermissions(0o644), renameio.WithExistingPermissions())
	if err != nil {
		return fmt.Errorf("writing %s: %w", path, cause(err))
	}
	defer f.Cleanup() // nothing to do once replaced
	buf := bufio.NewWriterSize(f, 1<<16)
	if err := write(buf); err != nil {
		return fmt.Errorf("writing %s: %w", path, cause(err))
	}
	if err := buf.Flush(); err != nil {
		return fmt.Errorf("writing %s: %w", path, cause(err))
	}
	if err := f.CloseAtomicallyReplace(); err != nil {
		return fmt.Errorf("writing %s: %w", path, cause(err))
	}
	return nil
}

// cause strips the operation and path that the system adds: the sentence round
// it names the file already.
func cause(err error) error {
	var path *fs.PathError
	if errors.As(err, &path) {
		return path.Err
	}
	return err
}

// readLimited reads an ordinary file of at most limit bytes. what names the
// kind of file for messages.
func readLimited(path, what string, limit int64) ([]byte, error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, cause(err))
	}
	if info.IsDir() {
		return nil, fmt.Errorf("%s: this is a folder, not %s", path, what)
	}
	if !info.Mode().IsRegular() {
		return nil, fmt.Errorf("%s: this is not an ordinary file", path)
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, cause(err))
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, limit+1))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, cause(err))
	}
	if int64(len(data)) > limit {
		return nil, fmt.Errorf("%s: the file has more than %d MB, too much for %s", path, limit>>20, what)
	}
	return data, nil
}
