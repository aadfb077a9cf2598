package meshio

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/qmuntal/gltf"

	"pintle/fit/mesh"
)

// GLB: a header of magic, version and length, then chunks of length, type and
// data (glTF 2.0 specification, chapter 4).
const (
	glbMagic      = "glTF"
	glbHeader     = 12
	glbChunk      = 8
	glbJSON       = 0x4E4F534A
	glbBIN        = 0x004E4942
	maxJSON       = 512 << 20
	maxContainers = 2_000_000  // objects and arrays in the JSON
	maxValues     = 20_000_000 // values in them
)

// gltfReader holds a glTF document while it is turned into a model. The
// document's types are qmuntal/gltf's; container, buffers and accessors are read
// here, since the library trusts lengths and indexes that the file states.
type gltfReader struct {
	j       *job
	doc     *gltf.Document
	strict  gltfStrict
	bin     *section // the BIN chunk of a GLB, or nil
	buffers []*section
	opened  []io.Closer

	parents []int
	worlds  []affine
	scene   []int // nodes of the shown scene, parents first
	joints  []bool
	uses    []int // of each mesh within the scene
	shapes  map[int]*shape
	skipped int // primitives of points and lines
	odd     int // primitives whose triangles do not come out even
}

// gltfStrict catches what the library's types let pass: component types and
// modes it does not know, and vectors of the wrong length.
type gltfStrict struct {
	Accessors []*struct {
		ComponentType int `json:"componentType"`
		Sparse        *struct {
			Indices struct {
				ComponentType int `json:"componentType"`
			} `json:"indices"`
		} `json:"sparse"`
	} `json:"accessors"`
	Meshes []*struct {
		Primitives []*struct {
			Mode *int `json:"mode"`
		} `json:"primitives"`
	} `json:"meshes"`
	Nodes []*struct {
		Matrix      []float64 `json:"matrix"`
		Rotation    []float64 `json:"rotation"`
		Scale       []float64 `json:"scale"`
		Translation []float64 `json:"translation"`
	} `json:"nodes"`
}

func (j *job) decodeGLTF() (*mesh.Model, error) {
	text, at, bin, err := j.gltfContainer()
	if err != nil {
		return nil, err
	}
	g := &gltfReader{j: j, bin: bin, shapes: map[int]*shape{}}
	defer g.close()
	if err := g.parse(text, at); err != nil {
		return nil, err
	}
	if err := g.checkDocument(); err != nil {
		return nil, err
	}
	if err := g.walk(); err != nil {
		return nil, err
	}
	drafts, err := g.drafts()
	if err != nil {
		return nil, err
	}
	if g.skipped > 0 {
		j.note("%s of points or lines left out.", plural(g.skipped, "primitive", "primitives"))
	}
	if g.odd > 0 {
		j.note("%s with left-over corners that make no triangle.", plural(g.odd, "primitive", "primitives"))
	}
	m, err := j.finish(drafts, hints{unit: mesh.Metre, up: mesh.UpY})
	if err != nil {
		return nil, err
	}
	m.Nodes = g.nodes()
	return m, nil
}

func (g *gltfReader) close() {
	for _, c := range g.opened {
		_ = c.Close() // opened for reading only
	}
}

// gltfContainer returns the JSON text, its offset in the file, and the BIN
// chunk of a GLB.
func (j *job) gltfContainer() (text []byte, at int64, bin *section, err error) {
	head, err := j.head()
	if err != nil {
		return nil, 0, nil, err
	}
	if !bytes.HasPrefix(head, []byte(glbMagic)) {
		if isUTF16(head) {
			return nil, 0, nil, j.utf16()
		}
		text, err = j.readJSON(0, j.size)
		return trimBOM(text), 0, nil, err
	}
	if len(head) < glbHeader {
		return nil, 0, nil, j.cut("", "the GLB header is incomplete")
	}
	if v := le32(head[4:]); v != 2 {
		return nil, 0, nil, j.fail("byte 4", fmt.Sprintf("this is GLB version %d, only version 2 can be read", v), "export the model as glTF 2.0")
	}
	end := int64(le32(head[8:]))
	if end > j.size {
		return nil, 0, nil, j.cut("byte 8", fmt.Sprintf("the GLB states %d bytes, the file has %d", end, j.size))
	}
	return j.glbChunks(end)
}

func (j *job) glbChunks(end int64) (text []byte, at int64, bin *section, err error) {
	for pos, n := int64(glbHeader), 0; end-pos >= glbChunk; n++ {
		var h [glbChunk]byte
		if got, err := j.data.ReadAt(h[:], pos); got < len(h) {
			return nil, 0, nil, j.ioError(pos, err)
		}
		size, kind := int64(le32(h[:])), le32(h[4:])
		pos += glbChunk
		if size > end-pos {
			return nil, 0, nil, j.failAtByte(pos-glbChunk, fmt.Sprintf("a chunk of %d bytes does not fit into the file", size), remedyCut)
		}
		switch {
		case n == 0 && kind != glbJSON:
			return nil, 0, nil, j.failAtByte(pos-4, "the first chunk is not JSON", remedyExport)
		case n == 0:
			at = pos
			if text, err = j.readJSON(pos, size); err != nil {
				return nil, 0, nil, err
			}
		case n == 1 && kind == glbBIN:
			bin = &section{j.data, pos, size}
		}
		if n > 0 {
			return text, at, bin, nil // later chunks belong to extensions
		}
		pos += (size + 3) &^ 3
	}
	if text == nil {
		return nil, 0, nil, j.cut("byte 12", "the GLB has no JSON chunk")
	}
	return text, at, nil, nil
}

func (j *job) readJSON(at, n int64) ([]byte, error) {
	if n > maxJSON {
		return nil, j.fail("", fmt.Sprintf("its JSON has %d bytes, at most %d can be read", n, int64(maxJSON)), "export the model as GLB")
	}
	text := make([]byte, n)
	for from := int64(0); from < n; from += blockSize {
		if err := j.tick(0, "Reading"); err != nil {
			return nil, err
		}
		b := text[from:min(from+blockSize, n)]
		if got, err := j.data.ReadAt(b, at+from); got < len(b) {
			return nil, j.ioError(at+from+int64(got), err)
		}
	}
	return text, nil
}

// parse decodes the JSON. Decoded values take far more memory than their text, so
// they are counted first.
func (g *gltfReader) parse(text []byte, at int64) error {
	type result struct {
		doc    *gltf.Document
		strict gltfStrict
	}
	r, err := background(g.j, func() (r result, err error) {
		if containers, values := countJSON(text); containers > maxContainers || values > maxValues {
			return r, g.j.fail("", fmt.Sprintf("the document holds %d objects and %d values, more than can be read", containers, values), "reduce the model")
		}
		r.doc = new(gltf.Document)
		if err = json.Unmarshal(text, r.doc); err == nil {
			err = json.Unmarshal(text, &r.strict)
		}
		return r, err
	})
	g.doc, g.strict = r.doc, r.strict
	if err == nil {
		return nil
	}
	if cause := g.j.ctx.Err(); cause != nil {
		return g.j.cancelled(cause)
	}
	if e := (*Error)(nil); errors.As(err, &e) {
		return e
	}
	e := &Error{File: g.j.opt.Name, Remedy: remedyExport, Err: err, What: "the document is not sound glTF: " + strings.TrimPrefix(err.Error(), "json: ")}
	var syntax *json.SyntaxError
	if errors.As(err, &syntax) {
		e.Place = fmt.Sprintf("byte %d", at+syntax.Offset)
	}
	return e
}

// countJSON counts objects and arrays, and the values in them, from above.
func countJSON(text []byte) (containers, values int) {
	inString := false
	for i := 0; i < len(text); i++ {
		switch c := text[i]; {
		case inString && c == '\\':
			i++
		case c == '"':
			inString = !inString
		case inString:
		case c == '{' || c == '[':
			containers++
		case c == ',':
			values++
		}
	}
	return containers, containers + values
}
