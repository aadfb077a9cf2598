package doc

import (
	"fmt"
	"io"
	"path/filepath"
)

// Extension is the file name extension of documents.
const Extension = ".pintle"

// Save writes the document to path, atomically.
func Save(path string, d Document) error {
	dir, err := filepath.Abs(filepath.Dir(path))
	if err != nil {
		return fmt.Errorf("saving %s: %w", path, err)
	}
	data, err := Encode(d, dir)
	if err != nil {
		return fmt.Errorf("saving %s: %w", path, err)
	}
	return WriteAtomic(path, func(w io.Writer) error {
		_, err := w.Write(data)
		return err
	})
}

// Load reads the document at path; the model is not read.
func Load(path string) (Document, error) {
	dir, err := filepath.Abs(filepath.Dir(path))
	if err != nil {
		return Document{}, fmt.Errorf("%s: %w", path, err)
	}
	data, err := readLimited(path, "a Pintle document", maxFile)
	if err != nil {
		return Document{}, err
	}
	d, err := Decode(data, dir)
	if err != nil {
		return Document{}, fmt.Errorf("%s: %w", filepath.Base(path), err)
	}
	return d, nil
}
