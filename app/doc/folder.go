package doc

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"pintle/fit/mesh"
	"pintle/fit/meshio"
)

// isFolder reports whether a path is that of a folder, whose model files are
// the parts of one model.
func isFolder(path string) bool {
	info, err := os.Stat(path)
	return err == nil && info.IsDir()
}

// readMeshes reads a model file, or all model files of a folder as one model.
func readMeshes(ctx context.Context, path string, o meshio.Options) (*mesh.Model, error) {
	if isFolder(path) {
		return meshio.ReadFolder(ctx, path, o)
	}
	return meshio.Read(ctx, path, o)
}

// hashModel returns the SHA-256 of a model in lower-case hex: of its file, or of
// the list of a folder's model files, each with its own.
func hashModel(ctx context.Context, path string) (string, error) {
	if !isFolder(path) {
		return hashFile(ctx, path)
	}
	entries, err := os.ReadDir(path) // sorted by name
	if err != nil {
		return "", cause(err)
	}
	all := sha256.New()
	for _, e := range entries {
		if e.IsDir() || strings.HasPrefix(e.Name(), ".") || meshio.FormatOf(e.Name()) == "" {
			continue
		}
		one, err := hashFile(ctx, filepath.Join(path, e.Name()))
		if err != nil {
			return "", fmt.Errorf("%s: %w", e.Name(), err)
		}
		if _, err := io.WriteString(all, one+"  "+e.Name()+"\n"); err != nil {
			return "", err
		}
	}
	return hex.EncodeToString(all.Sum(nil)), nil
}

// hashFile returns the SHA-256 of a file in lower-case hex.
func hashFile(ctx context.Context, path string) (string, error) {
	f, err := os.Open(path)
	if err != nil {
		return "", cause(err)
	}
	defer f.Close()
	h := sha256.New()
	for {
		if err := ctx.Err(); err != nil {
			return "", err
		}
		switch _, err := io.CopyN(h, f, 8<<20); {
		case errors.Is(err, io.EOF):
			return hex.EncodeToString(h.Sum(nil)), nil
		case err != nil:
			return "", cause(err)
		}
	}
}
