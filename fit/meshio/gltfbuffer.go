package meshio

import (
	"bytes"
	"encoding/base64"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net/url"
	"path"
	"strings"

	"github.com/qmuntal/gltf"
)

// section is a stretch of bytes that is read when needed.
type section struct {
	r   io.ReaderAt
	off int64
	n   int64
}

// slice returns n bytes of s from off; ok is false where s has not as many.
func (s *section) slice(off, n int64) (_ *section, ok bool) {
	if off < 0 || n < 0 || off > s.n || n > s.n-off {
		return nil, false
	}
	return &section{s.r, s.off + off, n}, true
}

// view returns the bytes of buffer view i.
func (g *gltfReader) view(i int) (*section, *gltf.BufferView, error) {
	v, ok := entry(g.doc.BufferViews, i)
	if !ok {
		return nil, nil, g.j.fail(place("bufferViews", i), "the buffer view is not there", remedyExport)
	}
	b, err := g.buffer(v.Buffer)
	if err != nil {
		for e := range v.Extensions {
			if c := g.compressed(e, place("bufferViews", i)); c != nil {
				return nil, nil, c
			}
		}
		return nil, nil, err
	}
	s, ok := b.slice(int64(v.ByteOffset), int64(v.ByteLength))
	if !ok {
		return nil, nil, g.j.fail(place("bufferViews", i), fmt.Sprintf("it does not fit into buffer %d", v.Buffer), remedyExport)
	}
	return s, v, nil
}

// buffer returns buffer i, opened at its first use.
func (g *gltfReader) buffer(i int) (*section, error) {
	b, ok := entry(g.doc.Buffers, i)
	if !ok {
		return nil, g.j.fail(place("buffers", i), "the buffer is not there", remedyExport)
	}
	if g.buffers == nil {
		g.buffers = make([]*section, len(g.doc.Buffers))
	}
	if g.buffers[i] != nil {
		return g.buffers[i], nil
	}
	s, err := g.openBuffer(i, b)
	if err != nil {
		return nil, err
	}
	if s.n < int64(b.ByteLength) {
		return nil, g.j.cut(place("buffers", i), fmt.Sprintf("it should have %d bytes, it has %d", b.ByteLength, s.n))
	}
	g.buffers[i] = s
	return s, nil
}

func (g *gltfReader) openBuffer(i int, b *gltf.Buffer) (*section, error) {
	switch {
	case b.URI == "" && i == 0 && g.bin != nil:
		return g.bin, nil
	case b.URI == "":
		return nil, g.j.fail(place("buffers", i), "the buffer has no data", remedyExport)
	case strings.HasPrefix(b.URI, "data:"):
		data, err := background(g.j, func() ([]byte, error) { return decodeDataURI(b.URI) })
		if cause := g.j.ctx.Err(); cause != nil {
			return nil, g.j.cancelled(cause)
		}
		if err != nil {
			return nil, &Error{File: g.j.opt.Name, Place: place("buffers", i), What: "its data: URI cannot be decoded", Remedy: remedyExport, Err: err}
		}
		return &section{bytes.NewReader(data), 0, int64(len(data))}, nil
	}
	return g.openCompanion(place("buffers", i), b.URI)
}

// decodeDataURI decodes "data:[type][;base64],data" (RFC 2397).
func decodeDataURI(uri string) ([]byte, error) {
	head, body, ok := strings.Cut(uri, ",")
	if !ok {
		return nil, errors.New("the URI has no comma")
	}
	if strings.HasSuffix(head, ";base64") {
		return base64.StdEncoding.DecodeString(body)
	}
	text, err := url.PathUnescape(body)
	return []byte(text), err
}

// openCompanion opens a file that lies in the model's folder or below.
func (g *gltfReader) openCompanion(place, uri string) (*section, error) {
	fail := func(what, remedy string) (*section, error) { return nil, g.j.fail(place, what, remedy) }
	if u, err := url.Parse(uri); err == nil && u.Scheme != "" || strings.HasPrefix(uri, "//") {
		return fail(fmt.Sprintf("its data lies at %s, only files beside the model are read", quote([]byte(uri))), "export the model as GLB")
	}
	name, err := url.PathUnescape(uri)
	if err != nil {
		name = uri
	}
	shown := quote([]byte(name))
	name = path.Clean(strings.ReplaceAll(name, `\`, "/"))
	if !fs.ValidPath(name) || name == "." || strings.Contains(name, ":") || strings.ContainsRune(name, 0) {
		return fail(fmt.Sprintf("the file %s lies outside the model's folder", shown), "put it beside the model and export again")
	}
	if g.j.opt.Companions == nil {
		return fail(fmt.Sprintf("the file %s belongs to the model, but only the model was given", shown), "export the model as GLB")
	}
	info, err := fs.Stat(g.j.opt.Companions, name)
	if err != nil {
		return nil, &Error{File: g.j.opt.Name, Place: place, What: fmt.Sprintf("the file %s cannot be opened", shown), Remedy: "put it beside the model", Err: err}
	}
	if !info.Mode().IsRegular() {
		return fail(fmt.Sprintf("%s is not an ordinary file", shown), "put the file itself beside the model")
	}
	if err := g.j.spend(info.Size(), place); err != nil {
		return nil, err
	}
	return g.openFile(place, name, info.Size())
}

func (g *gltfReader) openFile(place, name string, size int64) (*section, error) {
	f, err := g.j.opt.Companions.Open(name)
	if err != nil {
		return nil, &Error{File: g.j.opt.Name, Place: place, What: fmt.Sprintf("the file %s cannot be opened", quote([]byte(name))), Remedy: "check that it may be read", Err: err}
	}
	if r, ok := f.(io.ReaderAt); ok {
		g.opened = append(g.opened, f)
		return &section{r, 0, size}, nil
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, size))
	if err != nil {
		return nil, fmt.Errorf("reading %s: %w", name, err)
	}
	return &section{bytes.NewReader(data), 0, int64(len(data))}, nil
}
